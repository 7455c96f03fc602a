"""Where the hairs of a figure grow: fixed roots, the same on every day, with their direction and light.

Positions follow a low-discrepancy sequence (the R2 sequence of Roberts 2018: multiples of 1/g and 1/g^2
modulo 1, g the plastic number, root of ``x^3 = x + 1``), shaken a little and cut to the polygon of each zone;
ranks follow multiples of the golden ratio. Everything a hair keeps for life (its rank, its shade) comes from
its number alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coatwright.drawing.curves import Bools, Floats, area, inside, nearest, thin_ring
from coatwright.drawing.figure import EXTRA, Figure

Ints = NDArray[np.int64]

COUNT = 5500
"""Roots of a whole figure, about; each stands for many hairs."""
LEAST = 80
"""Roots of the smallest zone: enough for shares of layers in steps of about 1 %."""
FINE = {
    "skull": 2.2, "brows": 2.6, "foreface": 2.4, "beard": 2.4, "cheeks": 1.7, "ears": 2.0, "tail": 1.4,
    "throat": 1.4, "neck": 1.45, "feet": 1.6, "hind_feet": 1.6, "forelegs": 1.25, "hocks": 1.25,
}  # fmt: skip
"""Zones drawn with more and finer strokes than the trunk: factor on roots per area."""
LIFT = {
    "beard": 0.15, "brows": 0.35, "foreface": 0.25, "ears": 0.25, "tail": 0.45, "forelegs": 0.5, "hocks": 0.5,
    "feet": 0.12, "hind_feet": 0.12, "underline": 0.35, "back": 0.3, "croup": 0.3, "neck": 0.35, "skull": 0.2,
}  # fmt: skip
"""How far hair at the edge of the figure stands off, against the lie of the hair (default 0.35)."""
EDGE = 2.4
"""Width of that edge, in units of the anatomy."""
BLUR = 5.5
"""How far colours run over the border of a zone, in units of the anatomy."""
_PLASTIC = 1.3247179572447460
_GOLDEN = 1.6180339887498949
STEPS = (1.0 / _PLASTIC, 1.0 / _PLASTIC**2, 1.0 / _GOLDEN)
"""Steps of the sequence: across, up, and for the rank."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """The roots ``first`` to ``last`` - 1, scattered over one zone of the near side or one far leg.

    Root ``r`` of them is the ``index[r] - salt``-th place of the sequence over the box that starts at ``low``
    and is ``size`` wide and high (mm), shaken by ``shake`` of it.
    """

    zone: str
    far: bool
    first: int
    last: int
    salt: int
    low: tuple[float, float]
    size: tuple[float, float]
    shake: float


@dataclass(frozen=True, slots=True, eq=False)
class Roots:
    """Roots of the hairs, arrays of shape (n,), in drawing order of their zones.

    ``x``, ``y``  mm, y up;  ``dx``, ``dy``  unit vector from root to tip
    ``bend``      sagitta of the hair over its chord, + to the left of it
    ``rank``      place within the zone, evenly spread over 0..1: layers take stretches of it
    ``shade``     0..1, decides the colour where hairs of several colours mix
    ``vary``      0..1, decides how long a hair is within its layer, and its tone
    ``light``     -0.5..1, the roundness of the body
    ``zone``      number into ``keys``;  ``far``  on a leg of the far side
    ``tint``      number into ``keys`` of the zone whose colour the hair has: colours run into each other
    ``weight``    width of the stroke against that on the trunk
    ``index``     number from which the place, ``rank``, ``shade`` and ``vary`` follow
    ``parts``     how they were scattered, in the order of the arrays
    """

    keys: tuple[str, ...]
    x: Floats
    y: Floats
    dx: Floats
    dy: Floats
    bend: Floats
    rank: Floats
    shade: Floats
    vary: Floats
    light: Floats
    zone: Ints
    far: Bools
    weight: Floats
    tint: Ints
    index: Ints
    parts: tuple[Part, ...]
    spacing: float

    def of(self, zone: str, *, far: bool = False) -> Ints:
        """Numbers of the roots of one zone, of the near side or the far legs."""
        return np.flatnonzero((self.zone == self.keys.index(zone)) & (self.far == far))


def hashed(number: Ints, salt: int) -> Floats:
    """A fixed pseudo-random number 0..1 per whole number (32-bit mix by two multiplications)."""
    mask = np.uint64(0xFFFFFFFF)
    value = (number.astype(np.uint64) * np.uint64(2654435761) + np.uint64(salt * 40503 + 12345)) & mask
    for shift, factor in ((16, 0x7FEB352D), (15, 0x846CA68B)):
        value ^= value >> np.uint64(shift)
        value = (value * np.uint64(factor)) & mask
    value ^= value >> np.uint64(16)
    return value.astype(float) / 4294967296.0


@lru_cache(maxsize=32)
def roots(figure: Figure, count: int = COUNT) -> Roots:
    """The roots of ``figure``: about ``count`` of them, in proportion to area and :data:`FINE`."""
    keys = tuple(figure.zones)
    near = [(zone, polygon, False) for zone, polygon in figure.zones.items()]
    parts = [(part.zone, part.polygon, True) for part in figure.far] + near
    weighted = sum(FINE.get(zone, 1.0) * area(polygon) for zone, polygon, _ in near)
    density = count / (1.12 * weighted)
    edge = thin_ring(figure.outline, 0.15 * figure.unit)
    found: list[dict[str, Any]] = []
    scattered: list[Part] = []
    first = 0
    for number, (zone, polygon, far) in enumerate(parts):
        fine = FINE.get(zone, 1.0)
        wanted = round(density * fine * area(polygon))
        if not far:
            wanted = max(wanted, LEAST)
        box = _Box.of(polygon, wanted, number * 7919)
        x, y, rank, index = _scatter(polygon, wanted, box)
        if far:
            seen = ~inside(edge, x, y)
            x, y, rank, index = x[seen], y[seen], rank[seen], index[seen]
        dx, dy, bend = _direct(figure, zone, x, y, index, polygon if far or zone in EXTRA else edge)
        own = np.full(len(x), keys.index(zone), dtype=np.int64)
        width = np.sqrt(1.0 / fine if far else density * area(polygon) / wanted)
        found.append(
            {
                "x": x,
                "y": y,
                "dx": dx,
                "dy": dy,
                "bend": bend,
                "rank": _spread(rank),
                "shade": hashed(index, 5),
                "vary": hashed(index, 7),
                "light": _far_light(figure, zone, x, y) if far else figure.light(zone, x, y),
                "zone": own,
                "far": np.full(len(x), far),
                "weight": np.full(len(x), width),
                "tint": own if far or zone in EXTRA else _tint(figure, keys, zone, x, y, index),
                "index": index,
            }
        )
        last = first + len(x)
        scattered.append(Part(zone, far, first, last, box.salt, box.low, box.size, box.shake))
        first = last
    merged: dict[str, Any] = {name: np.concatenate([one[name] for one in found]) for name in found[0]}
    return Roots(keys=keys, spacing=float(1.0 / np.sqrt(density)), parts=tuple(scattered), **merged)


@dataclass(frozen=True, slots=True)
class _Box:
    """The box around a polygon, and how far places in it are shaken when so many are wanted in the polygon."""

    low: tuple[float, float]
    size: tuple[float, float]
    shake: float
    fill: float
    salt: int

    @classmethod
    def of(cls, polygon: Floats, wanted: int, salt: int) -> _Box:
        low, size = polygon.min(axis=0), np.ptp(polygon, axis=0)
        fill = area(polygon) / float(np.prod(size))
        shake = 0.55 / float(np.sqrt(max(wanted / fill, 1.0)))
        return cls((float(low[0]), float(low[1])), (float(size[0]), float(size[1])), shake, fill, salt)


def _scatter(polygon: Floats, wanted: int, box: _Box) -> tuple[Floats, Floats, Floats, Ints]:
    """``wanted`` even places in a polygon: x, y, a third coordinate 0..1 and their numbers."""
    (left, bottom), (wide, high), salt = box.low, box.size, box.salt
    tries = int(wanted / box.fill * 1.3) + 60
    while True:
        index = np.arange(1, tries + 1, dtype=np.int64)
        place = [_along(index, step) for step in STEPS]
        x: Floats = left + wide * ((place[0] + box.shake * (hashed(index + salt, 1) - 0.5)) % 1.0)
        y: Floats = bottom + high * ((place[1] + box.shake * (hashed(index + salt, 2) - 0.5)) % 1.0)
        kept = np.flatnonzero(inside(polygon, x, y))
        if len(kept) >= wanted:
            kept = kept[:wanted]
            return x[kept], y[kept], place[2][kept], index[kept] + salt
        tries *= 2


def _along(index: Ints, step: float) -> Floats:
    """Multiples of ``step`` modulo 1."""
    return np.asarray((0.5 + index * step) % 1.0, dtype=np.float64)


def _spread(rank: Floats) -> Floats:
    """Ranks spaced evenly over 0..1 in the order of ``rank``."""
    even = np.empty(len(rank))
    even[np.argsort(rank, kind="stable")] = (np.arange(len(rank)) + 0.5) / max(len(rank), 1)
    return even


def _direct(
    figure: Figure, zone: str, x: Floats, y: Floats, index: Ints, rim: Floats
) -> tuple[Floats, Floats, Floats]:
    """Direction and bend: the lie of the hair, tufted and a little unruly, standing off at the edge."""
    unit = figure.unit
    lie_x, lie_y = figure.lie(zone, x, y)
    gap, foot_x, foot_y = nearest(rim, x, y)
    out_x, out_y = (foot_x - x) / np.maximum(gap, 1e-9), (foot_y - y) / np.maximum(gap, 1e-9)
    lift = LIFT.get(zone, 0.35) * np.exp(-((gap / (EDGE * unit)) ** 2))
    tuft = 0.5 * (_waves(x / unit, y / unit, 5.0, 11) - 0.5) + 0.3 * (
        _waves(x / unit, y / unit, 2.2, 12) - 0.5
    )
    unruly = 0.34 * (hashed(index, 3) - 0.5) + 0.22 * (hashed(index, 4) - 0.5)
    dx, dy = lie_x + lift * out_x, lie_y + lift * out_y
    angle = np.arctan2(dy, dx) + tuft + unruly
    dx, dy = np.cos(angle), np.sin(angle)
    fall_x, fall_y = lie_x, lie_y - 0.35
    turn = (dx * fall_y - dy * fall_x) / np.maximum(np.hypot(fall_x, fall_y), 1e-9)
    bend = np.clip(-0.2 * turn + 0.14 * (hashed(index, 6) - 0.5), -0.22, 0.22)
    return dx, dy, bend


def _tint(figure: Figure, keys: tuple[str, ...], zone: str, x: Floats, y: Floats, index: Ints) -> Ints:
    """The zone whose colour each hair has: that of a place nearby, so that no border of colour is sharp."""
    reach = BLUR * figure.unit * np.sqrt(hashed(index, 8))
    angle = 2.0 * np.pi * hashed(index, 9)
    px, py = x + reach * np.cos(angle), y + reach * np.sin(angle)
    found = np.full(len(x), keys.index(zone), dtype=np.int64)
    for other in figure.body_zones:
        if other != zone:
            found[inside(thin_ring(figure.zones[other], 0.1 * figure.unit), px, py)] = keys.index(other)
    return found


def _waves(x: Floats, y: Floats, size: float, salt: int) -> Floats:
    """Smooth noise 0..1: fixed numbers on a grid of ``size``, blended between its points."""
    u, v = x / size, y / size
    i, j = np.floor(u).astype(np.int64), np.floor(v).astype(np.int64)
    p, q = u - i, v - j
    p, q = p * p * (3.0 - 2.0 * p), q * q * (3.0 - 2.0 * q)

    def corner(di: int, dj: int) -> Floats:
        return hashed((i + di) * 4099 + (j + dj), salt)

    low = corner(0, 0) * (1.0 - p) + corner(1, 0) * p
    high = corner(0, 1) * (1.0 - p) + corner(1, 1) * p
    noise: Floats = low * (1.0 - q) + high * q
    return noise


def _far_light(figure: Figure, zone: str, x: Floats, y: Floats) -> Floats:
    """A far leg has the light of the near one, shifted along with it, and stands in shadow."""
    for part in figure.far:
        if part.zone == zone:
            shift = part.polygon[0] - figure.zones[zone][0]
            return figure.light(zone, x - shift[0], y - shift[1]) - 0.55
    return np.zeros_like(x)
