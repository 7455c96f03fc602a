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
from typing import Any, TypeVar

import numpy as np

from coatwright.compiling import numba

_F = TypeVar("_F", bound=Callable[..., Any])
compiled: Callable[[_F], _F] = numba.njit(cache=True, nogil=True)

SCALE_MM = 0.075
"""Standard deviation of the smoothing before the Hessian, mm: near the half width of a hair seen by a phone."""
BLOCK_PX = 64
LEAST_FRAGMENT_PX = 5
CHANNELS = {False: (0.40, 0.42, 0.18), True: (0.25, 0.50, 0.25)}
"""Blue, green, red. On white the blue sees red hair best, but a JPEG keeps it worst."""
_FAINT, _FIRM = 2.5, 8.0
"""Strength, in standard deviations of the noise, at which a line is followed and at which one is begun."""
_FLOOR = 0.002


@dataclass(frozen=True)
class Contrast:
    """What lies on the sheet as a share of its background: 0 paper, 1 as dark as can be (on dark: as white)."""

    value: np.ndarray
    """(h, w) float32."""
    colour: np.ndarray
    """(h, w, 3) float32, blue green red."""
    corner: tuple[int, int]
    """x, y of the first pixel in the photograph."""
    background: np.ndarray
    """Block medians of the weighted light, 0 to 1."""


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


def linear_table() -> np.ndarray:
    """The 256 codes of sRGB in linear light (IEC 61966-2-1)."""
    code = np.arange(256) / 255
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4).astype(np.float32)


def contrast_of(image: np.ndarray, box: tuple[int, int, int, int], dark: bool) -> Contrast:
    """The contrast within a box (x0, y0, x1, y1) of a photograph (h, w, 3) uint8 in blue, green, red."""
    import cv2

    x0, y0, x1, y1 = box
    part = cv2.LUT(np.ascontiguousarray(image[y0:y1, x0:x1]), linear_table())
    weights = np.array(CHANNELS[dark], np.float32)
    white = 1.0
    if dark:
        white = max(0.05, float(linear_table()[int(np.percentile(image[::16, ::16, 1], 97))]))
    back = _background(part)
    h, w = part.shape[:2]
    colour = cv2.resize(back, (w, h), interpolation=cv2.INTER_LINEAR)
    if dark:
        cv2.subtract(part, colour, colour)
        np.divide(colour, white, out=colour)
    else:
        np.maximum(colour, 1e-3, out=colour)
        np.divide(part, colour, out=colour)
        np.subtract(1, colour, out=colour)
    value = cv2.transform(colour, weights[None, :])
    return Contrast(value, colour, (x0, y0), back @ weights)


def _background(part: np.ndarray) -> np.ndarray:
    """Medians of blocks, smoothed by the median of neighbours, (rows, columns, 3)."""
    import cv2

    h, w = part.shape[:2]
    rows, columns = max(1, round(h / BLOCK_PX)), max(1, round(w / BLOCK_PX))
    found = np.empty((rows, columns, 3), np.float32)
    ys, xs = np.linspace(0, h, rows + 1).astype(int), np.linspace(0, w, columns + 1).astype(int)
    for i in range(rows):
        for j in range(columns):
            block = part[ys[i] : ys[i + 1] : 3, xs[j] : xs[j + 1] : 3].reshape(-1, 3)
            found[i, j] = np.median(block, axis=0)
    return cv2.medianBlur(found, 3) if min(rows, columns) >= 3 else found


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


@compiled
def _across(value: Any, colour: Any, xy: Any, normal: Any, reach: float) -> Any:
    """Contrast summed across a line (px) and the colour at its crest, by bilinear look-up."""
    n = len(xy)
    h, w = value.shape
    total = np.zeros(n, np.float32)
    crest = np.zeros((n, 3), np.float32)
    steps = int(np.ceil(reach / 0.5))
    for i in range(n):
        for k in range(-steps, steps + 1):
            x, y = xy[i, 0] + 0.5 * k * normal[i, 0], xy[i, 1] + 0.5 * k * normal[i, 1]
            x0, y0 = int(np.floor(x)), int(np.floor(y))
            if x0 < 0 or y0 < 0 or x0 >= w - 1 or y0 >= h - 1:
                continue
            fx, fy = x - x0, y - y0
            w00, w10, w01, w11 = (1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy
            total[i] += 0.5 * (
                w00 * value[y0, x0]
                + w10 * value[y0, x0 + 1]
                + w01 * value[y0 + 1, x0]
                + w11 * value[y0 + 1, x0 + 1]
            )
            if abs(k) <= 1:
                for c in range(3):
                    crest[i, c] += (1 / 3) * (
                        w00 * colour[y0, x0, c]
                        + w10 * colour[y0, x0 + 1, c]
                        + w01 * colour[y0 + 1, x0, c]
                        + w11 * colour[y0 + 1, x0 + 1, c]
                    )
    return total, crest


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
    if not len(found):
        return []
    order = np.argsort(-found[:, 3], kind="stable")
    faint = max(_FAINT * noise, _FLOOR)
    points, starts = _follow(found, index, order, faint, max(_FIRM * noise, 2 * _FLOOR))
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
        total, crest = _across(contrast.value, contrast.colour, xy, normal, reach)
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
