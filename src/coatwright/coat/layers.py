"""A zone's coat as layers of hairs of the same age, and what a pull does to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from coatwright.coat.growth import Floats, Growth, emerged, length, survival
from coatwright.errors import OutOfRange, check_share
from coatwright.units import Day, Millimetres, Share

TINY = 1e-12
STUB_MM = 3.0
"""Length left of a broken hair, mm: assumption, a break lies just above the skin."""

ALL_THERE_IS: Share = 0.01
"""A take that is larger than what stands by no more than this is all that stands."""

UNDERCOATS = ("none", "some", "packed")
"""Readings of the undercoat: its own state, cured by carding."""


@dataclass(frozen=True, slots=True)
class Layer:
    """All hairs of a zone last pulled on the same day.

    ``born`` is that day, ``share`` their part of the zone's hairs, ``removed`` the mm that scissors, a
    clipper or a break took off (0 for a whole hair with its natural tip).
    """

    born: Day
    share: Share
    removed: Millimetres = 0.0

    @property
    def cut(self) -> bool:
        """Whether these hairs have a blunt tip."""
        return self.removed > 0.0


@dataclass(frozen=True, slots=True)
class ZoneCoat:
    """The outer hairs of one zone: layers, oldest first, whose shares add up to 1."""

    layers: tuple[Layer, ...]
    undercoat: str = "some"

    def __post_init__(self) -> None:
        if not self.layers:
            raise OutOfRange(
                "This zone has no hair left.", remedy="Give at least one layer; shares must add up to 100 %."
            )
        for layer in self.layers:
            check_share(layer.share, "The share of a layer")
            if layer.removed < 0:
                raise OutOfRange(
                    f"A layer has {layer.removed:g} mm cut off.", remedy="Give a length of 0 mm or more."
                )
        total = sum(layer.share for layer in self.layers)
        if abs(total - 1.0) > 1e-6:
            raise OutOfRange(
                f"The layers add up to {100 * total:.1f} % of the hairs.",
                remedy="Their shares must add up to 100 %.",
            )
        if self.undercoat not in UNDERCOATS:
            raise OutOfRange(
                f"The undercoat is given as {self.undercoat!r}.",
                remedy=f"Use one of {', '.join(UNDERCOATS)}.",
            )

    @classmethod
    def of(cls, layers: Iterable[Layer], undercoat: str = "some") -> ZoneCoat:
        """Merge equal layers, drop empty ones, sort oldest first and scale the shares to add up to 1."""
        merged: dict[tuple[Day, float], float] = {}
        for layer in layers:
            key = (layer.born, round(layer.removed, 6))
            merged[key] = merged.get(key, 0.0) + layer.share
        kept = {key: share for key, share in merged.items() if share > TINY}
        total = sum(kept.values())
        ordered = sorted(kept.items())
        return cls(tuple(Layer(b, s / total, x) for (b, x), s in ordered), undercoat)

    @classmethod
    def even(cls, newest: Day, interval: int, count: int, undercoat: str = "some") -> ZoneCoat:
        """A rolling coat at rest: ``count`` equal layers, ``interval`` days apart, the newest just pulled."""
        return cls.of((Layer(newest - k * interval, 1.0 / count) for k in range(count)), undercoat)

    @property
    def born(self) -> Floats:
        """Birth day per layer, shape (layers,)."""
        return np.array([layer.born for layer in self.layers], dtype=float)

    @property
    def shares(self) -> Floats:
        """Share per layer, shape (layers,)."""
        return np.array([layer.share for layer in self.layers])

    @property
    def removed(self) -> Floats:
        """Millimetres taken off per layer, shape (layers,)."""
        return np.array([layer.removed for layer in self.layers])

    def lengths(self, day: Day, growth: Growth) -> Floats:
        """Mean length per layer on ``day``, mm, shape (layers,)."""
        return length(day - self.born, growth, self.removed)


@dataclass(frozen=True, slots=True)
class Pulled:
    """What a pull did: the coat after it and, per layer of the coat before, the shares renewed and broken."""

    coat: ZoneCoat
    renewed: tuple[tuple[Layer, Share], ...] = field(default=())
    broken: Share = 0.0

    @property
    def taken(self) -> Share:
        """Share of the zone's hairs that was pulled at, broken ones included."""
        return sum(share for _, share in self.renewed) + self.broken


def shed(coat: ZoneCoat, since: Day, day: Day, growth: Growth) -> ZoneCoat:
    """Let blown hairs fall out between two days; what is lost grows again as a layer born on ``day``."""
    if growth.loss == 0.0 or day <= since:
        return coat
    kept = coat.shares * survival(since - coat.born, day - coat.born, growth)
    lost = float(1.0 - kept.sum())
    if lost <= TINY:
        return coat
    layers = [Layer(x.born, float(s), x.removed) for x, s in zip(coat.layers, kept, strict=True)]
    return ZoneCoat.of([*layers, Layer(day, lost)], coat.undercoat)


def pull(
    coat: ZoneCoat,
    day: Day,
    share: Share,
    growth: Growth,
    *,
    selectivity: float = 1.0,
    broken: Share = 0.0,
) -> Pulled:
    """Pull ``share`` of a zone's hairs on ``day``, the longest first.

    Longest means by natural length, so oldest: cut and broken hair goes with its age, since what is ripe comes
    out whatever its tip. ``selectivity`` 1 takes strictly these; 0 takes visible hairs blindly, in proportion;
    between them that part of the take is by age and the rest blind. ``broken`` is the share of the pulled hairs
    that break instead of coming out: they keep their age and stand as blunt stubs, so that only
    ``share * (1 - broken)`` is renewed (coat model, section 1).

    Raises :class:`OutOfRange` when more is to be taken than stands above the skin.
    """
    check_share(share, "The take")
    check_share(selectivity, "The selectivity")
    check_share(broken, "The share of broken hair")
    ages = day - coat.born
    if np.any(ages < 0):
        raise OutOfRange(
            "The coat holds hair pulled after this visit.", remedy="Log visits in the order of their dates."
        )
    standing = np.where(emerged(ages, growth), coat.shares, 0.0)
    if share > standing.sum() + ALL_THERE_IS:
        raise OutOfRange(
            f"The take is {100 * share:.0f} % but only {100 * standing.sum():.0f} % of the zone's hairs stand "
            "above the skin.",
            remedy="Take less, or correct the last assessment.",
        )
    share = min(share, float(standing.sum()))
    by_age = _oldest_first(standing, selectivity * share)
    left = standing - by_age
    blind = min((1.0 - selectivity) * share, float(left.sum()))
    taken = by_age + (left * (blind / left.sum()) if blind > TINY else 0.0)

    layers: list[Layer] = []
    renewed: list[tuple[Layer, Share]] = []
    grown = length(ages, growth) if broken > 0.0 else ages
    for layer, part, full in zip(coat.layers, taken.tolist(), grown.tolist(), strict=True):
        layers.append(Layer(layer.born, layer.share - part, layer.removed))
        if part > TINY:
            if broken > 0.0:
                layers.append(Layer(layer.born, part * broken, max(full - STUB_MM, layer.removed, 0.0)))
            renewed.append((layer, part * (1.0 - broken)))
    layers.append(Layer(day, sum(s for _, s in renewed)))
    return Pulled(ZoneCoat.of(layers, coat.undercoat), tuple(renewed), float(taken.sum()) * broken)


def cut(coat: ZoneCoat, day: Day, to_mm: Millimetres, growth: Growth) -> ZoneCoat:
    """Scissor or clip a zone to ``to_mm`` on ``day``: longer hairs keep their age and get a blunt tip."""
    if to_mm < 0:
        raise OutOfRange(f"The coat is cut to {to_mm:g} mm.", remedy="Give a length of 0 mm or more.")
    full = length(day - coat.born, growth)
    layers = [
        Layer(x.born, x.share, max(x.removed, float(grown) - to_mm, 0.0))
        for x, grown in zip(coat.layers, full, strict=True)
    ]
    return ZoneCoat.of(layers, coat.undercoat)


def card(coat: ZoneCoat) -> ZoneCoat:
    """Card a zone: packed undercoat becomes some; the outer hairs stay."""
    return ZoneCoat(coat.layers, "some" if coat.undercoat == "packed" else coat.undercoat)


def _oldest_first(standing: Floats, share: Share) -> Floats:
    """Parts of the layers, oldest first, that make up ``share``."""
    before = np.concatenate([[0.0], np.cumsum(standing)[:-1]])
    return np.clip(share - before, 0.0, standing)
