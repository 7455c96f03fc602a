"""The dog seen from the side: outline, zones and builds, as plain numbers to draw and to hit-test with.

Unit: the withers of the *square* build stand at y = 100; the ground is y = 0, x runs to the right, the dog
faces left. Curves are closed and smooth (see :func:`smooth`). Zones are polygons that reach past the
outline and are cut off by it; they are put together from the borders between them, so that neighbours
share every point of their border and no gap can open. Ears and tail are zones of their own, given by the
kind of ear and tail.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from coatwright.errors import UnknownName

Point = tuple[float, float]
Polygon = tuple[Point, ...]

BUILDS = ("square", "short_legged", "long_low", "leggy", "round_headed", "giant")
EARS = ("prick", "folded", "drop")
TAILS = ("up", "level", "docked")
"""Tails as they are seen. ``docked``: by birth or long ago; shown, not endorsed."""

WITHERS = 100.0
ELBOW = 50.0
"""Height of the elbow: below it lies the leg, above it the trunk."""
PASTERN = 8.0
"""Height up to which a foot keeps its shape, whatever the length of leg."""
TRUNK_FROM, TRUNK_TO = 62.0, 98.0
"""The stretch of the trunk (x) that grows or shrinks with the build."""
HEAD_PIVOT: Point = (34.0, 118.0)
"""Where the head sits on the neck."""
NECK_BASE: Point = (50.0, 96.0)
NECK_WAY: Point = (-0.768, 0.640)
NECK_FROM, NECK_TO = 2.0, 26.0
"""The scale of the head fades in along the neck: from where, which way, and over which lengths."""
STOP = 18.0
"""x of the stop, where the muzzle begins."""
BORDER_STEPS = 4
"""Sides of a smoothed border from point to point."""


@dataclass(frozen=True, slots=True)
class Build:
    """How one build differs from the square one: factors on lengths, 1 = as drawn.

    ``leg`` below the elbow, ``trunk`` its length, ``depth`` of the trunk above the elbow, ``head`` its
    size, ``muzzle`` its length.
    """

    key: str
    leg: float
    trunk: float
    depth: float
    head: float
    muzzle: float

    @property
    def withers(self) -> float:
        """Height of the withers after :meth:`place`, in units of the drawing."""
        return self._height(WITHERS)

    def _height(self, y: float) -> float:
        if y <= PASTERN:
            return y
        elbow = PASTERN + self.leg * (ELBOW - PASTERN)
        if y <= ELBOW:
            return PASTERN + self.leg * (y - PASTERN)
        if y <= WITHERS:
            return elbow + self.depth * (y - ELBOW)
        return elbow + self.depth * (WITHERS - ELBOW) + (y - WITHERS)

    def place(self, point: Point) -> Point:
        """Where a point of the square build lies on this one, in units of the drawing."""
        x, y = point
        along = (x - NECK_BASE[0]) * NECK_WAY[0] + (y - NECK_BASE[1]) * NECK_WAY[1]
        scale = 1.0 + (self.head - 1.0) * _fade((along - NECK_FROM) / (NECK_TO - NECK_FROM))
        if x <= TRUNK_FROM:
            long = x if x >= STOP else STOP + self.muzzle * (x - STOP)
            x = HEAD_PIVOT[0] + scale * (long - HEAD_PIVOT[0])
            y = HEAD_PIVOT[1] + scale * (y - HEAD_PIVOT[1])
        elif x <= TRUNK_TO:
            x = TRUNK_FROM + self.trunk * (x - TRUNK_FROM)
        else:
            x += (self.trunk - 1.0) * (TRUNK_TO - TRUNK_FROM)
        return x, self._height(y)

    def place_all(self, points: Iterable[Point]) -> Polygon:
        """:meth:`place` for every point."""
        return tuple(self.place(point) for point in points)


@dataclass(frozen=True, slots=True)
class Profile:
    """The side view as data.

    ``curves``  closed curves: body, ear_prick, ear_folded, ear_drop, tail_up, tail_level, tail_docked,
                far_foreleg, far_hindleg, nose
    ``eye``     the middle of the eye
    ``zones``   polygon per zone of the body; ears and tail come from :meth:`polygons`
    ``builds``  :class:`Build` by key
    """

    about: str
    curves: Mapping[str, Polygon]
    eye: Point
    zones: Mapping[str, Polygon]
    builds: Mapping[str, Build]

    def ear(self, ears: str) -> Polygon:
        """Curve of the near ear of one kind of :data:`EARS`."""
        if ears not in EARS:
            raise UnknownName.of("kind of ear", ears, EARS)
        return self.curves[f"ear_{ears}"]

    def tail(self, tail: str) -> Polygon:
        """Curve of the tail of one kind of :data:`TAILS`."""
        if tail not in TAILS:
            raise UnknownName.of("kind of tail", tail, TAILS)
        return self.curves[f"tail_{tail}"]

    def build(self, key: str) -> Build:
        """One build, or :class:`~coatwright.errors.UnknownName`."""
        if key not in self.builds:
            raise UnknownName.of("build", key, self.builds)
        return self.builds[key]

    def polygons(self, ears: str, tail: str, steps: int = 8) -> dict[str, Polygon]:
        """Polygon per zone seen from the side, ears and tail among them (their curves, smoothed)."""
        return {
            **self.zones,
            "tail": smooth(self.tail(tail), steps),
            "ears": smooth(self.ear(ears), steps),
        }


@cache
def profile() -> Profile:
    """The side view that comes with the program; read once."""
    raw = json.loads(files(__package__).joinpath("profile.json").read_text(encoding="utf-8"))
    return Profile(
        about=raw["about"],
        curves=MappingProxyType({key: _points(value) for key, value in raw["curves"].items()}),
        eye=(float(raw["eye"][0]), float(raw["eye"][1])),
        zones=MappingProxyType(_zones([(a, b, _points(line)) for a, b, line in raw["borders"]])),
        builds=MappingProxyType({key: Build(key=key, **value) for key, value in raw["builds"].items()}),
    )


def smooth(points: Sequence[Point], steps: int = 8) -> Polygon:
    """A closed curve through ``points`` as a polygon with ``steps`` sides from point to point.

    Uniform Catmull-Rom spline (Catmull & Rom 1974): between p1 and p2 the cubic with the end tangents
    (p2 - p0)/2 and (p3 - p1)/2.
    """
    count = len(points)
    return tuple(
        at
        for i in range(count)
        for at in _segment(*(points[(i + k) % count] for k in (-1, 0, 1, 2)), steps=steps)
    )


def smooth_line(points: Sequence[Point], steps: int = 8) -> Polygon:
    """An open line through ``points``, smoothed as in :func:`smooth`; its ends stay where they are."""
    padded = (points[0], *points, points[-1])
    inner = (at for i in range(len(points) - 1) for at in _segment(*padded[i : i + 4], steps=steps))
    return (*inner, points[-1])


def inside(point: Point, polygon: Sequence[Point]) -> bool:
    """Whether a point lies in a polygon (even-odd rule)."""
    x, y = point
    found = False
    px, py = polygon[-1]
    for qx, qy in polygon:
        if (qy > y) != (py > y) and x < (px - qx) * (y - qy) / (py - qy) + qx:
            found = not found
        px, py = qx, qy
    return found


def area(polygon: Sequence[Point]) -> float:
    """Area of a simple polygon, units of the drawing squared (shoelace formula)."""
    pairs = zip(polygon, (*polygon[1:], polygon[0]), strict=True)
    return abs(sum(px * qy - qx * py for (px, py), (qx, qy) in pairs)) / 2.0


def _points(raw: Iterable[Sequence[float]]) -> Polygon:
    return tuple((float(x), float(y)) for x, y in raw)


def _zones(borders: Sequence[tuple[str, str, Polygon]]) -> dict[str, Polygon]:
    """The polygon of each zone: its borders, inner ones smoothed, joined end to end into a loop."""
    pieces: dict[str, list[Polygon]] = {}
    for one, other, line in borders:
        drawn = smooth_line(line, BORDER_STEPS) if other else line
        for zone in (one, other):
            if zone:
                pieces.setdefault(zone, []).append(drawn)
    return {zone: _loop(zone, lines) for zone, lines in pieces.items()}


def _loop(zone: str, lines: list[Polygon]) -> Polygon:
    loop, *rest = lines
    while rest:
        for i, line in enumerate(rest):
            if loop[-1] in (line[0], line[-1]):
                loop += line[1:] if line[0] == loop[-1] else line[-2::-1]
                del rest[i]
                break
        else:
            raise ValueError(f"The borders of {zone} break off at {loop[-1]}.")
    if loop[0] != loop[-1]:
        raise ValueError(f"The borders of {zone} do not close: {loop[0]} and {loop[-1]}.")
    return loop[:-1]


def _segment(p0: Point, p1: Point, p2: Point, p3: Point, *, steps: int) -> Iterator[Point]:
    """``steps`` points of the spline from p1 on, p2 left out."""
    for step in range(steps):
        t = step / steps
        yield _spline(t, p0[0], p1[0], p2[0], p3[0]), _spline(t, p0[1], p1[1], p2[1], p3[1])


def _spline(t: float, a: float, b: float, c: float, d: float) -> float:
    return 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * (b - c) + d - a) * t**3)


def _fade(t: float) -> float:
    """0 below 0, 1 above 1, and smooth between."""
    t = min(max(t, 0.0), 1.0)
    return t * t * (3.0 - 2.0 * t)
