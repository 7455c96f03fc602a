"""The light of a photograph: linear (IEC 61966-2-1), read between pixels, and where a profile passes a level."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coatwright.paper.marks import Floats

Pixels = NDArray[np.uint8]
_CODE = np.arange(256) / 255
LINEAR = np.where(_CODE <= 0.04045, _CODE / 12.92, ((_CODE + 0.055) / 1.055) ** 2.4).astype(np.float32)
"""The 256 codes of sRGB in linear light (IEC 61966-2-1), 0 to 1."""


class Light:
    """Linear light between pixels of one channel."""

    def __init__(self, grey: Pixels) -> None:
        self.grey = grey

    def at(self, xy: Floats) -> Floats:
        """Light at points (..., 2), by straight lines between the four pixels around each."""
        h, w = self.grey.shape
        x, y = np.clip(xy[..., 0], 0, w - 1.001), np.clip(xy[..., 1], 0, h - 1.001)
        c, r = x.astype(np.intp), y.astype(np.intp)
        fx, fy = x - c, y - r
        top = LINEAR[self.grey[r, c]] * (1 - fx) + LINEAR[self.grey[r, c + 1]] * fx
        low = LINEAR[self.grey[r + 1, c]] * (1 - fx) + LINEAR[self.grey[r + 1, c + 1]] * fx
        return np.asarray(top * (1 - fy) + low * fy, dtype=float)


def crossing(row: Floats, steps: Floats, level: float) -> float:
    """Where a rising profile passes a level, nearest to the middle; nan where it does not."""
    at = np.flatnonzero((row[:-1] < level) & (row[1:] >= level))
    if not len(at):
        return float("nan")
    i = int(at[np.argmin(np.abs(steps[at]))])
    return float(steps[i] + (level - row[i]) / (row[i + 1] - row[i]) * (steps[i + 1] - steps[i]))
