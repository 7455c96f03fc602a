"""Exact results for equal takes at equal intervals (coat model, section 2): the first checks of everything else.

``N`` layers, a take of 1/N every ``T`` days, so every hair is pulled at age N T.
"""

from __future__ import annotations

import math

from coatwright.coat.growth import Growth
from coatwright.errors import OutOfRange
from coatwright.units import Days, Millimetres, Share

_ROUNDING = 1e-9


def _ceil(value: float) -> int:
    """``ceil`` that forgives the last bits of a division."""
    return math.ceil(value - _ROUNDING)


def longest_before_pull(layers: int, interval: Days, growth: Growth) -> Millimetres:
    """Longest hair just before a pull, mm: ``min(r (N T - L), E)``."""
    return min(max(growth.speed * (layers * interval - growth.lag), 0.0), growth.end)


def layers_for(longest: Millimetres, interval: Days, growth: Growth) -> float:
    """Layers that make ``longest`` (mm, below E) the longest hair: ``(l / r + L) / T``."""
    if longest >= growth.end:
        raise OutOfRange(
            f"Hair that rests at {growth.end:g} mm cannot be kept at {longest:g} mm by pulling.",
            remedy="Aim below the end length.",
        )
    return (longest / growth.speed + growth.lag) / interval


def cover_after_pull(layers: int, interval: Days, growth: Growth) -> Share:
    """Least cover, just after a pull: ``1 - ceil(L / T) / N``, never below 0."""
    return max(1.0 - _ceil(growth.lag / interval) / layers, 0.0)


def largest_even_take(cover: Share, interval: Days, growth: Growth) -> Share:
    """Largest equal take that keeps ``cover``: ``(1 - f) / ceil(L / T)``; all of it when there is no lag."""
    hidden = max(_ceil(growth.lag / interval), 1)
    return (1.0 - cover) / hidden


def visits_to_convert(take: Share) -> int:
    """Visits until every hair has been pulled once: ``ceil(1 / x)``."""
    if take <= 0:
        raise OutOfRange("A take of nothing never converts a coat.", remedy="Give a share above 0.")
    return _ceil(1.0 / take)


def days_to_convert(take: Share, interval: Days) -> Days:
    """Days from the first to the last of those visits: ``(ceil(1 / x) - 1) T``."""
    return (visits_to_convert(take) - 1) * interval


def ready_window(lo: Millimetres, hi: Millimetres, growth: Growth) -> tuple[Days, Days]:
    """Days after a full pull between which a zone is lo to hi mm long: ``L + lo / r`` to ``L + hi / r``."""
    return growth.lag + lo / growth.speed, growth.lag + hi / growth.speed
