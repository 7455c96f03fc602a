"""What a zone should be: an outline between two lengths, enough cover, and quiet before the day."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coatwright.coat.growth import Growth
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


ROLLING_COVER: Share = 0.6
"""Cover that a rolling coat is held to; common practice is 0.5 to 0.6."""
ROLLING_TOP: Share = 0.1
"""Least share in the band in a rolling coat: half of a usual layer, see docs/decisions."""
STAGED_COVER: Share = 0.9
STAGED_TOP: Share = 0.8
"""Cover and share in the band of a staged coat on its day; common practice."""


def staged_aim(lo: Millimetres, hi: Millimetres, *, quiet: int = 2) -> Aim:
    """The aim of a zone on the day of a staged coat: nearly every hair in the band."""
    return Aim(lo, hi, STAGED_COVER, STAGED_TOP, quiet=quiet)


ROLLING_LAYERS = 4
"""Least number of fortnightly layers with which a zone is rolled. With three, a third is due at every visit, which
steps of 5 % cannot hold: a little hair is always left for a fourth visit and is too long by then."""


def rolling_aim(
    lo: Millimetres,
    hi: Millimetres,
    growth: Growth,
    *,
    cover: Share = ROLLING_COVER,
    cap: Share = 1.0,
    quiet: int = 2,
) -> Aim:
    """The aim of a zone of a rolling coat: some hair in the band, none beyond, and as much cover as can be had.

    Where ``hi`` is shorter than a zone can be rolled to (:func:`rolling_shortest`), the band ends there; where
    ``lo`` is longer than the longest hair left just after a fortnightly pull, it begins there. The cover asked is
    ``cover`` where equal takes can hold it, else nine tenths of what they can (takes come in steps of 5 %).
    """
    longest = max(hi, rolling_shortest(growth, cap))
    most = rolling_cover(longest, growth)
    return Aim(
        min(lo, _left_after_pull(longest, growth)),
        longest,
        cover if most >= cover else 0.9 * most,
        ROLLING_TOP,
        quiet=quiet,
    )


def _left_after_pull(hi: Millimetres, growth: Growth) -> Millimetres:
    """Longest hair just after a fortnightly pull that keeps a zone below ``hi``: ``r ((N - 1) 14 - L)``, mm."""
    from coatwright.coat.closed_forms import layers_for, longest_before_pull

    longest = hi / (1.0 + 1.04 * growth.spread)
    if longest >= growth.end:
        return hi
    return longest_before_pull(int(layers_for(longest, 14, growth) + 1e-9) - 1, 14, growth)


def rolling_shortest(growth: Growth, cap: Share = 1.0) -> Millimetres:
    """The shortest that a zone can be kept by pulls no larger than ``cap`` every two weeks, mm.

    ``1 / cap`` visits pass before a hair's turn comes again, and half a visit more since visits slip and a zone
    starts uneven; never fewer than :data:`ROLLING_LAYERS`. Over so many visits N hair grows to ``r (14 N - L)`` mm,
    and 85 % of its layer are below 1.04 standard deviations more: 14 mm with the growth of the prior. A zone with
    a shorter aim (head, front) is kept at up to that through the year and taken right down for a show.
    """
    by_cap = math.ceil(1.0 / max(cap, 0.05) - 1e-9) + 0.5 if cap < 1.0 else 0.0
    visits = max(by_cap, float(ROLLING_LAYERS))
    longest = growth.speed * max(14.0 * visits - growth.lag, 0.0) * (1.0 + 1.04 * growth.spread)
    return min(longest, growth.end)


def rolling_cover(hi: Millimetres, growth: Growth) -> Share:
    """Greatest cover that equal takes hold at weekly or fortnightly visits with no hair beyond ``hi``.

    A hair under the skin for L days and above it for only hi / r cannot cover much: short zones (head, ears)
    are thin in every rolling coat. The layers are counted so that 85 % of the longest one stays below ``hi``
    (3 % of all hairs may be over it, and a layer is a fifth or less); formula: coat model, section 2,
    ``1 - ceil(L / T) / N`` with ``N = floor((hi' / r + L) / T)``.
    """
    from coatwright.coat.closed_forms import cover_after_pull, layers_for

    longest = hi / (1.0 + 1.04 * growth.spread)
    if longest >= growth.end:
        return 1.0
    layers = {days: int(layers_for(longest, days, growth) + 1e-9) for days in (7, 14)}
    return max(cover_after_pull(n, days, growth) if n else 0.0 for days, n in layers.items())
