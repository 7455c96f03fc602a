"""Thin lines in a photograph, traced to a fraction of a pixel.

The photograph is taken to linear light and divided by its background (the median of blocks); ridges of what is
left are found from the Hessian, each placed within its pixel where the profile across it is highest, and followed
from point to point into fragments (C. Steger, "An unbiased detector of curvilinear structures", IEEE Transactions
on Pattern Analysis and Machine Intelligence 20 (1998), 113-125). A fragment ends where the line fades and where
another line, already followed, is met. Pixels are never resampled: only the points found go to millimetres.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from coatwright.paper.contrast import Contrast, across, compiled

SCALE_MM = 0.075
"""Standard deviation of the smoothing before the Hessian, mm: near the half width of a hair seen by a phone."""
LEAST_FRAGMENT_PX = 5
_FAINT, _FIRM = 2.5, 8.0
"""Strength, in standard deviations of the noise, at which a line is followed and at which one is begun."""
_FLOOR = 0.002


@dataclass
class Fragment:
    """One followed line: n points with what was seen at each."""

    px: np.ndarray
    """(n, 2) in the photograph."""
    mm: np.ndarray
    """(n, 2) on the sheet."""
    height: np.ndarray
    """(n,) contrast at the crest, smoothed."""
    width: np.ndarray
    """(n,) optical width in mm: contrast summed across the line; the width of a line as dark as can be."""
    colour: np.ndarray
    """(n, 3) contrast at the crest, blue green red."""

    def part(self, start: int, stop: int) -> Fragment:
        """The points from ``start`` to before ``stop``."""
        cut = slice(start, stop)
        return Fragment(self.px[cut], self.mm[cut], self.height[cut], self.width[cut], self.colour[cut])

    def turned(self) -> Fragment:
        """The same points the other way round."""
        back = slice(None, None, -1)
        return Fragment(self.px[back], self.mm[back], self.height[back], self.width[back], self.colour[back])

    @property
    def length(self) -> float:
        """mm along the points."""
        return float(np.hypot(*np.diff(self.mm, axis=0).T).sum())


@compiled
def _ridges(smooth: Any, least: float) -> Any:
    """Ridge points of a smoothed image: where each is, its direction and its strength; and which pixel has which."""
    h, w = smooth.shape
    index = np.full((h, w), -1, np.int32)
    count = 0
    room = 1 << 16
    found = np.empty((room, 5), np.float32)
    for y in range(2, h - 2):
        for x in range(2, w - 2):
            c = smooth[y, x]
            if c < least:
                continue
            up, down, left, right = smooth[y - 1, x], smooth[y + 1, x], smooth[y, x - 1], smooth[y, x + 1]
            xx = right + left - 2 * c
            yy = up + down - 2 * c
            if xx + yy >= 0:
                continue
            xy = (
                smooth[y + 1, x + 1] - smooth[y - 1, x + 1] - smooth[y + 1, x - 1] + smooth[y - 1, x - 1]
            ) / 4
            gx, gy = (right - left) / 2, (down - up) / 2
            half = (xx - yy) / 2
            root = np.sqrt(half * half + xy * xy)
            low = (xx + yy) / 2 - root
            if low > -least / 6:
                continue
            angle = 0.5 * np.arctan2(2 * xy, xx - yy)  # of the larger eigenvalue
            nx, ny = -np.sin(angle), np.cos(angle)  # across the line: the lower one
            second = nx * nx * xx + 2 * nx * ny * xy + ny * ny * yy
            t = -(gx * nx + gy * ny) / second
            px, py = t * nx, t * ny
            if abs(px) > 0.6 or abs(py) > 0.6:
                continue
            if count == room:
                room *= 2
                bigger = np.empty((room, 5), np.float32)
                bigger[:count] = found
                found = bigger
            found[count, 0] = x + px
            found[count, 1] = y + py
            found[count, 2] = angle
            found[count, 3] = -low
            found[count, 4] = c + 0.5 * t * (gx * nx + gy * ny)
            index[y, x] = count
            count += 1
    return found[:count], index


@compiled
def _next(point: int, tx: float, ty: float, found: Any, index: Any, used: Any, line: int) -> Any:
    """The best neighbour ahead: (its number or -1, whether it belongs to a line already)."""
    x, y = round(found[point, 0]), round(found[point, 1])
    h, w = index.shape
    best, cost, taken = -1, 1e9, False
    for dy in range(-2, 3):
        for dx in range(-2, 3):
            yy, xx = y + dy, x + dx
            if yy < 0 or xx < 0 or yy >= h or xx >= w:
                continue
            other = index[yy, xx]
            if other < 0 or other == point or used[other] == line:
                continue
            ex, ey = found[other, 0] - found[point, 0], found[other, 1] - found[point, 1]
            far = np.sqrt(ex * ex + ey * ey)
            ahead = ex * tx + ey * ty
            if far < 0.3 or far > 2.3 or ahead < 0.75 * far:
                continue
            turn = abs(np.cos(found[other, 2]) * tx + np.sin(found[other, 2]) * ty)
            if turn < 0.76:
                continue
            price = far + 2.0 * (1 - ahead / far) + 3.0 * (1 - turn)
            if price < cost:
                best, cost, taken = other, price, used[other] >= 0
    return best, taken


@compiled
def _follow(found: Any, index: Any, order: Any, faint: float, firm: float) -> Any:
    """Lines as runs of point numbers: (points, starts)."""
    n = len(found)
    used = np.full(n, -1, np.int32)
    points = np.empty(2 * n + 1, np.int32)
    starts = np.empty(n + 1, np.int32)
    lines, filled = 0, 0
    back = np.empty(n, np.int32)
    forth = np.empty(n, np.int32)
    h, w = index.shape
    for begin in order:
        if found[begin, 3] < firm:
            break
        if used[begin] >= 0:
            continue
        used[begin] = lines
        counts = np.zeros(2, np.int64)
        for side in range(2):
            sign = 1.0 if side == 0 else -1.0
            tx, ty = sign * np.cos(found[begin, 2]), sign * np.sin(found[begin, 2])
            at = begin
            run = forth if side == 0 else back
            while True:
                step, taken = _next(at, tx, ty, found, index, used, lines)
                if step < 0 or taken or found[step, 3] < faint:
                    break
                ax, ay = np.cos(found[step, 2]), np.sin(found[step, 2])
                if ax * tx + ay * ty < 0:
                    ax, ay = -ax, -ay
                # double points beside the line belong to it
                for q in (at, step):
                    cx, cy = round(found[q, 0]), round(found[q, 1])
                    for dy in range(-1, 2):
                        for dx in range(-1, 2):
                            yy, xx = cy + dy, cx + dx
                            if yy < 0 or xx < 0 or yy >= h or xx >= w:
                                continue
                            other = index[yy, xx]
                            if other >= 0 and used[other] < 0 and other != step:
                                same = abs(np.cos(found[other, 2]) * ax + np.sin(found[other, 2]) * ay)
                                gap = abs(
                                    (found[other, 0] - found[q, 0]) * ay
                                    - (found[other, 1] - found[q, 1]) * ax
                                )
                                ahead = (found[other, 0] - found[step, 0]) * ax + (
                                    found[other, 1] - found[step, 1]
                                ) * ay
                                if same > 0.9 and gap < 1.2 and ahead <= 0:
                                    used[other] = lines
                used[step] = lines
                run[counts[side]] = step
                counts[side] += 1
                tx, ty = ax, ay
                at = step
        total = counts[0] + counts[1] + 1
        starts[lines] = filled
        for i in range(counts[1]):
            points[filled + i] = back[counts[1] - 1 - i]
        points[filled + counts[1]] = begin
        for i in range(counts[0]):
            points[filled + counts[1] + 1 + i] = forth[i]
        filled += total
        lines += 1
    starts[lines] = filled
    return points[:filled], starts[: lines + 1]


def fragments_of(
    contrast: Contrast,
    to_mm: Callable[[np.ndarray], np.ndarray],
    px_per_mm: float,
    inside: Callable[[np.ndarray], np.ndarray],
) -> list[Fragment]:
    """All fragments, longest first; ``inside`` says which points (n, 2) mm lie in the clear area."""
    import cv2

    sigma = max(0.9, SCALE_MM * px_per_mm)
    smooth = cv2.GaussianBlur(contrast.value, (0, 0), sigma)
    noise = _noise(smooth)
    found, index = _ridges(smooth, max(_FLOOR, noise))
    del smooth
    if not len(found):
        return []
    faint, firm = max(_FAINT * noise, _FLOOR), max(_FIRM * noise, 2 * _FLOOR)
    begin = np.flatnonzero(found[:, 3] >= firm)
    order = begin[np.argsort(-found[begin, 3], kind="stable")]
    points, starts = _follow(found, index, order, faint, firm)
    corner = np.array(contrast.corner, float)
    reach = max(3.0, 0.2 * px_per_mm)
    made = []
    for a, b in pairwise(starts):
        if b - a < LEAST_FRAGMENT_PX:
            continue
        run = points[a:b]
        xy = found[run, :2].astype(float)
        steps = np.gradient(xy, axis=0)
        steps /= np.maximum(np.hypot(*steps.T), 1e-9)[:, None]
        normal = np.stack([-steps[:, 1], steps[:, 0]], axis=1)
        total, crest = across(contrast, xy, normal, reach)
        px = xy + corner
        made.append(Fragment(px, to_mm(px), found[run, 4], total / px_per_mm, crest))
    made = [whole.part(*ends) for whole in made for ends in _runs(inside(whole.mm))]
    made.sort(key=lambda one: (-len(one.px), one.px[0, 0], one.px[0, 1]))
    return made


def _runs(flags: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [
        (int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= LEAST_FRAGMENT_PX
    ]


def _noise(smooth: np.ndarray) -> float:
    """Standard deviation of the second difference of a smoothed image where nothing lies, from its median size."""
    part = smooth[::3]
    second = part[:, 2:] + part[:, :-2] - 2 * part[:, 1:-1]
    return float(np.median(np.abs(second[:, ::5])) / 0.6745)
