"""The coat picture for a page: an image for light and one for dark, and the zones over it that can be picked."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from markupsafe import Markup

from coatwright.salon.pictures import figure_of
from coatwright.salon.records import Dog
from coatwright.units import Millimetres, day_of
from coatwright.web.coats import ZoneState

if TYPE_CHECKING:
    from coatwright.drawing.figure import Figure
    from coatwright.drawing.shade import Scale, ZoneValue

SHORT_MM: Millimetres = 10.0
"""Length of a scissored zone that nobody has read, mm: only for the picture."""
THEMES = ("light", "dark", "print")
INK = {"light": "#2b2621", "dark": "#efe8da", "print": "#000000"}
"""Colour of lines and letters in a picture that stands in a file of its own."""


def colour_of(dog: Dog) -> str:
    """The colour of a dog's coat."""
    return dog.colour or dog.pattern.colours[0]


def picture(
    dog: Dog,
    found: Mapping[str, ZoneState],
    day: date,
    *,
    title: str,
    theme: str = "light",
    values: Mapping[str, ZoneValue] | None = None,
    scale: Scale | None = None,
    names: Mapping[str, str] | None = None,
) -> str:
    """The coat of a day as SVG; with ``values``, its zones shaded by them."""
    import numpy as np

    from coatwright.drawing.coat_picture import coat_picture
    from coatwright.drawing.looks import ZoneLook, look_of

    looks = {key: look_of(key, state.coat, day_of(day), state.growth) for key, state in found.items()}
    looks |= {
        key: ZoneLook(key, np.array([usual_length(dog, key)]), np.ones(1)) for key in unread(dog, found)
    }
    drawn = coat_picture(
        figure_of(dog),
        looks,
        colour_of(dog),
        mode="coat" if values is None else "shade",
        values=values,
        scale=scale,
        title=title,
        theme=theme,
        names=names,
    )
    return on_its_own(drawn, theme)


def unread(dog: Dog, found: Mapping[str, ZoneState]) -> tuple[str, ...]:
    """Zones that are drawn although nobody has read their coat."""
    return tuple(zone for zone in figure_of(dog).zones if zone not in found)


def usual_length(dog: Dog, zone: str) -> Millimetres:
    """The length at which a zone is drawn that nobody has read: the middle of its aim, short where it has none."""
    band = dog.pattern.aims.get(zone)
    return SHORT_MM if band is None else band.middle


def on_its_own(drawn: str, theme: str) -> str:
    """A picture in a file of its own, where no page lends it the colour of lines and letters."""
    return drawn.replace("<svg ", f'<svg color="{INK[theme]}" ', 1)


@lru_cache(maxsize=64)
def _outlines(figure: Figure, foot: int) -> tuple[int, int, tuple[tuple[str, str], ...]]:
    from coatwright.drawing.canvas import Canvas

    canvas = Canvas(figure, foot=foot)
    order = sorted(figure.zones, key=lambda zone: 0 if zone == "tail" else 2 if zone == "ears" else 1)
    return canvas.width, canvas.height, tuple((zone, canvas.path(figure.zones[zone])) for zone in order)


def hit_zones(
    dog: Dog, spoken: Mapping[str, str], link: str, *, selected: str | None = None, foot: int = 0
) -> Markup:
    """An SVG of links, one per zone that is seen from the side, to lie over the picture; without script too.

    ``spoken`` says each zone in words, ``link`` is its address with ``{zone}`` in it.
    """
    from coatwright.drawing import svg

    width, height, outlines = _outlines(figure_of(dog), foot)
    parts = []
    for zone, path in outlines:
        words = svg.escape(spoken.get(zone, zone.replace("_", " ")))
        chosen = ' class="hit chosen" aria-current="true"' if zone == selected else ' class="hit"'
        address = svg.escape(link.replace("{zone}", zone))
        parts.append(
            f'<a href="{address}" aria-label="{words}"{chosen}><path d="{path}"><title>{words}</title></path></a>'
        )
    return Markup(f'<svg class="hits" viewBox="0 0 {width} {height}">{"".join(parts)}</svg>')


def size_of(dog: Dog, foot: int = 0) -> tuple[int, int]:
    """Width and height of a dog's picture, in units of its view box."""
    width, height, _ = _outlines(figure_of(dog), foot)
    return width, height
