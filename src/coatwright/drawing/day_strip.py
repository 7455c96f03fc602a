"""The strip below a slider of days: months, visits done and planned, shows and today, at any width."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coatwright.drawing.axes import DateWords
from coatwright.drawing.svg import element, escape, number
from coatwright.units import Day, date_of

LAST_WORD = 0.93
"""No month is named beyond this part of the strip: its letters would stick out."""
MOST_MONTHS = 14
"""With more months than this, every third is named."""
SHAPES = {
    "visit": ("M0 3v12", "Visit"),
    "planned": ("M-3.2 9a3.2 3.2 0 1 0 6.4 0a3.2 3.2 0 1 0-6.4 0z", "Planned visit"),
    "show": ("M0 2.5l6.5 6.5-6.5 6.5-6.5-6.5z", "Show"),
    "today": ("M0 4l-4.5-6h9z", "Today"),
}
"""A line for a visit that was, a ring for one to come, a diamond for a show, a pointer for today."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A day worth seeing: ``kind`` is a key of :data:`SHAPES`."""

    day: Day
    kind: str
    name: str = ""


def day_strip(first: Day, last: Day, marks: Iterable[Mark], dates: DateWords | None = None) -> str:
    """The strip as SVG; places are percentages, so that it fits whatever slider stands above it."""
    words = dates or DateWords()
    span = max(last - first, 1)

    def at(day: Day) -> str:
        return f"{number(100.0 * (day - first) / span, 2)}%"

    months = [day for day in range(first, last + 1) if date_of(day).day == 1]
    every = 1 if len(months) <= MOST_MONTHS else 3
    parts = [element("line", x1="0", x2="100%", y1="9", y2="9", class_="strip-axis")]
    for day in months:
        parts.append(element("line", x1=at(day), x2=at(day), y1="9", y2="24", class_="strip-axis"))
        if date_of(day).month % every == 0 and day - first <= LAST_WORD * span:
            name = words.months[date_of(day).month - 1]
            parts.append(element("text", escape(name), x=at(day), dx="4", y="28"))
    for mark in sorted((mark for mark in marks if first <= mark.day <= last), key=lambda mark: mark.day):
        shape, usual = SHAPES[mark.kind]
        title = element("title", escape(f"{mark.name or usual}, {words.long(mark.day)}"))
        path = element("path", title, d=shape, class_=f"strip-{mark.kind}")
        parts.append(element("svg", path, x=at(mark.day), overflow="visible"))
    return element("svg", "".join(parts), class_="cw-strip", aria_hidden="true")
