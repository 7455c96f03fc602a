"""Colours of coats, named after coats. Families of six tones from shadow to light, for light and dark grounds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from coatwright.drawing.curves import Floats, inside, nearest, thin_ring
from coatwright.drawing.figure import Figure
from coatwright.drawing.roots import Ints, Roots
from coatwright.drawing.svg import mix as blend
from coatwright.errors import UnknownName

TONES = 6

CHALK = "#f7f3ea"
INK = "#2b2621"
STRAW = "#ead9a8"
WHEATEN = "#cfa76a"
FOX = "#a9663a"
GRIZZLE = "#7b776f"
BRICK = "#9a3b2c"

HAIR: Mapping[str, tuple[str, ...]] = {
    "fox": ("#4f2713", "#74401f", "#96592d", "#b5733f", "#cd9057", "#e2b17c"),
    "tan": ("#55331a", "#7c4f29", "#a1703c", "#c09257", "#d7b279", "#ead09f"),
    "black": ("#17130f", "#241e19", "#332b24", "#443a31", "#594d42", "#776a5c"),
    "grizzle": ("#37322c", "#4f4942", "#69625a", "#857e74", "#a29b8f", "#bfb8ab"),
    "silver": ("#5f5a53", "#7e7970", "#9c978d", "#b8b3a9", "#d0ccc3", "#e6e3dc"),
    "white": ("#a69c89", "#bfb6a4", "#d2cabb", "#e3dccf", "#f0ebe0", "#fdfbf6"),
    "wheat": ("#7d5d31", "#a07d48", "#bf9d64", "#d6b980", "#e6cf9d", "#f3e4bf"),
    "bark": ("#2a1d12", "#3e2d1d", "#55402b", "#6d553b", "#876d4f", "#a48a6b"),
}
"""Tones per family of hair, darkest first."""

HEAD = ("skull", "cheeks", "ears")
FURNISHING = ("brows", "foreface", "beard", "forelegs", "feet", "hocks", "hind_feet", "underline")


@dataclass(frozen=True, slots=True)
class Palette:
    """One coat colour: which families of hair grow where.

    ``saddle``  mix of families inside the saddle; ``body`` outside it; ``head``, ``furnishing``, ``ears``
                where they differ. A mix is ((family, share), ...), its shares add up to 1.
    ``skin``     what shows between the hairs;  ``undercoat``  soft hair over it, outside and inside the saddle
    ``depth``    how dark the depth of the coat is, in tones from the darkest
    """

    key: str
    name: str
    saddle: tuple[tuple[str, float], ...]
    body: tuple[tuple[str, float], ...]
    head: tuple[tuple[str, float], ...]
    furnishing: tuple[tuple[str, float], ...]
    ears: tuple[tuple[str, float], ...]
    skin: str
    undercoat: tuple[str, str]
    depth: float = 1.35

    @property
    def families(self) -> tuple[str, ...]:
        """Families used, in a fixed order."""
        used = {
            name for mix in (self.saddle, self.body, self.head, self.furnishing, self.ears) for name, _ in mix
        }
        return tuple(name for name in HAIR if name in used)

    def colours(self) -> tuple[str, ...]:
        """Colour per number of :class:`~coatwright.drawing.strokes.Strokes.colour`."""
        return tuple(tone for family in self.families for tone in HAIR[family])

    def mix(self, zone: str) -> tuple[tuple[str, float], ...]:
        """The mix of a zone outside the saddle."""
        if zone == "ears":
            return self.ears
        if zone in HEAD:
            return self.head
        return self.furnishing if zone in FURNISHING else self.body

    def base(self, zone: str, saddle: bool = False) -> str:
        """Colour in the depth of the coat of a zone: a dark tone of the family that leads there."""
        mix = self.saddle if saddle else self.mix(zone)
        lead = max(mix, key=lambda part: part[1])[0]
        tone = int(self.depth)
        return blend(HAIR[lead][tone], HAIR[lead][tone + 1], self.depth - tone)


ONLY = {name: ((name, 1.0),) for name in HAIR}
PALETTES: Mapping[str, Palette] = {
    one.key: one
    for one in (
        Palette(
            key="red",
            name="red",
            saddle=ONLY["fox"],
            body=ONLY["fox"],
            head=ONLY["fox"],
            furnishing=(("fox", 0.7), ("wheat", 0.3)),
            ears=(("fox", 0.85), ("bark", 0.15)),
            skin="#cfa898",
            undercoat=("#c08b5e", "#bb8558"),
        ),
        Palette(
            key="grizzle",
            name="grizzle",
            saddle=(("bark", 0.5), ("tan", 0.2), ("grizzle", 0.3)),
            body=(("tan", 0.62), ("grizzle", 0.2), ("bark", 0.18)),
            head=(("tan", 0.85), ("bark", 0.15)),
            furnishing=(("tan", 0.8), ("wheat", 0.2)),
            ears=(("bark", 0.75), ("tan", 0.25)),
            skin="#b9a192",
            undercoat=("#b59a76", "#8d7d69"),
        ),
        Palette(
            key="black_and_tan",
            name="black and tan",
            saddle=(("black", 0.94), ("tan", 0.06)),
            body=ONLY["tan"],
            head=ONLY["tan"],
            furnishing=ONLY["tan"],
            ears=(("tan", 0.55), ("bark", 0.45)),
            skin="#b39c90",
            undercoat=("#b98f62", "#6c6159"),
        ),
        Palette(
            key="white",
            name="white",
            saddle=ONLY["white"],
            body=ONLY["white"],
            head=ONLY["white"],
            furnishing=ONLY["white"],
            ears=ONLY["white"],
            skin="#dcb8aa",
            undercoat=("#e9e0cf", "#e9e0cf"),
            depth=2.1,
        ),
        Palette(
            key="wheaten",
            name="wheaten",
            saddle=ONLY["wheat"],
            body=ONLY["wheat"],
            head=ONLY["wheat"],
            furnishing=ONLY["wheat"],
            ears=(("wheat", 0.7), ("tan", 0.3)),
            skin="#d3b09c",
            undercoat=("#d6bd90", "#d6bd90"),
            depth=1.7,
        ),
        Palette(
            key="pepper_and_salt",
            name="pepper and salt",
            saddle=(("black", 0.34), ("grizzle", 0.4), ("silver", 0.26)),
            body=(("grizzle", 0.55), ("silver", 0.3), ("black", 0.15)),
            head=(("grizzle", 0.7), ("black", 0.1), ("silver", 0.2)),
            furnishing=(("silver", 0.9), ("grizzle", 0.1)),
            ears=(("grizzle", 0.6), ("black", 0.4)),
            skin="#b3a49c",
            undercoat=("#b4aea4", "#85807a"),
        ),
    )
}


def palette(key: str) -> Palette:
    """The palette of a coat colour, or :class:`~coatwright.errors.UnknownName`."""
    if key not in PALETTES:
        raise UnknownName.of("coat colour", key, PALETTES)
    return PALETTES[key]


@lru_cache(maxsize=32)
def saddle_weight(figure: Figure, roots: Roots) -> Floats:
    """How far inside the saddle each root lies: 0 outside, 1 well inside, a soft edge between."""
    ring = thin_ring(figure.saddle, 0.2 * figure.unit)
    gap, _, _ = nearest(ring, roots.x, roots.y)
    sign = np.where(inside(ring, roots.x, roots.y), 1.0, -1.0)
    weight = np.clip(0.5 + sign * gap / (7.0 * figure.unit), 0.0, 1.0)
    tail = roots.keys.index("tail")
    rise = roots.zone == tail
    light = roots.light
    weight[rise] = np.where(light[rise] > -0.2, 0.9, 0.4)
    weight[roots.far] = 0.0
    for zone in ("ears", "skull", "brows", "foreface", "beard", "cheeks", "throat"):
        weight[roots.zone == roots.keys.index(zone)] = 0.0
    return weight


def families(palette: Palette, figure: Figure, roots: Roots, row: Ints) -> Ints:
    """Family of hair (number into ``palette.families``) of each root in ``row``."""
    names = palette.families
    inside_mix = np.array([dict(palette.saddle).get(name, 0.0) for name in names])
    outside = np.array([[dict(palette.mix(zone)).get(name, 0.0) for name in names] for zone in roots.keys])
    weight = saddle_weight(figure, roots)[row, None]
    mix = weight * inside_mix + (1.0 - weight) * outside[roots.tint[row]]
    ends = np.cumsum(mix, axis=1)
    chosen: Ints = (roots.shade[row, None] * ends[:, -1:] >= ends).sum(axis=1)
    return np.minimum(chosen, len(names) - 1)
