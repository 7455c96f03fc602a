"""From millimetres of the dog to whole units of the picture, and strokes to path data."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from coatwright.drawing.curves import Floats, thin_ring
from coatwright.drawing.figure import Figure
from coatwright.drawing.roots import Ints
from coatwright.drawing.strokes import Strokes
from coatwright.drawing.svg import polygon_path

WIDTH = 1150
"""Width of every coat picture, in units of its view box."""
MARGIN = (15.0, 14.0, 13.0, 12.0)
"""Room for the hair around the shaved dog: left, top, right, bottom, in units of the anatomy."""
FLAT = 0.55
"""A hair that bends by less than this (units of the view box) is drawn straight."""


class Canvas:
    """Maps mm (y up) to the view box (y down). The same figure always gets the same view box."""

    def __init__(self, figure: Figure, foot: int = 0) -> None:
        left, bottom, right, top = figure.bounds
        unit = figure.unit
        self.left = left - MARGIN[0] * unit
        self.top = top + MARGIN[1] * unit
        self.scale = WIDTH / (right + MARGIN[2] * unit - self.left)
        self.width = WIDTH
        self.floor = round((self.top - bottom + MARGIN[3] * unit) * self.scale)
        self.height = self.floor + foot

    def x(self, mm: Floats | float) -> Floats:
        """Across."""
        return (np.asarray(mm, dtype=float) - self.left) * self.scale

    def y(self, mm: Floats | float) -> Floats:
        """Down."""
        return (self.top - np.asarray(mm, dtype=float)) * self.scale

    def points(self, polygon: Floats) -> Floats:
        """Points of shape (n, 2) in units of the view box."""
        return np.stack([self.x(polygon[:, 0]), self.y(polygon[:, 1])], axis=1)

    def path(self, polygon: Floats, *, closed: bool = True) -> str:
        """Path data of a polygon, points that do not matter left out."""
        points = self.points(polygon)
        return _thinned_path(points.tobytes()) if closed else polygon_path(points, closed=False)

    def hair(self, drawn: Strokes, rows: Ints) -> str:
        """Path data of the strokes ``rows``: each a quadratic curve, all by relative steps."""
        x, y = self.x(drawn.x[rows]), self.y(drawn.y[rows])
        dx, dy = drawn.dx[rows] * self.scale, -drawn.dy[rows] * self.scale
        bend = drawn.curvature[rows]
        cx, cy = 0.5 * dx + 2.0 * bend * dy, 0.5 * dy - 2.0 * bend * dx
        strip = np.floor(y / 40.0)
        order = np.lexsort((np.where(strip % 2 == 0, x, -x), strip))
        flat = (np.abs(bend) * np.hypot(dx, dy) < FLAT)[order].tolist()
        at_x, at_y, end_x, end_y, mid_x, mid_y = (
            np.rint(a[order]).astype(np.int64) for a in (x, y, dx, dy, cx, cy)
        )
        step_x, step_y = np.diff(at_x, prepend=0), np.diff(at_y, prepend=0)
        step_x[1:] -= end_x[:-1]
        step_y[1:] -= end_y[:-1]
        columns = (a.tolist() for a in (step_x, step_y, mid_x, mid_y, end_x, end_y))
        parts = (
            f"m{a} {b}l{e} {f}" if straight else f"m{a} {b}q{c} {d} {e} {f}"
            for straight, a, b, c, d, e, f in zip(flat, *columns, strict=True)
        )
        return "".join(parts).replace(" -", "-")


@lru_cache(maxsize=4096)
def _thinned_path(points: bytes) -> str:
    """Path data of a closed polygon, by the bytes of its points: those of a figure stay as they are."""
    return polygon_path(thin_ring(np.frombuffer(points).reshape(-1, 2), 0.6), closed=True)
