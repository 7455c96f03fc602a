"""A forecast in the terminal: all zones by week, or single zones week by week."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text

from coatwright.cli.cautions import show_cautions
from coatwright.cli.plan_view import show_saved, windows_words
from coatwright.cli.words import day_text, month, percent, short_day, visits_words, wide
from coatwright.printing.words import inch_number, lengths
from coatwright.units import Millimetres, day_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from coatwright.cli.screen import Page
    from coatwright.salon.records import Show
    from coatwright.salon.results import DogForecast

WEEK = 7


def show_forecast(
    page: Page, ahead: DogForecast, zones: Sequence[str], *, unit: str, saved: Sequence[Path]
) -> None:
    """Write the whole forecast."""
    page.title(ahead.dog.name, ahead.dog.pattern.name)
    page.line(_what(ahead), start=0)
    if zones:
        for key in zones:
            _one_zone(page, ahead, ahead.number(key), unit)
    else:
        _all_zones(page, ahead, unit)
    _ready(page, ahead)
    if not zones or len(zones) > 1 or ahead.draws is not None:
        page.console.print()
        page.line(_explained(ahead), style="dim")
    _cautions(page)
    show_saved(page, saved)


def _what(ahead: DogForecast) -> str:
    first, last = ahead.days[0], ahead.days[-1]
    text = f"From {day_text(first)} to {day_text(last)}, "
    if ahead.plan is None:
        return f"{text}with nothing pulled."
    option = ahead.plan.option
    text += f"with the plan carried out: {visits_words(option.approach, option.cadence)}."
    if day_of(last) > option.shown_until:
        text += f" The plan is shown up to {short_day(ahead.plan.visits[-1], first)}; what comes after is no promise."
    return text


def _all_zones(page: Page, ahead: DogForecast, unit: str) -> None:
    page.heading("The coat, zone by zone")
    page.console.print()
    cover, outline = ahead.expected.cover[0], ahead.expected.outline[0]
    chances = _chance(ahead)
    heads = ["", "first", "least", "last", "first", "most", "last", "aim", *(["chance"] if chances else [])]
    over = [("", 1), ("Cover, %", 3), (f"Outline, {unit}", 3), ("", 1)]
    rows = []
    for n, zone in enumerate(ahead.zones):
        row = [
            zone.name,
            *(str(percent(float(value))) for value in (cover[n, 0], cover[n].min(), cover[n, -1])),
            *(_mm(float(value), unit) for value in (outline[n, 0], outline[n].max(), outline[n, -1])),
            "" if zone.aim is None else wide(lengths(zone.aim.lo, zone.aim.hi, unit)).rpartition(" ")[0],
        ]
        rows.append([*row, *([chances[n]] if chances else [])])
    page.table(heads, rows, over=over)
    _by_week(page, ahead)


def _by_week(page: Page, ahead: DogForecast) -> None:
    """Ready days of each week: one column a week, one row a zone."""
    judged = [(n, zone) for n, zone in enumerate(ahead.zones) if zone.aim is not None]
    if not judged:
        return
    page.heading("Ready days of each week")
    page.console.print()
    starts = list(range(0, len(ahead.days), WEEK))
    columns = [(month(ahead.days[at].month), "") for at in starts]
    ready = ahead.expected.ready[0]

    def row(flags: NDArray[np.bool_]) -> list[str]:
        return [2 * page.letters.days[int(flags[at : at + WEEK].sum())] for at in starts]

    labels = [(zone.name, "") for _, zone in judged] + [("All at once", "bold")]
    rows = [row(ready[n]) for n, _ in judged] + [row(ready.all(axis=0))]
    page.grid(labels, columns, rows, cell=2, rule_before=len(judged))


def _one_zone(page: Page, ahead: DogForecast, n: int, unit: str) -> None:
    zone = ahead.zones[n]
    aside = f"aim {wide(lengths(zone.aim.lo, zone.aim.hi, unit))}" if zone.aim else "nothing is asked of it"
    page.heading(zone.name, aside)
    page.console.print()
    pulls = {
        start: pulled for start, pulled in zip(zone.epochs.starts, zone.epochs.pulls, strict=True) if pulled
    }
    cover = _band(ahead, "cover", n)
    outline = _band(ahead, "outline", n)
    shows = {show.day: show for show in ahead.dog.wish.shows}
    rows = []
    for at in _telling_days(ahead, {*pulls, *(day_of(day) for day in shows)}):
        day = ahead.days[at]
        pulled = pulls.get(day_of(day))
        rows.append(
            [
                day_text(day),
                f"{percent(pulled.taken)} %" if pulled else page.letters.none,
                " to ".join(f"{percent(value)}" for value in cover(at)) + " %",
                " to ".join(_mm(value, unit) for value in outline(at)) + f" {unit}",
                "" if zone.aim is None else "ready" if ahead.expected.ready[0, n, at] else page.letters.none,
                page.letters.show if day in shows else "",
            ]
        )
    page.table(["", "Pulled", "Cover", "Outline", "", ""], rows)
    if zone.aim is not None:
        page.console.print()
        page.line(f"Ready: {windows_words(ahead.windows(zone.key), ahead.today)}")


def _telling_days(ahead: DogForecast, others: set[int]) -> Iterator[int]:
    """Positions of every seventh day, the last one, and the days on which something happens."""
    for at, day in enumerate(ahead.days):
        if at % WEEK == 0 or at == len(ahead.days) - 1 or day_of(day) in others:
            yield at


def _band(ahead: DogForecast, quantity: str, n: int) -> Callable[[int], tuple[float, ...]]:
    """Of a day: the expected value alone, or the edges of the band."""
    if ahead.draws is None:
        values = getattr(ahead.expected, quantity)[0, n]
        return lambda at: (float(values[at]),)
    low, _, high = ahead.draws.band(quantity)
    return lambda at: (float(low[n, at]), float(high[n, at]))


def _ready(page: Page, ahead: DogForecast) -> None:
    page.heading("When ready", "save the quiet days just after a visit")
    page.hung(Text("  All at once", style="bold"), windows_words(ahead.dog_windows(), ahead.today), hang=16)
    for show in _shows(ahead):
        at = (show.day - ahead.days[0]).days
        verdict = "ready" if ahead.expected.ready[0, :, at].all() else "not ready"
        chance = ahead.chance()
        if chance is not None:
            verdict += f" as expected; in {percent(float(chance[at]))} % of dogs like this one"
        page.hung(f"  {page.letters.show} ", f"{show.name}, {day_text(show.day)}: {verdict}", hang=4)


def _shows(ahead: DogForecast) -> list[Show]:
    return [show for show in ahead.dog.wish.shows if ahead.days[0] <= show.day <= ahead.days[-1]]


def _chance(ahead: DogForecast) -> list[str]:
    """Chance of each zone on the day of the first show, or on the last day; nothing without draws."""
    if ahead.draws is None:
        return []
    shows = _shows(ahead)
    at = (shows[0].day - ahead.days[0]).days if shows else len(ahead.days) - 1
    chances = ahead.draws.chance()[:, at]
    return [
        "" if zone.aim is None else f"{percent(float(chance))} %"
        for zone, chance in zip(ahead.zones, chances, strict=True)
    ]


def _explained(ahead: DogForecast) -> str:
    text = (
        "Cover: hairs above the skin, of all the zone's. Outline: the length that 1 in 20 visible hairs exceeds. "
        "First and last: on the first and the last day."
    )
    if ahead.draws is not None:
        shows = _shows(ahead)
        day = shows[0].day if shows else ahead.days[-1]
        text += (
            f" Chance: how many of {len(ahead.draws.cover)} dogs like this one have the zone ready on "
            f"{short_day(day, ahead.today)}; bands hold 8 of 10."
        )
    return text


def _mm(value: Millimetres, unit: str) -> str:
    return inch_number(value) if unit == "in" else f"{value:.0f}"


def _cautions(page: Page) -> None:
    from coatwright.salon.cautions import ESTIMATE, VET

    show_cautions(page, (VET, ESTIMATE))
