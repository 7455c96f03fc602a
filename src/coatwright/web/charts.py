"""The charts of a dog's pages, made from what is kept and what is planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from markupsafe import Markup

from coatwright.salon.charts import ribbons_of
from coatwright.salon.coats import aim_of, coat_of, cover_floor, growth_of
from coatwright.salon.records import Dog
from coatwright.units import Day, day_of
from coatwright.web.coats import first_day, style_of
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.coat.aims import Aim
    from coatwright.coat.forecast import Epochs
    from coatwright.coat.layers import Pulled, ZoneCoat
    from coatwright.drawing.axes import DateWords, Table
    from coatwright.drawing.cover_strip import CoverStrip
    from coatwright.drawing.layer_chart import Fan, LayerChart
    from coatwright.printing.sheet import PlanDocument
    from coatwright.salon.plans import DogPlan

Past = tuple[tuple[date, Mapping[str, "ZoneCoat"]], ...]
"""The coat of the zones on some days, the last of them today."""
PAST_DAYS = 84
"""How far back a chart begins, where the coat is known."""
AHEAD_DAYS = 182
"""How far ahead it reaches: beyond half a year a forecast is no promise."""


def date_words(words: Words) -> DateWords:
    """The reader's order of dates, as the charts write them."""
    from coatwright.drawing.axes import DateWords

    return DateWords(order=words.locale.order)


def span(dog: Dog, plan: DogPlan | None, today: date) -> tuple[date, date]:
    """First and last day that the pages show of a dog."""
    start = first_day(dog) or today
    end = today + timedelta(days=AHEAD_DAYS)
    if plan is not None:
        end = min(end, date.fromordinal(plan.option.shown_until))
    return max(start, today - timedelta(days=PAST_DAYS)), max(end, today + timedelta(days=28))


def layer_chart_of(dog: Dog, plan: DogPlan | None, zone: str, today: date) -> LayerChart:
    """The layers of one zone, from what was read and pulled to what is planned."""
    from coatwright.drawing.layer_chart import DayMark, LayerChart, PullMark, layer_tracks

    first, last = span(dog, plan, today)
    growth, at = growth_of(dog, zone), day_of(today)
    whole, ahead = _epochs(dog, plan, zone, _past(dog, first, today))
    aim = _aim(dog, plan, zone)
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
        tracks=layer_tracks(whole.starts, whole.coats, growth, day_of(first), day_of(last)),
        pulls=tuple(pulls),
        aim=None if aim is None else (aim.lo, aim.hi),
        shows=tuple(
            DayMark(day_of(show.day), show.name) for show in dog.wish.shows if first <= show.day <= last
        ),
        fan=_fan(dog, plan, zone, ahead, at, day_of(last)),
    )


def cover_of(dog: Dog, plan: DogPlan | None, today: date) -> CoverStrip | None:
    """The cover of every pulled zone whose coat is known, from what was done to what is planned; None without any.

    The floor of a zone is what the wish asks of a rolling coat, and the least cover of a zone without undercoat.
    """
    from coatwright.coat.forecast import forecast
    from coatwright.drawing.cover_strip import CoverRow, CoverStrip
    from coatwright.patterns.zones import zones

    first, last = span(dog, plan, today)
    past, rolling = _past(dog, first, today), style_of(dog, plan) == "rolling"
    rows = []
    for key, zone in zones().items():
        if zone.work != "pull" or key not in past[-1][1]:
            continue
        whole, _ = _epochs(dog, plan, key, past)
        begin = max(day_of(first), whole.starts[0])
        found = forecast([whole], [growth_of(dog, key)], begin, day_of(last) - begin + 1)
        aim = _aim(dog, plan, key)
        floor = max(cover_floor(dog, key), aim.cover if aim is not None and rolling else 0.0)
        rows.append(CoverRow(_name(key), tuple(found.days), found.cover[0, 0].astype(float), floor))
    return CoverStrip(day_of(first), day_of(last), day_of(today), tuple(rows)) if rows else None


@dataclass(frozen=True, slots=True)
class Shown:
    """A chart as a page shows it: ``wide`` and ``narrow`` as SVG, and ``rows`` for who does not see it."""

    label: str
    wide: Markup
    narrow: Markup
    rows: Table


def layers_shown(dog: Dog, plan: DogPlan | None, zone: str, today: date, words: Words) -> Shown:
    """The layer chart of a zone for a page."""
    from coatwright.drawing.axes import NARROW, WIDE
    from coatwright.drawing.layer_chart import layer_chart, layer_chart_table

    chart, dates = layer_chart_of(dog, plan, zone, today), date_words(words)
    return Shown(
        f"Layers of the {chart.zone} through time",
        Markup(layer_chart(chart, dates=dates, unit=words.unit, width=WIDE)),
        Markup(layer_chart(chart, dates=dates, unit=words.unit, width=NARROW)),
        layer_chart_table(chart, dates=dates, unit=words.unit),
    )


def ribbons_shown(document: PlanDocument, plan: DogPlan, today: date, words: Words) -> Shown:
    """The ready ribbons for a page."""
    from coatwright.drawing.axes import NARROW, WIDE
    from coatwright.drawing.ribbons import ribbons, ribbons_table

    _, last = span(plan.dog, plan, today)
    chart, dates, title = ribbons_of(document, last), date_words(words), "Ready days"
    return Shown(
        "Ready days of each zone",
        Markup(ribbons(chart, title=title, dates=dates, width=WIDE)),
        Markup(ribbons(chart, title=title, dates=dates, width=NARROW)),
        ribbons_table(chart, dates=dates),
    )


def cover_shown(dog: Dog, plan: DogPlan | None, today: date, words: Words) -> Shown | None:
    """The cover strips for a page; None where no coat is known."""
    from coatwright.drawing.axes import NARROW, WIDE
    from coatwright.drawing.cover_strip import cover_strip, cover_strip_table

    chart, dates = cover_of(dog, plan, today), date_words(words)
    if chart is None:
        return None
    return Shown(
        "Cover of each zone through time",
        Markup(cover_strip(chart, dates=dates, width=WIDE)),
        Markup(cover_strip(chart, dates=dates, width=NARROW)),
        cover_strip_table(chart, dates=dates),
    )


def _aim(dog: Dog, plan: DogPlan | None, zone: str) -> Aim | None:
    """What is asked of a zone: by its plan, else by its wish; None where nothing is."""
    from coatwright.patterns.zones import zones

    if plan is not None:
        for task in plan.option.plan.problem.zones:
            if task.key == zone:
                return task.aim
    return aim_of(dog, zone, style_of(dog, plan)) if zones()[zone].aimed else None


def _epochs(dog: Dog, plan: DogPlan | None, zone: str, past: Past) -> tuple[Epochs, Epochs]:
    """A zone's coat from the past on, and from today on: what is planned, or growth alone without a plan."""
    from coatwright.coat.forecast import Epochs, carry_out

    known = [(day_of(day), coats[zone]) for day, coats in past if zone in coats]
    starts, coats = [day for day, _ in known], [coat for _, coat in known]
    pulls: list[Pulled | None] = [None] * len(starts)
    ahead: Epochs | None = None
    if plan is not None:
        keys = [task.key for task in plan.option.plan.problem.zones]
        if zone in keys:
            ahead = plan.option.plan.epochs[keys.index(zone)]
    if ahead is None:
        ahead = carry_out(coats[-1], starts[-1], (), growth_of(dog, zone))
    whole = Epochs((*starts, *ahead.starts[1:]), (*coats, *ahead.coats[1:]), (*pulls, *ahead.pulls[1:]))
    return whole, ahead


def _past(dog: Dog, first: date, today: date) -> Past:
    """The coat on ``first``, on every day since on which it was read or worked on, and today."""
    start = first_day(dog) or today
    days = {each.day for each in dog.assessments} | {visit.day for visit in dog.visits} | {first, today}
    chosen = sorted(day for day in days if max(first, start) <= day <= today)
    return tuple((day, coat_of(dog, day)) for day in chosen)


def _fan(dog: Dog, plan: DogPlan | None, zone: str, ahead: Epochs, first: Day, last: Day) -> Fan:
    """The outline in all that this coat may turn out to do; without a plan, in dogs like this one."""
    import numpy as np

    from coatwright.coat.forecast import forecast
    from coatwright.drawing.layer_chart import Fan
    from coatwright.salon.outlooks import LEVELS, fan_of, prior_draws

    if plan is not None and zone in [task.key for task in plan.option.plan.problem.zones]:
        start, values = fan_of(plan, zone)
        days = range(start, start + values.shape[1])
        seen = [number for number, day in enumerate(days) if first <= day <= last]
        return Fan(tuple(days[number] for number in seen), LEVELS, values[:, seen])
    growth = growth_of(dog, zone)
    found = forecast([ahead], [growth], first, last - first + 1, draws=prior_draws([growth]))
    values = np.quantile(found.outline[:, 0, :].astype(float), LEVELS, axis=0)
    return Fan(tuple(found.days), LEVELS, values)


def _name(key: str) -> str:
    from coatwright.patterns.zones import zones

    return zones()[key].name
