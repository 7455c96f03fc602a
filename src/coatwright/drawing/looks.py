"""What one zone looks like on a day: the lengths and shares of its layers, ready to be drawn."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from coatwright.coat.growth import Growth, emerged
from coatwright.coat.layers import UNDERCOATS, ZoneCoat
from coatwright.drawing.curves import Bools, Floats
from coatwright.errors import OutOfRange
from coatwright.units import Day, Millimetres, Share


@dataclass(frozen=True, slots=True, eq=False)
class ZoneLook:
    """The hair of one zone as it stands on a day, oldest layer first.

    ``lengths_mm``  mean length per layer, shape (layers,); 0 = nothing to see of it
    ``shares``      share of the zone's hairs per layer; together at most 1, the rest is bare
    ``spread``      coefficient of variation of the lengths within a layer
    ``cut``         whether the hairs of a layer have blunt tips, shape (layers,)
    ``undercoat``   "none", "some" or "packed"
    ``turn``        share of the zone pulled since the record began: keeps a hair on its root over a pull
    """

    key: str
    lengths_mm: Floats
    shares: Floats
    spread: float = 0.10
    cut: Bools = field(default_factory=lambda: np.zeros(0, dtype=bool))
    undercoat: str = "some"
    turn: Share = 0.0

    def __post_init__(self) -> None:
        lengths = _array(self.lengths_mm)
        shares = _array(self.shares)
        cut = np.asarray(self.cut, dtype=bool)
        if cut.size == 0:
            cut = np.zeros(lengths.shape, dtype=bool)
        if not lengths.shape == shares.shape == cut.shape:
            raise OutOfRange(
                f"The look of {self.key} has {lengths.size} lengths, {shares.size} shares and {cut.size} marks "
                "of cut hair.",
                remedy="Give one of each per layer.",
            )
        if np.any(lengths < 0) or np.any(shares < 0) or shares.sum() > 1.0 + 1e-6:
            raise OutOfRange(
                f"The look of {self.key} has a negative length or share, or more than 100 % of hair.",
                remedy="Lengths and shares must be 0 or more, and the shares add up to 100 % at most.",
            )
        if not 0.0 <= self.spread <= 0.5 or self.undercoat not in UNDERCOATS:
            raise OutOfRange(
                f"The look of {self.key} has spread {self.spread:g} and undercoat {self.undercoat!r}.",
                remedy=f"The spread lies between 0 and 0.5; the undercoat is one of {', '.join(UNDERCOATS)}.",
            )
        object.__setattr__(self, "lengths_mm", lengths)
        object.__setattr__(self, "shares", shares)
        object.__setattr__(self, "cut", cut)

    @property
    def cover(self) -> Share:
        """Share of the zone's hairs that can be seen."""
        return float(self.shares[self.lengths_mm > 0.0].sum())

    @property
    def mean_mm(self) -> Millimetres:
        """Mean length of the hairs that can be seen, mm; 0 for a bare zone."""
        return float(self.shares @ self.lengths_mm / self.cover) if self.cover > 0.0 else 0.0

    @property
    def longest_mm(self) -> Millimetres:
        """Mean length of the longest layer that can be seen, mm; 0 for a bare zone."""
        seen = self.lengths_mm[self.shares > 0.0]
        return float(seen.max()) if seen.size else 0.0

    @property
    def veil(self) -> float:
        """How much of the skin the hair hides, 0 to 1: a matter of drawing, not a quantity of the model.

        Hairs 0.1 mm thick, 2 to the square millimetre (assumptions: guard hairs of wire coats measure 0.08 to
        0.13 mm), hide ``1 - exp(-0.2 * hair)``, ``hair`` being the sum of share times length in mm; below a
        cover of 40 % long hairs alone no longer close the coat.
        """
        hair = float(self.shares @ self.lengths_mm)
        return float((1.0 - np.exp(-0.2 * hair)) * min(1.0, self.cover / 0.4))


def look_of(zone_key: str, coat: ZoneCoat, day: Day, growth: Growth, *, turn: Share = 0.0) -> ZoneLook:
    """The look of a zone's coat on ``day``: layers that have not yet broken through are bare skin."""
    ages = day - coat.born
    return ZoneLook(
        key=zone_key,
        lengths_mm=np.where(emerged(ages, growth), coat.lengths(day, growth), 0.0),
        shares=coat.shares,
        spread=growth.spread,
        cut=coat.removed > 0.0,
        undercoat=coat.undercoat,
        turn=turn,
    )


def _array(values: ArrayLike) -> Floats:
    return np.atleast_1d(np.asarray(values, dtype=float))
