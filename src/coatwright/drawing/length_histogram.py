"""Lengths of the hairs of a sheet: whole ones stand above the line, broken ones hang below it, hatched.

Hairs whose ends do not tell stand on top of the whole ones in open boxes; the lengths of a finger-pulled control are
a stepped line, scaled to as many hairs as stand above. What lies on the same side of a step is thereby read at once:
broken pieces gather on the left, and a control that reaches further right says that long hair broke.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from coatwright.drawing import axes
from coatwright.drawing.axes import NARROW, WIDE, KeyItem, Room, Table
from coatwright.drawing.palette import BRICK, GRIZZLE
from coatwright.drawing.shade import straw_to_bark
from coatwright.drawing.svg import element, number
from coatwright.errors import OutOfRange
from coatwright.units import MM_PER_INCH, Millimetres

HEAD, FOOT = 14.0, 40.0
ROOM_UP, ROOM_DOWN = 210.0, 120.0
"""The most that the field takes above and below its line, units of the view box."""
BINS = 24
"""About as many steps of length as a chart has."""
_Across = Callable[[float], float]
STEPS_MM = (1.0, 2.0, 2.5, 5.0, 10.0, 20.0)
STEPS_IN = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)


@dataclass(frozen=True, slots=True)
class LengthHistogram:
    """Lengths in mm by what the hairs count as, and those of a finger-pulled control (empty: none)."""

    whole: tuple[Millimetres, ...] = ()
    broken: tuple[Millimetres, ...] = ()
    unjudged: tuple[Millimetres, ...] = ()
    control: tuple[Millimetres, ...] = ()

    def __post_init__(self) -> None:
        every = (*self.whole, *self.broken, *self.unjudged, *self.control)
        if any(not 0.0 < mm < 1000.0 for mm in every):
            raise OutOfRange(
                "A length is not between 0 and 1000 mm.", remedy="Leave out what was not measured."
            )


@dataclass(frozen=True, slots=True, eq=False)
class _Bins:
    edges: np.ndarray
    whole: np.ndarray
    broken: np.ndarray
    unjudged: np.ndarray
    control: np.ndarray


def length_histogram(
    chart: LengthHistogram, *, title: str = "Lengths", unit: str = "mm", width: float = WIDE
) -> str:
    """The histogram as one SVG element (text), ``width`` units of its view box wide."""
    bins = _binned(chart, unit)
    narrow = width <= NARROW
    left, right = (40.0, width - 8.0) if narrow else (58.0, width - 14.0)
    above = float((bins.whole + bins.unjudged).max(initial=1.0))
    above = max(above, float(bins.control.max(initial=0.0)))
    below = float(bins.broken.max(initial=0.0))
    each = min(ROOM_UP / above, ROOM_DOWN / max(below, 1.0), 14.0)
    deep = max(below * each, 26.0)
    line = HEAD + above * each + 8.0
    height = line + deep + FOOT
    room = Room(right=width)
    span = float(bins.edges[-1] - bins.edges[0])

    def x(mm: float) -> float:
        return left + (right - left) * (mm - float(bins.edges[0])) / span

    ident = f"lh{zlib.crc32(f'{title}|{chart}|{width}'.encode()):08x}"
    parts = [
        _hatch(ident),
        _counts(above, below, each, line, (left, right), room),
        _bars(bins, x, each, line, ident),
        _control(bins, x, each, line),
        axes.line(left, line, right, line, opacity=0.8),
        _ticks(bins, x, line + deep + 6.0, unit, room, (left, right)),
        _sides(left, right, line, deep, room, below > 0),
    ]
    key, used = axes.key_below(_key(chart, ident), 8.0 if narrow else left, height, right)
    rows = length_histogram_table(chart, unit=unit)
    described = "; ".join(", ".join(row) for row in rows[1:])
    return axes.picture("lengths", width, height + used + 4.0, title, described, "".join(parts) + key, ident)


def length_histogram_table(chart: LengthHistogram, *, unit: str = "mm") -> Table:
    """The chart in words: a row for each step of length that holds a hair."""
    bins = _binned(chart, unit)
    per = MM_PER_INCH if unit == "in" else 1.0
    head = ["Length", "Whole", "Broken", "Unjudged"]
    if chart.control:
        head.append("Of as many pulled by fingers")
    rows: list[tuple[str, ...]] = [tuple(head)]
    for k in range(len(bins.whole)):
        counts = [bins.whole[k], bins.broken[k], bins.unjudged[k]]
        if not any(counts) and not bins.control[k]:
            continue
        low, high = (f"{edge / per:.4g}" for edge in bins.edges[k : k + 2])
        row = [f"{low} to {high} {unit}", *(f"{count:.0f}" for count in counts)]
        if chart.control:
            row.append(f"{bins.control[k]:.1f}")
        rows.append(tuple(row))
    return tuple(rows)


def _binned(chart: LengthHistogram, unit: str) -> _Bins:
    every = (*chart.whole, *chart.broken, *chart.unjudged, *chart.control)
    longest = max(every, default=10.0)
    per = MM_PER_INCH if unit == "in" else 1.0
    steps = STEPS_IN if unit == "in" else STEPS_MM
    step = per * next((one for one in steps if longest / per / one <= BINS), steps[-1])
    edges = step * np.arange(int(np.floor(longest / step)) + 2)
    whole, broken, unjudged, control = (
        np.histogram(lengths, edges)[0].astype(float)
        for lengths in (chart.whole, chart.broken, chart.unjudged, chart.control)
    )
    if chart.control:
        control *= max(len(chart.whole) + len(chart.unjudged), 1) / len(chart.control)
    return _Bins(edges, whole, broken, unjudged, control)


def _bars(bins: _Bins, x: _Across, each: float, line: float, ident: str) -> str:
    parts = []
    for k in range(len(bins.whole)):
        a, b = x(float(bins.edges[k])) + 0.8, x(float(bins.edges[k + 1])) - 0.8
        top = line
        for count, look in (
            (bins.whole[k], {"fill": straw_to_bark(0.62), "class_": "cw-whole"}),
            (
                bins.unjudged[k],
                {
                    "fill": GRIZZLE,
                    "fill_opacity": "0.12",
                    "stroke": "currentColor",
                    "stroke_width": "1",
                    "stroke_opacity": "0.75",
                    "stroke_dasharray": "2 2",
                    "class_": "cw-open",
                },
            ),
        ):
            if count:
                parts.append(_rect(a, top - count * each, b, top, look))
                top -= count * each
        if bins.broken[k]:
            look = {
                "fill": f"url(#{ident}-hatch)",
                "stroke": BRICK,
                "stroke_width": "1.2",
                "class_": "cw-broken",
            }
            parts.append(_rect(a, line, b, line + bins.broken[k] * each, look))
    return "".join(parts)


def _rect(x0: float, y0: float, x1: float, y1: float, look: dict[str, str]) -> str:
    return element(
        "rect", x=number(x0), y=number(y0), width=number(max(x1 - x0, 0.5)), height=number(y1 - y0), **look
    )


def _control(bins: _Bins, x: _Across, each: float, line: float) -> str:
    if not bins.control.any():
        return ""
    path = f"M{number(x(float(bins.edges[0])))} {number(line)}"
    for k, count in enumerate(bins.control):
        path += f"V{number(line - count * each)}H{number(x(float(bins.edges[k + 1])))}"
    return element(
        "path", d=f"{path}V{number(line)}", fill="none", stroke="currentColor", stroke_width="1.6",
        stroke_dasharray="5 3", class_="cw-control",
    )  # fmt: skip


def _counts(
    above: float, below: float, each: float, line: float, across: tuple[float, float], room: Room
) -> str:
    """Lines of equal number, upwards and downwards."""
    most = max(above, below)
    step = next((one for one in (1, 2, 5, 10, 20, 50, 100) if most / one <= 6.0), 200)
    parts = []
    for way, end in ((-1.0, above), (1.0, below)):
        for count in range(0 if way < 0 else step, int(end) + 1, step):
            y = line + way * count * each
            if count:
                parts.append(axes.line(across[0], y, across[1], y, opacity=0.12))
            parts.append(room.write(across[0] - 8, y + 4.5, str(count), anchor="end", fill_opacity="0.85"))
    return "".join(parts)


def _ticks(bins: _Bins, x: _Across, y: float, unit: str, room: Room, across: tuple[float, float]) -> str:
    parts = [axes.line(across[0], y, across[1], y, opacity=0.35)]
    ticks = axes.length_ticks(float(bins.edges[-1]), unit)
    for mm, words in ticks:
        parts.append(axes.line(x(mm), y, x(mm), y + 5, opacity=0.6))
        shown = f"{words} {unit}" if mm == ticks[-1][0] else words
        parts.append(
            room.write(min(x(mm), room.right - 20.0), y + 19, shown, anchor="middle", fill_opacity="0.85")
        )
    return "".join(parts)


def _sides(left: float, right: float, line: float, deep: float, room: Room, any_broken: bool) -> str:
    """What stands above the line, written where the short hairs would be, and what hangs below, at the other end."""
    below = "broken" if any_broken else "no broken hair"
    return room.write(left + 6, line - 8, "whole", font_style="italic", size=12.0) + room.write(
        right, line + min(deep, 20.0) - 2, below, anchor="end", font_style="italic", size=12.0
    )


def _hatch(ident: str) -> str:
    stripe = element(
        "path", d="M-1 1L1-1M0 6L6 0M5 7L7 5", stroke=BRICK, stroke_width="1.6", class_="cw-stripe"
    )
    return element(
        "defs",
        element("pattern", stripe, id=f"{ident}-hatch", width="6", height="6", patternUnits="userSpaceOnUse"),
    )


def _key(chart: LengthHistogram, ident: str) -> list[KeyItem]:
    box = {"x": "0", "y": "-6", "width": "26", "height": "12"}
    items = []
    if chart.whole:
        swatch = element("rect", fill=straw_to_bark(0.62), class_="cw-whole", **box)
        items.append(KeyItem(swatch, f"whole ({len(chart.whole)})"))
    if chart.broken:
        swatch = element(
            "rect", fill=f"url(#{ident}-hatch)", stroke=BRICK, stroke_width="1.2", class_="cw-broken", **box
        )
        items.append(KeyItem(swatch, f"broken ({len(chart.broken)})"))
    if chart.unjudged:
        swatch = element(
            "rect", fill=GRIZZLE, fill_opacity="0.12", stroke="currentColor", stroke_dasharray="2 2",
            stroke_opacity="0.75", **box,
        )  # fmt: skip
        items.append(KeyItem(swatch, f"ends do not tell ({len(chart.unjudged)})"))
    if chart.control:
        mark = element(
            "path", d="M0 4V-5H13V0H26", fill="none", stroke="currentColor", stroke_width="1.6",
            stroke_dasharray="5 3",
        )  # fmt: skip
        items.append(KeyItem(mark, f"as many pulled by fingers ({len(chart.control)} measured)"))
    return items
