"""How many more hairs would settle a doubtful verdict, on what is believed now."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.special import betaincc, betaln, gammaln

from coatwright.errors import OutOfRange
from coatwright.paper.share import GRID, JEFFREYS, PRIOR, Floats, ShareBelief
from coatwright.paper.verdict import BREAKS, DOUBTFUL, FEWEST, LIMIT, SOUND, word_for, word_of
from coatwright.paper.witness_ends import Misjudged, SeenAs, check_counts, ends_belief, seen_as
from coatwright.units import Share

STEPS = (20, 40, 60, 80, 100, 150, 200, 300, 400, 600, 800, 1200, 1600, 2400)
"""Numbers of further hairs that are tried."""
_CELLS = 400
EVEN, HOPE = 0.5, 0.8
"""Chances of a verdict, at what is believed now, for which a number of further hairs is named."""


@dataclass(frozen=True, slots=True)
class Settling:
    """How many more hairs bring a verdict: as likely as not (``even``), and four times in five (``more``).

    Both are 0 when the verdict stands, and None when none of the numbers tried is enough. ``chance`` is that of
    a verdict with ``more`` hairs, or with the most that was tried. ``instead`` is said where no hairs help.
    """

    even: int | None
    more: int | None
    chance: float
    instead: str = ""

    @property
    def text(self) -> str:
        """The same in a sentence."""
        if self.instead:
            return self.instead
        if self.more == 0:
            return "The verdict stands."
        if self.even is None:
            return (
                f"Not even {STEPS[-1]} more hairs would be likely to settle it: the share lies too near the limit, "
                "or too few hairs of known state were judged."
            )
        if self.more == self.even:
            return f"About {self.more} more hairs would most likely settle it."
        rest = (
            f"for four times in five it takes {self.more}"
            if self.more
            else f"not even {STEPS[-1]} would do so four times in five"
        )
        return f"About {self.even} more hairs would settle it as likely as not; {rest}."


def more_for_ends(
    broken: int, judged: int, misjudged: Misjudged | None = None, limit: Share = LIMIT
) -> Settling:
    """How many more judged hairs would settle a count of ends.

    Each number of further hairs is tried with every count of broken ones that may come, weighted by what is believed
    now; the doubt about sensitivity and specificity does not shrink with them.
    """
    check_counts(broken, judged)
    seen = None if misjudged is None else seen_as(misjudged)

    def after(count: int, of: int) -> float:
        return ends_belief(count, of, misjudged, seen=seen).above(limit)

    if judged >= FEWEST and word_of(after(broken, judged)) != DOUBTFUL:
        return Settling(0, 0, 1.0)
    return _first_of(
        (
            more,
            _chance(
                _next_counts(broken, judged, more, seen), partial(_ends_over, after, broken, judged, more)
            ),
        )
        for more in STEPS
        if judged + more >= FEWEST
    )


def more_hairs(belief: ShareBelief, heard: int, limit: Share = LIMIT) -> Settling:
    """How many more hairs like those already heard would settle a belief, whichever witnesses it came from.

    The belief counts for as many clear hairs as a Beta distribution of its mean and spread; further hairs are taken
    to be worth as much each, which is too hopeful where few hairs of known state were judged. For ends alone
    :func:`more_for_ends` is exact.
    """
    if heard < 1:
        raise OutOfRange("No hair was heard.", remedy="Read a sheet first.")
    if heard >= FEWEST and word_for(belief, limit) != DOUBTFUL:
        return Settling(0, 0, 1.0)
    clear = belief.worth
    each = min(clear / heard, 1.0)
    a, b = belief.mean * (clear + 2.0 * PRIOR), (1.0 - belief.mean) * (clear + 2.0 * PRIOR)

    def chances() -> Iterator[tuple[int, float]]:
        for more in STEPS:
            if heard + more < FEWEST:
                continue
            m = max(round(each * more), 1)
            k = np.arange(m + 1.0)
            predicted = np.exp(_log_choose(m, k) + betaln(a + k, b + m - k) - betaln(a, b))
            yield more, _chance(predicted, partial(_beta_over, a, b, m, limit))

    return _first_of(chances())


def _ends_over(after: Callable[[int, int], float], broken: int, judged: int, more: int, k: int) -> float:
    return after(broken + k, judged + more)


def _beta_over(a: float, b: float, m: int, limit: Share, k: int) -> float:
    return float(betaincc(a + k, b + m - k, limit))


def _first_of(chances: Iterable[tuple[int, float]]) -> Settling:
    even, chance = None, 0.0
    for more, chance in chances:
        if even is None and chance >= EVEN:
            even = more
        if chance >= HOPE:
            return Settling(even, more, chance)
    return Settling(even, None, chance)


def _chance(predicted: Floats, over: Callable[[int], float]) -> float:
    """Chance of a verdict: ``predicted`` (m + 1,) chances of k broken, ``over(k)`` the chance above the limit then.

    ``over`` grows with k, so that the counts that clear the tool and those that accuse it are found by halving.
    """
    last = len(predicted) - 1
    sound = bisect_left(range(last + 1), True, key=lambda k: word_of(over(k)) != SOUND)
    breaks = bisect_left(range(last + 1), True, key=lambda k: word_of(over(k)) == BREAKS)
    return float(predicted[:sound].sum() + predicted[breaks:].sum())


def _next_counts(broken: int, judged: int, more: int, seen: SeenAs | None) -> Floats:
    """Chance of each number of hairs judged broken among ``more``, shape (more + 1,)."""
    k = np.arange(more + 1.0)
    if seen is None:
        a, b = broken + PRIOR, judged - broken + PRIOR
        return np.asarray(np.exp(_log_choose(more, k) + betaln(a + k, b + more - k) - betaln(a, b)))
    prior: Floats = (GRID * (1.0 - GRID)) ** (PRIOR - JEFFREYS)
    weight = seen.node_likelihoods(broken, judged) * prior[:, None]
    called = np.exp(seen.log_broken)
    cell = (np.arcsin(np.sqrt(called)) * (_CELLS / (0.5 * np.pi))).astype(np.int64).ravel()
    held = np.bincount(cell, weights=weight.ravel(), minlength=_CELLS)
    mean = np.bincount(cell, weights=(weight * called).ravel(), minlength=_CELLS)
    keep = held > 1e-9 * held.sum()
    q = mean[keep] / held[keep]
    chances = np.exp(_log_choose(more, k) + np.log(q)[:, None] * k + np.log1p(-q)[:, None] * (more - k))
    result: Floats = held[keep] / held[keep].sum() @ chances
    return result


def _log_choose(n: int, k: Floats) -> Floats:
    return np.asarray(gammaln(n + 1.0) - gammaln(k + 1.0) - gammaln(n - k + 1.0))
