"""Ready ribbons: one line per zone with the days on which it is ready, the shows across all of them."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

from coatwright.drawing import axes
from coatwright.drawing.axes import NARROW, WIDE, DateWords, Frame, KeyItem, Room, Table
from coatwright.drawing.layer_tracks import DayMark
from coatwright.drawing.palette import FOX, INK, WHEATEN
from coatwright.drawing.shade import ink_on
from coatwright.drawing.svg import element, number
from coatwright.units import Day

ROW, ROW_NARROW = 26.0, 40.0
"""Height of a zone; on a narrow chart its name stands above its ribbon."""
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
    """One zone, or the ``whole`` dog: its ready windows and the days of its pulls (of the dog: its visits)."""

    name: str
    windows: tuple[Window, ...]
    pulls: tuple[Day, ...] = ()
    whole: bool = False

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


def ribbons(
    chart: Ribbons, *, title: str = "Ready", dates: DateWords | None = None, width: float = WIDE
) -> str:
    """The ribbons as one SVG element (text). A full diamond on a show: ready; an open one: not."""
    dates = dates or DateWords()
    shows = [show for show in chart.shows if chart.first <= show.day <= chart.last]
    narrow = width <= NARROW
    left, right, tall = (
        (10.0, width - 10.0, ROW_NARROW)
        if narrow
        else (axes.left_of(row.name for row in chart.rows), width - 14.0, ROW)
    )
    head, names, lines = _head(chart, shows, dates, left, right, width)
    height = head + tall * len(chart.rows) + 34.0
    frame = Frame(chart.first, chart.last, 0.0, 1.0, left, head, right, height - 34.0)
    room = Room(right=width)
    parts = [
        names,
        axes.time_axis(frame, room, dates),
        axes.line(left, frame.bottom, frame.right, frame.bottom, opacity=0.5),
    ]
    if chart.first <= chart.today <= chart.last:
        x = frame.x(chart.today)
        parts.append(axes.line(x, head - 6, x, frame.bottom, opacity=0.8, width=1.4))
        parts.append(axes.today(x, head - 10, room))
    parts += [axes.line(x, start, x, frame.bottom, dash="2 3", width=1.2) for x, start in lines]
    for number_of, row in enumerate(chart.rows):
        top = head + tall * number_of
        if narrow:
            parts.append(room.write(left, top + 13.0, row.name))
        else:
            parts.append(room.write(left - 12, top + 0.5 * tall + 4.5, row.name, anchor="end"))
        parts.append(_row(row, top + (27.0 if narrow else 0.5 * tall), frame, room, dates, shows))
    key, used = axes.key_below(
        _key(chart, shows) + (_names(shows, dates) if narrow else []), 10.0 if narrow else left, height, right
    )
    rows = ribbons_table(chart, dates=dates)
    described = "; ".join(f"{row[0]}: {row[1]}" for row in rows[1:])
    ident = f"cr{zlib.crc32(f'{title}|{chart.first}|{chart.last}|{len(chart.rows)}|{width}'.encode()):08x}"
    return axes.picture("ribbons", width, height + used + 4.0, title, described, "".join(parts) + key, ident)


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
    chart: Ribbons, shows: list[DayMark], dates: DateWords, left: float, right: float, width: float
) -> tuple[float, str, list[tuple[float, float]]]:
    """Height above the rows, the names of the shows and where their lines start (x, y).

    Names stand in as few lines as hold them all, three at most.
    """
    across = Frame(chart.first, chart.last, 0.0, 1.0, left, 0.0, right, 1.0)
    named = sorted((across.x(show.day), axes.show_words(show.name, show.day, dates, width)) for show in shows)
    baselines: list[float] = []
    written: list[tuple[float, str]] = []
    for count in range(1, 4) if named else ():
        baselines = [16.0 + NAMES * k for k in range(count)]
        written = axes.names_above(named, baselines, Room(right=width))
        if all(words for _, words in written):
            break
    lines = [(x, start) for (x, _), (start, _) in zip(named, written, strict=True)]
    return (baselines[-1] if named else 0.0) + 32.0, "".join(words for _, words in written), lines


def _verdict(chance: float) -> str:
    if chance <= 0.0:
        return "not ready"
    return "ready" if chance >= 0.995 else f"ready, chance {100 * chance:.0f} %"


def _row(row: Ribbon, y: float, frame: Frame, room: Room, dates: DateWords, shows: list[DayMark]) -> str:
    parts = [axes.line(frame.left, y, frame.right, y, opacity=0.22)]
    marked = [(frame.x(show.day) - 9.0, y - 6.0, frame.x(show.day) + 9.0, y + 6.0) for show in shows]
    ticks = [frame.x(day) for day in row.pulls if frame.first <= day <= frame.last]
    room.taken += marked
    if not row.whole:
        room.taken += [(x - 1.0, y - 6.0, x + 1.0, y + 6.0) for x in ticks]
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
    if ticks:
        marks = (
            f"M{number(x)} {number(y + THICK / 2 + 4)}v-3.5" if row.whole else _tick(x, y) for x in ticks
        )
        pulls = element("path", d="".join(marks), stroke="currentColor", stroke_width="1.6", class_="cw-pull")
        parts.append(pulls)
    parts += [
        _diamond(
            frame.x(show.day), y, ready=row.ready_on(show.day) > 0.0, framed=row.ready_on(show.day) >= SURE
        )
        for show in shows
    ]
    return "".join(parts)


def _tick(x: float, y: float) -> str:
    return f"M{number(x)} {number(y + THICK / 2 + 1)}v-{number(THICK + 2)}"


def _diamond(x: float, y: float, *, ready: bool, framed: bool) -> str:
    """The mark of a show; ``framed`` where it lies on a ribbon, so that it stands out of it by night too."""
    return element(
        "path",
        d=f"M{number(x)} {number(y - 6)}l5.5 6-5.5 6-5.5-6z",
        fill="currentColor" if ready else "none",
        stroke=INK if framed else "currentColor",
        stroke_width="1.3",
        class_="cw-show",
    )


def _names(shows: list[DayMark], dates: DateWords) -> list[KeyItem]:
    """The names of the shows, for which a narrow chart has no room above."""
    return [KeyItem(axes.show_mark(13.0, -6.0), f"{dates.short(show.day)}: {show.name}") for show in shows]


def _key(chart: Ribbons, shows: list[DayMark]) -> list[KeyItem]:
    """What the marks mean; only of those that the chart holds."""
    box = {
        "x": "0",
        "y": "-5",
        "width": "26",
        "height": "10",
        "rx": "2",
        "stroke": FOX,
        "stroke_width": "1.2",
    }
    windows = [window for row in chart.rows for window in row.windows]
    items = []
    if any(window.chance >= SURE for window in windows):
        items.append(KeyItem(element("rect", fill=WHEATEN, **box), "ready, as planned"))
    if any(window.chance < SURE for window in windows):
        unsure = element("rect", fill="none", stroke_dasharray="4 2", **box)
        items.append(KeyItem(unsure, f"chance of being ready below {100 * SURE:.0f} %"))
    if any(row.pulls for row in chart.rows):
        tick = element("path", d=_tick(13.0, 0.0), stroke="currentColor", stroke_width="1.6")
        items.append(KeyItem(tick, "a visit that pulls there"))
    verdicts = [row.ready_on(show.day) > 0.0 for row in chart.rows for show in shows]
    for ready, words in ((True, "show, ready"), (False, "show, not ready")):
        if ready in verdicts:
            items.append(KeyItem(_diamond(13.0, 0.0, ready=ready, framed=False), words))
    return items
