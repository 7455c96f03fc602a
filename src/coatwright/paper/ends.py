"""What an end is: a club, drawn out of the skin with the hair; a taper, the grown tip; or blunt, broken or cut.

Read from the last 2.5 mm: the optical width across the line at steps of 0.05 mm, from a little beyond the end
inwards, set against the shaft behind it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from coatwright.paper.contrast import Contrast, across
from coatwright.paper.strand import STEP_MM, Strand, _sample

LAST_MM = 2.5
BEYOND_MM = 0.35
_FINE_MM = 0.05
_WINDOWS = ((-0.35, -0.15), (-0.15, 0.0), (0.0, 0.12), (0.12, 0.25), (0.25, 0.4), (0.4, 0.6), (0.6, 0.9), (0.9, 1.3),
            (1.3, 1.9), (1.9, 2.5))  # fmt: skip
END_FEATURES = (
    *(f"width {a}" for a, _ in _WINDOWS), *(f"height {a}" for a, _ in _WINDOWS),
    "bulge", "bulge place", "shaft", "shaft height", "slope", "far slope", "length", "bare", "fall", "other side",
)  # fmt: skip


def _from_end(one: Strand, start: bool) -> np.ndarray:
    """Fine points (n, 2) mm from beyond an end inwards, on the strand itself."""
    mm = one.mm if start else one.mm[::-1]
    take = mm[: min(len(mm), int(LAST_MM / STEP_MM) + 2)]
    heading = take[0] - take[min(4, len(take) - 1)]
    heading = heading / max(1e-9, float(np.hypot(*heading)))
    s = np.arange(len(take)) * STEP_MM
    fine = np.arange(0.0, min(LAST_MM, s[-1]) + 1e-9, _FINE_MM)
    inside = np.column_stack([np.interp(fine, s, take[:, c]) for c in range(2)])
    before = np.arange(-BEYOND_MM, -1e-9, _FINE_MM)
    outside = take[0] - before[:, None] * heading
    return np.concatenate([outside, inside])


def end_features(
    strands: list[Strand], contrast: Contrast, to_px: Callable[[np.ndarray], np.ndarray], px_per_mm: float
) -> np.ndarray:
    """Rows of ``END_FEATURES``, two per strand: its start, its stop."""
    lines = [_from_end(one, start) for one in strands for start in (True, False)]
    if not lines:
        return np.zeros((0, len(END_FEATURES)), np.float32)
    sizes = [len(line) for line in lines]
    px = to_px(np.concatenate(lines)) - np.array(contrast.corner, float)
    normal = np.concatenate([_normals(part) for part in np.split(px, np.cumsum(sizes)[:-1])])
    total, _ = across(contrast, px, normal, max(3.0, 0.2 * px_per_mm))
    crest = np.max([_sample(contrast.value, px + shift * normal) for shift in (-0.7, 0.0, 0.7)], axis=0)
    rows = []
    cuts = np.cumsum(sizes)[:-1]
    for k, (width, height) in enumerate(
        zip(np.split(total / px_per_mm, cuts), np.split(crest, cuts), strict=True)
    ):
        one = strands[k // 2]
        rows.append(_row(one, k % 2 == 0, width.astype(float), height))
    return np.array(rows, np.float32)


def _normals(px: np.ndarray) -> np.ndarray:
    steps = np.gradient(px, axis=0)
    steps /= np.maximum(np.hypot(*steps.T), 1e-9)[:, None]
    return np.stack([-steps[:, 1], steps[:, 0]], axis=1)


def _row(one: Strand, start: bool, width: np.ndarray, height: np.ndarray) -> list[float]:
    s = np.arange(len(width)) * _FINE_MM - BEYOND_MM
    along = one.width if start else one.width[::-1]
    bare = one.bare if start else one.bare[::-1]
    behind = along[int(LAST_MM / STEP_MM) : 70]
    shaft = max(0.01, float(np.median(behind if len(behind) > 5 else along)))
    peak = max(0.01, float(np.median(height[s > 0.6]))) if (s > 0.6).any() else max(0.01, float(height.max()))
    w, h = [], []
    for a, b in _WINDOWS:
        use = (s >= a - 1e-9) & (s < b - 1e-9)
        w.append(float(width[use].mean()) / shaft if use.any() else -1.0)
        h.append(float(height[use].mean()) / peak if use.any() else -1.0)
    bulb, stalk = (s >= 0) & (s <= 0.7), (s >= 0.9) & (s <= 2.2)
    level = max(0.01, float(np.median(width[stalk]))) if stalk.any() else shaft
    bulge = float(width[bulb].max()) / level
    place = float(s[bulb][width[bulb].argmax()])
    use = (s >= 0.6) & (s <= 2.5)
    slope = float(np.polyfit(s[use], width[use], 1)[0]) / shaft if use.sum() > 5 else 0.0
    far = along[25:120]
    far_slope = float(np.polyfit(np.arange(len(far)) * STEP_MM, far, 1)[0]) / shaft if len(far) > 20 else 0.0
    other = along[::-1][:25]
    fall = float(np.abs(np.diff(height[s <= 0.3])).max()) / peak
    return [
        *w, *h, bulge, place, shaft, peak, slope, far_slope, one.length, float(bare[:25].mean()), fall,
        float(np.median(other)) / shaft,
    ]  # fmt: skip
