"""The zones of the coat: what is done there, how much at once, how long it takes, and what lies beside it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from coatwright.errors import OutOfRange, UnknownName
from coatwright.units import Minutes, Share

WORKS = ("pull", "tidy", "scissors")
"""Kinds of work: ripe hair pulled by hand, single hairs taken for the shape, scissors."""

REFERENCE_KG = 10.0
"""Weight of the dog that :attr:`Zone.minutes` is given for, kg."""


@dataclass(frozen=True, slots=True)
class Zone:
    """One zone of the coat.

    ``seen``        part of the picture from the side; the others are listed beside it
    ``work``        one of :data:`WORKS`
    ``tender``      thin skin: small takes, held taut
    ``cap``         largest share taken at one visit; in tender zones 0.2 to 0.25 (common practice)
    ``undercoat``   a soft second coat grows here in a double-coated dog
    ``neighbours``  keys of the zones beside it; always mutual
    ``minutes``     for the whole zone once, both sides, on a dog of 10 kg (common practice; see
                    :func:`surface_factor`)
    ``order``       place in the working order, from 1: least tender first, head late
    ``hold``        how to hold the skin
    ``tip``         one more thing to know
    """

    key: str
    name: str
    seen: bool
    work: str
    tender: bool
    cap: Share
    undercoat: bool
    neighbours: tuple[str, ...]
    minutes: Minutes
    order: int
    hold: str
    tip: str

    @property
    def aimed(self) -> bool:
        """Whether a pattern gives this zone a length: every zone but the scissored ones."""
        return self.work != "scissors"

    def minutes_for(self, weight_kg: float) -> Minutes:
        """Minutes for the whole zone on a dog of this weight (kg)."""
        return self.minutes * surface_factor(weight_kg)


@cache
def zones() -> Mapping[str, Zone]:
    """Every zone by key, in working order; read once."""
    raw = tomllib.loads(files(__package__).joinpath("zones.toml").read_text(encoding="utf-8"))
    found = {
        key: Zone(key=key, order=order, **{**row, "neighbours": tuple(row["neighbours"])})
        for order, (key, row) in enumerate(raw.items(), start=1)
    }
    _check(found)
    return MappingProxyType(found)


def zone(key: str, *, where: str = "") -> Zone:
    """One zone, or :class:`~coatwright.errors.UnknownName` with the nearest names."""
    if key not in zones():
        raise UnknownName.of("zone", key, zones(), where=where)
    return zones()[key]


@cache
def aimed_zones() -> tuple[str, ...]:
    """Keys of the zones that a pattern must give a length, in working order."""
    return tuple(key for key, row in zones().items() if row.aimed)


def body_surface(weight_kg: float) -> float:
    """Skin of a dog, m2: ``0.101 kg^(2/3)`` (the standard veterinary formula, from memory)."""
    if not (math.isfinite(weight_kg) and weight_kg > 0.0):
        raise OutOfRange(
            f"The dog weighs {weight_kg:g} kg.", where="weight_kg", remedy="Give a weight above 0 kg."
        )
    return float(0.101 * weight_kg ** (2.0 / 3.0))


def surface_factor(weight_kg: float) -> float:
    """Skin of a dog of this weight (kg) over that of the 10 kg dog of :attr:`Zone.minutes`, no unit."""
    return body_surface(weight_kg) / body_surface(REFERENCE_KG)


def _check(found: Mapping[str, Zone]) -> None:
    """Neighbours must be mutual, works and caps known: a slip in the table is a fault of the program."""
    for key, row in found.items():
        if row.work not in WORKS:
            raise ValueError(f"zones.toml, {key}.work is {row.work!r}")
        if not 0.0 < row.cap <= 1.0:
            raise ValueError(f"zones.toml, {key}.cap is {row.cap}")
        for other in row.neighbours:
            if other == key or other not in found or key not in found[other].neighbours:
                raise ValueError(
                    f"zones.toml: {key} names {other} as a neighbour, but not the other way round"
                )
