"""From joined pieces to a whole line: filled at the joints, smoothed, drawn out to its ends, measured.

Arc length of a smoothed line: points every tenth of a millimetre, smoothed by a Gaussian of 0.3 mm with ends
reflected through themselves, so that noise across the line adds nothing and bends of a hair lose next to nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from coatwright.paper.contrast import compiled
from coatwright.paper.joints import Chain, Pieces, curve

STEP_MM = 0.1
SMOOTH_MM = 0.3
TRIM_MM = 0.18
"""Points this near to a joint are drawn aside by the line that crosses there, and are left out."""
REACH_MM = 0.9
"""How far beyond its last traced point an end is looked for."""


@dataclass
class Strand:
    """One line from end to end on the sheet, mm; at equal steps but for the last."""

    mm: np.ndarray
    """(n, 2)."""
    width: np.ndarray
    """(n,) optical width, mm."""
    height: np.ndarray
    """(n,) contrast at the crest."""
    colour: np.ndarray
    """(n, 3) contrast, blue green red."""
    bare: np.ndarray
    """(n,) bool: seen alone here, not at a joint."""
    length: float
    chain: Chain

    def turned(self) -> Strand:
        """The same, from the other end."""
        back = slice(None, None, -1)
        return Strand(
            self.mm[back],
            self.width[back],
            self.height[back],
            self.colour[back],
            self.bare[back],
            self.length,
            self.chain,
        )


def _steps(points: np.ndarray) -> np.ndarray:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def _rows(made: Pieces, chain: Chain, via: np.ndarray) -> np.ndarray:
    """All points of a chain in order with what was seen: columns x, y, width, height, colour (3), bare."""
    parts: list[np.ndarray] = []
    last = len(chain.pieces) - 1
    for at, (piece, turned) in enumerate(zip(chain.pieces, chain.turned, strict=True)):
        one = made.pieces[piece]
        rows = np.column_stack([one.mm, one.width, one.height, one.colour, np.ones(len(one.mm))])
        if turned:
            rows = rows[::-1]
        s = _steps(rows[:, :2])
        trim = min(TRIM_MM, 0.3 * s[-1])
        keep = np.ones(len(rows), bool)
        if at > 0:
            keep &= s >= trim
        if at < last:
            keep &= s[-1] - s >= trim
        rows = rows[keep] if keep.sum() >= 2 else rows[[0, -1]]
        if parts:
            parts.append(_bridge(made, chain, at, via, parts[-1], rows))
        parts.append(rows)
    return np.concatenate(parts)


def _bridge(
    made: Pieces, chain: Chain, at: int, via: np.ndarray, before: np.ndarray, after: np.ndarray
) -> np.ndarray:
    """The points between two pieces: of the line that carries both, or of a cubic through the gap."""
    carrier = int(via[chain.pairs[at - 1]])
    if carrier >= 0:
        points = made.pieces[carrier].mm
        if np.hypot(*(points[0] - before[-1, :2])) > np.hypot(*(points[-1] - before[-1, :2])):
            points = points[::-1]
        heading = after[0, :2] - before[-1, :2]
        ahead = ((points - before[-1, :2]) @ heading > 0) & ((after[0, :2] - points) @ heading > 0)
        points = points[ahead]
    else:
        leave = 2 * chain.pieces[at - 1] + (0 if chain.turned[at - 1] else 1)
        enter = 2 * chain.pieces[at] + (1 if chain.turned[at] else 0)
        whole = curve(made.ends, np.array([leave]), np.array([enter]), 25)[0]
        heading = after[0, :2] - before[-1, :2]
        ahead = ((whole - before[-1, :2]) @ heading > 0) & ((after[0, :2] - whole) @ heading > 0)
        points = whole[ahead]
    seen = (before[-1, 2:7] + after[0, 2:7]) / 2
    return np.column_stack([points, np.tile(seen, (len(points), 1)), np.zeros(len(points))])


def smoothed(points: np.ndarray, step: float = STEP_MM, sigma: float = SMOOTH_MM) -> np.ndarray:
    """Points (n, 2) at equal steps, smoothed along the line, the end points kept by reflection through them."""
    from scipy.ndimage import gaussian_filter1d

    n = len(points)
    pad = min(n - 1, int(4 * sigma / step))
    head = 2 * points[0] - points[pad:0:-1]
    tail = 2 * points[-1] - points[-2 : -pad - 2 : -1]
    wide = np.concatenate([head, points, tail])
    return np.asarray(gaussian_filter1d(wide, sigma / step, axis=0, mode="nearest")[pad : pad + n])


@compiled
def _sample(value: Any, xy: Any) -> Any:
    n = len(xy)
    out = np.zeros(n)
    h, w = value.shape
    for i in range(n):
        x, y = xy[i, 0], xy[i, 1]
        x0, y0 = int(np.floor(x)), int(np.floor(y))
        if x0 < 0 or y0 < 0 or x0 >= w - 1 or y0 >= h - 1:
            continue
        fx, fy = x - x0, y - y0
        out[i] = (1 - fy) * ((1 - fx) * value[y0, x0] + fx * value[y0, x0 + 1]) + fy * (
            (1 - fx) * value[y0 + 1, x0] + fx * value[y0 + 1, x0 + 1]
        )
    return out


def light_of(
    value: np.ndarray, corner: tuple[int, int], to_px: Callable[[np.ndarray], np.ndarray]
) -> Callable[[np.ndarray], np.ndarray]:
    """The contrast at points (n, 2) mm."""
    shift = np.array(corner, float)

    def light(points: np.ndarray) -> np.ndarray:
        return np.asarray(_sample(value, to_px(points) - shift)) if len(points) else np.zeros(0)

    return light


def _drawn_out(rows: np.ndarray, light: Callable[[np.ndarray], np.ndarray]) -> np.ndarray:
    """How far beyond the last row (or, negative, before it) the line falls to half its height there, mm, rows from
    the end inwards."""
    s = _steps(rows[: min(len(rows), 60), :2])
    use = (s >= 0.05) & (s <= 0.9)
    if use.sum() < 3:
        return np.array([0.0, 0.0, 0.0])
    line = np.polyfit(s[use], rows[: len(s)][use, :2], 1)
    heading = -line[0] / max(1e-9, np.hypot(*line[0]))
    origin = line[1]
    reach = np.arange(-1.0, REACH_MM + 1e-9, 0.04)
    points = origin + reach[:, None] * heading
    normal = np.array([-heading[1], heading[0]])
    beside = np.concatenate([points + shift * normal for shift in (-0.04, 0.0, 0.04)])
    seen = light(beside).reshape(3, -1).max(axis=0)
    height = float(np.median(seen[(reach >= -0.8) & (reach <= -0.15)]))
    below = seen < 0.5 * height
    begin = int(np.searchsorted(reach, -0.5))
    falls = np.flatnonzero(below[begin:])
    if not len(falls):
        return np.array([0.0, *heading])
    at = begin + int(falls[0])
    if at > 0 and seen[at - 1] > seen[at]:
        part = (seen[at - 1] - 0.5 * height) / (seen[at - 1] - seen[at])
        return np.array([reach[at - 1] + min(1.0, max(0.0, part)) * 0.04, *heading])
    return np.array([reach[at], *heading])


def build(
    made: Pieces, chain: Chain, via: np.ndarray, light: Callable[[np.ndarray], np.ndarray]
) -> Strand | None:
    """The whole line of a chain, or nothing when fewer than four points are left."""
    rows = _rows(made, chain, via)
    for _ in range(2):
        more = _drawn_out(rows, light)
        heading = more[1:]
        if more[0] > 0:
            tip = rows[0].copy()
            tip[:2] += more[0] * heading
            tip[7] = 1.0
            rows = np.concatenate([tip[None, :], rows])
        elif more[0] < 0:
            keep = (rows[:, :2] - rows[0, :2]) @ heading <= more[0]
            keep[80:] = True
            rows = rows[keep] if keep.sum() >= 4 else rows
        rows = rows[::-1]
    s = _steps(rows[:, :2])
    fresh = np.concatenate([[True], np.diff(s) > 1e-6])
    rows, s = rows[fresh], s[fresh]
    if len(rows) < 4 or s[-1] < 4 * STEP_MM:
        return None
    at = np.linspace(0, s[-1], max(5, round(s[-1] / STEP_MM) + 1))
    even = np.column_stack([np.interp(at, s, rows[:, c]) for c in range(8)])
    mm = smoothed(even[:, :2])
    length = float(np.hypot(*np.diff(mm, axis=0).T).sum())
    return Strand(mm, even[:, 2], even[:, 3], even[:, 4:7], even[:, 7] > 0.5, length, chain)
