"""Ready ribbons: one line per zone with the days on which it is ready, the shows across all of them."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

from coatwright.drawing import axes
from coatwright.drawing.axes import DateWords, Frame, Room, Table
from coatwright.drawing.layer_tracks import DayMark
from coatwright.drawing.palette import FOX, INK, WHEATEN
from coatwright.drawing.shade import ink_on
from coatwright.drawing.svg import element, number
from coatwright.units import Day

WIDTH, ROW, LEFT = 900.0, 26.0, 130.0
NAMES = 19.0
"""Height of a line of show names."""
THICK = 13.0
SURE = 0.8
"""Chance from which a window is drawn full."""


@dataclass(frozen=True, slots=True)
class Window:
    """Days from ``first`` to ``last``, both included, on which a zone is ready, with this chance (0..1)."""

    first: Day
    last: Day
    chance: float = 1.0


@dataclass(frozen=True, slots=True)
class Ribbon:
    """One zone: its ready windows and the days of its pulls."""

    name: str
    windows: tuple[Window, ...]
    pulls: tuple[Day, ...] = ()

    def ready_on(self, day: Day) -> float:
        """Chance of being ready on a day; 0 outside all windows."""
        return max((w.chance for w in self.windows if w.first <= day <= w.last), default=0.0)


@dataclass(frozen=True, slots=True)
class Ribbons:
    """The ribbons of a dog from ``first`` to ``last``."""

    first: Day
    last: Day
    today: Day
    rows: tuple[Ribbon, ...]
    shows: tuple[DayMark, ...] = ()


def ribbons(chart: Ribbons, *, title: str = "Ready", dates: DateWords | None = None) -> str:
    """The ribbons as one SVG element (text). A full diamond on a show: ready; an open one: not."""
    dates = dates or DateWords()
    shows = [show for show in chart.shows if chart.first <= show.day <= chart.last]
    head, names, lines = _head(chart, shows, dates)
    height = head + ROW * len(chart.rows) + 34.0
    frame = Frame(chart.first, chart.last, 0.0, 1.0, LEFT, head, WIDTH - 14.0, height - 34.0)
    room = Room(right=WIDTH)
    parts = [
        names,
        axes.time_axis(frame, room, dates),
        axes.line(LEFT, frame.bottom, frame.right, frame.bottom, opacity=0.5),
    ]
    if chart.first <= chart.today <= chart.last:
        x = frame.x(chart.today)
        parts.append(axes.line(x, head - 6, x, frame.bottom, opacity=0.8, width=1.4))
        parts.append(room.write(x, head - 10, "today", anchor="middle", font_weight="600"))
    parts += [axes.line(x, start, x, frame.bottom, dash="2 3", width=1.2) for x, start in lines]
    for number_of, row in enumerate(chart.rows):
        y = head + ROW * (number_of + 0.5)
        parts.append(_row(row, y, frame, room, dates, shows))
    rows = ribbons_table(chart, dates=dates)
    described = "; ".join(f"{row[0]}: {row[1]}" for row in rows[1:])
    ident = f"cr{zlib.crc32(f'{title}|{chart.first}|{chart.last}|{len(chart.rows)}'.encode()):08x}"
    return axes.picture("ribbons", WIDTH, height, title, described, "".join(parts), ident)


def ribbons_table(chart: Ribbons, *, dates: DateWords | None = None) -> Table:
    """The ribbons in words: zone, when ready, pulls ahead, and one column per show."""
    dates = dates or DateWords()
    head = (
        "Zone",
        "Ready",
        "Pulls ahead",
        *(f"{show.name}, {dates.short(show.day)}" for show in chart.shows),
    )
    rows = [head]
    for row in chart.rows:
        spans = [
            f"{dates.short(w.first)} to {dates.short(w.last)}"
            + ("" if w.chance >= 0.995 else f" (chance {100 * w.chance:.0f} %)")
            for w in row.windows
        ]
        ahead = [dates.short(day) for day in row.pulls if day >= chart.today]
        rows.append(
            (
                row.name,
                ", ".join(spans) or "not in this time",
                ", ".join(ahead) or "none",
                *(_verdict(row.ready_on(show.day)) for show in chart.shows),
            )
        )
    return tuple(rows)


def _head(
    chart: Ribbons, shows: list[DayMark], dates: DateWords
) -> tuple[float, str, list[tuple[float, float]]]:
    """Height above the rows, the names of the shows and where their lines start (x, y).

    Names stand in as few lines as hold them all, three at most.
    """
    across = Frame(chart.first, chart.last, 0.0, 1.0, LEFT, 0.0, WIDTH - 14.0, 1.0)
    named = sorted((across.x(show.day), f"{show.name}, {dates.short(show.day)}") for show in shows)
    baselines: list[float] = []
    written: list[tuple[float, str]] = []
    for count in range(1, 4) if named else ():
        baselines = [16.0 + NAMES * k for k in range(count)]
        written = axes.names_above(named, baselines, Room(right=WIDTH))
        if all(words for _, words in written):
            break
    lines = [(x, start) for (x, _), (start, _) in zip(named, written, strict=True)]
    return (baselines[-1] if named else 0.0) + 32.0, "".join(words for _, words in written), lines


def _verdict(chance: float) -> str:
    if chance <= 0.0:
        return "not ready"
    return "ready" if chance >= 0.995 else f"ready, chance {100 * chance:.0f} %"


def _row(row: Ribbon, y: float, frame: Frame, room: Room, dates: DateWords, shows: list[DayMark]) -> str:
    parts = [
        room.write(LEFT - 12, y + 4.5, row.name, anchor="end"),
        axes.line(frame.left, y, frame.right, y, opacity=0.22),
    ]
    marked = [(frame.x(show.day) - 9.0, y - 6.0, frame.x(show.day) + 9.0, y + 6.0) for show in shows]
    ticks = [frame.x(day) for day in row.pulls if frame.first <= day <= frame.last]
    room.taken += marked + [(x - 1.0, y - 6.0, x + 1.0, y + 6.0) for x in ticks]
    for window in row.windows:
        first, last = max(window.first, frame.first), min(window.last, frame.last)
        if first > last:
            continue
        x1, x2 = frame.x(first - 0.5), frame.x(last + 0.5)
        x1, x2 = max(x1, frame.left), min(x2, frame.right)
        sure = window.chance >= SURE
        parts.append(
            element(
                "rect",
                x=number(x1),
                y=number(y - THICK / 2),
                width=number(max(x2 - x1, 2.0)),
                height=number(THICK),
                rx="2",
                fill=WHEATEN if sure else "none",
                stroke=FOX,
                stroke_width="1.2",
                stroke_dasharray=None if sure else "4 2",
                class_="cw-ready" if sure else "cw-ready cw-unsure",
            )
        )
        words = f"{dates.short(window.first)} to {dates.short(window.last)}"
        if axes.LETTER * 10.5 * len(words) + 14 < x2 - x1:
            parts.append(
                room.write(
                    x1 + 7, y + 3.8, words, size=10.5, fill=ink_on(WHEATEN) if sure else "currentColor"
                )
            )
    parts += [
        element(
            "path",
            d=f"M{number(x)} {number(y + THICK / 2 + 1)}v-{number(THICK + 2)}",
            stroke="currentColor",
            stroke_width="1.6",
            class_="cw-pull",
        )
        for x in ticks
    ]
    for show in shows:
        ready = row.ready_on(show.day) > 0.0
        sure = row.ready_on(show.day) >= SURE
        parts.append(
            element(
                "path",
                d=f"M{number(frame.x(show.day))} {number(y - 6)}l5.5 6-5.5 6-5.5-6z",
                fill=(INK if sure else "currentColor") if ready else "none",
                stroke=INK if sure else "currentColor",
                stroke_width="1.3",
            )
        )
    return "".join(parts)
