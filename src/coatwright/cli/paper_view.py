"""Paper tests in the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from coatwright.cli.screen import Page
from coatwright.cli.words import counted, day_text, listed

if TYPE_CHECKING:
    from coatwright.paper.thread import ThreadCheck
    from coatwright.salon.fold import Salon
    from coatwright.salon.gear import ThreadKept
    from coatwright.salon.paper_results import PhotoDone
    from coatwright.salon.records import Dog
    from coatwright.salon.tools import ToolHistory
    from coatwright.salon.verdicts import Trial
    from coatwright.units import Millimetres

STYLES = {"breaks": "red", "doubtful": "yellow", "sound": "bold", "too few hairs": ""}
STEP_MM: Millimetres = 5.0
"""Bars of the table of lengths are this wide."""
LONGEST_BAR = 40
NOT_PAIN = (
    "A break share says nothing of pain or skin: stop at redness, pinpoints of blood, flinching, or hair that needs "
    "force, whatever the paper says."
)
DRAWN_ONLY = (
    "How well photos are read was measured on drawn photographs, which are kinder than real ones: check your phone "
    "and printer with thread, and look at some hairs under a lens."
)


def show_read(
    done: Sequence[PhotoDone],
    trial: Trial | None,
    *,
    dog: Dog | None,
    salon: Salon | None,
    today: date,
    printer_note: str = "",
) -> None:
    """The photographs one by one, then what they say together; ``printer_note``: which printer was assumed."""
    page = Page()
    head = next((one.head for one in done if one.head is not None), None)
    page.title(dog.name if dog else "Paper test", head.tool if head else "")
    if any(one.read for one in done):
        page.console.print()
        _photos(page, done)
    for one in done:
        for remark in () if one.read is None else one.read.remarks:
            page.caution(f"{Path(one.name).name}: {remark.what} {remark.change}")
    if trial is None:
        if printer_note:
            page.line(printer_note)
        return
    _verdict(page, trial)
    _lengths(page, trial)
    page.heading("Mind")
    page.caution(NOT_PAIN, word="Stop", style="red")
    page.line(DRAWN_ONLY)
    if head is not None and salon is not None:
        from coatwright.salon.printers import proof_words

        page.line(proof_words(salon, head.phone, head.printer, today, head.bar_mm))
    if printer_note:
        page.line(printer_note)
    kept = [one for one in done if one.kept]
    if kept:
        page.line(f"{counted(len(kept), 'sheet')} kept. To take one back: `coatwright salon undo`.")


def show_thread(page: Page, kept: ThreadKept, found: ThreadCheck, bar_mm: Millimetres) -> None:
    """A thread check: each length of thread, and the result in a sentence."""
    page.title(f"{kept.phone} with {kept.printer}", f"bar {bar_mm:g} mm")
    page.console.print()
    rows = [
        [f"{cut.cut:g} mm", str(cut.count), f"{cut.bias:+.2f} mm", f"{cut.spread:.2f} mm"]
        for cut in found.cuts
    ]
    page.table(["cut to", "threads", "read off by", "scatter"], rows)
    page.console.print()
    page.line(found.words)


def _photos(page: Page, done: Sequence[PhotoDone]) -> None:
    from coatwright.salon.paper_drafts import BROKEN, OPEN, WHOLE, ByHand, lengths_of

    rows = []
    for one in done:
        if one.read is None:
            continue
        lengths = lengths_of(one.read, ByHand())
        counts = [len(lengths[word]) for word in (WHOLE, BROKEN, OPEN)]
        rows.append(
            [
                Path(one.name).name,
                one.read.sheet,
                "" if one.purpose == "tool" else one.purpose,
                str(len(one.read.hairs)),
                *map(str, counts),
                str(one.read.reading.left_out),
            ]
        )
    heads = ["photo", "sheet", "", "hairs", "whole", "broken", "open", "left out"]
    page.table(heads, rows, left=3, spare=(2, 1))


def _verdict(page: Page, trial: Trial) -> None:
    said, heard = trial.verdict, trial.heard
    page.heading("Verdict")
    page.caution(
        " ".join(part for part in (said.why, said.rule) if part),
        word=said.word.capitalize(),
        style=STYLES[said.word],
    )
    if said.word != "too few hairs" and trial.settling.more != 0:
        page.line(trial.settling.text)
    spoke = []
    for name, belief in (
        ("ends", trial.testimony and trial.testimony.ends),
        ("lengths", trial.testimony and trial.testimony.lengths),
    ):
        if belief:
            low, high = belief.interval()
            spoke.append(f"{name} {100 * belief.median:.0f} % ({100 * low:.0f} to {100 * high:.0f})")
    if len(spoke) > 1:
        page.line(f"Each witness alone: {listed(spoke)}.")
    for remark in heard.remarks:
        page.line(remark)


def _lengths(page: Page, trial: Trial) -> None:
    """How many hairs of each length, whole, broken and open, and the whole ones' lengths as they are reported."""
    whole, broken, loose = (
        [length for paper in trial.papers for length in getattr(paper, key)]
        for key in ("whole_mm", "broken_mm", "open_mm")
    )
    everything = [*whole, *broken, *loose]
    if not everything:
        return
    page.heading("Lengths", f"steps of {STEP_MM:g} mm")
    first, last = int(min(everything) // STEP_MM), int(max(everything) // STEP_MM)
    counts = [
        [sum(int(length // STEP_MM) == step for length in lengths) for lengths in (whole, broken, loose)]
        for step in range(first, last + 1)
    ]
    most = max(map(sum, counts))
    signs = "█▒·" if page.letters.rule == "─" else "#x."
    page.console.print()
    rows = []
    for step, row in zip(range(first, last + 1), counts, strict=True):
        scale = min(1.0, LONGEST_BAR / most)
        bar = "".join(sign * round(count * scale) for sign, count in zip(signs, row, strict=True))
        rows.append([f"{step * STEP_MM:g} mm", bar, *map(str, row)])
    page.table(
        ["from", f"{signs[0]} whole {signs[1]} broken {signs[2]} open", "whole", "broken", "open"],
        rows,
        left=2,
    )
    report, wool = trial.report, trial.wool
    if report is None or wool is None:
        return
    page.console.print()
    few = "" if report.enough else ", fewer than the 50 of a single-fibre sample"
    low, high = report.interval
    page.line(
        f"Whole hairs: {report.count}{few}. Mean {report.mean:.1f} mm ({low:.1f} to {high:.1f}), standard deviation "
        f"{report.sd:.1f} mm, coefficient of variation {report.cv:.0f} %, {report.least:.1f} to "
        f"{report.greatest:.1f} mm. Hauteur {wool.hauteur:.1f} mm, Barbe {wool.barbe:.1f} mm."
    )


def show_count(dog: Dog, trial: Trial, event: str) -> None:
    """A count by hand and its verdict."""
    page = Page()
    page.title(dog.name, trial.tool)
    _verdict(page, trial)
    page.heading("Mind")
    page.caution(NOT_PAIN, word="Stop", style="red")
    page.line(f"Kept as event {event[:8]}. To take it back: `coatwright salon undo {event[:8]}`.")


def show_tools(histories: Sequence[ToolHistory], place: str) -> None:
    """Every tool with its newest verdict."""
    page = Page()
    page.title(counted(len(histories), "tool"), place)
    page.console.print()
    rows = []
    for each in histories:
        last = each.last
        assert last is not None  # a tool is known by its tests
        rows.append(
            [each.name, last.verdict.word, _of_100(last), day_text(last.key.day), str(len(each.trials))]
        )
    page.table(["tool", "newest verdict", "of 100 break", "on", "tests"], rows, left=2)


def show_tool(salon: Salon, history: ToolHistory) -> None:
    """One tool, test by test, and its trend."""
    from coatwright.patterns import zones

    page = Page()
    page.title(history.name, counted(len(history.trials), "test"))
    page.console.print()
    rows = [
        [
            day_text(trial.key.day),
            salon.dogs[trial.key.dog].name,
            zones()[trial.key.zone].name,
            trial.verdict.word,
            _of_100(trial),
            str(trial.verdict.heard),
        ]
        for trial in history.trials
    ]
    page.table(["on", "dog", "zone", "verdict", "of 100 break", "hairs"], rows, left=4, spare=(2,))
    page.console.print()
    if history.sharpened:
        page.line(f"Sharpened on {listed([day_text(each.day) for each in history.sharpened])}.")
    trend = history.trend
    if trend is None:
        page.line("A trend takes tests of two different days since it was sharpened; three say more.")
        return
    page.line(trend.text)


def show_beside(salon: Salon, first: ToolHistory, second: ToolHistory) -> None:
    """Two tools beside each other: on the same zone of the same dog where both were tested on one."""
    from coatwright.patterns import zones
    from coatwright.salon.verdicts import compared

    page = Page()
    page.heading(f"{first.name} beside {second.name}")
    found = compared(first.trials, second.trials, first.name, second.name)
    if found is None:
        page.line("One of the two has no test yet that says anything.")
        return
    page.line(found.words)
    keys = [(history.name, trial.key) for history, trial in ((first, found.first), (second, found.second))]
    of = [
        f"{name} on {day_text(key.day)} ({salon.dogs[key.dog].name}, {zones()[key.zone].name.lower()})"
        for name, key in keys
    ]
    page.line(f"{', '.join(of)}.")
    if not found.same:
        page.line("Other coats or zones: part of the difference may be theirs.")


def _of_100(trial: Trial) -> str:
    """Hairs that break of 100, with the range."""
    said = trial.verdict
    if said.share is None or said.interval is None:
        return ""
    return f"{100 * said.share:.0f} ({100 * said.interval[0]:.0f} to {100 * said.interval[1]:.0f})"
