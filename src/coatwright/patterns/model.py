"""What a breed's coat should be: a band of lengths for every zone, and where each band comes from."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from coatwright.errors import OutOfRange, UnknownName
from coatwright.patterns.shapes import BUILDS, EARS, TAILS
from coatwright.patterns.zones import aimed_zones, zones
from coatwright.units import Millimetres

MARKS: Mapping[str, str] = MappingProxyType(
    {
        "R": "read in a copy of the source",
        "M": "from memory of the source",
        "P": "practice, no published length",
    }
)
"""How well a length is founded."""

COLOURS = ("red", "grizzle", "black_and_tan", "white", "wheaten", "pepper_and_salt")
"""Coat colours that can be drawn."""

LONGEST_MM = 400.0
"""No aim is longer than this, mm; a slip of the unit is the likely reason for more."""
NARROWEST_MM = 1.0
"""What :func:`with_shape` leaves of a band that would close, mm."""


@dataclass(frozen=True, slots=True)
class Band:
    """The lengths between which a zone's outline should lie.

    ``lo``, ``hi``  mm, 0 <= lo < hi
    ``judged``      whether the zone counts when the dog is called ready
    ``mark``        one of :data:`MARKS`
    ``source``      what the lengths rest on, in words for the reader
    ``note``        anything else to know about this zone, may be empty
    """

    lo: Millimetres
    hi: Millimetres
    judged: bool
    mark: str
    source: str
    note: str = ""

    def __post_init__(self) -> None:
        for name in ("lo", "hi"):
            value = getattr(self, name)
            if not (math.isfinite(value) and 0.0 <= value <= LONGEST_MM):
                raise OutOfRange(
                    f"The length is {value:g} mm.",
                    where=name,
                    remedy=f"Give a length from 0 to {LONGEST_MM:g} mm.",
                )
        if self.lo >= self.hi:
            raise OutOfRange(
                f"The band runs from {self.lo:g} to {self.hi:g} mm.",
                where="hi",
                remedy="The longest length, hi, must be more than the shortest, lo.",
            )
        if self.mark not in MARKS:
            raise UnknownName.of("mark", self.mark, MARKS, where="mark")
        if not self.source.strip():
            raise OutOfRange(
                "The band has no source.", where="source", remedy="Say where its lengths come from."
            )

    @property
    def middle(self) -> Millimetres:
        """Middle of the band, mm."""
        return 0.5 * (self.lo + self.hi)


@dataclass(frozen=True, slots=True)
class Source:
    """Where lengths come from: its ``mark`` (one of :data:`MARKS`) and a ``text`` for the reader."""

    mark: str
    text: str

    def __post_init__(self) -> None:
        if self.mark not in MARKS:
            raise UnknownName.of("mark", self.mark, MARKS, where="mark")
        if not self.text.strip():
            raise OutOfRange("The source says nothing.", where="text", remedy="Name the source in words.")


@dataclass(frozen=True, slots=True)
class Pattern:
    """The coat of a breed or style.

    ``key``, ``name``              how files and people call it
    ``build``, ``ears``, ``tail``  how the dog is drawn
    ``height_mm``, ``weight_kg``   of a typical adult, to start a dog's record with
    ``colours``                    keys of :data:`COLOURS`, the first is the default
    ``double_coat``                whether a soft undercoat grows beneath
    ``carding_days``               d between cardings of the undercoat; without meaning in a single coat
    ``end_mm``                     mm per zone at which its hair stops growing; always above ``hi``
    ``aims``                       :class:`Band` per zone that is pulled or tidied, in working order
    ``sources``                    :class:`Source` by a short key, those that the aims rest on
    ``year_checked``               year in which the lengths were last held against their sources
    ``practice_note``              how such a coat is usually worked, and what to mind
    ``based_on``                   key of the pattern that this one changes, or empty
    """

    key: str
    name: str
    build: str
    ears: str
    tail: str
    height_mm: Millimetres
    weight_kg: float
    colours: tuple[str, ...]
    double_coat: bool
    carding_days: int
    end_mm: Mapping[str, Millimetres]
    aims: Mapping[str, Band]
    sources: Mapping[str, Source]
    year_checked: int
    practice_note: str
    based_on: str = field(default="")

    def __post_init__(self) -> None:
        _check_key(self.key)
        _check_text(self.name, "name")
        _check_text(self.practice_note, "practice_note")
        _check_option(self.build, BUILDS, "build", "build")
        _check_option(self.ears, EARS, "kind of ear", "ears")
        _check_option(self.tail, TAILS, "kind of tail", "tail")
        _check_number(self.height_mm, 100.0, 1200.0, "mm", "height_mm")
        _check_number(self.weight_kg, 0.5, 150.0, "kg", "weight_kg")
        _check_number(self.carding_days, 1, 365, "d", "carding_days")
        _check_number(self.year_checked, 1900, 2200, "", "year_checked")
        if not self.colours:
            raise OutOfRange(
                "There is no colour.", where="colours", remedy=f"Use any of {', '.join(COLOURS)}."
            )
        for colour in self.colours:
            _check_option(colour, COLOURS, "colour", "colours")
        _check_aims(self.aims, self.end_mm)
        object.__setattr__(self, "aims", MappingProxyType({key: self.aims[key] for key in aimed_zones()}))
        object.__setattr__(self, "end_mm", MappingProxyType({key: self.end_mm[key] for key in zones()}))
        object.__setattr__(self, "sources", MappingProxyType(_used(self.sources, self.aims)))
        object.__setattr__(self, "colours", tuple(self.colours))

    def __hash__(self) -> int:
        return hash((self.key, self.name, self.based_on, tuple(self.aims.values())))

    def __reduce__(self) -> tuple[Callable[..., Pattern], tuple[dict[str, Any]]]:
        return _rebuilt, (
            {
                name: dict(value) if isinstance(value := getattr(self, name), MappingProxyType) else value
                for name in self.__slots__
            },
        )

    @property
    def judged(self) -> tuple[str, ...]:
        """Keys of the judged zones, in working order."""
        return tuple(key for key, band in self.aims.items() if band.judged)


def with_shape(band: Band, mm: Millimetres) -> Band:
    """The band moved by a dog's shape note: ``mm`` longer (or, below 0, shorter) in this zone.

    Neither length goes below 0, and at least :data:`NARROWEST_MM` is left between them.
    """
    if not math.isfinite(mm):
        raise OutOfRange(f"The shape note is {mm} mm.", remedy="Give a length such as 3 or -2 mm.")
    if mm == 0.0:
        return band
    lo = max(band.lo + mm, 0.0)
    return replace(band, lo=lo, hi=max(band.hi + mm, lo + NARROWEST_MM))


def _rebuilt(values: dict[str, Any]) -> Pattern:
    return Pattern(**values)


def _used(sources: Mapping[str, Source], aims: Mapping[str, Band]) -> dict[str, Source]:
    """The sources that the aims rest on, by their keys; one not listed gets the key own, own_2, ..."""
    used = {Source(band.mark, band.source): "" for band in aims.values()}
    for key, source in reversed(list(sources.items())):
        if source in used:
            used[source] = key
    count = 0
    for source in [source for source, key in used.items() if not key]:
        key = ""
        while not key or key in used.values():
            count += 1
            key = "own" if count == 1 else f"own_{count}"
        used[source] = key
    return {key: source for source, key in used.items()}


def _check_aims(aims: Mapping[str, Band], end_mm: Mapping[str, Millimetres]) -> None:
    for name, table in (("aims", aims), ("end_mm", end_mm)):
        for key in table:
            if key not in zones():
                raise UnknownName.of("zone", key, zones(), where=f"{name}.{key}")
    for key in aims:
        if key not in aimed_zones():
            raise OutOfRange(
                f"The zone {key} is scissored and has no length to aim at.",
                where=f"aims.{key}",
                remedy="Take it out.",
            )
    for key in zones():
        if key not in end_mm:
            raise OutOfRange(
                f"The zone {key} has no end length.",
                where="end_mm",
                remedy=f"Add {key} = 75 (mm), or everywhere = 75 for all zones not named.",
            )
        _check_number(end_mm[key], 1.0, 500.0, "mm", f"end_mm.{key}")
    for key in aimed_zones():
        if key not in aims:
            raise OutOfRange(
                f"The zone {key} has no aim.",
                where="aims",
                remedy=f'Add a line such as {key} = {{ lo = 10, hi = 20, source = "..." }}.',
            )
        if end_mm[key] <= aims[key].hi:
            raise OutOfRange(
                f"The hair of {key} stops growing at {end_mm[key]:g} mm, but its band goes up to "
                f"{aims[key].hi:g} mm.",
                where=f"end_mm.{key}",
                remedy=f"Lower hi, or lengthen it under end_mm: {key} = {math.ceil(1.4 * aims[key].hi) + 1}.",
            )


def _check_key(key: str) -> None:
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,59}", key):
        raise OutOfRange(
            f"The key is {key!r}.",
            where="key",
            remedy="Use small letters, digits and underscores, such as my_lakeland.",
        )


def _check_text(text: str, where: str) -> None:
    if not text.strip():
        raise OutOfRange("The text is empty.", where=where, remedy="Write a few words.")


def _check_option(value: str, options: tuple[str, ...], kind: str, where: str) -> None:
    if value not in options:
        raise UnknownName.of(kind, value, options, where=where)


def _check_number(value: float, low: float, high: float, unit: str, where: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        shown = f"{value:g} {unit}".rstrip()
        raise OutOfRange(
            f"The number is {shown}.", where=where, remedy=f"It must lie between {low:g} and {high:g}."
        )
