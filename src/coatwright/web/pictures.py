"""The coat picture for a page: an image for light and one for dark, and the zones over it that can be picked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from markupsafe import Markup

from coatwright.patterns.zones import zones
from coatwright.salon.pictures import figure_of, looks_of_coats, option_picture, unread_zones, usual_length
from coatwright.salon.records import Dog
from coatwright.units import Share, date_of, day_of
from coatwright.web.coats import ZoneState

if TYPE_CHECKING:
    from coatwright.drawing.figure import Figure
    from coatwright.drawing.shade import Scale, ZoneValue
    from coatwright.planning.compare import Option

__all__ = [
    "approach_picture",
    "colour_of",
    "compared_day",
    "hit_zones",
    "on_its_own",
    "picture",
    "shots",
    "size_of",
    "unread",
    "usual_length",
]

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
    from coatwright.drawing.coat_picture import coat_picture

    looks = looks_of_coats(
        dog,
        {key: state.coat for key, state in found.items()},
        day,
        {key: state.turn for key, state in found.items()},
    )
    drawn = coat_picture(
        figure_of(dog),
        looks,
        colour_of(dog),
        mode="coat" if values is None else "shade",
        values=values,
        scale=scale,
        title=title,
        theme=theme,
        names={key: zone.name for key, zone in zones().items()} | dict(names or {}),
    )
    return on_its_own(drawn, theme)


def unread(dog: Dog, found: Mapping[str, ZoneState]) -> tuple[str, ...]:
    """Zones that are drawn although nobody has read their coat."""
    return unread_zones(dog, found)


@dataclass(frozen=True, slots=True)
class Shot:
    """What one way to work a coat comes to on a day: how many judged zones are ready, and which are not.

    ``drawn`` is the approach whose picture it is: an earlier one where both pull the same until that day.
    """

    approach: str
    drawn: str
    day: date
    show: str
    ready: int
    judged: int
    missing: tuple[str, ...]
    thinnest: Share
    size: tuple[int, int]

    @property
    def spoken(self) -> str:
        """The picture in words, without its day."""
        if not self.judged:
            return "No zone is judged"
        part = (
            "every judged zone is ready"
            if not self.missing
            else f"{self.ready} of {self.judged} zones are ready"
        )
        return f"{part}; the thinnest zone has {100 * self.thinnest:.0f} % cover"


def compared_day(dog: Dog, options: Sequence[Option], today: date) -> tuple[date, str]:
    """The day on which approaches are looked at side by side, and its show: the next one, else the last day told."""
    coming = sorted((show.day, show.name) for show in dog.wish.shows if show.day >= today)
    if coming:
        return coming[0]
    return date_of(min(option.shown_until for option in options)), ""


def shots(dog: Dog, options: Sequence[Option], today: date) -> dict[str, Shot]:
    """What every approach comes to on the same day."""
    if not options:
        return {}
    day, show = compared_day(dog, options, today)
    found: dict[str, Shot] = {}
    pulls: dict[str, dict[tuple[str, int], Share]] = {}
    for option in options:
        states = option.plan.judged(day_of(day))
        pulled = {cell: share for cell, share in option.plan.cells().items() if cell[1] <= day_of(day)}
        drawn = next((name for name, before in pulls.items() if before == pulled), option.approach)
        pulls.setdefault(option.approach, pulled)
        missing = tuple(zones()[key].name for key, state in states.items() if not state.ready)
        found[option.approach] = Shot(
            option.approach,
            drawn,
            day,
            show,
            len(states) - len(missing),
            len(states),
            missing,
            min((state.cover for state in states.values()), default=0.0),
            size_of(dog),
        )
    return found


def approach_picture(dog: Dog, option: Option, day: date, *, title: str, theme: str = "light") -> str:
    """The coat as an approach leaves it on a day, as an SVG of its own."""
    return on_its_own(option_picture(dog, option, day, title=title, theme=theme), theme)


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
