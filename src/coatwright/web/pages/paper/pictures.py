"""Drawings of the paper test as the pages show them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

from coatwright.web.charts import Shown, date_words
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.drawing.length_histogram import LengthHistogram
    from coatwright.paper.share import ShareBelief
    from coatwright.salon.tools import ToolHistory

LEAST_TOP = 0.12
"""Strips of break shares reach at least so far."""


def change_picture(code: str) -> Markup:
    """What to change about a photo that was refused for the reason of a ``code``; said in words beside it."""
    from coatwright.drawing.refusal_pictures import refusal_picture

    return Markup(refusal_picture(code))


def lengths_shown(chart: LengthHistogram, words: Words) -> Shown:
    """The lengths of a sheet for a page."""
    from coatwright.drawing.axes import NARROW, WIDE
    from coatwright.drawing.length_histogram import length_histogram, length_histogram_table

    title = "Lengths of the hairs, whole and broken apart"
    return Shown(
        title,
        Markup(length_histogram(chart, title=title, unit=words.unit, width=WIDE)),
        Markup(length_histogram(chart, title=title, unit=words.unit, width=NARROW)),
        length_histogram_table(chart, unit=words.unit),
    )


def share_strip(belief: ShareBelief, top: float = 0.0) -> Markup:
    """The interval of a break share as a strip from none up, with a ring at the limit."""
    from coatwright.drawing.band_strip import BandStrip, band_strip
    from coatwright.paper.verdict import LIMIT

    low, high = belief.interval()
    strip = BandStrip(
        0.0, max(LEAST_TOP, top, 1.1 * high), (low, high), belief.median, marks=((LIMIT, "planned"),)
    )
    return Markup(band_strip(strip))


def history_shown(history: ToolHistory, words: Words) -> Shown | None:
    """The tests of a tool over time for a page; None where none says anything."""
    from coatwright.drawing.axes import NARROW, WIDE
    from coatwright.drawing.tool_chart import TestMark, ToolChart, tool_chart, tool_chart_table
    from coatwright.units import day_of

    marks = []
    for trial in history.trials:
        if trial.belief is None:
            continue
        low, high = trial.belief.interval()
        marks.append(TestMark(day_of(trial.key.day), low, trial.belief.median, high, trial.verdict.word))
    if not marks:
        return None
    trend = history.trend
    chart = ToolChart(
        tuple(marks),
        () if trend is None else tuple(sorted(zip(trend.days, trend.shares, strict=True))),
        tuple(day_of(each.day) for each in history.sharpened),
    )
    dates, title = date_words(words), f"Hair that {history.name} broke, test by test"
    return Shown(
        title,
        Markup(tool_chart(chart, title=title, dates=dates, width=WIDE)),
        Markup(tool_chart(chart, title=title, dates=dates, width=NARROW)),
        tool_chart_table(chart, dates=dates),
    )
