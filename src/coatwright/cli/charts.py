"""Plans and forecasts as charts: from what was worked out to what drawing draws."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from coatwright.units import day_of

if TYPE_CHECKING:
    from coatwright.drawing.layer_chart import DayMark
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog
    from coatwright.salon.results import DogForecast

LEVELS = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
"""Edges of the fan of a forecast."""


def plan_chart(plan: DogPlan) -> str:
    """When each judged zone is ready, with its pulls and the shows, as SVG; quiet days are gaps."""
    from coatwright.coat.readiness import windows
    from coatwright.drawing.ribbons import Ribbon, Ribbons, Window, ribbons
    from coatwright.patterns import zones

    whole = plan.option.plan
    ahead = whole.forecast(plan.option.shown_until - whole.problem.today + 1)
    rows = tuple(
        Ribbon(
            zones()[task.key].name,
            tuple(Window(a, b) for a, b in windows(ahead.days, ahead.ready[0, number].tolist())),
            tuple(start for start, pulled in zip(epochs.starts, epochs.pulls, strict=True) if pulled),
        )
        for number, (task, epochs) in enumerate(zip(whole.problem.zones, whole.epochs, strict=True))
        if task.aim is not None
    )
    chart = Ribbons(ahead.days[0], ahead.days[-1], ahead.days[0], rows, _shows(plan.dog))
    return _file(ribbons(chart, title=f"When {plan.dog.name} is ready"))


def forecast_chart(ahead: DogForecast, zones: Sequence[str], unit: str) -> str:
    """One zone's layers with the fan of its outline, or the cover of several zones, as SVG."""
    numbers = [ahead.number(key) for key in zones] or list(range(len(ahead.zones)))
    return _file(_layers(ahead, numbers[0], unit) if len(numbers) == 1 else _covers(ahead, numbers))


def _covers(ahead: DogForecast, numbers: Sequence[int]) -> str:
    from coatwright.drawing.cover_strip import CoverRow, CoverStrip, cover_strip

    days = tuple(ahead.expected.days)
    rows = tuple(
        CoverRow(ahead.zones[n].name, days, ahead.expected.cover[0, n].astype(float), ahead.zones[n].floor)
        for n in numbers
    )
    return cover_strip(
        CoverStrip(days[0], days[-1], days[0], rows), title=f"How well {ahead.dog.name} is covered"
    )


def _layers(ahead: DogForecast, number: int, unit: str) -> str:
    import numpy as np

    from coatwright.drawing.layer_chart import Fan, LayerChart, PullMark, layer_chart, layer_tracks

    zone = ahead.zones[number]
    days = tuple(ahead.expected.days)
    fan = None
    if ahead.draws is not None:
        fan = Fan(days, LEVELS, np.quantile(ahead.draws.outline[:, number].astype(float), LEVELS, axis=0))
    chart = LayerChart(
        zone=zone.name.lower(),
        first=days[0],
        last=days[-1],
        today=days[0],
        tracks=layer_tracks(zone.epochs.starts, zone.epochs.coats, zone.growth, days[0], days[-1]),
        pulls=tuple(
            PullMark(start, pulled.taken, planned=True)
            for start, pulled in zip(zone.epochs.starts, zone.epochs.pulls, strict=True)
            if pulled is not None and start <= days[-1]
        ),
        aim=None if zone.aim is None else (zone.aim.lo, zone.aim.hi),
        shows=_shows(ahead.dog),
        fan=fan,
    )
    return layer_chart(chart, title=f"{ahead.dog.name}, {zone.name.lower()}", unit=unit)


def _file(drawn: str) -> str:
    """A chart that stands alone: on its own ground, in its own ink."""
    from coatwright.drawing.palette import CHALK, INK

    style = f'style="background:{CHALK};color:{INK}"'
    return drawn.replace("<svg ", f"<svg {style} ", 1) + "\n"


def _shows(dog: Dog) -> tuple[DayMark, ...]:
    from coatwright.drawing.layer_chart import DayMark

    return tuple(DayMark(day_of(show.day), show.name) for show in dog.wish.shows)
