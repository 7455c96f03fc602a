"""The layer chart: one zone through time, one band per layer as wide as its share, pulls, aim and forecast.

Above the line of the skin each layer rises as it grows; below it lie the shares that have not yet broken
through, so that the height of the lower strip is what is missing from full cover.
"""

from __future__ import annotations

import zlib

import numpy as np

from coatwright.drawing import axes
from coatwright.drawing.axes import DateWords, Frame, Room, Table
from coatwright.drawing.layer_tracks import DayMark, Fan, LayerChart, LayerTrack, PullMark, layer_tracks
from coatwright.drawing.palette import FOX, GRIZZLE, STRAW
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

WIDTH, HEIGHT = 900.0, 424.0
NAMES = (14.0, 31.0, 48.0)
"""Baselines for the names of shows."""
FULL = 64.0
"""Height of a band that holds all hairs of the zone, units of the view box."""


def layer_chart(
    chart: LayerChart, *, title: str = "", dates: DateWords | None = None, unit: str = "mm"
) -> str:
    """The chart as one SVG element (text)."""
    dates = dates or DateWords()
    height = HEIGHT if chart.shows else HEIGHT - NAMES[-1]
    skin = height - 36.0 - FULL - 6.0
    top = _top(chart)
    frame = Frame(chart.first, chart.last, 0.0, top, 58.0, 88.0 - HEIGHT + height, WIDTH - 14.0, skin)
    room = Room(right=WIDTH)
    words = title or f"Layers of the {chart.zone}"
    ident = f"cl{zlib.crc32(f'{words}|{chart.first}|{chart.last}'.encode()):08x}"
    parts = [
        _aim(chart, frame),
        _lengths(frame, room, unit),
        _under(chart, frame),
        "".join(_band(track, frame, chart) for track in chart.tracks),
        _fan(chart, frame),
        axes.line(frame.left, skin, frame.right, skin, opacity=0.7),
        _time(chart, frame, room, dates),
        _marks(chart, frame, room, dates),
        _words(chart, frame, room, unit),
    ]
    rows = layer_chart_table(chart, dates=dates, unit=unit)
    described = "; ".join(", ".join(row) for row in rows[1:13])
    return axes.picture("layers", WIDTH, height, words, described, "".join(parts), ident)


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
    low, high = chart.aim
    y = frame.y(high)
    return element(
        "rect",
        x=number(frame.left),
        y=number(y),
        width=number(frame.right - frame.left),
        height=number(frame.y(low) - y),
        fill=STRAW,
        fill_opacity="0.4",
        class_="cw-aim",
    )


def _lengths(frame: Frame, room: Room, unit: str) -> str:
    parts = []
    for mm, words in axes.length_ticks(frame.high, unit):
        y = frame.y(mm)
        if mm > 0.0:
            parts.append(axes.line(frame.left, y, frame.right, y, opacity=0.12))
        parts.append(room.write(frame.left - 8, y + 4.5, words, anchor="end", fill_opacity="0.85"))
    parts.append(
        room.write(frame.left - 8, frame.top - 4, unit, anchor="end", size=11.0, fill_opacity="0.65")
    )
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
                    d=axes.band(x[span], lower.tolist(), upper.tolist()),
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
                d=axes.band(x, low.tolist(), high.tolist()),
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


def _fan(chart: LayerChart, frame: Frame) -> str:
    fan = chart.fan
    if fan is None or len(fan.days) < 2:
        return ""
    x = [frame.x(day) for day in fan.days]
    rows = [[frame.y(mm) for mm in row] for row in fan.values.tolist()]
    count = len(rows)
    parts = [
        element("path", d=axes.band(x, rows[k], rows[count - 1 - k]), fill=GRIZZLE, fill_opacity="0.24")
        for k in range(count // 2)
    ]
    parts.append(
        element(
            "path",
            d=axes.curve(x, rows[count // 2]),
            fill="none",
            stroke="currentColor",
            stroke_width="1.8",
            stroke_dasharray="6 3",
        )
    )
    return "".join(parts)


def _time(chart: LayerChart, frame: Frame, room: Room, dates: DateWords) -> str:
    below = Frame(
        frame.first, frame.last, 0.0, 1.0, frame.left, frame.top, frame.right, frame.bottom + FULL + 6.0
    )
    return axes.line(frame.left, below.bottom, frame.right, below.bottom, opacity=0.35) + axes.time_axis(
        below, room, dates
    )


def _marks(chart: LayerChart, frame: Frame, room: Room, dates: DateWords) -> str:
    parts = []
    if chart.first <= chart.today <= chart.last:
        x = frame.x(chart.today)
        parts.append(axes.line(x, frame.top - 14, x, frame.bottom + FULL, opacity=0.8, width=1.4))
        anchor = "end" if x > frame.right - 60 else "middle"
        parts.append(room.write(x, frame.top - 18, "today", anchor=anchor, font_weight="600"))
        room.taken.append((x - 2.0, frame.top - 14.0, x + 2.0, frame.top + 4.0))
    named = [
        (frame.x(show.day), f"{show.name}, {dates.short(show.day)}")
        for show in chart.shows
        if chart.first <= show.day <= chart.last
    ]
    for (x, _), (start, words) in zip(sorted(named), axes.names_above(named, NAMES, room), strict=True):
        parts.append(words)
        parts.append(axes.line(x, start + 6, x, frame.bottom, dash="2 3", width=1.4))
        parts.append(element("path", d=f"M{number(x)} {number(start - 2)}l5 6-5 6-5-6z", fill="currentColor"))
        room.taken.append((x - 4.0, start, x + 4.0, frame.top + 4.0))
    for pull in chart.pulls:
        if not chart.first <= pull.day <= chart.last:
            continue
        x, y = frame.x(pull.day), frame.bottom + 1.0
        parts.append(
            axes.line(x, frame.top, x, frame.bottom, opacity=0.3, dash="1 3" if pull.planned else None)
        )
        parts.append(
            element(
                "path",
                d=f"M{number(x)} {number(y)}l-4.5-8h9z",
                fill="none" if pull.planned else FOX,
                stroke=FOX,
                stroke_width="1.4",
                class_="cw-pull",
            )
        )
        share = f"{100 * pull.share:.0f} %"
        parts.append(room.write(x, frame.top - 2, share, anchor="middle", size=11.0, fill_opacity="0.8"))
    return "".join(parts)


def _words(chart: LayerChart, frame: Frame, room: Room, unit: str) -> str:
    parts = [
        room.write(
            frame.left + 6,
            frame.bottom + FULL - 2,
            "under the skin",
            size=11.0,
            fill_opacity="0.75",
            font_style="italic",
        )
    ]
    if chart.aim is not None:
        low, high = chart.aim
        parts.append(
            room.write(
                frame.left + 6,
                frame.y(high) + 13,
                f"aim {length_text(low, unit).removesuffix(' ' + unit)} to {length_text(high, unit)}",
                size=11.5,
                fill_opacity="0.85",
            )
        )
    if chart.fan is not None and len(chart.fan.days) > 1:
        low, high = chart.fan.levels[0], chart.fan.levels[-1]
        y = frame.y(float(chart.fan.values[-1, -1])) - 6
        words = f"outline expected, {100 * (high - low):.0f} % of futures"
        parts.append(room.write(frame.right - 4, max(y, frame.top + 12), words, anchor="end", size=11.5))
    return "".join(parts)
