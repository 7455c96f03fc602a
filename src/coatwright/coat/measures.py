"""What a groomer sees of a zone on a day: cover, outline, layers, overdue, cut share (coat model, section 1)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coatwright.coat.aims import OUTLINE_TAIL, Aim
from coatwright.coat.growth import Floats, Growth, blown, emerged, share_longer
from coatwright.coat.layers import ZoneCoat
from coatwright.units import Day, Millimetres, Share


@dataclass(frozen=True, slots=True)
class Standing:
    """The layers of a zone on a day, as arrays of shape (layers,), oldest first."""

    age: Floats
    share: Floats
    mean: Floats
    visible: Floats
    blown: Floats

    @classmethod
    def of(cls, coat: ZoneCoat, day: Day, growth: Growth) -> Standing:
        """Layers of ``coat`` on ``day``; a layer pulled after that day is an error of the caller."""
        age = day - coat.born
        return cls(
            age=age,
            share=coat.shares,
            mean=coat.lengths(day, growth),
            visible=emerged(age, growth).astype(float),
            blown=blown(age, growth).astype(float),
        )


def _part(total: Floats | float) -> Share:
    """A sum of shares as a share: sums of floats may end a last digit above 1, which no take may."""
    return min(max(float(total), 0.0), 1.0)


def cover(coat: ZoneCoat, day: Day, growth: Growth, stricter_than: Millimetres = 0.0) -> Share:
    """Share of hairs above the skin on ``day``: age at least L, and at least ``stricter_than`` mm long."""
    if stricter_than <= 0.0:
        return _part(coat.shares @ emerged(day - coat.born, growth))
    now = Standing.of(coat, day, growth)
    seen = now.visible * at_least(stricter_than, now.mean, growth.spread)
    return _part(now.share @ seen)


def at_least(threshold: Millimetres, mean: Floats, spread: float) -> Floats:
    """Share of visible hairs of each layer that are at least ``threshold`` mm long."""
    if threshold <= 0.0:
        return np.ones_like(mean)
    return share_longer(threshold, mean, spread)


def outline(coat: ZoneCoat, day: Day, growth: Growth) -> Millimetres:
    """Length (mm) that 5 % of the visible hairs exceed; 0 when none is visible. By bisection to 1e-6 mm."""
    now = Standing.of(coat, day, growth)
    weights = now.share * now.visible
    target = OUTLINE_TAIL * weights.sum()
    if target <= 0.0:
        return 0.0
    low, high = 0.0, float(now.mean.max() * (1.0 + 6.0 * growth.spread)) + 1e-9
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        if weights @ share_longer(middle, now.mean, growth.spread) > target:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def visible_layers(coat: ZoneCoat, day: Day, growth: Growth) -> tuple[Floats, Floats]:
    """Mean lengths (mm) and shares of the visible hairs per layer; the shares add up to 1."""
    now = Standing.of(coat, day, growth)
    weights = now.share * now.visible
    seen = weights > 0.0
    if not seen.any():
        return np.zeros(0), np.zeros(0)
    return now.mean[seen], weights[seen] / weights.sum()


def effective_layers(coat: ZoneCoat, day: Day, growth: Growth) -> float:
    """Effective number of visible layers, ``1 / sum(p_k ** 2)``; 0 when none is visible."""
    _, shares = visible_layers(coat, day, growth)
    return float(1.0 / (shares @ shares)) if shares.size else 0.0


def overdue(coat: ZoneCoat, day: Day, growth: Growth, aim: Aim) -> Share:
    """Share of hairs longer than the aim's longest length, or blown."""
    now = Standing.of(coat, day, growth)
    return _part(now.share @ overdue_part(now.mean, now.blown, growth, aim))


def overdue_part(mean: Floats, is_blown: Floats, growth: Growth, aim: Aim) -> Floats:
    """Share of each layer that is longer than ``aim.hi`` or blown."""
    return np.maximum(share_longer(aim.hi, mean, growth.spread), is_blown)


def in_band_part(mean: Floats, visible: Floats, growth: Growth, aim: Aim) -> Floats:
    """Share of each layer that is visible and between ``aim.lo`` and ``aim.hi``."""
    longer = share_longer(aim.hi, mean, growth.spread)
    return visible * np.maximum(at_least(aim.lo, mean, growth.spread) - longer, 0.0)


def in_band(coat: ZoneCoat, day: Day, growth: Growth, aim: Aim) -> Share:
    """Share of hairs that are visible and between ``aim.lo`` and ``aim.hi``: the top that carries the outline."""
    now = Standing.of(coat, day, growth)
    return _part(now.share @ in_band_part(now.mean, now.visible, growth, aim))


def cut_share(coat: ZoneCoat) -> Share:
    """Share of hairs with a blunt tip."""
    return _part(coat.shares[coat.removed > 0].sum())
