"""The coat itself: skin and undercoat below, the strokes of the hair above, from the hindmost zone forwards."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from coatwright.drawing import face, svg
from coatwright.drawing.curves import Bools, Floats
from coatwright.drawing.figure import Figure
from coatwright.drawing.relief import darker_than
from coatwright.drawing.roots import Ints
from coatwright.drawing.scene import SHADOW, Scene

FAR_ORDER = ("hind_feet", "hocks", "thighs", "feet", "forelegs")
ORDER = (
    "hind_feet", "hocks", "rear", "thighs", "feet", "underline", "forelegs", "croup", "ribs", "back",
    "forechest", "shoulders", "throat", "neck", "cheeks", "beard", "skull", "foreface", "brows", "ears",
)  # fmt: skip
"""Zones from the hindmost to the foremost, as hair falls over hair."""
PASSES = 3
"""Hairs of all colours lie in this many layers over each other."""
UNDER = {"none": 0.0, "some": 0.6, "packed": 0.85}
"""How much of the skin each state of the undercoat hides."""
SHADES = (0.74, 0.62, 0.50, 0.38, 0.26, 0.14, 0.02, -0.12, -0.26)
"""Light below which the skin is shaded a step deeper."""
SHADE_STEP = 0.04


def coat(scene: Scene, ident: str) -> str:
    """The whole dog. ``ident`` starts the ids in it."""
    figure = scene.figure
    parts = [face.ground(scene)]
    parts += [skin(scene, part.zone, part.polygon, dark=0.34) for part in figure.far]
    parts += [hair(scene, zone, far=True) for zone in FAR_ORDER]
    parts += [skin(scene, "tail", figure.zones["tail"], saddle=True), hair(scene, "tail")]
    parts += [skin(scene, zone, figure.zones[zone]) for zone in figure.body_zones]
    parts += [form(scene, ident), saddle(scene, ident)]
    for zone in ORDER:
        if zone == "beard":
            parts.append(face.mouth(scene))
        if zone == "brows":
            over = face.over_eye(scene)
            parts += [hair(scene, zone, only=~over), face.nose(scene), face.eye(scene)]
            parts.append(hair(scene, zone, only=over))
            continue
        if zone == "ears":
            parts += [face.ear_shade(scene), skin(scene, zone, figure.zones[zone])]
        parts.append(hair(scene, zone))
    return svg.element("g", "".join(parts), fill="none", stroke_linecap="round", aria_hidden="true")


def skin(scene: Scene, zone: str, polygon: Floats, *, dark: float = 0.0, saddle: bool = False) -> str:
    """What shows between the hairs of a zone: skin, under undercoat, hidden as the coat thickens."""
    look = scene.looks.get(zone)
    bare = _bare(scene, UNDER[look.undercoat] if look else 0.0, saddle)
    shown = svg.mix(bare, scene.lift(scene.palette.base(zone, saddle)), look.veil if look else 0.0)
    shown = svg.mix(shown, SHADOW, dark)
    return svg.element(
        "path", d=scene.canvas.path(polygon), fill=shown, stroke=shown, stroke_width="1.2", class_="cw-skin"
    )


def _bare(scene: Scene, under: float, saddle: bool) -> str:
    bare = svg.mix(scene.palette.skin, scene.palette.undercoat[saddle], under)
    return svg.mix(bare, SHADOW, 0.18) if scene.night else bare


def form(scene: Scene, ident: str) -> str:
    """Light and shade on the skin, so that a bare dog is as round as a coated one."""
    canvas = scene.canvas
    clip = svg.element(
        "clipPath", svg.element("path", d=canvas.path(scene.figure.outline)), id=f"{ident}-body"
    )
    shades = [
        svg.element(
            "path", d="".join(canvas.path(loop) for loop in loops), fill=SHADOW, fill_opacity=SHADE_STEP
        )
        for loops in _shades(scene.figure)
        if loops
    ]
    return clip + svg.element("g", "".join(shades), clip_path=f"url(#{ident}-body)")


@lru_cache(maxsize=32)
def _shades(figure: Figure) -> list[list[Floats]]:
    return [darker_than(figure.reliefs["body"], level) for level in SHADES]


def saddle(scene: Scene, ident: str) -> str:
    """The dark depth of a saddle, over all zones it lies on, as thick as the coat there."""
    colours = scene.palette
    looks = [scene.looks[zone] for zone in ("back", "ribs", "croup") if zone in scene.looks]
    if colours.saddle == colours.body or not looks:
        return ""
    veil = float(np.mean([look.veil for look in looks]))
    under = float(np.mean([UNDER[look.undercoat] for look in looks]))
    shown = svg.mix(_bare(scene, under, True), scene.lift(colours.base("back", saddle=True)), veil)
    return svg.element(
        "path",
        d=scene.canvas.path(scene.figure.saddle),
        fill=shown,
        fill_opacity=0.85 * max(veil, under),
        clip_path=f"url(#{ident}-body)",
    )


def hair(scene: Scene, zone: str, *, far: bool = False, only: Bools | None = None) -> str:
    """All strokes of a zone: a few paths, from the lowest layer to the topmost, dark before light.

    ``only`` (one per stroke of the coat) leaves strokes out.
    """
    drawn = scene.drawn
    chosen = (drawn.zone == drawn.keys.index(zone)) & (drawn.far == far)
    rows = np.flatnonzero(chosen if only is None else chosen & only)
    if not rows.size:
        return ""
    width = float(np.median(drawn.width[rows])) * scene.canvas.scale
    # one number per path: layer of hair, then colour, then cut or whole
    group = (drawn.root[rows] * 7 % PASSES * len(scene.tones) + drawn.colour[rows]) * 2 + drawn.cut[rows]
    paths = [
        _paint(scene, rows[group == one], one // 2 % len(scene.tones), far=far, cut=bool(one % 2))
        for one in np.unique(group).tolist()
    ]
    return svg.element("g", "".join(paths), class_="cw-hair", data_hair=zone, stroke_width=svg.number(width))


def _paint(scene: Scene, rows: Ints, colour: int, *, far: bool, cut: bool) -> str:
    """One path. Cut hair has blunt ends and has lost some of its colour (common practice, no source)."""
    tone = scene.tones[colour]
    if cut:
        tone = svg.mix(tone, scene.palette.undercoat[0], 0.45)
    if far:
        tone = svg.mix(tone, SHADOW, 0.22)
    return svg.element(
        "path",
        stroke=tone,
        stroke_linecap="butt" if cut else None,
        d=scene.canvas.hair(scene.drawn, rows),
    )
