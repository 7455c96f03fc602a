"""The charts of a dog's pages, made from what is kept and what is planned."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from coatwright.salon.coats import aim_of, coat_of, growth_of
from coatwright.salon.records import Dog
from coatwright.units import Day, day_of
from coatwright.web.coats import first_day, style_of
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.coat.forecast import Epochs
    from coatwright.coat.layers import ZoneCoat
    from coatwright.drawing.axes import DateWords, Table
    from coatwright.drawing.layer_chart import LayerChart
    from coatwright.drawing.ribbons import Ribbons
    from coatwright.printing.sheet import PlanDocument
    from coatwright.salon.plans import DogPlan

PAST_DAYS = 84
"""How far back a chart begins, where the coat is known."""
AHEAD_DAYS = 182
"""How far ahead it reaches: beyond half a year a forecast is no promise."""
DRAWS = 200
LEVELS = (0.1, 0.5, 0.9)


def date_words(words: Words) -> DateWords:
    """The reader's order of dates, as the charts write them."""
    from coatwright.drawing.axes import DateWords

    return DateWords(order="mdy" if words.month_first else "dmy")


def span(dog: Dog, plan: DogPlan | None, today: date) -> tuple[date, date]:
    """First and last day that the pages show of a dog."""
    start = first_day(dog) or today
    end = today + timedelta(days=AHEAD_DAYS)
    if plan is not None:
        end = min(end, date.fromordinal(plan.option.shown_until))
    return max(start, today - timedelta(days=PAST_DAYS)), max(end, today + timedelta(days=28))


def layer_chart_of(dog: Dog, plan: DogPlan | None, zone: str, today: date) -> LayerChart:
    """The layers of one zone, from what was read and pulled to what is planned."""
    from coatwright.coat.forecast import carry_out
    from coatwright.drawing.layer_chart import DayMark, LayerChart, PullMark, layer_tracks

    first, last = span(dog, plan, today)
    growth, at = growth_of(dog, zone), day_of(today)
    starts, coats = _past(dog, zone, first, today)
    ahead: Epochs | None = None
    aim = aim_of(dog, zone, style_of(dog, plan))
    if plan is not None:
        keys = [task.key for task in plan.option.plan.problem.zones]
        if zone in keys:
            ahead = plan.option.plan.epochs[keys.index(zone)]
            aim = plan.option.plan.problem.zones[keys.index(zone)].aim
    if ahead is None:
        ahead = carry_out(coats[-1], at, (), growth)
    for start, coat in zip(ahead.starts[1:], ahead.coats[1:], strict=True):
        starts.append(start)
        coats.append(coat)
    pulls = [
        PullMark(day_of(visit.day), visit.takes[zone].share)
        for visit in dog.visits
        if zone in visit.takes and visit.takes[zone].share > 0.0 and visit.day >= first
    ]
    pulls += [
        PullMark(start, pulled.taken, planned=True)
        for start, pulled in zip(ahead.starts, ahead.pulls, strict=True)
        if pulled is not None
    ]
    return LayerChart(
        zone=_name(zone).lower(),
        first=day_of(first),
        last=day_of(last),
        today=at,
        tracks=layer_tracks(starts, coats, growth, day_of(first), day_of(last)),
        pulls=tuple(pulls),
        aim=None if aim is None else (aim.lo, aim.hi),
        shows=tuple(
            DayMark(day_of(show.day), show.name) for show in dog.wish.shows if first <= show.day <= last
        ),
        fan=_fan(ahead, dog, zone, at, day_of(last)),
    )


def ribbons_of(document: PlanDocument, plan: DogPlan, today: date) -> Ribbons:
    """When the dog and each of its zones are ready, by the plan."""
    from coatwright.drawing.layer_chart import DayMark
    from coatwright.drawing.ribbons import Ribbon, Ribbons, Window

    _, last = span(plan.dog, plan, today)
    visits = [day_of(visit.day) for visit in document.visits]

    def row(name: str, windows: tuple, pulls: list[Day]) -> Ribbon:  # type: ignore[type-arg]
        spans = tuple(Window(day_of(w.first), day_of(w.last)) for w in windows)
        return Ribbon(name, spans, tuple(pulls))

    rows = [row("Whole dog", document.windows, [])]
    judged = {task.key for task in plan.option.plan.problem.zones if task.aim is not None}
    for zone in document.zones:
        if zone.key in judged:
            pulls = [day for day, take in zip(visits, zone.takes, strict=True) if take > 0.0]
            rows.append(row(zone.name, zone.windows, pulls))
    return Ribbons(
        first=day_of(today),
        last=day_of(last),
        today=day_of(today),
        rows=tuple(rows),
        shows=tuple(
            DayMark(day_of(show.day), show.name) for show in plan.dog.wish.shows if today <= show.day <= last
        ),
    )


def ribbons_rows(chart: Ribbons, words: Words) -> Table:
    """The ribbons as a table."""
    from coatwright.drawing.ribbons import ribbons_table

    return ribbons_table(chart, dates=date_words(words))


def _past(dog: Dog, zone: str, first: date, today: date) -> tuple[list[Day], list[ZoneCoat]]:
    """The coat on each day from ``first`` to today on which it was read or worked on."""
    days = {each.day for each in dog.assessments if zone in each.zones}
    days |= {visit.day for visit in dog.visits}
    begin = min((day for day in days if zone in _coats(dog, day)), default=today)
    chosen = sorted({max(first, begin), today, *(day for day in days if max(first, begin) <= day <= today)})
    return [day_of(day) for day in chosen], [_coats(dog, day)[zone] for day in chosen]


def _coats(dog: Dog, day: date) -> dict[str, ZoneCoat]:
    start = first_day(dog)
    return coat_of(dog, day) if start is not None and day >= start else {}


def _fan(ahead: Epochs, dog: Dog, zone: str, first: Day, last: Day):  # type: ignore[no-untyped-def]
    """The outline in dogs like this one: what is not known of its growth, spread out."""
    import numpy as np

    from coatwright.coat.forecast import Draws, forecast
    from coatwright.drawing.layer_chart import Fan

    growth = growth_of(dog, zone)
    sample = Draws.prior([growth], DRAWS, np.random.default_rng(1))
    found = forecast([ahead], [growth], first, last - first + 1, draws=sample)
    values = np.quantile(found.outline[:, 0, :].astype(float), LEVELS, axis=0)
    return Fan(tuple(found.days), LEVELS, values)


def _name(key: str) -> str:
    from coatwright.patterns.zones import zones

    return zones()[key].name
