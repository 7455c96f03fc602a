"""The dog with its zones shaded by a quantity, the words on them, and the scale below."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from coatwright.drawing import face, svg
from coatwright.drawing import labels as labelling
from coatwright.drawing.canvas import WIDTH
from coatwright.drawing.curves import Floats
from coatwright.drawing.scene import GROUND, Scene
from coatwright.drawing.shade import Scale, ZoneValue, ink_on

LINE = 27.0
"""From one line of the list of unseen zones to the next."""
FOOT = 104
"""Room below the dog for the scale and the zones that are not seen, units of the view box."""
EMPTY = {"light": "#e9e3d6", "dark": "#4a4036", "print": "#eeeeee"}
"""Fill of a zone without a value."""
SIZE = 26.0
"""Size of the words on the zones."""


def foot(unseen: Sequence[str], label: str, letters: float = SIZE) -> int:
    """Room below the dog for words of a size, units of the view box: more where ``unseen`` needs more lines."""
    lines = max((row for *_, row in _listed(unseen, label, letters)), default=0) + 1
    return round((FOOT + LINE * max(lines - 2, 0)) * letters / SIZE)


def _listed(unseen: Sequence[str], label: str, letters: float) -> list[tuple[float, float, int]]:
    """Left end, width and line of every item of the list beside the scale."""
    k = letters / SIZE
    left = 30.0 + max(230.0 * k, labelling.width_of(label, 21.0 * k)) + 50.0
    at, row, found = left, 0, []
    for line in unseen:
        wide = labelling.width_of(line, 20.0 * k) + 30.0 * k
        if at + wide > WIDTH - 10 and at > left:
            at, row = left, row + 1
        found.append((at, wide, row))
        at += wide + 8.0 * k
    return found


def shaded(scene: Scene, values: Mapping[str, ZoneValue], scale: Scale, letters: float = SIZE) -> str:
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
    parts += [_label(label, fills[label.zone]) for label in label_places(scene, values, letters)]
    return svg.element("g", "".join(parts), fill="none", stroke_linejoin="round", aria_hidden="true")


def label_places(
    scene: Scene, values: Mapping[str, ZoneValue], letters: float = SIZE
) -> list[labelling.Label]:
    """Where the words of the values go, in units of the view box; none overlaps another."""
    figure, canvas = scene.figure, scene.canvas
    words = {zone: value.text for zone, value in values.items()}
    polygons = {zone: canvas.points(polygon) for zone, polygon in figure.zones.items()}
    filled = [*polygons.values(), *(canvas.points(part.polygon) for part in figure.far)]
    covers: dict[str, tuple[Floats, ...]] = dict.fromkeys(figure.body_zones, (polygons["ears"],))
    covers["tail"] = (canvas.points(figure.outline),)
    return labelling.place(words, polygons, filled, (canvas.width, canvas.floor), letters, covers)


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


def legend(
    scene: Scene,
    values: Mapping[str, ZoneValue],
    scale: Scale,
    spoken: Callable[[str], str],
    letters: float = SIZE,
) -> str:
    """The scale with its ends in words and, beside it, the zones that cannot be seen from the side."""
    canvas, k = scene.canvas, letters / SIZE
    x, y, long, steps = 30.0, canvas.floor + 42.0 * k, 230.0 * k, 23
    span = scale.high - scale.low

    def words(x: float, y: float, line: str, anchor: str) -> str:
        return svg.text(
            x, y, line, text_anchor=anchor, font_size=21.0 * k, font_family=svg.SANS, fill="currentColor"
        )

    parts = [
        svg.element(
            "rect",
            x=x + step * long / steps,
            y=y,
            width=long / steps + 0.6,
            height=16.0 * k,
            fill=scale.colour(scale.low + (step + 0.5) / steps * span),
        )
        for step in range(steps)
    ]
    parts.append(
        svg.element(
            "rect",
            x=x,
            y=y,
            width=long,
            height=16.0 * k,
            fill="none",
            stroke="currentColor",
            stroke_opacity="0.45",
        )
    )
    parts += [
        words(x, y - 9 * k, scale.label, "start"),
        words(x, y + 38 * k, scale.low_text, "start"),
        words(x + long, y + 38 * k, scale.high_text, "end"),
    ]
    unseen = [zone for zone in values if zone not in scene.figure.zones]
    lines = [spoken(zone) for zone in unseen]
    places = _listed(lines, scale.label, letters)
    if unseen:
        parts.append(words(places[0][0], y - 9 * k, "Not seen from the side", "start"))
    for zone, line, (at, _, row) in zip(unseen, lines, places, strict=True):
        down = y + (17 + LINE * row) * k
        dot = svg.element(
            "circle",
            cx=at + 7 * k,
            cy=down - 7 * k,
            r=svg.number(7 * k),
            fill=scale.colour(values[zone].value),
            stroke="currentColor",
            stroke_width="1",
            stroke_opacity="0.5",
        )
        item = dot + words(at + 21 * k, down, line, "start")
        parts.append(svg.element("g", item, class_="cw-unseen", data_zone=zone))
    return "".join(parts)
