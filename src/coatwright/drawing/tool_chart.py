"""A tool over time: what each test says it breaks and how surely, the limit, the trend, and sharpenings."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

from coatwright.drawing import axes
from coatwright.drawing.axes import NARROW, WIDE, DateWords, Frame, KeyItem, Room, Table
from coatwright.drawing.palette import FOX, GRIZZLE
from coatwright.drawing.svg import element, number
from coatwright.paper.verdict import LIMIT
from coatwright.units import Day, Share

HEIGHT, HEAD, FOOT = 300.0, 34.0, 34.0
PAD_DAYS = 7
STEPS = (0.01, 0.02, 0.05, 0.1, 0.2)


@dataclass(frozen=True, slots=True)
class TestMark:
    """One test: its day, the range (95 %) and the middle of the break share, and the word of the verdict."""

    __test__ = False  # not a test of pytest's

    day: Day
    low: Share
    middle: Share
    high: Share
    word: str


@dataclass(frozen=True, slots=True)
class ToolChart:
    """The tests of a tool, oldest first; ``line`` is the trend: low, middle and high by day; ``sharpened`` days."""

    tests: tuple[TestMark, ...]
    line: tuple[tuple[Day, tuple[Share, Share, Share]], ...] = ()
    sharpened: tuple[Day, ...] = ()


def tool_chart(
    chart: ToolChart, *, title: str = "Tests", dates: DateWords | None = None, width: float = WIDE
) -> str:
    """The chart as one SVG element (text), ``width`` units of its view box wide."""
    dates = dates or DateWords()
    days = [each.day for each in chart.tests]
    first, last = min(days), max([*days, *chart.sharpened])
    pad = max(PAD_DAYS, (last - first) // 20)
    top = max(2.5 * LIMIT, 1.08 * max(each.high for each in chart.tests))
    narrow = width <= NARROW
    left, right = (34.0, width - 8.0) if narrow else (58.0, width - 14.0)
    frame = Frame(first - pad, last + pad, 0.0, min(top, 1.0), left, HEAD, right, HEIGHT - FOOT)
    room = Room(right=width)
    parts = [
        _scale(frame, room),
        _line(chart, frame),
        _limit(frame, room),
        _sharpened(chart, frame, room),
        "".join(_test(each, frame) for each in chart.tests),
        axes.time_axis(frame, room, dates),
    ]
    key, used = axes.key_below(_key(chart), 8.0 if narrow else left, HEIGHT, right)
    ident = f"tc{zlib.crc32(f'{title}|{chart}|{width}'.encode()):08x}"
    described = "; ".join(", ".join(row) for row in tool_chart_table(chart, dates=dates)[1:13])
    return axes.picture("tool", width, HEIGHT + used + 4.0, title, described, "".join(parts) + key, ident)


def tool_chart_table(chart: ToolChart, *, dates: DateWords | None = None) -> Table:
    """The chart in words: a row per test, and one per sharpening."""
    dates = dates or DateWords()
    rows = [
        (
            each.day,
            1,
            (
                dates.long(each.day),
                _of_100(each.middle),
                f"{_of_100(each.low)} to {_of_100(each.high)}",
                each.word,
            ),
        )
        for each in chart.tests
    ]
    rows += [(day, 0, (dates.long(day), "", "", "sharpened")) for day in chart.sharpened]
    return (("Day", "Of 100 hairs break", "Range", "Word"), *(row for *_, row in sorted(rows)))


def _of_100(share: Share) -> str:
    return f"{100 * share:.1f}" if share < 0.0995 else f"{100 * share:.0f}"


def _scale(frame: Frame, room: Room) -> str:
    step = next((one for one in STEPS if frame.high / one <= 6.0), 0.25)
    parts = [axes.line(frame.left, frame.bottom, frame.right, frame.bottom, opacity=0.7)]
    for k in range(int(frame.high / step + 1e-9) + 1):
        y = frame.y(k * step)
        if k:
            parts.append(axes.line(frame.left, y, frame.right, y, opacity=0.12))
        parts.append(
            room.write(frame.left - 8, y + 4.5, f"{100 * k * step:g}", anchor="end", fill_opacity="0.85")
        )
    parts.append(room.write(0.0, 14.0, "hairs of 100 that break", size=12.0, fill_opacity="0.75"))
    return "".join(parts)


def _limit(frame: Frame, room: Room) -> str:
    y = frame.y(LIMIT)
    words = room.write(
        frame.right,
        y - 5,
        f"limit, {100 * LIMIT:g}",
        anchor="end",
        size=11.0,
        fill_opacity="0.85",
        font_style="italic",
    )
    return axes.line(frame.left, y, frame.right, y, dash="7 4", width=1.3) + words


def _test(each: TestMark, frame: Frame) -> str:
    x, y = frame.x(each.day), frame.y(each.middle)
    low, high = number(frame.y(each.low)), number(frame.y(each.high))
    a, b = number(x - 4), number(x + 4)
    whisker = element(
        "path", d=f"M{number(x)} {low}V{high}M{a} {low}H{b}M{a} {high}H{b}", stroke="currentColor",
        stroke_width="1.4", fill="none",
    )  # fmt: skip
    return whisker + _sign(x, y, each.word)


def _sign(x: float, y: float, word: str) -> str:
    """A full dot for sound, a cross for breaks, an open dot for the rest."""
    if word == "breaks":
        return element(
            "path", d=f"M{number(x - 6)} {number(y - 6)}l12 12m0-12l-12 12", stroke="currentColor",
            stroke_width="3", fill="none", class_="cw-breaks",
        )  # fmt: skip
    look = (
        {"fill": FOX, "class_": "cw-sound"} if word == "sound" else {"fill": "#f7f3ea", "class_": "cw-doubt"}
    )
    return element(
        "circle", cx=number(x), cy=number(y), r="5.5", stroke="currentColor", stroke_width="1.4", **look
    )


def _line(chart: ToolChart, frame: Frame) -> str:
    if len(chart.line) < 2:
        return ""
    x = [frame.x(day) for day, _ in chart.line]
    low, middle, high = ([frame.y(shares[k]) for _, shares in chart.line] for k in range(3))
    return element(
        "path", d=axes.band(x, low, high), fill=GRIZZLE, fill_opacity="0.22", class_="cw-fan"
    ) + element(
        "path",
        d=axes.curve(x, middle),
        fill="none",
        stroke="currentColor",
        stroke_width="1.8",
        stroke_dasharray="6 3",
    )


def _sharpened(chart: ToolChart, frame: Frame, room: Room) -> str:
    parts = []
    for day in chart.sharpened:
        x = frame.x(day)
        parts.append(axes.line(x, frame.top - 4, x, frame.bottom, dash="2 3", width=1.4))
        for at, anchor in ((x + 5, "start"), (x - 5, "end")):
            written = room.write(
                at, frame.top + 6, "sharpened", anchor=anchor, size=11.0, fill_opacity="0.85"
            )
            parts.append(written)
            if written:
                break
    return "".join(parts)


def _key(chart: ToolChart) -> list[KeyItem]:
    used = {each.word for each in chart.tests}
    items = []
    if "sound" in used:
        items.append(KeyItem(_sign(13.0, 0.0, "sound"), "sound"))
    if used - {"sound", "breaks"}:
        items.append(KeyItem(_sign(13.0, 0.0, "doubtful"), "doubtful, or too few hairs"))
    if "breaks" in used:
        items.append(KeyItem(_sign(13.0, 0.0, "breaks"), "breaks"))
    whisker = element("path", d="M13-8V8M9-8h8M9 8h8", stroke="currentColor", stroke_width="1.4", fill="none")
    items.append(KeyItem(whisker, "range, 95 of 100"))
    if len(chart.line) > 1:
        line = element(
            "path",
            d="M0 0H26",
            stroke="currentColor",
            stroke_width="1.8",
            stroke_dasharray="6 3",
            fill="none",
        )
        items.append(KeyItem(line, "trend since it was sharpened" if chart.sharpened else "trend"))
    return items
