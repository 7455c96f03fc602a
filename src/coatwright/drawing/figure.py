"""A dog to draw the coat on: outline, zones, face and lie of the hair in millimetres of the real dog."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from coatwright.drawing import anatomy
from coatwright.drawing.curves import Floats, inside
from coatwright.drawing.relief import Relief, relief
from coatwright.errors import OutOfRange
from coatwright.units import Millimetres

LIE_REACH = 6.5
"""How far an anchor of the lie of the hair reaches, in units of 1/100 withers."""
EXTRA = ("ears", "tail")
"""Zones that lie over the body or stick out of it, not part of its outline."""


@dataclass(frozen=True, slots=True, eq=False)
class FarPart:
    """A part of a far leg: the zone it belongs to and its closed polygon, mm, shape (n, 2)."""

    zone: str
    polygon: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """A standing dog, facing left; mm, x to the right, y up from the ground; polygons of shape (n, 2).

    ``outline``  the shaved body without ears and tail
    ``zones``    polygon per zone: those of the body cover the outline exactly, ``ears`` and ``tail`` follow
    ``far``      parts of the far legs, in drawing order
    ``saddle``   where a saddled dog is dark
    ``eye``      x, y, radius
    ``nose``, ``nostril``, ``mouth``  curves of the face
    ``unit``     mm per unit of the anatomy (1/100 of the square dog's withers)
    """

    build: str
    ears: str
    tail: str
    height_mm: Millimetres
    unit: float
    outline: Floats
    zones: Mapping[str, Floats]
    far: tuple[FarPart, ...]
    saddle: Floats
    eye: tuple[float, float, float]
    nose: Floats
    nostril: Floats
    mouth: Floats
    lie_anchors: Mapping[str, Floats]
    reliefs: Mapping[str, Relief]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of the shaved dog, mm."""
        points = np.concatenate([self.outline, self.zones["ears"], self.zones["tail"]])
        (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
        return float(left), float(bottom), float(right), float(top)

    @property
    def body_zones(self) -> tuple[str, ...]:
        """Zones that together make up the outline."""
        return tuple(zone for zone in self.zones if zone not in EXTRA)

    def zone_at(self, x: float, y: float) -> str | None:
        """The zone seen at a place: the ear before the head, the body before the tail."""
        for zone in ("ears", *self.body_zones, "tail"):
            if bool(inside(self.zones[zone], x, y)):
                return zone
        return None

    def lie(self, zone: str, x: ArrayLike, y: ArrayLike) -> tuple[Floats, Floats]:
        """Unit vector (dx, dy) along which the hair of ``zone`` lies at each place; same shape as ``x``.

        Mean of the anchors, weighted by ``exp(-(distance / reach)^2)``: smooth over the borders of zones.
        """
        anchors = self.lie_anchors.get(zone, self.lie_anchors["body"])
        px, py = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        away = (px[..., None] - anchors[:, 0]) ** 2 + (py[..., None] - anchors[:, 1]) ** 2
        reach = (LIE_REACH * self.unit) ** 2
        weight = np.exp(-(away - away.min(axis=-1, keepdims=True)) / reach)
        dx, dy = (weight * anchors[:, 2]).sum(axis=-1), (weight * anchors[:, 3]).sum(axis=-1)
        norm: Floats = np.maximum(np.hypot(dx, dy), 1e-9)
        return dx / norm, dy / norm

    def light(self, zone: str, x: ArrayLike, y: ArrayLike) -> Floats:
        """Light on each place of ``zone``, about -0.5 (away from it) to 1 (facing it)."""
        return self.reliefs.get(zone, self.reliefs["body"]).at(x, y)


@lru_cache(maxsize=64)
def figure(build: str, ears: str, tail: str, height_mm: Millimetres) -> Figure:
    """The figure of a dog ``height_mm`` tall at the withers.

    Raises :class:`~coatwright.errors.UnknownName` for an unknown build, ears or tail, and
    :class:`~coatwright.errors.OutOfRange` for a height that no dog has.
    """
    if not 80.0 <= height_mm <= 1200.0:
        raise OutOfRange(
            f"The height at the withers is {height_mm:g} mm.", remedy="Give a height between 80 and 1200 mm."
        )
    shape = anatomy.shape(build, ears, tail)
    unit = height_mm / shape.withers

    def anchors(points: Floats) -> Floats:
        scaled: Floats = points * np.array([unit, unit, 1.0, 1.0])
        return scaled

    zones = {zone: polygon * unit for zone, polygon in shape.zones.items()}
    return Figure(
        build=build,
        ears=ears,
        tail=tail,
        height_mm=float(height_mm),
        unit=unit,
        outline=shape.outline * unit,
        zones=MappingProxyType(zones),
        far=tuple(FarPart(zone, polygon * unit) for zone, polygon in shape.far),
        saddle=shape.saddle * unit,
        eye=(shape.eye[0] * unit, shape.eye[1] * unit, shape.eye[2] * unit),
        nose=shape.nose * unit,
        nostril=shape.nostril * unit,
        mouth=shape.mouth * unit,
        lie_anchors=MappingProxyType(
            {"body": anchors(shape.lie), "ears": anchors(shape.ear_lie), "tail": anchors(shape.tail_lie)}
        ),
        reliefs=MappingProxyType(
            {
                "body": relief(shape.outline * unit, shape.bumps * unit),
                "ears": relief(zones["ears"], cells=36),
                "tail": relief(zones["tail"], cells=48),
            }
        ),
    )
