"""Small checks that every record shares; each raises an error with what, where and remedy."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from datetime import date
from itertools import pairwise

from coatwright.coat.growth import Growth
from coatwright.errors import OutOfOrder, OutOfRange, UnknownName

GROWTH_NAMES = tuple(item.name for item in fields(Growth))


def check_name(text: str, what: str) -> None:
    """A name or id: not empty, one line, at most 200 characters."""
    if not text.strip() or len(text) > 200 or "\n" in text:
        raise OutOfRange(f"{what} is {text[:40]!r}.", remedy="Give one line of 1 to 200 characters.")


def check_text(text: str, key: str, *, where: str = "", most: int = 4000) -> None:
    """A free text: at most ``most`` characters."""
    if len(text) > most:
        raise OutOfRange(
            f"{key} has {len(text)} characters.", where=where or key, remedy=f"Keep it to {most} characters."
        )


def check_number(
    value: float | None, key: str, low: float, high: float, unit: str = "", *, where: str = ""
) -> None:
    """A number, when there is one, between ``low`` and ``high``, both included."""
    if value is None:
        return
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRange(
            f"{key} is {value:g} {unit}".rstrip() + ".",
            where=f"{where}, {key}" if where else key,
            remedy=f"It must lie between {low:g} and {high:g}" + (f" {unit}." if unit else "."),
        )


def check_lengths(lengths: Sequence[float], key: str, most: float) -> None:
    """Lengths in mm, each from 0 to ``most``."""
    for position, length in enumerate(lengths, start=1):
        check_number(length, "The length", 0.0, most, "mm", where=f"{key}, {position}")


def check_one_of(value: str, options: Sequence[str], key: str, *, where: str = "") -> None:
    """A word out of a short list."""
    if value not in options:
        words = ", ".join(repr(option) for option in options if option)
        raise OutOfRange(
            f"{key} is {value!r}.", where=f"{where}, {key}" if where else key, remedy=f"Use one of {words}."
        )


def check_zones(names: Iterable[str], *, where: str = "") -> None:
    """Names of zones."""
    from coatwright.patterns.zones import zones

    known = zones()
    for name in names:
        if name not in known:
            raise UnknownName.of("zone", name, known, where=f"{where}, {name}" if where else name)


def check_looks(colour: str, ears: str, tail: str) -> None:
    """How a dog is drawn; "" leaves it to the pattern."""
    from coatwright.patterns.model import COLOURS
    from coatwright.patterns.shapes import EARS, TAILS

    check_one_of(colour, ("", *COLOURS), "colour")
    check_one_of(ears, ("", *EARS), "ears")
    check_one_of(tail, ("", *TAILS), "tail")


def check_growth(values: Mapping[str, float], *, where: str) -> None:
    """Names of growth values and their limits."""
    for name, value in values.items():
        if name not in GROWTH_NAMES:
            raise UnknownName.of("growth value", name, GROWTH_NAMES, where=f"{where}, {name}")
        try:
            Growth(**{name: value})
        except OutOfRange as error:
            raise error.at(f"{where}, {name}") from error


def check_unique(names: Sequence[str], kind: str, *, where: str = "") -> None:
    """No name twice."""
    seen: set[str] = set()
    for position, name in enumerate(names, start=1):
        if name in seen:
            raise OutOfRange(
                f"The {kind} {name!r} is given twice.",
                where=f"{where}, {position}",
                remedy="Leave one of the two out.",
            )
        seen.add(name)


def check_sorted(days: Sequence[date], kind: str, *, where: str) -> None:
    """Days in order."""
    for position, (before, after) in enumerate(pairwise(days), start=2):
        if after < before:
            raise OutOfOrder(
                f"The {kind} of {after} stands after the {kind} of {before}.",
                where=f"{where}, {position}",
                remedy="Give them in the order of their dates.",
            )


def check_dates(spans: Sequence[tuple[date, date]], key: str) -> None:
    """Spans of dates whose first day is not after their last."""
    for first, last in spans:
        if last < first:
            raise OutOfOrder(
                f"A span runs from {first} to {last}.", where=key, remedy="Give the earlier date first."
            )
