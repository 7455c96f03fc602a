"""The roundness of a flat outline: how much light falls on each place of the body.

A polygon is blown up like a cushion. The height h over the paper solves ``laplace(phi) = -1`` inside, 0 on
the outline, with ``h = sqrt(2 phi)``: over a long strip this is exactly a round tube, so legs, neck and
trunk each get the roundness of their own thickness. Muscles and hollows are added as smooth bumps.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.ndimage import distance_transform_edt, gaussian_filter, map_coordinates
from scipy.sparse import csr_array, diags_array
from scipy.sparse.linalg import spsolve

from coatwright.drawing.curves import Floats, inside

SUN = (-0.46, 0.72, 0.52)
"""Where the light comes from: left, above, and from the onlooker's side (a unit vector, nearly)."""


@dataclass(frozen=True, eq=False)
class Relief:
    """Light on a grid: ``light[j, i]`` belongs to ``(x0 + i * cell, y0 + j * cell)``; about -0.5 to 1."""

    x0: float
    y0: float
    cell: float
    light: Floats

    def at(self, x: ArrayLike, y: ArrayLike) -> Floats:
        """Light at points, same shape as ``x``, between grid points by linear interpolation."""
        i = (np.asarray(x, dtype=float) - self.x0) / self.cell
        j = (np.asarray(y, dtype=float) - self.y0) / self.cell
        found: Floats = map_coordinates(self.light, [j, i], order=1, mode="nearest")
        return found


def relief(polygon: Floats, bumps: Floats | None = None, cells: int = 110) -> Relief:
    """Light over a closed polygon of shape (n, 2); ``bumps`` (m, 4): x, y, radius, height in the same unit."""
    low, high = polygon.min(axis=0), polygon.max(axis=0)
    cell = float((high - low).max() / cells)
    x0, y0 = low - 2.0 * cell
    nx, ny = (np.ceil((high - low) / cell) + 5).astype(int)
    gx, gy = np.meshgrid(x0 + cell * np.arange(nx), y0 + cell * np.arange(ny))
    mask = inside(polygon, gx, gy)
    mask[[0, -1], :] = mask[:, [0, -1]] = False
    number = np.full(mask.shape, -1)
    count = int(mask.sum())
    number[mask] = np.arange(count)
    rows: list[np.ndarray] = []
    columns: list[np.ndarray] = []
    for axis in (0, 1):
        for step in (-1, 1):
            other = np.roll(number, step, axis=axis)
            both = mask & (other >= 0)
            rows.append(number[both])
            columns.append(other[both])
    row, column = np.concatenate(rows), np.concatenate(columns)
    off = csr_array((-np.ones(len(row)), (row, column)), shape=(count, count))
    system = (diags_array(np.full(count, 4.0)) + off).tocsr()
    phi = np.zeros(mask.shape)
    phi[mask] = spsolve(system, np.full(count, cell * cell))
    height = np.sqrt(2.0 * np.maximum(phi, 0.0))
    if bumps is not None:
        for bx, by, radius, rise in bumps:
            height += rise * np.exp(-(((gx - bx) ** 2 + (gy - by) ** 2) / radius**2)) * mask
    height = gaussian_filter(height, 1.0)
    slope_y, slope_x = np.gradient(height, cell)
    norm = np.sqrt(slope_x**2 + slope_y**2 + 1.0)
    light = (-slope_x * SUN[0] - slope_y * SUN[1] + SUN[2]) / norm
    edge = distance_transform_edt(~mask, return_distances=False, return_indices=True)
    return Relief(float(x0), float(y0), cell, light[tuple(edge)])


def darker_than(shape: Relief, level: float) -> list[Floats]:
    """Closed polygons around the places with less light than ``level`` (marching squares), each (n, 2).

    The light goes on past the outline, and so do the polygons: cut them off with it. Holes run the other
    way round than what they are in.
    """
    field = np.pad(shape.light, 1, constant_values=level + 1.0) - level
    low = field < 0.0
    case = low[:-1, :-1] * 1 + low[:-1, 1:] * 2 + low[1:, 1:] * 4 + low[1:, :-1] * 8
    after: dict[tuple[int, int, int], tuple[int, int, int]] = {}
    for j, i in zip(*np.nonzero((case > 0) & (case < 15)), strict=True):
        sides = ((j, i, 0), (j, i + 1, 1), (j + 1, i, 0), (j, i, 1))
        for start, end in _TURNS[int(case[j, i])]:
            after[sides[start]] = sides[end]
    loops = []
    while after:
        first, at = after.popitem()
        loop = [first, at]
        while at != first and at in after:
            at = after.pop(at)
            loop.append(at)
        loops.append(np.array([_crossing(field, *edge) for edge in loop[:-1]]))
    return [np.array([shape.x0, shape.y0]) + shape.cell * (loop - 1.0) for loop in loops if len(loop) >= 6]


_TURNS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((0, 3),), 2: ((1, 0),), 3: ((1, 3),), 4: ((2, 1),), 5: ((0, 3), (2, 1)), 6: ((2, 0),), 7: ((2, 3),),
    8: ((3, 2),), 9: ((0, 2),), 10: ((1, 0), (3, 2)), 11: ((1, 2),), 12: ((3, 1),), 13: ((0, 1),), 14: ((3, 0),),
}  # fmt: skip
"""From which side to which a contour runs through a cell, by which of its corners are low.

Sides: 0 bottom, 1 right, 2 top, 3 left. Low ground lies to the left.
"""


def _crossing(field: Floats, j: int, i: int, upright: int) -> tuple[float, float]:
    """Where the field passes 0 on the grid edge that starts at (j, i)."""
    a = field[j, i]
    b = field[j + 1, i] if upright else field[j, i + 1]
    t = float(a / (a - b))
    return (float(i), j + t) if upright else (i + t, float(j))
