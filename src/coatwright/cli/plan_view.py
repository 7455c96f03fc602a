"""A plan in the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text

from coatwright.cli.cautions import show_cautions
from coatwright.cli.words import (
    APPROACHES,
    counted,
    day_text,
    listed,
    month,
    percent,
    rhythm,
    sentence,
    short_day,
    span,
    visits_words,
    wide,
)
from coatwright.printing.words import chance_line, length, lengths, money
from coatwright.units import date_of

if TYPE_CHECKING:
    from coatwright.cli.screen import Page
    from coatwright.planning.compare import Option
    from coatwright.printing.sheet import PlanDocument, Window
    from coatwright.salon.plans import DogPlan

WORTH_TELLING = 0.05
"""A minute that saves less than this (min) is not worth a line."""
MOST_WINDOWS = 3
MOST_SENTENCES = 4
SHORT = {
    "rolling": "Rolling coat",
    "staged": "Staged coat",
    "strip": "Full strip",
    "free": "Rolling and shows",
}
"""Approaches in a table."""
LIMITS = {
    "cover": "Thinner than the wish allows: hairs too few above the skin",
    "top": "Not in the band: hairs too few between the shortest and the longest length",
    "over": "Overgrown: hairs too many beyond the longest length",
    "welfare": "Barer than the welfare floor allows: hairs too few above the skin",
    "minutes": "Too little time at the visits",
    "futures": "Missed in the slowest and fastest coats that this dog may turn out to have",
}
"""What each limit of an answer means, above its table."""
CAUSES = {"steps": "between two steps of 5 %", "time": "with more minutes"}
"""Why a limit is missed where the hair would allow it."""


def show_plan(
    page: Page,
    plan: DogPlan,
    document: PlanDocument,
    options: Sequence[Option] | None,
    *,
    unit: str,
    saved: Sequence[Path],
) -> None:
    """Write the whole plan."""
    page.title(document.dog, document.pattern)
    how = sentence(visits_words(document.approach, document.cadence))
    page.line(f"{how}. Planned on {day_text(document.made)}, up to {day_text(document.until)}.", start=0)
    if document.visits:
        _takes(page, plan, document)
    else:
        page.heading("Nothing is to be pulled")
    _ready(page, plan, document, unit)
    _answers(page, plan, document)
    _figures(page, plan, document)
    if options is not None:
        _side_by_side(page, options, plan)
    show_cautions(page, document.cautions)
    show_saved(page, saved)


def _takes(page: Page, plan: DogPlan, document: PlanDocument) -> None:
    page.heading("What to pull", "% of each zone's hairs, the longest first")
    none, fixed = page.letters.none, page.letters.by_hand
    columns = [(month(visit.day.month), str(visit.day.day)) for visit in document.visits]
    worked = [zone for zone in document.zones if any(zone.takes) or any(zone.fixed)]
    rows = [
        [
            (f"{percent(take)}" if take else "0" if by_hand else none) + (fixed if by_hand else "")
            for take, by_hand in zip(zone.takes, zone.fixed, strict=True)
        ]
        for zone in worked
    ]
    labels = [(zone.name, "") for zone in worked]
    rule = len(labels)
    labels.append(("Minutes", "bold"))
    rows.append([f"{visit.minutes:.0f}" for visit in document.visits])
    carded = [plan.cardings.get(visit.day.toordinal(), ()) for visit in document.visits]
    most = max(carded, key=len)
    if most:
        labels.append(("Card", ""))
        rows.append(["yes" if keys == most else str(len(keys)) if keys else none for keys in carded])
    if any(visit.saves > WORTH_TELLING for visit in document.visits):
        labels.append(("A minute saves", ""))
        rows.append(
            [f"{visit.saves:.1f}" if visit.saves > WORTH_TELLING else none for visit in document.visits]
        )
    page.console.print()
    page.grid(
        labels,
        columns,
        rows,
        cell=max(4, *(len(value) + 1 for row in rows for value in row)),
        rule_before=rule,
    )
    notes = []
    if any(any(zone.fixed) for zone in document.zones):
        notes.append(f"{fixed} fixed by hand.")
    if most:
        notes.append(f"Card: the undercoat of {_zones_words(most)}.")
    if any(visit.saves > WORTH_TELLING for visit in document.visits):
        notes.append(
            "A minute saves: what one more minute at that visit would take off the whole plan, in minutes."
        )
    if notes:
        page.console.print()
        page.line(" ".join(notes), style="dim")


def _zones_words(keys: Sequence[str]) -> str:
    from coatwright.patterns import zones

    coated = [key for key, zone in zones().items() if zone.work == "pull" and zone.undercoat]
    if list(keys) == coated:
        return "every zone that has one"
    return listed([zones()[key].name.lower() for key in keys])


def _ready(page: Page, plan: DogPlan, document: PlanDocument, unit: str) -> None:
    page.heading("When ready", "save the quiet days just after a visit")
    page.hung(Text("  All at once", style="bold"), windows_words(document.windows, document.made), hang=16)
    groups: dict[str, list[str]] = {}
    unjudged: list[str] = []
    for zone, task in zip(document.zones, plan.option.plan.problem.zones, strict=True):
        if task.aim is None:
            unjudged.append(zone.name.lower())
        else:
            groups.setdefault(windows_words(zone.windows, document.made), []).append(zone.name.lower())
    for text, names in groups.items():
        page.line(f"{sentence(listed(names))}: {text}", hang=4)
    if unjudged:
        page.line(f"Not judged: {listed(unjudged)}", hang=4, style="dim")
    for outlook in document.shows:
        show = outlook.show
        verdict = "ready" if show.ready else f"not ready in {listed([name.lower() for name in show.missing])}"
        page.hung(f"  {page.letters.show} ", f"{show.name}, {day_text(show.day)}: {verdict}", hang=4)
        if show.chance is not None:
            page.line(wide(f"Chance {chance_line(show.chance)}. An estimate: measure again."), start=4)
        if outlook.zones:
            body = max(outlook.zones, key=lambda zone: zone.outline)
            page.line(
                wide(
                    f"Its longest outline that day, {body.name.lower()}: {length(body.outline, unit)} for an aim of "
                    f"{lengths(body.aim_from, body.aim_to, unit)}; of 10 such coats, 8 lie within "
                    f"{lengths(body.outline_from, body.outline_to, unit)}."
                ),
                start=4,
                style="dim",
            )


def windows_words(windows: Sequence[Window], near: date) -> str:
    """Ready windows in words, the first few in full."""
    if not windows:
        return "on no day"
    words = []
    shown = windows if len(windows) <= MOST_WINDOWS else windows[: MOST_WINDOWS - 1]
    for window in shown:
        days = (window.last - window.first).days + 1
        first, last = short_day(window.first, near), short_day(window.last, window.first)
        words.append(f"{first} only" if days == 1 else f"{first} to {last} ({days} days)")
    more = len(windows) - len(shown)
    return listed([*words, f"{more} more times"] if more else words)


def _answers(page: Page, plan: DogPlan, document: PlanDocument) -> None:
    """What could not be had: in sentences where they are few, else in one table per limit."""
    if not document.answers:
        return
    page.heading("What could not be had")
    if len(document.answers) <= MOST_SENTENCES:
        for told in document.answers:
            page.caution(f"{told.text} {' '.join(told.remedies)}", word="Not met", style="red")
        return
    near = document.made
    for limit, words in LIMITS.items():
        answers = [answer for answer in plan.answers if answer.limit == limit]
        if not answers:
            continue
        page.caution(words, word="Not met", style="red")
        rows = []
        for answer in answers:
            first, last = date_of(answer.first), min(date_of(answer.last), document.until)
            rows.append(
                [
                    f"{' ' * 7}{_name(answer.zone) if answer.zone else 'The visits'}",
                    short_day(first, near) + (f" to {short_day(last, near)}" if last > first else ""),
                    f"{answer.worst:.0f} min" if limit == "minutes" else f"{percent(answer.worst)} %",
                    CAUSES.get(answer.cause)
                    or (f"from {short_day(date_of(answer.earliest), near)}" if answer.earliest else "no"),
                ]
            )
        page.table(["", "when", "by", "possible"], rows, left=2)
    remedies = dict.fromkeys(remedy.sentence() for answer in plan.answers for remedy in answer.remedies)
    page.console.print()
    page.hung("  What may help  ", " ".join(remedies), hang=17)


def _name(zone: str) -> str:
    from coatwright.patterns import zones

    return zones()[zone].name


def _figures(page: Page, plan: DogPlan, document: PlanDocument) -> None:
    page.heading("In figures")
    option, whole = plan.option, plan.option.plan
    days = (document.until - document.made).days + 1
    page.pair("Ready", f"{option.ready_days} of {days} days")
    page.pair("Work", f"{counted(option.visits, 'visit')}, {span(document.minutes)} in all")
    if document.price is not None:
        page.pair("Price", f"{money(document.price)}, at {document.price_per_hour:g} an hour")
    thin = f"{percent(document.thinnest)} % cover"
    if document.thinnest_zone:
        thin += f": {document.thinnest_zone.lower()}, {day_text(document.thinnest_day)}"
    page.pair("Thinnest", thin)
    page.pair("Proof", _proof(whole.distance))
    best = max(document.visits, key=lambda visit: visit.saves, default=None)
    if best is None or best.saves <= WORTH_TELLING:
        page.pair("Minutes", "time does not bind: more minutes would change nothing")
    else:
        page.pair("Minutes", f"one more on {short_day(best.day)} is worth {best.saves:.1f} min elsewhere")


def _proof(distance: float) -> str:
    if distance < 0.5:
        return "no plan at all can be better"
    return f"no plan at all, in steps or not, can cost less by more than {distance:.0f} minutes' worth"


def _side_by_side(page: Page, options: Sequence[Option], plan: DogPlan) -> None:
    page.heading("Side by side", "each at its best rhythm; ready in days")
    page.console.print()
    often = [f", {rhythm(each.cadence)}" if each.cadence else "" for each in options]
    names = [SHORT[each.approach] + words for each, words in zip(options, often, strict=True)]
    _options(page, list(zip(names, options, strict=True)))
    if len(plan.cadences) > 1:
        page.heading("By rhythm", f"{APPROACHES[plan.option.approach]}; ready in days")
        page.console.print()
        each_rhythm = sorted(plan.cadences, key=lambda each: each.cadence)
        _options(page, [(sentence(rhythm(each.cadence)), each) for each in each_rhythm])


def _options(page: Page, rows: Sequence[tuple[str, Option]]) -> None:
    priced = any(each.price is not None for _, each in rows)
    heads = ["", "Ready", "Visits", "Work", "Thinnest", *(["Price"] if priced else [])]
    page.table(
        heads,
        [
            [
                name,
                str(each.ready_days),
                str(each.visits),
                span(each.minutes),
                f"{percent(each.thinnest)} %",
                *([money(each.price or 0.0)] if priced else []),
            ]
            for name, each in rows
        ],
    )


def show_saved(page: Page, saved: Sequence[Path]) -> None:
    if saved:
        page.console.print()
        page.line(f"Written: {', '.join(map(str, saved))}", start=0)
