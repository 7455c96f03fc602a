"""The coat picture as SVG: the dog as its coat stands, or its zones shaded by a quantity.

Everything that is drawn comes from :class:`~coatwright.drawing.figure.Figure`,
:func:`~coatwright.drawing.strokes.strokes` and the palette; the writers (``pelt``, ``face``, ``shaded``) only
write it down. One stroke in the picture is one entry of :class:`~coatwright.drawing.strokes.Strokes`, in true
length.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping

from coatwright.drawing import pelt, svg
from coatwright.drawing import shaded as shading
from coatwright.drawing.canvas import Canvas
from coatwright.drawing.figure import EXTRA, Figure
from coatwright.drawing.looks import ZoneLook
from coatwright.drawing.palette import palette
from coatwright.drawing.scene import GROUND, Scene
from coatwright.drawing.shade import Scale, ZoneValue, scale_of
from coatwright.errors import InputError

__all__ = ["GROUND", "MODES", "THEMES", "Scale", "ZoneValue", "coat_picture"]

MODES = ("coat", "shade")
THEMES = ("light", "dark", "print")
BARS_MM = (500, 200, 100, 50, 20)


def coat_picture(
    figure: Figure,
    looks: Mapping[str, ZoneLook],
    colour: str,
    *,
    mode: str = "coat",
    values: Mapping[str, ZoneValue] | None = None,
    scale: Scale | None = None,
    title: str = "",
    theme: str = "light",
    names: Mapping[str, str] | None = None,
    link: str | None = None,
    selected: str | None = None,
    ident: str | None = None,
    letters: float = shading.SIZE,
) -> str:
    """The picture of a dog's coat as one SVG element (text).

    ``looks``     per zone; a zone without one is bare
    ``colour``    key of :data:`~coatwright.drawing.palette.PALETTES`
    ``mode``      "coat", or "shade" to colour each zone by ``values`` on ``scale`` (made to fit if None);
                  values of zones that the figure does not have are listed below as not seen from the side
    ``theme``     "light", "dark" or "print": "print" leaves out what can be picked
    ``names``     name per zone for readers; the key with spaces where missing
    ``link``      address of a zone such as ``"?zone={zone}"``: zones become links and work without script
    ``selected``  a zone to outline
    ``letters``   size of the words on shaded zones, units of the view box; those below keep step with it
    ``ident``     prefix of the ids in the picture: give one where a page holds two equal pictures

    The attribute ``data-mm`` gives the millimetres of the dog per unit of the view box.

    Raises :class:`~coatwright.errors.UnknownName` for the colour and
    :class:`~coatwright.errors.InputError` for the mode or theme.
    """
    if mode not in MODES:
        raise InputError(f"A coat picture cannot be drawn as {mode!r}.", remedy=f"Use {' or '.join(MODES)}.")
    if theme not in THEMES:
        raise InputError(f"There is no theme {theme!r}.", remedy=f"Use one of {', '.join(THEMES)}.")
    given = dict(values or {})
    shade = mode == "shade"
    measure = scale or scale_of(given, title)
    words = title or "The coat"
    key = ident or f"cw{zlib.crc32(f'{words}|{mode}|{theme}|{colour}|{figure.build}'.encode()):08x}"

    def spoken(zone: str) -> str:
        name = (names or {}).get(zone, zone.replace("_", " "))
        return f"{name}: {_value(given, zone) if shade else _look(looks.get(zone))}"

    unseen = [spoken(zone) for zone in given if zone not in figure.zones]
    below = shading.foot(unseen, measure.label, letters) if shade else 0
    scene = Scene(figure, looks, palette(colour), theme, Canvas(figure, foot=below))
    foot = _bar(scene, letters / shading.SIZE) + (
        shading.legend(scene, given, measure, spoken, letters) if shade else ""
    )
    described = "; ".join(spoken(zone) for zone in (*figure.body_zones, *EXTRA))
    parts = [
        svg.element("title", svg.escape(words), id=f"{key}-title"),
        svg.element(
            "desc",
            svg.escape(
                f"A standing dog seen from its left side, {figure.height_mm:.0f} mm at the withers, "
                f"{scene.palette.name}. {described}."
            ),
            id=f"{key}-desc",
        ),
        shading.shaded(scene, given, measure, letters) if shade else pelt.coat(scene, key),
        _mark(scene, selected),
        "" if theme == "print" else _hits(scene, spoken, link),
        svg.element("g", foot, class_="cw-foot"),
    ]
    return svg.element(
        "svg",
        "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {scene.canvas.width} {scene.canvas.height}",
        class_=f"cw-coat cw-{mode} cw-{theme}",
        role="img" if theme == "print" else "group",
        aria_labelledby=f"{key}-title",
        aria_describedby=f"{key}-desc",
        data_mm=f"{1.0 / scene.canvas.scale:.6f}",
    )


def _value(values: Mapping[str, ZoneValue], zone: str) -> str:
    return values[zone].text if zone in values else "no value"


def _look(look: ZoneLook | None) -> str:
    """A zone's hair in words."""
    if look is None or look.cover <= 0.0:
        return "bare"
    return f"longest layer {look.longest_mm:.0f} mm, cover {100 * look.cover:.0f} %"


def _hits(scene: Scene, spoken: Callable[[str], str], link: str | None) -> str:
    """What can be picked by pointer, finger or key: one clear shape per zone, the ear last and on top."""
    parts = []
    for zone in ("tail", *scene.figure.body_zones, "ears"):
        shape = svg.element(
            "path",
            svg.element("title", svg.escape(spoken(zone))),
            d=scene.canvas.path(scene.figure.zones[zone]),
            class_="cw-hit",
        )
        common: dict[str, object] = {"class_": "cw-zone", "data_zone": zone, "aria_label": spoken(zone)}
        if link:
            parts.append(svg.element("a", shape, href=link.replace("{zone}", zone), **common))
        else:
            parts.append(svg.element("g", shape, tabindex="0", role="img", **common))
    return svg.element("g", "".join(parts), class_="cw-zones", fill="transparent", pointer_events="all")


def _mark(scene: Scene, selected: str | None) -> str:
    """A line around the zone that was picked."""
    if selected is None or selected not in scene.figure.zones:
        return ""
    path = scene.canvas.path(scene.figure.zones[selected])
    under = svg.element("path", d=path, stroke=GROUND[scene.theme], stroke_width="8", stroke_opacity="0.75")
    over = svg.element("path", d=path, stroke="currentColor", stroke_width="3.5")
    return svg.element(
        "g", under + over, fill="none", stroke_linejoin="round", class_="cw-mark", aria_hidden="true"
    )


def _bar(scene: Scene, k: float) -> str:
    """A bar of whole millimetres of the dog."""
    canvas = scene.canvas
    length = next((mm for mm in BARS_MM if mm * canvas.scale < 280), BARS_MM[-1])
    x, y = 30.0, canvas.floor - 20.0
    end = x + length * canvas.scale
    bar = svg.element(
        "path",
        d=f"M{x:.0f} {y - 7:.0f}v7H{end:.1f}v-7",
        fill="none",
        stroke="currentColor",
        stroke_width="1.8",
        class_="cw-bar",
    )
    return bar + svg.text(
        (x + end) / 2,
        y - 9,
        f"{length} mm",
        text_anchor="middle",
        font_size=20.0 * k,
        font_family=svg.SANS,
        fill="currentColor",
        fill_opacity="0.75",
    )
