"""Where the words go on a shaded picture: inside the zone where they fit, else beside it with a thin line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from coatwright.drawing.curves import Bools, Floats, centroid, inside, nearest, thin_ring

LETTER = 0.64
"""Mean width of a letter or figure of the sans face over its size, on the wide side."""


@dataclass(frozen=True, slots=True)
class Label:
    """Words centred on (x, y); with ``anchor``, a line leads from there to the zone."""

    zone: str
    words: str
    x: float
    y: float
    size: float
    anchor: tuple[float, float] | None = None

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of the words."""
        half = 0.5 * width_of(self.words, self.size)
        return self.x - half, self.y - 0.52 * self.size, self.x + half, self.y + 0.52 * self.size


def width_of(words: str, size: float) -> float:
    """Width of a line of text, about, in the unit of ``size``."""
    return LETTER * size * max(len(words), 1)


def overlap(
    a: tuple[float, float, float, float], b: tuple[float, float, float, float], gap: float = 0.0
) -> bool:
    """Whether two boxes (left, top, right, bottom) come closer than ``gap``."""
    return a[0] < b[2] + gap and b[0] < a[2] + gap and a[1] < b[3] + gap and b[1] < a[3] + gap


def place(
    words: Mapping[str, str],
    polygons: Mapping[str, Floats],
    filled: list[Floats],
    frame: tuple[float, float],
    size: float,
    covers: Mapping[str, tuple[Floats, ...]],
) -> list[Label]:
    """A label per zone of ``words``; none overlaps another.

    ``polygons`` in units of the picture, ``filled`` everything that is drawn, ``frame`` width and height of
    the picture, ``covers`` per zone the polygons that lie over it: its words keep clear of them.
    """
    polygons = {zone: thin_ring(polygon, 1.5) for zone, polygon in polygons.items()}
    covers = {zone: tuple(thin_ring(cover, 1.5) for cover in over) for zone, over in covers.items()}
    placed: list[Label] = []
    outside: list[tuple[str, tuple[float, float]]] = []
    for zone, line in words.items():
        if not line or zone not in polygons:
            continue
        spot, anchor = _spot(polygons[zone], covers.get(zone, ()), width_of(line, size), size)
        if spot is None:
            outside.append((zone, anchor))
        else:
            placed.append(Label(zone, line, *spot, size))
    step = 12.0
    columns, rows = int(frame[0] / step), int(frame[1] / step)
    gx, gy = np.meshgrid((np.arange(columns) + 0.5) * step, (np.arange(rows) + 0.5) * step)
    ink = np.zeros(gx.shape, dtype=bool)
    for polygon in filled if outside else ():
        ink |= inside(thin_ring(polygon, 1.5), gx, gy)
    for zone, anchor in outside:
        placed.append(_beside(zone, words[zone], anchor, size, ink, step, frame, placed))
    return placed


def _spot(
    polygon: Floats, hidden: tuple[Floats, ...], width: float, size: float
) -> tuple[tuple[float, float] | None, tuple[float, float]]:
    """The roomiest place for a box in a polygon, or None; and the middle of its roomiest part."""
    low, high = polygon.min(axis=0), polygon.max(axis=0)
    gx, gy = np.meshgrid(np.linspace(low[0], high[0], 28), np.linspace(low[1], high[1], 28))
    free = inside(polygon, gx, gy)
    for cover in hidden:
        free &= ~inside(cover, gx, gy)
    if not free.any():
        return None, centroid(polygon)
    x, y = gx[free], gy[free]
    room = nearest(polygon, x, y)[0]
    for cover in hidden:
        room = np.minimum(room, nearest(cover, x, y)[0])
    best = int(room.argmax())
    anchor = (float(x[best]), float(y[best]))
    fits = np.ones(len(x), dtype=bool)
    for dx in (-0.5, -0.25, 0.0, 0.25, 0.5):
        for dy in (-0.5, 0.0, 0.5):
            px, py = x + dx * width, y + dy * size
            fits &= inside(polygon, px, py)
            for cover in hidden:
                fits &= ~inside(cover, px, py)
    if not fits.any():
        return None, anchor
    chosen = int(np.where(fits, room, -1.0).argmax())
    return (float(x[chosen]), float(y[chosen])), anchor


def _beside(
    zone: str,
    line: str,
    anchor: tuple[float, float],
    size: float,
    ink: Bools,
    step: float,
    frame: tuple[float, float],
    placed: list[Label],
) -> Label:
    """The nearest free place for words outside the dog, as seen from ``anchor``."""
    half = 0.5 * width_of(line, size)
    for distance in np.arange(2.0 * size, 40.0 * size, 0.5 * size):
        for angle in np.arange(0.0, 2.0 * np.pi, np.pi / 24.0):
            label = Label(
                zone,
                line,
                float(anchor[0] + distance * np.cos(angle)),
                float(anchor[1] + distance * np.sin(angle)),
                size,
                anchor,
            )
            left, top, right, bottom = label.box
            if left < 6 or top < 6 or right > frame[0] - 6 or bottom > frame[1] - 6:
                continue
            i0, i1 = int((left - 10) / step), int((right + 10) / step) + 1
            j0, j1 = int((top - 8) / step), int((bottom + 8) / step) + 1
            if ink[max(j0, 0) : j1, max(i0, 0) : i1].any():
                continue
            if any(overlap(label.box, other.box, 8.0) for other in placed):
                continue
            if any(_crosses(anchor, (label.x, label.y), other.box) for other in placed):
                continue
            return label
    return Label(zone, line, min(max(anchor[0], half), frame[0] - half), anchor[1], size, anchor)


def _crosses(a: tuple[float, float], b: tuple[float, float], box: tuple[float, float, float, float]) -> bool:
    """Whether the line from a to b runs through a box."""
    t = np.linspace(0.0, 1.0, 40)
    x, y = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
    return bool(((x > box[0]) & (x < box[2]) & (y > box[1]) & (y < box[3])).any())
