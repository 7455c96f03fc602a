"""The layer chart: one zone through time, one band per layer as wide as its share, pulls, aim and forecast.

Above the line of the skin each layer rises as it grows; below it lie the shares that have not yet broken
through, so that the height of the lower strip is what is missing from full cover. The fan lies behind the
bands, its edges over them: it is what is not known of the growth, not what may be done.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping

import numpy as np

from coatwright.drawing import axes
from coatwright.drawing.axes import NARROW, WIDE, DateWords, Frame, KeyItem, Room, Table
from coatwright.drawing.curves import Floats
from coatwright.drawing.layer_tracks import DayMark, Fan, LayerChart, LayerTrack, PullMark, layer_tracks
from coatwright.drawing.palette import FOX, GRIZZLE, STRAW, WHEATEN
from coatwright.drawing.shade import straw_to_bark
from coatwright.drawing.svg import element, number
from coatwright.units import Day, Millimetres, length_text

__all__ = [
    "DayMark",
    "Fan",
    "LayerChart",
    "LayerTrack",
    "PullMark",
    "layer_chart",
    "layer_chart_table",
    "layer_tracks",
]

HEIGHT = 424.0
"""Height without the key, where shows are named."""
NAMES = (14.0, 31.0, 48.0)
"""Baselines for the names of shows."""
FULL = 64.0
"""Height of a band that holds all hairs of the zone, units of the view box."""
MEDIAN: Mapping[str, str] = {
    "fill": "none",
    "stroke": "currentColor",
    "stroke_width": "1.8",
    "stroke_dasharray": "6 3",
}
SAMPLE = 0.2
"""Share of the hairs that the band of the key holds."""
FAN_WORDS = "The fan is what is not known of the growth of this coat."


def layer_chart(
    chart: LayerChart,
    *,
    title: str = "",
    dates: DateWords | None = None,
    unit: str = "mm",
    width: float = WIDE,
) -> str:
    """The chart as one SVG element (text), ``width`` units of its view box wide: a letter is always as large."""
    dates = dates or DateWords()
    height = HEIGHT if chart.shows else HEIGHT - NAMES[-1]
    skin = height - 36.0 - FULL - 6.0
    left, right = (58.0, width - 14.0) if width > NARROW else (38.0, width - 10.0)
    frame = Frame(chart.first, chart.last, 0.0, _top(chart), left, 88.0 - HEIGHT + height, right, skin)
    room = Room(right=width)
    words = title or f"Layers of the {chart.zone}"
    ident = f"cl{zlib.crc32(f'{words}|{chart.first}|{chart.last}|{width}'.encode()):08x}"
    parts = [
        _aim(chart, frame),
        _lengths(frame, room, unit),
        _fan(chart, frame),
        _under(chart, frame),
        "".join(_band(track, frame, chart) for track in chart.tracks),
        _fan_edges(chart, frame),
        axes.line(frame.left, skin, frame.right, skin, opacity=0.7),
        _time(chart, frame, room, dates),
        _marks(chart, frame, room, dates, width),
        _words(chart, frame, room),
    ]
    key, used = axes.key_below(
        _key(chart, unit) + _shows(chart, dates, width), 8.0 if width <= NARROW else left, height, right
    )
    rows = layer_chart_table(chart, dates=dates, unit=unit)
    described = "; ".join(", ".join(row) for row in rows[1:13])
    if chart.fan is not None:
        described = f"{FAN_WORDS} {described}"
    return axes.picture("layers", width, height + used + 4.0, words, described, "".join(parts) + key, ident)


def layer_chart_table(chart: LayerChart, *, dates: DateWords | None = None, unit: str = "mm") -> Table:
    """The chart in words: a row per day of a pull, per show, today and the last day.

    Columns: day, what happens, cover, longest layer, layers seen, outline expected.
    """
    dates = dates or DateWords()
    events: dict[Day, list[str]] = {chart.today: ["today"]}
    for pull in chart.pulls:
        events.setdefault(pull.day, []).append(
            f"{'pull planned' if pull.planned else 'pulled'} {100 * pull.share:.0f} %"
        )
    for show in chart.shows:
        events.setdefault(show.day, []).append(show.name)
    events.setdefault(chart.last, [])
    rows: list[tuple[str, ...]] = [
        ("Day", "What", "Cover", "Longest layer", "Layers seen", "Outline expected")
    ]
    for day in sorted(events):
        if not chart.first <= day <= chart.last:
            continue
        seen = [one for one in (_on(track, day) for track in chart.tracks) if one[1] > 0.0]
        cover = sum(share for _, share in seen)
        longest = length_text(max(length for length, _ in seen), unit) if seen else "-"
        rows.append(
            (
                dates.long(day),
                ", ".join(events[day]) or "end",
                f"{100 * cover:.0f} %",
                longest,
                str(len(seen)),
                _expected(chart.fan, day, unit),
            )
        )
    return tuple(rows)


def _on(track: LayerTrack, day: Day) -> tuple[Millimetres, float]:
    """Length and share of a layer on the last drawn day up to ``day``; a share of 0 where it cannot be seen."""
    k = int(np.searchsorted(track.days, day, side="right")) - 1
    if k < 0 or not track.up[k]:
        return 0.0, 0.0
    return float(track.lengths_mm[k]), float(track.shares[k])


def _expected(fan: Fan | None, day: Day, unit: str) -> str:
    if fan is None or not fan.days or not fan.days[0] <= day <= fan.days[-1]:
        return "-"
    low, middle, high = (
        float(np.interp(day, fan.days, fan.values[k])) for k in (0, len(fan.levels) // 2, len(fan.levels) - 1)
    )
    return f"{length_text(middle, unit)} ({length_text(low, unit)} to {length_text(high, unit)})"


def _top(chart: LayerChart) -> Millimetres:
    """Upper end of the lengths, mm: what is there, the aim and the fan, with some air."""
    seen = [5.0]
    for track in chart.tracks:
        shown = track.lengths_mm[(track.shares > 0) & track.up]
        seen += [float(shown.max())] if shown.size else []
    if chart.aim:
        seen.append(1.1 * chart.aim[1])
    if chart.fan is not None and chart.fan.values.size:
        seen.append(float(chart.fan.values.max()))
    return 1.16 * max(seen)


def _aim(chart: LayerChart, frame: Frame) -> str:
    if chart.aim is None:
        return ""
    low, high = (frame.y(mm) for mm in chart.aim)
    field = element(
        "rect",
        x=number(frame.left),
        y=number(high),
        width=number(frame.right - frame.left),
        height=number(low - high),
        fill=STRAW,
        fill_opacity="0.3",
        class_="cw-aim",
    )
    a, b = number(frame.left), number(frame.right)
    edges = f"M{a} {number(low)}H{b}M{a} {number(high)}H{b}"
    return field + element("path", d=edges, stroke=WHEATEN, stroke_width="1", fill="none")


def _lengths(frame: Frame, room: Room, unit: str) -> str:
    parts = []
    for mm, words in axes.length_ticks(frame.high, unit):
        y = frame.y(mm)
        if mm > 0.0:
            parts.append(axes.line(frame.left, y, frame.right, y, opacity=0.12))
        parts.append(room.write(frame.left - 8, y + 4.5, words, anchor="end", fill_opacity="0.85"))
    above = frame.top - (4 if frame.left > 50 else 18)
    parts.append(room.write(frame.left - 8, above, unit, anchor="end", size=11.0, fill_opacity="0.65"))
    return "".join(parts)


def _under(chart: LayerChart, frame: Frame) -> str:
    """Shares below the skin, stacked downwards from its line, oldest nearest to it."""
    if not chart.tracks or not chart.tracks[0].days:
        return ""
    days = chart.tracks[0].days
    x = [frame.x(day) for day in days]
    depth = np.zeros(len(days))
    parts = []
    for track in chart.tracks:
        part = np.where(track.up, 0.0, track.shares)
        if not part.any():
            continue
        for first, last in axes.runs(part > 0.0):
            span = slice(first, last + 1)
            upper = frame.bottom + 3 + FULL * depth[span]
            lower = upper + FULL * part[span]
            parts.append(
                element(
                    "path",
                    d=_ribbon(x[span], lower, upper),
                    fill=_colour(track, chart),
                    fill_opacity="0.42",
                    stroke="currentColor",
                    stroke_width="0.4",
                    stroke_opacity="0.5",
                )
            )
        depth += part
    return "".join(parts)


def _band(track: LayerTrack, frame: Frame, chart: LayerChart) -> str:
    """A layer above the skin: as wide as its share, around its mean length, never below the skin."""
    shown = (track.shares > 0.0) & track.up
    parts = []
    for first, last in axes.runs(shown):
        span = slice(first, last + 1)
        x = [frame.x(day) for day in track.days[span]]
        middle = np.array([frame.y(mm) for mm in track.lengths_mm[span].tolist()])
        half = 0.5 * FULL * track.shares[span]
        low, high = np.minimum(middle + half, frame.bottom), np.minimum(middle - half, frame.bottom - 0.5)
        parts.append(
            element(
                "path",
                d=_ribbon(x, low, high),
                fill=_colour(track, chart),
                fill_opacity="0.82",
                stroke="currentColor",
                stroke_width="0.5",
                stroke_opacity="0.55",
                stroke_dasharray="3 2" if track.cut else None,
                class_="cw-band cw-cut" if track.cut else "cw-band",
            )
        )
    return "".join(parts)


def _colour(track: LayerTrack, chart: LayerChart) -> str:
    """Straw for the youngest layer of the chart, darker with every older one."""
    order = sorted({one.born for one in chart.tracks}, reverse=True)
    return straw_to_bark(0.12 + 0.62 * order.index(track.born) / max(len(order) - 1, 1))


def _ribbon(x: list[float], low: Floats, high: Floats) -> str:
    """Path data of a band by the few points that carry both of its edges."""
    at = axes.kept(x, low.tolist(), high.tolist(), within=0.2)
    return axes.band([x[k] for k in at], low[at].tolist(), high[at].tolist())


def _fan_lines(chart: LayerChart, frame: Frame) -> tuple[list[float], list[list[float]]]:
    """Places across, and for every level its heights."""
    fan = chart.fan
    if fan is None or len(fan.days) < 2:
        return [], []
    x = [frame.x(day) for day in fan.days]
    rows = [[frame.y(mm) for mm in row] for row in fan.values.tolist()]
    at = axes.kept(x, *rows, within=0.4)
    return [x[k] for k in at], [[row[k] for k in at] for row in rows]


def _fan(chart: LayerChart, frame: Frame) -> str:
    x, rows = _fan_lines(chart, frame)
    return "".join(
        element(
            "path", d=axes.band(x, rows[k], rows[-1 - k]), fill=GRIZZLE, fill_opacity="0.25", class_="cw-fan"
        )
        for k in range(len(rows) // 2)
    )


def _fan_edges(chart: LayerChart, frame: Frame) -> str:
    """The outermost levels as thin lines and the median as a broken one, over the bands."""
    x, rows = _fan_lines(chart, frame)
    if not rows:
        return ""
    edges = element(
        "path",
        d=axes.curve(x, rows[0]) + axes.curve(x, rows[-1]),
        fill="none",
        stroke="currentColor",
        stroke_width="0.9",
        stroke_opacity="0.55",
    )
    return edges + element("path", d=axes.curve(x, rows[len(rows) // 2]), class_="cw-median", **MEDIAN)


def _key(chart: LayerChart, unit: str) -> list[KeyItem]:
    """What the marks mean; only of those that the chart holds."""
    half = 0.5 * SAMPLE * FULL
    box = {"x": "0", "width": "26", "height": number(2 * half), "y": number(-half)}
    line = {"stroke": "currentColor", "stroke_width": "0.5", "stroke_opacity": "0.55"}
    items = [
        KeyItem(
            element("rect", fill=straw_to_bark(0.4), fill_opacity="0.82", **box, **line),
            f"a layer with {100 * SAMPLE:.0f} % of the hairs, bark-dark when old",
        )
    ]
    if any(track.cut and track.shares.any() for track in chart.tracks):
        cut = element(
            "rect", fill=straw_to_bark(0.4), fill_opacity="0.82", **box, **line, stroke_dasharray="3 2"
        )
        items.append(KeyItem(cut, "cut or broken hair"))
    for planned, words in ((False, "pulled"), (True, "to be pulled")):
        if any(pull.planned == planned for pull in chart.pulls):
            items.append(KeyItem(_triangle(13.0, 4.0, planned=planned), words))
    if chart.aim is not None:
        low, high = (length_text(mm, unit) for mm in chart.aim)
        swatch = element("rect", fill=STRAW, fill_opacity="0.4", stroke=WHEATEN, **box)
        items.append(KeyItem(swatch, f"aim {low.removesuffix(' ' + unit)} to {high}"))
    fan = chart.fan
    if fan is not None and len(fan.days) > 1:
        part = fan.levels[-1] - fan.levels[0]
        swatch = element("rect", fill=GRIZZLE, fill_opacity="0.4", **box, **line)
        middle = element("path", d="M0 0H26", **MEDIAN)
        items.append(KeyItem(middle, "outline to expect"))
        items.append(KeyItem(swatch, f"fan: {_of_ten(part)} such coats. It is what is not known of growth"))
    return items


def _shows(chart: LayerChart, dates: DateWords, width: float) -> list[KeyItem]:
    """On a narrow chart, the names of the shows, for which there is no room above."""
    shown = [show for show in chart.shows if chart.first <= show.day <= chart.last]
    return [
        KeyItem(axes.show_mark(13.0, -6.0), f"{dates.short(show.day)}: {show.name}")
        for show in (shown if width <= NARROW else ())
    ]


def _of_ten(part: float) -> str:
    """``8 of 10`` where the part is in tenths, else per cent."""
    tenths = 10.0 * part
    return f"{tenths:.0f} of 10" if abs(tenths - round(tenths)) < 1e-6 else f"{100 * part:.0f} % of"


def _triangle(x: float, y: float, *, planned: bool) -> str:
    return element(
        "path",
        d=f"M{number(x)} {number(y)}l-4.5-8h9z",
        fill="none" if planned else FOX,
        stroke=FOX,
        stroke_width="1.4",
        class_="cw-pull",
    )


def _time(chart: LayerChart, frame: Frame, room: Room, dates: DateWords) -> str:
    below = Frame(
        frame.first, frame.last, 0.0, 1.0, frame.left, frame.top, frame.right, frame.bottom + FULL + 6.0
    )
    return axes.line(frame.left, below.bottom, frame.right, below.bottom, opacity=0.35) + axes.time_axis(
        below, room, dates
    )


def _marks(chart: LayerChart, frame: Frame, room: Room, dates: DateWords, width: float) -> str:
    parts = []
    if chart.first <= chart.today <= chart.last:
        x = frame.x(chart.today)
        parts.append(axes.line(x, frame.top - 14, x, frame.bottom + FULL, opacity=0.8, width=1.4))
        parts.append(axes.today(x, frame.top - 18, room))
        room.taken.append((x - 2.0, frame.top - 14.0, x + 2.0, frame.top + 4.0))
    named = [
        (frame.x(show.day), axes.show_words(show.name, show.day, dates, width))
        for show in chart.shows
        if chart.first <= show.day <= chart.last
    ]
    for (x, _), (start, words) in zip(sorted(named), axes.names_above(named, NAMES, room), strict=True):
        parts.append(words)
        parts.append(axes.line(x, start + 6, x, frame.bottom, dash="2 3", width=1.4))
        parts.append(axes.show_mark(x, start - 2))
        room.taken.append((x - 4.0, start, x + 4.0, frame.top + 4.0))
    for pull in chart.pulls:
        if not chart.first <= pull.day <= chart.last:
            continue
        x, y = frame.x(pull.day), frame.bottom + 1.0
        parts.append(
            axes.line(x, frame.top, x, frame.bottom, opacity=0.3, dash="1 3" if pull.planned else None)
        )
        parts.append(_triangle(x, y, planned=pull.planned))
        share = f"{100 * pull.share:.0f} %"
        parts.append(room.write(x, frame.top - 2, share, anchor="middle", size=11.0, fill_opacity="0.8"))
    return "".join(parts)


def _words(chart: LayerChart, frame: Frame, room: Room) -> str:
    words, left = "under the skin", frame.left + 6
    if left < frame.x(chart.today) < axes.box_of(left, 0.0, words, "start", 11.0)[2]:
        left = frame.x(chart.today) + 6
    return room.write(
        left,
        frame.bottom + FULL - 2,
        words,
        size=11.0,
        fill_opacity="0.75",
        font_style="italic",
    )
