"""What the charts share: days across, a quantity up, dates in words, and room for words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from coatwright.drawing import svg
from coatwright.drawing.labels import overlap
from coatwright.drawing.svg import SANS, element, text
from coatwright.units import MM_PER_INCH, Day, Millimetres, date_of, day_of

Table = tuple[tuple[str, ...], ...]
"""Rows of text for readers who do not see the chart; the first row is the head."""
Box = tuple[float, float, float, float]

SIZE = 13.0
"""Size of the letters of a chart, in units of its view box (one to the pixel at full width)."""
WIDE, NARROW = 900.0, 380.0
"""Widths of a chart for a desk or paper, and for a telephone held upright, units of the view box."""
LETTER = 0.6
"""Mean width of a letter over its size, on the wide side."""


@dataclass(frozen=True, slots=True)
class DateWords:
    """How dates are written: names of the months and the order of day, month and year."""

    months: tuple[str, ...] = (
        "Jan",
        "Feb",
        "Mar",
        "Apr",
        "May",
        "Jun",
        "Jul",
        "Aug",
        "Sep",
        "Oct",
        "Nov",
        "Dec",
    )
    order: str = "dmy"

    def short(self, day: Day) -> str:
        """Day and month: ``3 Mar``, or ``Mar 3`` where the month comes first."""
        when = date_of(day)
        month = self.months[when.month - 1]
        return f"{when.day} {month}" if self.order == "dmy" else f"{month} {when.day}"

    def long(self, day: Day) -> str:
        """Day, month and year; year first where that is the order."""
        year = date_of(day).year
        if self.order == "ymd":
            return f"{year} {self.short(day)}"
        return f"{self.short(day)}, {year}" if self.order == "mdy" else f"{self.short(day)} {year}"

    def month(self, day: Day) -> str:
        """Month, with the year in January."""
        when = date_of(day)
        name = self.months[when.month - 1]
        return f"{name} {when.year}" if when.month == 1 else name


@dataclass(frozen=True, slots=True)
class Frame:
    """The field of a chart: ``first`` to ``last`` day across, ``low`` to ``high`` up."""

    first: Day
    last: Day
    low: float
    high: float
    left: float
    top: float
    right: float
    bottom: float

    def x(self, day: float) -> float:
        """Across."""
        return self.left + (day - self.first) / max(self.last - self.first, 1) * (self.right - self.left)

    def y(self, value: float) -> float:
        """Up; values beyond the field stay at its edge."""
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


@dataclass(slots=True)
class Room:
    """Keeps words from running into each other: the first to come keeps its place."""

    taken: list[Box] = field(default_factory=list)
    right: float = math.inf

    def fits(self, box: Box, gap: float = 3.0) -> bool:
        """Whether a box is free; it is not taken by asking."""
        return (
            box[0] >= 0.0
            and box[2] <= self.right
            and not any(overlap(box, other, gap) for other in self.taken)
        )

    def write(
        self, x: float, y: float, words: str, *, anchor: str = "start", size: float = SIZE, **values: object
    ) -> str:
        """The words as SVG at the baseline (x, y) if there is room, else nothing."""
        box = box_of(x, y, words, anchor, size)
        if not words or not self.fits(box):
            return ""
        self.taken.append(box)
        values.setdefault("fill", "currentColor")
        return text(x, y, words, text_anchor=anchor, font_size=size, **values)


def show_words(name: str, day: Day, dates: DateWords, width: float) -> str:
    """What stands beside the mark of a show: its name and day; on a narrow chart the day, the key has the name."""
    return dates.short(day) if width <= NARROW else f"{name}, {dates.short(day)}"


def show_mark(x: float, y: float) -> str:
    """A full diamond, its uppermost point at (x, y)."""
    return element("path", d=f"M{svg.number(x)} {svg.number(y)}l5 6-5 6-5-6z", fill="currentColor")


def names_above(
    marks: Iterable[tuple[float, str]], rows: Iterable[float], room: Room
) -> list[tuple[float, str]]:
    """Names beside marks at x: per mark the height at which its line may start, and the words (or nothing).

    ``rows`` are baselines from the top; a name too long for its place is shortened. A line starts beside its
    own name, so that a name may pass over the lines of marks whose names stand lower, and no line runs
    through a name.
    """
    lines = tuple(rows)
    lowest = lines[-1] if lines else 0.0
    found: list[tuple[float, str]] = []
    upright: list[Box] = []
    for x, words in sorted(marks):
        start, written = lowest + 6.0, ""
        for short in (words, _shortened(words, 24), _shortened(words, 12)):
            for y in lines:
                line = (x - 3.0, y - 8.0, x + 3.0, lowest + 6.0)
                written = _beside(x, y, short, room, upright) if room.fits(line, 0.0) else ""
                if written:
                    break
            if written:
                start = y - 8.0
                break
        upright.append((x - 3.0, start, x + 3.0, lowest + 6.0))
        found.append((start, written))
    return found


def _shortened(words: str, letters: int) -> str:
    return words if len(words) <= letters else words[: letters - 1].rstrip(" ,") + "…"


def _beside(x: float, y: float, words: str, room: Room, upright: list[Box]) -> str:
    """The words to the right or else to the left of x, clear of the lines in ``upright``."""
    for at, side in ((x + 9.0, "start"), (x - 9.0, "end")):
        box = box_of(at, y, words, side)
        if any(overlap(box, other, 1.0) for other in upright):
            continue
        written = room.write(at, y, words, anchor=side)
        if written:
            return written
    return ""


def left_of(names: Iterable[str], least: float = 96.0, most: float = 190.0) -> float:
    """Where a field begins whose rows have their names before them."""
    return min(max([least, *(LETTER * SIZE * len(name) + 16.0 for name in names)]), most)


def today(x: float, y: float, room: Room) -> str:
    """The word over today's line, drawn in from an edge of the chart."""
    half = 0.5 * LETTER * SIZE * len("today")
    if x - half < 0.0:
        return room.write(0.0, y, "today", font_weight="600")
    if x + half > room.right:
        return room.write(room.right, y, "today", anchor="end", font_weight="600")
    return room.write(x, y, "today", anchor="middle", font_weight="600")


def box_of(x: float, y: float, words: str, anchor: str = "start", size: float = SIZE) -> Box:
    """Box of a line of text at the baseline (x, y), on the wide side."""
    wide = LETTER * size * len(words)
    left = x - {"start": 0.0, "middle": 0.5 * wide, "end": wide}[anchor]
    return left, y - 0.8 * size, left + wide, y + 0.25 * size


def days_of(first: Day, last: Day) -> list[tuple[Day, bool]]:
    """Ticks and whether each carries a word: Mondays of a short span, firsts of months of a long one."""
    if last - first <= 70:
        monday = first + (-date_of(first).weekday()) % 7
        return [(day, True) for day in range(monday, last + 1, 7)]
    every = 1 if last - first <= 420 else 3 if last - first <= 1100 else 12
    found = []
    year, month = date_of(first).year, date_of(first).month
    while (day := day_of(date(year, month, 1))) <= last:
        if day >= first:
            found.append((day, (month - 1) % every == 0))
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
    return found


def time_axis(frame: Frame, room: Room, dates: DateWords) -> str:
    """Ticks and words below the field."""
    parts = []
    short = frame.last - frame.first <= 70
    for day, worded in days_of(frame.first, frame.last):
        x = frame.x(day)
        parts.append(line(x, frame.bottom, x, frame.bottom + (5 if worded else 3), opacity=0.6))
        if worded:
            words = dates.short(day) if short else dates.month(day)
            for line_of in (words,) if short else dict.fromkeys((words, words.split()[0])):
                written = room.write(x, frame.bottom + 19, line_of, anchor="middle", fill_opacity="0.8")
                parts.append(written)
                if written:
                    break
    return "".join(parts)


def length_ticks(top: Millimetres, unit: str = "mm") -> list[tuple[Millimetres, str]]:
    """Ticks from 0 to ``top`` mm: where, and the number alone."""
    per = MM_PER_INCH if unit == "in" else 1.0
    steps = (0.25, 0.5, 1.0, 2.0) if unit == "in" else (5.0, 10.0, 20.0, 25.0, 50.0, 100.0)
    step = next((s for s in steps if top / per / s <= 6.0), steps[-1])
    return [(k * step * per, f"{k * step:g}") for k in range(int(top / per / step + 1e-9) + 1)]


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    opacity: float = 1.0,
    dash: str | None = None,
    width: float = 1.0,
) -> str:
    """A straight line in the colour of the text."""
    return element(
        "path",
        d=f"M{svg.number(x1)} {svg.number(y1)}L{svg.number(x2)} {svg.number(y2)}",
        stroke="currentColor",
        stroke_width=svg.number(width),
        stroke_opacity=svg.number(opacity, 2) if opacity < 1.0 else None,
        stroke_dasharray=dash,
        fill="none",
    )


def band(x: Iterable[float], low: Iterable[float], high: Iterable[float]) -> str:
    """Path data of the area between two curves over the same x (all in units of the view box)."""
    across = list(x)
    up = [f"{svg.number(a)} {svg.number(b)}" for a, b in zip(across, high, strict=True)]
    down = [f"{svg.number(a)} {svg.number(b)}" for a, b in zip(across, low, strict=True)]
    return "M" + "L".join(up + down[::-1]) + "Z"


def curve(x: Iterable[float], y: Iterable[float]) -> str:
    """Path data of a line through points (units of the view box)."""
    return "M" + "L".join(f"{svg.number(a)} {svg.number(b)}" for a, b in zip(x, y, strict=True))


def kept(x: Sequence[float], *curves: Sequence[float], within: float = 0.1) -> list[int]:
    """Indices of the points that carry all ``curves`` over ``x``: no other lies farther off than ``within``.

    Points are kept by the method of Ramer (1972) and Douglas & Peucker (1973), measured upright, for all curves
    at once, so that the edges of a band keep the same places.
    """
    across, heights = np.asarray(x, dtype=float), np.asarray(curves, dtype=float)
    chosen, waiting = {0, len(across) - 1}, [(0, len(across) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        span = across[last] - across[first]
        part = (across[first : last + 1] - across[first]) / span if span > 0.0 else np.zeros(last - first + 1)
        chord = heights[:, [first]] + part * (heights[:, [last]] - heights[:, [first]])
        off = np.abs(heights[:, first : last + 1] - chord).max(axis=0)
        worst = first + int(off.argmax())
        if off[worst - first] > within:
            chosen.add(worst)
            waiting += [(first, worst), (worst, last)]
    return sorted(chosen)


@dataclass(frozen=True, slots=True)
class KeyItem:
    """One mark of a chart and what it means; ``mark`` is SVG drawn in a box 26 wide, around height 0."""

    mark: str
    words: str


def key_below(items: Iterable[KeyItem], left: float, top: float, right: float) -> tuple[str, float]:
    """The key of a chart, in as many lines as it takes, and the height of all of them."""
    size, line_height = 12.0, 20.0
    parts, x, row = [], left, 0
    for item in items:
        wide = 32.0 + LETTER * size * len(item.words) + 16.0
        lines = [item.words]
        if x + wide > right + 16.0 and x > left:
            x, row = left, row + 1
        if x + wide > right + 16.0:
            lines = folded(item.words, int((right - left - 32.0) / (LETTER * size)))
        y = top + line_height * (row + 0.5)
        parts.append(element("g", item.mark, transform=f"translate({svg.number(x)} {svg.number(y)})"))
        parts += [
            text(
                x + 32.0, y + 4.2 + 15.0 * k, words, font_size=size, fill="currentColor", fill_opacity="0.85"
            )
            for k, words in enumerate(lines)
        ]
        if len(lines) > 1:
            x, row = left, row + len(lines)
        else:
            x += wide
    used = row + (1 if x > left else 0)
    return "".join(parts), line_height * used


def folded(words: str, letters: int) -> list[str]:
    """Words in lines of at most ``letters``; a longer word has a line of its own."""
    lines = [""]
    for word in words.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > letters:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def runs(mask: Iterable[bool]) -> list[tuple[int, int]]:
    """First and last index of every stretch of True."""
    padded = np.concatenate([[False], np.asarray(list(mask), dtype=bool), [False]])
    edges = np.flatnonzero(padded[1:] != padded[:-1])
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def picture(
    kind: str, width: float, height: float, title: str, description: str, body: str, ident: str
) -> str:
    """The chart as one SVG element with its title and description."""
    return element(
        "svg",
        element("title", svg.escape(title), id=f"{ident}-title")
        + element("desc", svg.escape(description), id=f"{ident}-desc")
        + element("g", body, font_family=SANS, font_size=SIZE),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {svg.number(width)} {svg.number(height)}",
        class_=f"cw-chart cw-{kind}",
        role="img",
        aria_labelledby=f"{ident}-title",
        aria_describedby=f"{ident}-desc",
    )
