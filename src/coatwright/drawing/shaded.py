"""The dog with its zones shaded by a quantity, the words on them, and the scale below."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from coatwright.drawing import face, svg
from coatwright.drawing import labels as labelling
from coatwright.drawing.curves import Floats
from coatwright.drawing.scene import GROUND, Scene
from coatwright.drawing.shade import Scale, ZoneValue, ink_on

FOOT = 104
"""Room below the dog for the scale and the zones that are not seen, units of the view box."""
EMPTY = {"light": "#e9e3d6", "dark": "#4a4036", "print": "#eeeeee"}
"""Fill of a zone without a value."""
SIZE = 26.0
"""Size of the words on the zones."""


def shaded(scene: Scene, values: Mapping[str, ZoneValue], scale: Scale) -> str:
    """The zones, each filled with the colour of its value and with the value in words on or beside it."""
    figure, canvas = scene.figure, scene.canvas
    line = "#8a7a66" if scene.night else GROUND[scene.theme]
    fills = {
        zone: scale.colour(values[zone].value) if zone in values else EMPTY[scene.theme]
        for zone in figure.zones
    }

    def patch(zone: str, polygon: Floats, opacity: str | None = None) -> str:
        return svg.element(
            "path",
            d=canvas.path(polygon),
            fill=fills[zone],
            fill_opacity=opacity,
            stroke=line,
            stroke_width="2.2",
            data_shade=zone if opacity is None else None,
        )

    parts = [face.ground(scene)]
    parts += [patch(part.zone, part.polygon, "0.55") for part in figure.far]
    parts.append(patch("tail", figure.zones["tail"]))
    parts += [patch(zone, figure.zones[zone]) for zone in figure.body_zones]
    parts += [face.nose(scene), face.eye(scene), patch("ears", figure.zones["ears"]), _texture(scene)]
    parts += [_label(label, fills[label.zone]) for label in label_places(scene, values)]
    return svg.element("g", "".join(parts), fill="none", stroke_linejoin="round", aria_hidden="true")


def label_places(scene: Scene, values: Mapping[str, ZoneValue]) -> list[labelling.Label]:
    """Where the words of the values go, in units of the view box; none overlaps another."""
    figure, canvas = scene.figure, scene.canvas
    words = {zone: value.text for zone, value in values.items()}
    polygons = {zone: canvas.points(polygon) for zone, polygon in figure.zones.items()}
    filled = [*polygons.values(), *(canvas.points(part.polygon) for part in figure.far)]
    covers: dict[str, tuple[Floats, ...]] = dict.fromkeys(figure.body_zones, (polygons["ears"],))
    covers["tail"] = (canvas.points(figure.outline),)
    return labelling.place(words, polygons, filled, (canvas.width, canvas.floor), SIZE, covers)


def _texture(scene: Scene) -> str:
    """Every fourth hair in faint ink, so that a shaded dog still is a dog."""
    drawn = scene.drawn
    rows = np.flatnonzero((drawn.root % 4 == 0) & ~drawn.far)
    if not rows.size:
        return ""
    return svg.element(
        "path",
        d=scene.canvas.hair(drawn, rows),
        stroke="#f7f3ea" if scene.night else "#1c130c",
        stroke_opacity="0.16",
        stroke_width="1.7",
        stroke_linecap="round",
    )


def _label(label: labelling.Label, ground: str) -> str:
    words = svg.text(
        label.x,
        label.y + 0.35 * label.size,
        label.words,
        text_anchor="middle",
        font_size=label.size,
        font_family=svg.SANS,
        font_weight="600",
        fill="currentColor" if label.anchor else ink_on(ground),
    )
    if not label.anchor:
        return words
    ax, ay = label.anchor
    left, top, right, bottom = label.box
    ex, ey = min(max(ax, left - 3), right + 3), min(max(ay, top + 2), bottom - 2)
    lead = svg.element(
        "path",
        d=f"M{ax:.0f} {ay:.0f}L{ex:.0f} {ey:.0f}",
        stroke="currentColor",
        stroke_width="1.5",
        stroke_opacity="0.7",
    )
    return lead + svg.element("circle", cx=ax, cy=ay, r="3.5", fill=ink_on(ground)) + words


def legend(scene: Scene, values: Mapping[str, ZoneValue], scale: Scale, spoken: Callable[[str], str]) -> str:
    """The scale with its ends in words and, beside it, the zones that cannot be seen from the side."""
    canvas = scene.canvas
    x, y, long, steps = 30.0, canvas.floor + 42.0, 230.0, 23
    span = scale.high - scale.low
    parts = [
        svg.element(
            "rect",
            x=x + k * long / steps,
            y=y,
            width=long / steps + 0.6,
            height=16.0,
            fill=scale.colour(scale.low + (k + 0.5) / steps * span),
        )
        for k in range(steps)
    ]
    parts.append(
        svg.element(
            "rect",
            x=x,
            y=y,
            width=long,
            height=16.0,
            fill="none",
            stroke="currentColor",
            stroke_opacity="0.45",
        )
    )
    parts += [
        _words(x, y - 9, scale.label, "start"),
        _words(x, y + 38, scale.low_text, "start"),
        _words(x + long, y + 38, scale.high_text, "end"),
    ]
    unseen = [zone for zone in values if zone not in scene.figure.zones]
    left = x + max(long, labelling.width_of(scale.label, 21.0)) + 50
    if unseen:
        parts.append(_words(left, y - 9, "Not seen from the side", "start"))
    at, down = left, y + 17
    for zone in unseen:
        line = spoken(zone)
        wide = labelling.width_of(line, 20.0) + 30
        if at + wide > canvas.width - 10 and at > left:
            at, down = left, down + 27
        dot = svg.element(
            "circle",
            cx=at + 7,
            cy=down - 7,
            r="7",
            fill=scale.colour(values[zone].value),
            stroke="currentColor",
            stroke_width="1",
            stroke_opacity="0.5",
        )
        item = dot + _words(at + 21, down, line, "start")
        parts.append(svg.element("g", item, class_="cw-unseen", data_zone=zone))
        at += wide + 8
    return "".join(parts)


def _words(x: float, y: float, line: str, anchor: str) -> str:
    return svg.text(x, y, line, text_anchor=anchor, font_size=21.0, font_family=svg.SANS, fill="currentColor")
