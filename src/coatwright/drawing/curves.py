"""Smooth curves, polygons and point tests in plain NumPy; every array of points has the shape (n, 2)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def spline(points: ArrayLike, steps: int = 8, *, closed: bool = False) -> Floats:
    """Points of a smooth curve through ``points``, shape (m, 2); ``steps`` sides from point to point.

    Centripetal Catmull-Rom spline (Yuksel, Schaefer & Keyser 2011): no loops or cusps between the points.
    An open curve keeps both ends; a closed one does not repeat its first point.
    """
    given = np.asarray(points, dtype=float)
    if closed:
        ring = np.concatenate([given[-1:], given, given[:2]])
    else:
        ring = np.concatenate([2 * given[:1] - given[1:2], given, 2 * given[-1:] - given[-2:-1]])
    p0, p1, p2, p3 = ring[:-3], ring[1:-2], ring[2:-1], ring[3:]
    d1, d2, d3 = (
        np.sqrt(np.maximum(np.linalg.norm(b - a, axis=1), 1e-9))[:, None]
        for a, b in ((p0, p1), (p1, p2), (p2, p3))
    )
    m1 = (p2 - p1) + d2 * ((p1 - p0) / d1 - (p2 - p0) / (d1 + d2))
    m2 = (p2 - p1) + d2 * ((p3 - p2) / d3 - (p3 - p1) / (d2 + d3))
    t = (np.arange(steps) / steps)[None, :, None]
    a, b = 2 * t**3 - 3 * t**2 + 1, t**3 - 2 * t**2 + t
    c, d = -2 * t**3 + 3 * t**2, t**3 - t**2
    curve = (a * p1[:, None] + b * m1[:, None] + c * p2[:, None] + d * m2[:, None]).reshape(-1, 2)
    return curve if closed else np.concatenate([curve, given[-1:]])


def area(polygon: ArrayLike) -> float:
    """Area of a simple polygon (shoelace formula), in its unit squared."""
    x, y = np.asarray(polygon, dtype=float).T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0)


def centroid(polygon: ArrayLike) -> tuple[float, float]:
    """Centre of area of a simple polygon."""
    x, y = np.asarray(polygon, dtype=float).T
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    total = cross.sum() * 3.0
    return float(((x + np.roll(x, -1)) * cross).sum() / total), float(
        ((y + np.roll(y, -1)) * cross).sum() / total
    )


def inside(polygon: ArrayLike, x: ArrayLike, y: ArrayLike) -> Bools:
    """Whether each point (x, y), any shape, lies in a polygon (even-odd rule)."""
    ring = np.asarray(polygon, dtype=float)
    px, py = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    found = np.zeros(np.broadcast(px, py).shape, dtype=bool)
    for (ax, ay), (bx, by) in zip(np.roll(ring, 1, axis=0), ring, strict=True):
        if ay == by:
            continue
        crosses = (by > py) != (ay > py)
        found ^= crosses & (px < (ax - bx) * (py - by) / (ay - by) + bx)
    return found


def nearest(polyline: ArrayLike, x: ArrayLike, y: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Distance of each point to a closed polyline and the nearest point on it: three arrays like ``x``."""
    ring = np.asarray(polyline, dtype=float)
    ends = np.roll(ring, -1, axis=0)
    step = ends - ring
    square = np.maximum((step**2).sum(axis=1), 1e-12)
    p = np.stack([np.ravel(x), np.ravel(y)], axis=-1).astype(float)
    t = np.clip(((p[:, None, :] - ring[None]) * step[None]).sum(axis=2) / square, 0.0, 1.0)
    at = ring[None] + t[..., None] * step[None]
    gap = ((p[:, None, :] - at) ** 2).sum(axis=2)
    best = gap.argmin(axis=1)
    rows = np.arange(len(p))
    foot = at[rows, best]
    shape = np.shape(x)
    return np.sqrt(gap[rows, best]).reshape(shape), foot[:, 0].reshape(shape), foot[:, 1].reshape(shape)


def thin(points: ArrayLike, tolerance: float) -> Floats:
    """The points of a line that matter: none left out lies further than ``tolerance`` from the rest.

    Ramer-Douglas-Peucker; ends are kept.
    """
    line = np.asarray(points, dtype=float)
    keep = np.zeros(len(line), dtype=bool)
    keep[[0, -1]] = True
    stack = [(0, len(line) - 1)]
    while stack:
        first, last = stack.pop()
        if last <= first + 1:
            continue
        a, b = line[first], line[last]
        span = b - a
        inner = line[first + 1 : last] - a
        norm = float(np.hypot(*span))
        if norm > 1e-12:
            off = np.abs(inner[:, 0] * span[1] - inner[:, 1] * span[0]) / norm
        else:
            off = np.hypot(inner[:, 0], inner[:, 1])
        worst = int(off.argmax())
        if off[worst] > tolerance:
            keep[first + 1 + worst] = True
            stack += [(first, first + 1 + worst), (first + 1 + worst, last)]
    return line[keep]


def thin_ring(points: ArrayLike, tolerance: float) -> Floats:
    """:func:`thin` for a closed polygon."""
    ring = np.asarray(points, dtype=float)
    half = len(ring) // 2
    first = thin(ring[: half + 1], tolerance)
    second = thin(np.concatenate([ring[half:], ring[:1]]), tolerance)
    return np.concatenate([first[:-1], second[:-1]])


def join(lines: Sequence[Floats]) -> Floats:
    """Lines that meet end to end, put together into one closed polygon (each turned as needed)."""
    loop, *rest = lines
    rest = list(rest)
    while rest:
        for i, line in enumerate(rest):
            if np.allclose(line[0], loop[-1], atol=1e-7):
                loop = np.concatenate([loop, line[1:]])
            elif np.allclose(line[-1], loop[-1], atol=1e-7):
                loop = np.concatenate([loop, line[-2::-1]])
            else:
                continue
            del rest[i]
            break
        else:
            raise ValueError(f"The lines break off at {loop[-1]}.")
    if not np.allclose(loop[0], loop[-1], atol=1e-7):
        raise ValueError(f"The lines do not close: {loop[0]} and {loop[-1]}.")
    return loop[:-1]
