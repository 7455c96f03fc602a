"""A visit's sheet in the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text

from coatwright.cli.cautions import show_cautions
from coatwright.cli.plan_view import show_saved, windows_words
from coatwright.cli.words import (
    APPROACHES,
    counted,
    day_text,
    listed,
    percent,
    sentence,
    short_day,
    span,
    wide,
)
from coatwright.printing.sheet_view import hand_line, measure_line
from coatwright.printing.words import chance_line, hairs, long_day

if TYPE_CHECKING:
    from coatwright.cli.screen import Page
    from coatwright.printing.sheet import Over, Sheet, SheetZone

BODY = 5
"""Column at which what belongs to a zone begins."""


def show_sheet(page: Page, sheet: Sheet, *, unit: str, saved: Sequence[Path]) -> None:
    """Write the whole sheet."""
    page.title(sheet.dog, sheet.pattern)
    where = f"Visit {sheet.number} of {sheet.count}, {APPROACHES[sheet.approach]}"
    page.line(f"{long_day(sheet.day)}. {where}. {span(sheet.minutes)} of {span(sheet.limit)}.", start=0)
    if sheet.notes:
        page.line(sheet.notes, start=0)
    page.heading("Stop when")
    page.line(f"{'; '.join(sheet.stops)}. {sheet.after_stop}", style="red")
    if sheet.measure:
        page.heading("Measure first")
        page.line(wide(measure_line(sheet.measure)))
    page.heading("In working order", "share of the zone's hairs, the longest first, from all over")
    if sheet.hand is not None and any(zone.judge is not None for zone in sheet.zones):
        page.line(f"{hand_line(sheet.hand)}: judge what a zone says, and log what you judged.")
    for number, zone in enumerate(sheet.zones, start=1):
        _zone(page, number, zone, unit)
    _others(page, sheet)
    _coming(page, sheet)
    show_cautions(page, sheet.cautions)
    show_saved(page, saved)


def _zone(page: Page, number: int, zone: SheetZone, unit: str) -> None:
    minutes = f"{zone.minutes:.0f}" if zone.minutes >= 0.5 else "<1"
    head = Text.assemble(
        (f"{number:>3}  ", "dim"), (f"{zone.name:<22}", "bold"), f"{percent(zone.share):>3} %"
    )
    cover = f"cover {percent(zone.cover_before)} to {percent(zone.cover_after)} %"
    head.append(f"  {minutes:>3} min", style="dim")
    for words, style in ((f"  {cover:<20}", "dim"), ("card first" if zone.card else "", "")):
        if len(head) + len(words) <= page.width:
            head.append(words, style=style)
    head.rstrip()
    page.console.print()
    page.console.print(head, soft_wrap=True)
    if zone.tender:
        page.line(
            f"Tender: never above {percent(zone.cap)} %, the skin held taut.", start=BODY, style="yellow"
        )
    if zone.over is not None:
        page.line(f"Spared today: {_over(zone.over)}.", start=BODY, style="yellow")
    if zone.judge is not None:
        page.line(f"Judge it {percent(zone.judge)} %.", start=BODY, style="bold")
    page.line(sentence(wide(hairs(zone.hairs, unit))) + ".", start=BODY)
    page.line(f"{zone.hold} {zone.tip}", start=BODY, style="dim")


def _over(over: Over) -> str:
    return f"{percent(over.taken)} % were taken on {short_day(over.day)} where {percent(over.planned)} % was planned"


def _others(page: Page, sheet: Sheet) -> None:
    if sheet.spared:
        page.heading("Left alone today")
        for zone in sheet.spared:
            text = f"next on {day_text(zone.next_day)}" if zone.next_day else "nothing more is planned"
            if zone.over is not None:
                text = f"{_over(zone.over)}; {text}"
            page.pair(zone.name, text + ("; card the undercoat" if zone.card else ""), column=25)
    if sheet.finish:
        page.heading("To finish", "outside the plan's minutes, as each needs")
        for work, words in (("tidy", "Tidy"), ("scissors", "Scissor")):
            names = [zone.name.lower() for zone in sheet.finish if zone.work == work]
            if names:
                page.pair(words, listed(names), column=25)


def _coming(page: Page, sheet: Sheet) -> None:
    page.heading("What comes")
    for visit in sheet.next_visits:
        page.pair(day_text(visit.day), span(visit.minutes), column=25)
    for show in sheet.shows:
        verdict = "ready, as planned" if show.ready else f"not ready in {counted(len(show.missing), 'zone')}"
        page.pair(day_text(show.day), f"{page.letters.show} {show.name}: {verdict}", column=25)
        if show.chance is not None:
            page.pair("", wide(f"chance {chance_line(show.chance)}"), column=25)
    page.pair("Ready all at once", windows_words(sheet.windows, sheet.day), column=25)
