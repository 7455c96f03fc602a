"""Scales of buttons: the lengths that a zone's hair may sensibly have on a day, and the words for its cover.

A scale lies round what the coat should show by all that is kept of it, but does not mark it: what is read must
not be led by what is expected.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from coatwright.coat.growth import Growth
from coatwright.coat.layers import ZoneCoat
from coatwright.salon.history import LONGEST_MM, Reading
from coatwright.salon.readings import SAME_MM
from coatwright.units import MM_PER_INCH, Millimetres, day_of, length_text

LOOK_WORDS = (
    ("bare", "mostly skin"),
    ("thin", "skin shows all over"),
    ("open", "skin shows in places"),
    ("close", "skin shows only where the hair is parted"),
    ("dense", "hardly any skin, even where the hair is parted"),
)
"""The five words for the cover, each with what it means."""
LONGEST, SHORTEST, LAYERS = 20, 10, 30
"""Most buttons of each scale: two, one and three rows on a tablet held upright."""
STEPS = (1.0, 2.0, 5.0, 10.0, 20.0)
"""Steps of a scale in millimetres; a ruler on a live dog tells no finer."""
STEPS_IN = tuple(MM_PER_INCH * part for part in (1 / 8, 1 / 4, 1 / 2, 1))
"""The same for who reads inches, mm: eighths, quarters, halves, whole ones."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One button: ``value`` in mm as a form sends it, ``text`` as it is read, and whether it was said."""

    value: str
    text: str
    said: bool


@dataclass(frozen=True, slots=True)
class Scales:
    """The three scales of a zone."""

    longest: tuple[Mark, ...]
    shortest: tuple[Mark, ...]
    layers: tuple[Mark, ...]


def scales_of(coat: ZoneCoat, day: date, growth: Growth, reading: Reading | None, unit: str) -> Scales:
    """The scales for a coat of a day, with what was said marked; ``unit`` ``mm`` or ``in``."""
    longest, shortest = expected(coat, day, growth)
    said = (
        (None, None, ()) if reading is None else (reading.longest_mm, reading.shortest_mm, reading.steps_mm)
    )
    return Scales(
        longest=_marks(longest, LONGEST, _one(said[0]), unit),
        shortest=_marks(shortest, SHORTEST, _one(said[1]), unit),
        layers=_upward(1.15 * longest, said[2], unit),
    )


def expected(coat: ZoneCoat, day: date, growth: Growth) -> tuple[Millimetres, Millimetres]:
    """Longest and shortest hair that should show, mm: the outermost layers, the longest with its spread."""
    lengths = np.asarray(coat.lengths(day_of(day), growth))
    above = lengths[lengths > 0.0]
    if not above.size:
        return 4.0, 1.0
    return float(above.max()) * (1.0 + growth.spread), float(above.min())


def _marks(centre: Millimetres, most: int, said: Iterable[Millimetres], unit: str) -> tuple[Mark, ...]:
    """So many lengths round a centre, from about half of it to about half as much again, none below one step."""
    steps = STEPS_IN if unit == "in" else STEPS
    step = next((each for each in steps if centre / each <= most), steps[-1])
    first = max(round(centre / step) - most // 2, 1)
    return _told([step * k for k in range(first, first + most)], said, unit)


def _upward(top: Millimetres, said: Iterable[Millimetres], unit: str) -> tuple[Mark, ...]:
    """From the first step up to a top, in the finest step that does with so many buttons."""
    steps = STEPS_IN if unit == "in" else STEPS
    step = next((each for each in steps if top / each <= LAYERS), steps[-1])
    return _told([step * k for k in range(1, min(int(top / step) + 1, LAYERS) + 1)], said, unit)


def _told(lengths: list[Millimetres], said: Iterable[Millimetres], unit: str) -> tuple[Mark, ...]:
    chosen = list(said)
    extra = [mm for mm in chosen if all(abs(mm - each) > SAME_MM for each in lengths)]
    return tuple(
        Mark(
            value=f"{mm:.4g}" if unit == "mm" else f"{mm:.3f}",
            text=_text(mm, unit),
            said=any(abs(mm - each) <= SAME_MM for each in chosen),
        )
        for mm in sorted([*lengths, *extra])
        if mm <= LONGEST_MM
    )


def _text(mm: Millimetres, unit: str) -> str:
    return f"{mm:.4g}" if unit == "mm" else length_text(mm, "in").removesuffix(" in")


def _one(said: Millimetres | None) -> tuple[Millimetres, ...]:
    return () if said is None else (said,)
