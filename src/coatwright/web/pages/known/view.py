"""What is known of a dog in plain words and a table: each value with its band, and how much of its doubt is gone."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from markupsafe import Markup

from coatwright.patterns.zones import zones
from coatwright.printing.sheet_view import DOUBTS, READINGS
from coatwright.printing.words import nearly
from coatwright.units import MM_PER_INCH
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.salon.believed import BelievedTake, Habit
    from coatwright.salon.chances import Advice
    from coatwright.salon.known import Belief, Facts, Known

JUDGED = 0.2
"""The take that a habit is told by: what comes out where so much is judged."""
LEAST_TOP = 0.3
"""Strips of takes reach at least so far."""
UNNAMED = "Whoever was not named"
Told = Callable[[float], str]
"""A value as a number without its unit."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A value, its band, a strip of both bands, and how well it is known (``no more``, ``roughly``, ``well``)."""

    value: Markup
    band: Markup
    strip: Markup
    how: str
    left: int


@dataclass(frozen=True, slots=True)
class Row:
    """One zone: days until the hair breaks the skin, growth a week, end length."""

    key: str
    name: str
    cells: tuple[Cell, Cell, Cell]


@dataclass(frozen=True, slots=True)
class Take:
    """What is believed of a take: its middle, its band, and a strip with what was planned and judged."""

    value: Markup
    band: Markup
    strip: Markup


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading worth taking: where it is entered, what it is, and what it is worth."""

    zone: str
    what: str
    worth: str
    about: str


@dataclass(frozen=True, slots=True)
class KnownView:
    """What the page says."""

    lead: tuple[Markup, ...]
    rows: tuple[Row, ...]
    rate: Cell
    hands: tuple[tuple[str, Markup], ...]
    facts: tuple[Markup, ...]


def known_view(known: Known, name: str, today: date, words: Words) -> KnownView:
    """What is known of the dog of this name."""
    lags = _column([zone.lag for zone in known.zones], lambda value: f"{value:.0f}", "d")
    rates = _column([zone.rate for zone in known.zones], weekly(words), f"{words.unit}/wk", log=True)
    ends = _column([zone.end for zone in known.zones], words.shown_number, words.unit, log=True)
    rows = [
        Row(zone.key, zones()[zone.key].name, cells)
        for zone, cells in zip(known.zones, zip(lags, rates, ends, strict=True), strict=True)
    ]
    return KnownView(
        lead=_lead(known, name, today, words),
        rows=tuple(rows),
        rate=_column([known.rate], weekly(words), f"{words.unit} a week", log=True)[0],
        hands=tuple(
            (habit.groomer or UNNAMED, hand(habit, words)) for habit in known.habits if known.facts.some
        ),
        facts=facts_told(known.facts, words),
    )


def readings_told(advice: Iterable[Advice]) -> tuple[Reading, ...]:
    """What to measure next, in words."""
    return tuple(
        Reading(
            each.zone,
            f"{READINGS[each.reading]} on the {zones()[each.zone].name.lower()}",
            nearly(each.share),
            DOUBTS[each.what],
        )
        for each in advice
    )


def weekly(words: Words) -> Told:
    """Growth in mm/d as a number per week, in the reader's unit."""
    if words.unit == "mm":
        return lambda rate: words.decimal(7.0 * rate)
    return lambda rate: words.decimal(7.0 * rate / MM_PER_INCH, 2)


def hand(habit: Habit, words: Words) -> Markup:
    """A groomer's habit in a sentence."""
    comes = Markup("of {} judged, {} to {} come out").format(
        words.share(JUDGED), f"{100 * JUDGED * habit.low:.0f}", words.share(JUDGED * habit.high)
    )
    if not habit.known:
        return Markup("as judged, as far as can be told ({}).").format(comes)
    part = abs(habit.middle - 1.0)
    than = "more" if habit.middle > 1.0 else "less"
    return Markup("pulls {} {} than judged ({}, with 8 chances in 10).").format(nearly(part), than, comes)


def hand_told(habits: Iterable[Habit], groomer: str, words: Words) -> Markup:
    """The habit of one groomer, with the name; empty where nobody of that name worked on the dog."""
    found = next((habit for habit in habits if habit.groomer == groomer), None)
    return (
        Markup("") if found is None else Markup("{}: {}").format(found.groomer or UNNAMED, hand(found, words))
    )


def takes_told(takes: Iterable[BelievedTake], words: Words) -> dict[str, Take]:
    """What is believed of the takes of one visit, by zone, their strips on one axis from nothing up."""
    from coatwright.drawing.band_strip import BandStrip, band_strip

    every = tuple(takes)
    top = max([LEAST_TOP, *(max(each.high, each.recorded, each.planned or 0.0) for each in every)])
    found = {}
    for each in every:
        marks = [(each.recorded, "recorded")]
        marks += [] if each.planned is None else [(each.planned, "planned")]
        strip = BandStrip(0.0, top, (each.low, each.high), each.middle, marks=tuple(marks))
        found[each.zone] = Take(
            words.share(each.middle),
            Markup("{:.0f}–{:.0f}").format(100.0 * each.low, 100.0 * each.high),
            Markup(band_strip(strip)),
        )
    return found


def facts_told(facts: Facts, words: Words) -> tuple[Markup, ...]:
    """What was measured, by count; nothing where nothing was."""
    counts = (
        (facts.readings, "reading by comb and ruler", "readings by comb and ruler"),
        (facts.weighed, "take weighed", "takes weighed"),
        (facts.eased, "take whose ease was noted", "takes whose ease was noted"),
        (facts.papers, "paper test", "paper tests"),
    )
    return tuple(words.count(number, one, many) for number, one, many in counts if number)


def _lead(known: Known, name: str, today: date, words: Words) -> tuple[Markup, ...]:
    rate, told = known.rate, weekly(words)
    unit = Markup('<span class="unit">&#8239;{}</span> a week').format(words.unit)
    now = Markup("{} to {}{}").format(told(rate.now[0]), told(rate.now[2]), unit)
    if not known.facts.some:
        first = Markup(
            "Nothing was measured of {} yet. All below is what dogs of its kind may be: no more is known of this "
            "one. By that its coat grows {} (8 such dogs in 10)."
        ).format(name, now)
        return (first, _sight(known, today, words))
    middle = Markup("{}{}").format(told(rate.now[1]), unit)
    before = Markup("{} to {}").format(told(rate.before[0]), told(rate.before[2]))
    if known.since is None:
        first = Markup(
            "How fast the coat of {} grows is {}: {}, with 8 chances in 10; before anything was measured of it, {}."
        ).format(name, "not known yet" if rate.how == "no more" else "known roughly", now, before)
        return (first, _sight(known, today, words))
    return (
        Markup(
            "The coat of {} grows about {}, with 8 chances in 10 between {} and {}; of dogs of its kind 8 in 10 grow "
            "{}. That is known since {}."
        ).format(name, middle, told(rate.now[0]), told(rate.now[2]), before, words.date(known.since)),
    )


def _sight(known: Known, today: date, words: Words) -> Markup:
    """When regrown hair can first be read."""
    sight = known.sight
    if sight is None:
        return Markup("Nothing was pulled yet: new growth can be read some four weeks after the first visit.")
    zone = zones()[sight.zone].name.lower()
    if sight.middle > today:
        return Markup(
            "Hair that was pulled from the {} on {} shows from about {} on ({} to {}): from then on the shortest "
            "hair tells how fast the coat grows."
        ).format(
            zone,
            words.day(sight.pulled),
            words.day(sight.middle),
            words.short(sight.low),
            words.short(sight.high),
        )
    return Markup(
        "Hair that was pulled from the {} on {} should show since about {}: a reading now tells how fast the coat "
        "grows."
    ).format(zone, words.day(sight.pulled), words.day(sight.middle))


def _column(beliefs: list[Belief], told: Told, unit: str, *, log: bool = False) -> list[Cell]:
    """Cells of one kind of value, their strips on one axis."""
    from coatwright.drawing.band_strip import BandStrip, band_strip

    place = math.log if log else float
    ends = [place(each) for belief in beliefs for each in (*belief.before[::2], *belief.now[::2])]
    low, high = min(ends), max(ends)
    found = []
    for belief in beliefs:
        (a, middle, b), before = belief.now, belief.before
        strip = BandStrip(
            low, high, (place(a), place(b)), place(middle), (place(before[0]), place(before[2]))
        )
        found.append(
            Cell(
                Markup('{}<span class="unit">&#8239;{}</span>').format(told(middle), unit),
                Markup("{}–{}").format(told(a), told(b)),
                Markup(band_strip(strip)),
                belief.how,
                round(100.0 * min(belief.left, 1.0)),
            )
        )
    return found
