"""All that a writer of the coat picture needs to know about one picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from coatwright.drawing import svg
from coatwright.drawing.canvas import Canvas
from coatwright.drawing.figure import Figure
from coatwright.drawing.looks import ZoneLook
from coatwright.drawing.palette import Palette
from coatwright.drawing.roots import roots
from coatwright.drawing.strokes import Strokes, strokes

GROUND = {"light": "#f7f3ea", "dark": "#241c15", "print": "#ffffff"}
"""The ground that a picture of each theme is meant for; it paints none itself."""
SHADOW = "#1f1610"


@dataclass(frozen=True)
class Scene:
    """One figure, its looks by zone, its colours, the theme and the sheet it is drawn on."""

    figure: Figure
    looks: Mapping[str, ZoneLook]
    palette: Palette
    theme: str
    canvas: Canvas

    @property
    def night(self) -> bool:
        """Whether the ground is dark."""
        return self.theme == "dark"

    @cached_property
    def drawn(self) -> Strokes:
        """The strokes of the coat."""
        return strokes(self.figure, roots(self.figure), self.looks, self.palette)

    @cached_property
    def tones(self) -> list[str]:
        """Colour per number of ``drawn.colour``."""
        return [self.lift(tone) for tone in self.palette.colours()]

    def lift(self, colour: str) -> str:
        """By night the darkest hair is raised a little, so that it stands off from the ground."""
        if not self.night:
            return colour
        return svg.mix(colour, "#87745f", max(0.0, 0.27 - 4.0 * svg.luminance(colour)))
