"""The cover strip: how much hair stands above the skin in each zone through time, against its floor."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import numpy as np

from coatwright.drawing import axes
from coatwright.drawing.axes import NARROW, WIDE, DateWords, Frame, KeyItem, Room, Table
from coatwright.drawing.curves import Floats
from coatwright.drawing.palette import BRICK, WHEATEN
from coatwright.drawing.svg import element, number
from coatwright.errors import OutOfRange
from coatwright.units import Day, Share

ROW, ROW_NARROW, HEAD, RIGHT = 34.0, 48.0, 30.0, 186.0
"""Heights of a zone and of the head, room for words after a zone; narrow charts have words above instead."""
SLACK = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class CoverRow:
    """One zone: cover (share, shape (days,)) on each of ``days`` and the floor it should keep (0: none)."""

    name: str
    days: tuple[Day, ...]
    cover: Floats
    floor: Share

    def __post_init__(self) -> None:
        if self.cover.shape != (len(self.days),) or not self.days:
            raise OutOfRange(
                f"The cover of {self.name} has {self.cover.size} values for {len(self.days)} days.",
                remedy="Give one value per day, and at least one.",
            )

    @property
    def thinnest(self) -> tuple[Day, Share]:
        """The first day of least cover, and that cover."""
        at = int(self.cover.argmin())
        return self.days[at], float(self.cover[at])

    def since(self, day: Day) -> CoverRow:
        """The same zone from ``day`` on; all of it where no day is left."""
        left = [k for k, each in enumerate(self.days) if each >= day] or list(range(len(self.days)))
        return CoverRow(self.name, tuple(self.days[k] for k in left), self.cover[left], self.floor)

    @property
    def short(self) -> list[tuple[Day, Day]]:
        """First and last day of every stretch below the floor."""
        return [(self.days[a], self.days[b]) for a, b in axes.runs(self.cover < self.floor - SLACK)]


@dataclass(frozen=True, slots=True, eq=False)
class CoverStrip:
    """Cover of the zones of a dog from ``first`` to ``last``."""

    first: Day
    last: Day
    today: Day
    rows: tuple[CoverRow, ...]


def cover_strip(
    chart: CoverStrip, *, title: str = "Cover", dates: DateWords | None = None, width: float = WIDE
) -> str:
    """The strip as one SVG element (text); what lies below a floor is brick, hatched, and said in words."""
    dates = dates or DateWords()
    narrow = width <= NARROW
    left, right, tall = (
        (10.0, width - 10.0, ROW_NARROW)
        if narrow
        else (axes.left_of(row.name for row in chart.rows), width - RIGHT, ROW)
    )
    height = HEAD + tall * len(chart.rows) + 30.0
    frame = Frame(chart.first, chart.last, 0.0, 1.0, left, HEAD, right, height - 30.0)
    room = Room(right=width)
    parts = [axes.time_axis(frame, room, dates)]
    if chart.first <= chart.today <= chart.last:
        x = frame.x(chart.today)
        strips = [(HEAD - 6, frame.bottom)]
        if narrow:  # the line keeps clear of the words above each strip
            ends = [HEAD + tall * place for place in range(1, len(chart.rows) + 1)]
            strips = [(HEAD - 6, HEAD), *((end - ROW + 4.0, end - 4.0) for end in ends)]
        parts += [axes.line(x, top, x, bottom, opacity=0.8, width=1.4) for top, bottom in strips]
        parts.append(axes.today(x, HEAD - 10, room))
    for place, row in enumerate(chart.rows):
        top = HEAD + tall * place
        field = Frame(
            frame.first,
            frame.last,
            0.0,
            1.0,
            frame.left,
            top + tall - ROW + 4.0,
            frame.right,
            top + tall - 4.0,
        )
        parts.append(_row(row, field))
        parts.append(_told(row.since(chart.today), field, top, room, dates, narrow=narrow))
    key, used = axes.key_below(_key(chart), 10.0 if narrow else left, height, width - 14.0)
    rows = cover_strip_table(chart, dates=dates)
    described = "; ".join(f"{row[0]}: thinnest {row[1]} on {row[2]}, {row[4]}" for row in rows[1:])
    ident = f"cc{zlib.crc32(f'{title}|{chart.first}|{chart.last}|{len(chart.rows)}|{width}'.encode()):08x}"
    return axes.picture("cover", width, height + used + 4.0, title, described, "".join(parts) + key, ident)


def cover_strip_table(chart: CoverStrip, *, dates: DateWords | None = None) -> Table:
    """The strip in words: zone, thinnest cover from today on, its day, floor, and when it lies below the floor."""
    dates = dates or DateWords()
    rows: list[tuple[str, ...]] = [("Zone", "Thinnest from today", "On", "Floor", "Below the floor")]
    for row in chart.rows:
        day, cover = row.since(chart.today).thinnest
        spans = ", ".join(
            dates.short(a) if a == b else f"{dates.short(a)} to {dates.short(b)}" for a, b in row.short
        )
        floor = f"{100 * row.floor:.0f} %" if row.floor > 0.0 else "none"
        rows.append((row.name, f"{100 * cover:.0f} %", dates.long(day), floor, spans or "never"))
    return tuple(rows)


def _row(row: CoverRow, field: Frame) -> str:
    parts = []
    inside = [k for k, day in enumerate(row.days) if field.first <= day <= field.last]
    floor = field.y(row.floor)
    if inside:
        cover = row.cover[inside]
        x = [field.x(row.days[k]) for k in inside]
        y = [field.y(value) for value in cover.tolist()]
        at = axes.kept(x, y)
        across, along = [x[k] for k in at], [y[k] for k in at]
        ground = axes.band(across, [field.bottom] * len(at), along)
        parts.append(element("path", d=ground, fill=WHEATEN, fill_opacity="0.55"))
        parts.append(
            element(
                "path",
                d=axes.curve(across, along),
                fill="none",
                stroke="currentColor",
                stroke_width="1.1",
                stroke_opacity="0.75",
            )
        )
        for first, last in axes.runs(cover < row.floor - SLACK):
            span = slice(first, last + 1)
            wide = x[span] if last > first else [x[first] - 1.0, x[first] + 1.0]
            under = y[span] if last > first else [y[first]] * 2
            parts.append(_shortfall(wide, under, floor))
    if row.floor > 0.0:
        parts.append(axes.line(field.left, floor, field.right, floor, dash="4 3", opacity=0.8))
    parts.append(axes.line(field.left, field.bottom, field.right, field.bottom, opacity=0.3))
    return "".join(parts)


def _told(row: CoverRow, field: Frame, top: float, room: Room, dates: DateWords, *, narrow: bool) -> str:
    """The name of the zone and its thinnest day, with a mark where that lies below the floor."""
    day, least = row.thinnest
    words = f"{'thin: ' if row.short else 'at least '}{100 * least:.0f} %, {dates.short(day)}"
    weight = "600" if row.short else None
    if narrow:
        base = top + 13.0
        told = room.write(field.right, base, words, anchor="end", size=12.0, font_weight=weight)
        x, y = axes.box_of(field.right, base, words, "end", 12.0)[0] - 12.0, base - 4.5
        named = room.write(field.left, base, row.name)
    else:
        middle = 0.5 * (field.top + field.bottom)
        told = room.write(field.right + 22, middle + 4.5, words, size=12.0, font_weight=weight)
        x, y = field.right + 10, middle
        named = room.write(field.left - 12, middle + 4.5, row.name, anchor="end")
    if row.short:
        told += element("path", d=f"M{number(x)} {number(y - 5)}v10h7v-10z", fill=BRICK)
    return named + told


def _key(chart: CoverStrip) -> list[KeyItem]:
    """What the marks mean; only of those that the chart holds."""
    cover = element("path", d="M0 8V-5L26-8V8Z", fill=WHEATEN, fill_opacity="0.55")
    items = [
        KeyItem(cover, "hairs above the skin: none at the foot of a strip, all at its top"),
    ]
    if any(row.floor > 0.0 for row in chart.rows):
        items.append(KeyItem(axes.line(0.0, 0.0, 26.0, 0.0, dash="4 3", opacity=0.8), "floor"))
    if any(row.short for row in chart.rows):
        items.append(KeyItem(_shortfall([0.0, 26.0], [7.0, 7.0], -7.0, None), "below its floor"))
    return items


def _shortfall(x: list[float], y: list[float], floor: float, name: str | None = "cw-short") -> str:
    """The gap between cover and floor: filled brick and hatched, for eyes that do not tell the colours."""
    area = axes.band(x, y, [floor] * len(x))
    marks = []
    at = np.ceil(x[0] / 5.0) * 5.0
    while at <= x[-1]:
        depth = float(np.interp(at, x, y))
        if depth > floor + 1.0:
            marks.append(f"M{number(at)} {number(floor)}V{number(depth)}")
        at += 5.0
    hatch = element("path", d="".join(marks), stroke=BRICK, stroke_width="1.4", fill="none") if marks else ""
    return element("path", d=area, fill=BRICK, fill_opacity="0.5", class_=name) + hatch
