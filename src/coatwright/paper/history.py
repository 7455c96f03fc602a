"""A tool over time: does its edge go dull?

The break share of each test is read as ``logit(share) = level + slope * time + scatter``, where the scatter (coats
and days differ) is normal and its size uncertain too. Level, slope and size are integrated on a grid; each test
enters with the whole likelihood of its belief, so a small or ill-judged sheet weighs little.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logit

from coatwright.errors import OutOfRange
from coatwright.paper.share import GRID, PRIOR, Floats, ShareBelief
from coatwright.units import Day, Days, Share

FEWEST_TESTS = 3
SURE = 0.95
FACTOR_DAYS: Days = 14.0
"""Tests that span less tell whether an edge goes dull, but not by how much in 100 days: what a few days show, drawn
out to a hundred, is no more than the prior."""
STEADY, DULLING, MENDING, UNKNOWN = (
    "no change shown",
    "going dull",
    "breaks less than before",
    "too few tests",
)
_LEVELS: Floats = np.linspace(-10.0, 4.0, 113)
_SLOPES: Floats = np.linspace(-4.0, 4.0, 65)
_SLOPE_SD = 1.5
"""Prior: half the change in log odds from the first test to the last."""
_SCATTERS = ((0.0, 0.30), (0.25, 0.36), (0.5, 0.23), (1.0, 0.11))
"""Sizes of the scatter in log odds, and their prior chances: about a half-normal of 0.5."""


@dataclass(frozen=True, slots=True)
class ToolTest:
    """One test of a tool: its day and what was believed after it."""

    day: Day
    belief: ShareBelief


@dataclass(frozen=True, slots=True)
class Trend:
    """How the break share of a tool moves.

    ``word``; ``chance`` that it grows; ``factor`` and ``interval`` (95 %): by what the odds of a break are
    multiplied in 100 days, None where the tests lie within 14 days; ``days`` of the tests and, per test, the
    ``shares`` the line goes through: low, median and high (95 %).
    """

    word: str
    chance: float
    factor: float | None
    interval: tuple[float, float] | None
    days: tuple[Day, ...]
    shares: tuple[tuple[Share, Share, Share], ...]

    @property
    def text(self) -> str:
        """The trend in two sentences."""
        chance, side = (self.chance, "grow") if self.chance >= 0.5 else (1.0 - self.chance, "fall")
        sure = f"that they {side} has a chance of {'above 99' if chance > 0.99 else f'{100 * chance:.0f}'} %."
        if self.factor is None or self.interval is None:
            few = f"Tests within {FACTOR_DAYS:.0f} days do not tell how fast the odds of a break change"
            return f"{self.word.capitalize()}. {few}; {sure}"
        low, high = (_times(value) for value in self.interval)
        by = f"In 100 days the odds of a break are multiplied by {_times(self.factor)} ({low} to {high})"
        return f"{self.word.capitalize()}. {by}; {sure}"


def trend(tests: Sequence[ToolTest]) -> Trend:
    """The trend through the tests of one tool since it was last sharpened; at least two different days."""
    days = np.array([test.day for test in tests], dtype=float)
    if len(days) < 2 or np.ptp(days) <= 0.0:
        raise OutOfRange(
            "A trend takes tests from at least two days.", remedy="Test the tool again on another day."
        )
    half = 0.5 * float(np.ptp(days))
    x = (days - days.min()) / half - 1.0
    weight = _posterior(tests, x)
    by_slope = weight.sum(axis=0)
    chance = float(by_slope[_SLOPES > 0.0].sum() + 0.5 * by_slope[_SLOPES == 0.0].sum())
    factor, interval = None, None
    if 2.0 * half >= FACTOR_DAYS:  # at most exp(4 * 100 / 7), far below the largest number
        low, factor, high = (math.exp(v * 100.0 / half) for v in _quantiles(_SLOPES, by_slope))
        interval = low, high
    if len(tests) < FEWEST_TESTS:
        word = UNKNOWN
    else:
        word = DULLING if chance >= SURE else MENDING if chance <= 1.0 - SURE else STEADY
    shares = []
    for place in x:
        line = (_LEVELS[:, None] + _SLOPES * place).ravel()
        order = np.argsort(line)
        found = expit(np.array(_quantiles(line[order], weight.ravel()[order])))
        shares.append((float(found[0]), float(found[1]), float(found[2])))
    return Trend(word, chance, factor, interval, tuple(int(d) for d in days), tuple(shares))


def _times(factor: float) -> str:
    """A factor as it is said."""
    if factor < 0.095:
        return f"{factor:.2f}" if factor >= 0.01 else "less than 0.01"
    return f"{factor:.1f}" if factor < 9.95 else f"{factor:.0f}" if factor < 1000 else "over 1000"


def _posterior(tests: Sequence[ToolTest], x: Floats) -> Floats:
    """Weight of each level and slope, shape (levels, slopes), adding up to 1."""
    share = expit(_LEVELS)
    prior = (PRIOR * np.log(share * (1.0 - share)))[:, None] - 0.5 * (_SLOPES / _SLOPE_SD) ** 2
    nodes, node_weights = np.polynomial.hermite_e.hermegauss(9)
    node_weights = node_weights / node_weights.sum()
    places = logit(GRID)
    parts = []
    for size, plausible in _SCATTERS:
        total = prior + math.log(plausible)
        for test, place in zip(tests, x, strict=True):
            line = _LEVELS[:, None] + _SLOPES * place
            log_likelihood = test.belief.log_likelihood
            likelihood = np.exp(log_likelihood - log_likelihood.max())
            if size == 0.0:
                smooth = np.interp(line, places, likelihood)
            else:
                smooth = np.tensordot(
                    np.interp(line[..., None] + size * nodes, places, likelihood), node_weights, axes=1
                )
            total = total + np.log(np.maximum(smooth, 1e-300))
        parts.append(total)
    log_weight = np.logaddexp.reduce(parts)
    weight: Floats = np.exp(log_weight - np.logaddexp.reduce(log_weight.ravel()))
    return weight


def _quantiles(values: Floats, weight: Floats) -> tuple[float, float, float]:
    """2.5, 50 and 97.5 % of a weighted grid, each value standing for a cell around it."""
    total = np.cumsum(weight) - 0.5 * weight
    low, middle, high = np.interp([0.025, 0.5, 0.975], total, values)
    return float(low), float(middle), float(high)
