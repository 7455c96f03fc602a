"""The cover strip: how much hair stands above the skin in each zone through time, against its floor."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import numpy as np

from coatwright.drawing import axes
from coatwright.drawing.axes import DateWords, Frame, Room, Table
from coatwright.drawing.curves import Floats
from coatwright.drawing.palette import BRICK, WHEATEN
from coatwright.drawing.svg import element, number
from coatwright.errors import OutOfRange
from coatwright.units import Day, Share

WIDTH, ROW, HEAD, LEFT, RIGHT = 900.0, 36.0, 30.0, 130.0, 186.0
SLACK = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class CoverRow:
    """One zone: cover (share, shape (days,)) on each of ``days`` and the floor it should not fall below."""

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


def cover_strip(chart: CoverStrip, *, title: str = "Cover", dates: DateWords | None = None) -> str:
    """The strip as one SVG element (text); what lies below a floor is brick, hatched, and said in words."""
    dates = dates or DateWords()
    height = HEAD + ROW * len(chart.rows) + 30.0
    frame = Frame(chart.first, chart.last, 0.0, 1.0, LEFT, HEAD, WIDTH - RIGHT, height - 30.0)
    room = Room(right=WIDTH)
    parts = [axes.time_axis(frame, room, dates)]
    if chart.first <= chart.today <= chart.last:
        x = frame.x(chart.today)
        parts.append(axes.line(x, HEAD - 6, x, frame.bottom, opacity=0.8, width=1.4))
        parts.append(room.write(x, HEAD - 10, "today", anchor="middle", font_weight="600"))
    for place, row in enumerate(chart.rows):
        parts.append(_row(row, HEAD + ROW * place, frame, room, dates))
    rows = cover_strip_table(chart, dates=dates)
    described = "; ".join(f"{row[0]}: thinnest {row[1]} on {row[2]}, {row[4]}" for row in rows[1:])
    ident = f"cc{zlib.crc32(f'{title}|{chart.first}|{chart.last}|{len(chart.rows)}'.encode()):08x}"
    return axes.picture("cover", WIDTH, height, title, described, "".join(parts), ident)


def cover_strip_table(chart: CoverStrip, *, dates: DateWords | None = None) -> Table:
    """The strip in words: zone, thinnest cover, its day, floor, and when it lies below the floor."""
    dates = dates or DateWords()
    rows: list[tuple[str, ...]] = [("Zone", "Thinnest", "On", "Floor", "Below the floor")]
    for row in chart.rows:
        day, cover = row.thinnest
        spans = ", ".join(
            dates.short(a) if a == b else f"{dates.short(a)} to {dates.short(b)}" for a, b in row.short
        )
        rows.append(
            (row.name, f"{100 * cover:.0f} %", dates.long(day), f"{100 * row.floor:.0f} %", spans or "never")
        )
    return tuple(rows)


def _row(row: CoverRow, top: float, frame: Frame, room: Room, dates: DateWords) -> str:
    field = Frame(frame.first, frame.last, 0.0, 1.0, frame.left, top + 4.0, frame.right, top + ROW - 4.0)
    inside = [k for k, day in enumerate(row.days) if frame.first <= day <= frame.last]
    parts = [room.write(LEFT - 12, top + 0.5 * ROW + 4.5, row.name, anchor="end")]
    floor = field.y(row.floor)
    if inside:
        days = [row.days[k] for k in inside]
        cover = row.cover[inside]
        x = [field.x(day) for day in days]
        y = [field.y(value) for value in cover.tolist()]
        parts.append(
            element("path", d=axes.band(x, [field.bottom] * len(x), y), fill=WHEATEN, fill_opacity="0.55")
        )
        parts.append(
            element(
                "path",
                d=axes.curve(x, y),
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
    parts.append(axes.line(field.left, floor, field.right, floor, dash="4 3", opacity=0.8))
    parts.append(axes.line(field.left, field.bottom, field.right, field.bottom, opacity=0.3))
    day, least = row.thinnest
    words = f"{'thin: ' if row.short else 'at least '}{100 * least:.0f} %, {dates.short(day)}"
    middle = top + 0.5 * ROW
    if row.short:
        parts.append(
            element("path", d=f"M{number(frame.right + 10)} {number(middle - 5)}v10h7v-10z", fill=BRICK)
        )
    parts.append(
        room.write(frame.right + 22, middle + 4.5, words, size=12.0, font_weight="600" if row.short else None)
    )
    return "".join(parts)


def _shortfall(x: list[float], y: list[float], floor: float) -> str:
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
    return element("path", d=area, fill=BRICK, fill_opacity="0.5", class_="cw-short") + hatch
