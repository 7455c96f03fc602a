"""What a zone should be: an outline between two lengths, enough cover, and quiet before the day."""

from __future__ import annotations

from dataclasses import dataclass

from coatwright.errors import OutOfRange
from coatwright.units import Millimetres, Share

OUTLINE_TAIL = 0.05
"""The outline is the length that this share of the visible hairs exceeds."""


@dataclass(frozen=True, slots=True)
class Aim:
    """The aim of one zone on a day when it is judged.

    ``lo``, ``hi``  mm, the band in which the outline must lie
    ``cover``       least share of hairs above the skin
    ``top``         least share of hairs between ``lo`` and ``hi``: they carry the outline
    ``over``        greatest share of hairs longer than ``hi`` or blown
    ``quiet``       days without a pull before a judged day
    """

    lo: Millimetres
    hi: Millimetres
    cover: Share = 0.6
    top: Share = 0.2
    over: Share = 0.03
    quiet: int = 2

    def __post_init__(self) -> None:
        if not 0.0 <= self.lo < self.hi:
            raise OutOfRange(
                f"An aim runs from {self.lo:g} to {self.hi:g} mm.",
                remedy="The first length must be 0 mm or more and the second longer than the first.",
            )
        for name in ("cover", "top", "over"):
            if not 0.0 <= getattr(self, name) <= 1.0:
                raise OutOfRange(f"aim.{name} is {getattr(self, name):g}.", remedy="Give a share of 0 to 1.")
        if self.quiet < 0:
            raise OutOfRange(f"aim.quiet is {self.quiet} days.", remedy="Give 0 days or more.")

    @property
    def over_limit(self) -> Share:
        """``over``, but never so much that the outline of the thinnest allowed coat would leave the band."""
        return min(self.over, OUTLINE_TAIL * self.cover)

    @property
    def middle(self) -> Millimetres:
        """Middle of the band, mm."""
        return 0.5 * (self.lo + self.hi)


ROLLING = {"cover": 0.6, "top": 0.2}
"""Cover and top share that a rolling coat is held to (common practice: cover 0.5 to 0.6)."""
STAGED = {"cover": 0.9, "top": 0.8}
"""Cover and top share that a staged coat is held to on its day (common practice)."""
