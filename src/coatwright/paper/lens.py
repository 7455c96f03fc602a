"""From pixels to mm of the sheet and back, compiled: a homography and a cubic laid over it."""

from __future__ import annotations

from typing import Any

import numpy as np

from coatwright.paper.contrast import compiled

_SETTLED_MM = 1e-9
_MOST_STEPS = 12


@compiled
def _bent(x: float, y: float, cubic: Any, page: Any) -> Any:
    """What the cubic adds at a point, over the terms of :func:`coatwright.paper.marks.cubic_terms`."""
    half = max(page[0], page[1]) / 2
    u, v = (x - page[0] / 2) / half, (y - page[1] / 2) / half
    terms = (1.0, u, v, u * u, u * v, v * v, u * u * u, u * u * v, u * v * v, v * v * v)
    dx = dy = 0.0
    for k in range(10):
        dx += terms[k] * cubic[k, 0]
        dy += terms[k] * cubic[k, 1]
    return dx, dy


@compiled
def to_mm(px: Any, homography: Any, cubic: Any, page: Any, scale: float) -> Any:
    """(n, 2) pixels to (n, 2) true mm."""
    out = np.empty_like(px)
    for i in range(len(px)):
        x, y = px[i, 0], px[i, 1]
        w = homography[2, 0] * x + homography[2, 1] * y + homography[2, 2]
        fx = (homography[0, 0] * x + homography[0, 1] * y + homography[0, 2]) / w
        fy = (homography[1, 0] * x + homography[1, 1] * y + homography[1, 2]) / w
        dx, dy = _bent(fx, fy, cubic, page)
        out[i, 0], out[i, 1] = (fx + dx) * scale, (fy + dy) * scale
    return out


@compiled
def to_px(mm: Any, back: Any, cubic: Any, page: Any, scale: float) -> Any:
    """(n, 2) true mm to (n, 2) pixels, ``back`` being the inverse homography: by fixed-point steps."""
    out = np.empty_like(mm)
    for i in range(len(mm)):
        wx, wy = mm[i, 0] / scale, mm[i, 1] / scale
        fx, fy = wx, wy
        for _ in range(_MOST_STEPS):
            dx, dy = _bent(fx, fy, cubic, page)
            change = max(abs(wx - dx - fx), abs(wy - dy - fy))
            fx, fy = wx - dx, wy - dy
            if change < _SETTLED_MM:
                break
        w = back[2, 0] * fx + back[2, 1] * fy + back[2, 2]
        out[i, 0] = (back[0, 0] * fx + back[0, 1] * fy + back[0, 2]) / w
        out[i, 1] = (back[1, 0] * fx + back[1, 1] * fy + back[1, 2]) / w
    return out
