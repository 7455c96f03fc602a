"""How many more hairs would settle a doubtful verdict, on what is believed now."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import betaln, gammaln

from coatwright.errors import OutOfRange
from coatwright.paper.share import GRID, PRIOR, Floats, ShareBelief
from coatwright.paper.verdict import DOUBTFUL, FEWEST, LIMIT, word_for
from coatwright.paper.witness_ends import Misjudged, check_counts, ends_belief, seen_as
from coatwright.units import Share

STEPS = (20, 40, 60, 100, 150, 200, 300, 400, 600, 800, 1200, 1600, 2400)
"""Numbers of further hairs that are tried."""
HOPE = 0.8
"""A number settles it when, at what is believed now, this chance of a verdict goes with it."""


@dataclass(frozen=True, slots=True)
class Settling:
    """``more`` hairs that bring a verdict with at least 80 % chance, 0 if there is one, None if none tried does.

    ``chance`` is that chance for ``more`` hairs, or for the most that was tried.
    """

    more: int | None
    chance: float

    @property
    def text(self) -> str:
        """The same in a sentence."""
        if self.more == 0:
            return "The verdict stands."
        if self.more is None:
            return (
                f"Not even {STEPS[-1]} more hairs would settle it for certain: the share lies too near the limit, or "
                "the ends are judged too loosely."
            )
        return f"About {self.more} more hairs would settle it."


def more_for_ends(
    broken: int, judged: int, misjudged: Misjudged | None = None, limit: Share = LIMIT
) -> Settling:
    """How many more judged hairs would settle a count of ends.

    Each number of further hairs is tried with every count of broken ones that may come, weighted by what is believed
    now; the doubt about sensitivity and specificity does not shrink with them.
    """
    check_counts(broken, judged)
    belief = ends_belief(broken, judged, misjudged)
    if judged >= FEWEST and word_for(belief, limit) != DOUBTFUL:
        return Settling(0, 1.0)
    best = 0.0
    for more in STEPS:
        if judged + more < FEWEST:
            continue
        predicted = _next_counts(broken, judged, more, misjudged)
        likely = np.flatnonzero(predicted > 1e-4)
        if len(likely) > 60:
            likely = likely[:: len(likely) // 60 + 1]
        settled = np.array(
            [
                word_for(ends_belief(broken + int(k), judged + more, misjudged), limit) != DOUBTFUL
                for k in likely
            ]
        )
        best = float(predicted[likely] @ settled / predicted[likely].sum())
        if best >= HOPE:
            return Settling(more, best)
    return Settling(None, best)


def more_hairs(belief: ShareBelief, heard: int, limit: Share = LIMIT) -> Settling:
    """How many more hairs like those already heard would settle a belief, whichever witnesses it came from.

    The belief counts for as many clear hairs as a Beta distribution of its mean and spread; further hairs are taken
    to be worth as much each. For ends alone :func:`more_for_ends` is exact.
    """
    if heard < 1:
        raise OutOfRange("No hair was heard.", remedy="Read a sheet first.")
    if heard >= FEWEST and word_for(belief, limit) != DOUBTFUL:
        return Settling(0, 1.0)
    each = min(belief.worth / heard, 1.0)
    clear = belief.worth
    a, b = belief.mean * (clear + 2.0 * PRIOR), (1.0 - belief.mean) * (clear + 2.0 * PRIOR)
    best = 0.0
    for more in STEPS:
        if heard + more < FEWEST:
            continue
        m = max(round(each * more), 1)
        k = np.arange(m + 1.0)
        predicted = np.exp(_log_choose(m, k) + betaln(a + k, b + m - k) - betaln(a, b))
        likely = np.flatnonzero(predicted > 1e-4)
        settled = np.array(
            [word_for(ShareBelief.of_beta(a + i, b + m - i), limit) != DOUBTFUL for i in likely.tolist()]
        )
        best = float(predicted[likely] @ settled / predicted[likely].sum())
        if best >= HOPE:
            return Settling(more, best)
    return Settling(None, best)


def _next_counts(broken: int, judged: int, more: int, misjudged: Misjudged | None) -> Floats:
    """Chance of each number of hairs judged broken among ``more``, shape (more + 1,)."""
    k = np.arange(more + 1.0)
    if misjudged is None:
        a, b = broken + PRIOR, judged - broken + PRIOR
        return np.asarray(np.exp(_log_choose(more, k) + betaln(a + k, b + more - k) - betaln(a, b)))
    seen = seen_as(misjudged, 8)
    weight = seen.node_likelihoods(broken, judged) * ((GRID * (1.0 - GRID)) ** (PRIOR - 0.5))[:, None]
    weight = (weight / weight.sum()).ravel()
    keep = weight > 1e-7
    log_q, log_r = seen.log_broken.ravel()[keep], seen.log_whole.ravel()[keep]
    chances = np.exp(_log_choose(more, k) + log_q[:, None] * k + log_r[:, None] * (more - k))
    result: Floats = weight[keep] @ chances
    return result


def _log_choose(n: int, k: Floats) -> Floats:
    return np.asarray(gammaln(n + 1.0) - gammaln(k + 1.0) - gammaln(n - k + 1.0))
