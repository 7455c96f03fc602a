"""The first witness, the ends of the hairs: how many were judged broken, and how often such a judgement errs.

A photo or an eye that judges ends calls some whole hairs broken and some broken hairs whole. With sensitivity ``se``
(broken hairs called broken) and specificity ``sp`` (whole hairs called whole) a break share ``p`` shows as
``q = p se + (1 - p)(1 - sp)`` (Rogan & Gladen 1978, American Journal of Epidemiology 107:71-76). Both are known only
from hairs of known state, counted in :class:`Misjudged`; the belief here carries that doubt along: the binomial
likelihood of ``q`` is averaged over Beta distributions of ``se`` and ``sp``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv

from coatwright.errors import OutOfRange
from coatwright.paper.share import GRID, JEFFREYS, PRIOR, Floats, ShareBelief, check_level
from coatwright.units import Share

NODES = 16
"""Nodes for each of sensitivity and specificity, of equal chance."""


@dataclass(frozen=True, slots=True)
class Misjudged:
    """Counts from hairs whose state was known: how each kind was judged."""

    broken_as_broken: int
    broken_as_whole: int
    whole_as_whole: int
    whole_as_broken: int

    def __post_init__(self) -> None:
        if min(self.broken_as_broken, self.broken_as_whole, self.whole_as_whole, self.whole_as_broken) < 0:
            raise OutOfRange("A count of judged hairs is below 0.", remedy="Give counts of 0 or more.")

    @property
    def sensitivity(self) -> Share:
        """Share of broken hairs judged broken, the mean of its Beta distribution."""
        a, b = self.of_broken
        return a / (a + b)

    @property
    def specificity(self) -> Share:
        """Share of whole hairs judged whole, the mean of its Beta distribution."""
        a, b = self.of_whole
        return a / (a + b)

    @property
    def of_broken(self) -> tuple[float, float]:
        """Beta parameters of the sensitivity, under Jeffreys' prior."""
        return self.broken_as_broken + JEFFREYS, self.broken_as_whole + JEFFREYS

    @property
    def of_whole(self) -> tuple[float, float]:
        """Beta parameters of the specificity, under Jeffreys' prior."""
        return self.whole_as_whole + JEFFREYS, self.whole_as_broken + JEFFREYS


def check_counts(broken: int, judged: int) -> None:
    """Raise :class:`OutOfRange` unless 0 <= ``broken`` <= ``judged`` and at least one hair was judged."""
    if judged < 1:
        raise OutOfRange("No hair was judged.", remedy="Judge the ends of at least one hair.")
    if not 0 <= broken <= judged:
        raise OutOfRange(
            f"{broken} of {judged} hairs are given as broken.",
            remedy="The broken ones must be between 0 and all of them.",
        )


def ends_belief(
    broken: int, judged: int, misjudged: Misjudged | None = None, *, seen: SeenAs | None = None
) -> ShareBelief:
    """What ``broken`` of ``judged`` hairs say about the break share.

    Without ``misjudged`` the count is taken as free of error: what a hand count under a lens comes to. ``seen``
    spares working out :func:`seen_as` of the same ``misjudged`` again.
    """
    check_counts(broken, judged)
    if misjudged is None:
        return ShareBelief.of_beta(broken + PRIOR, judged - broken + PRIOR)
    return ShareBelief.of_likelihood(
        np.log(np.maximum(seen_as(misjudged).likelihood(broken, judged), 1e-300))
    )


@dataclass(frozen=True, slots=True, eq=False)
class SeenAs:
    """Chance that a hair is judged broken, per share on the grid and node of se and sp: shape (cells, nodes)."""

    log_broken: Floats
    log_whole: Floats

    def node_likelihoods(self, broken: int, judged: int) -> Floats:
        """Likelihood of a count per share and node, shape (cells, nodes), scaled to at most 1."""
        value = broken * self.log_broken + (judged - broken) * self.log_whole
        result: Floats = np.exp(value - value.max())
        return result

    def likelihood(self, broken: int, judged: int) -> Floats:
        """Likelihood of a count per share, se and sp averaged out, shape (cells,), up to a constant."""
        result: Floats = self.node_likelihoods(broken, judged).mean(axis=1)
        return result


def seen_as(misjudged: Misjudged, nodes: int = NODES) -> SeenAs:
    """The chances of a judgement for these counts; ``nodes`` squared pairs of se and sp, equally likely."""
    middle = (np.arange(nodes) + 0.5) / nodes
    se = betaincinv(*misjudged.of_broken, middle)
    sp = betaincinv(*misjudged.of_whole, middle)
    pairs_se, pairs_sp = np.repeat(se, nodes), np.tile(sp, nodes)
    q = GRID[:, None] * pairs_se + (1.0 - GRID[:, None]) * (1.0 - pairs_sp)
    q = np.clip(q, 1e-12, 1.0 - 1e-12)
    return SeenAs(np.log(q), np.log1p(-q))


def rogan_gladen(apparent: Share, sensitivity: Share, specificity: Share) -> Share:
    """The share behind an apparent one, kept within 0 to 1 (Rogan & Gladen 1978).

    Raises :class:`OutOfRange` when the judgement is no better than chance.
    """
    gain = sensitivity + specificity - 1.0
    if gain <= 0.0:
        raise OutOfRange(
            f"A sensitivity of {sensitivity:.2f} with a specificity of {specificity:.2f} is no better than chance.",
            remedy="Judge the ends from sharper photos, or under a lens.",
        )
    return min(max((apparent + specificity - 1.0) / gain, 0.0), 1.0)


def clopper_pearson(broken: int, judged: int, level: float = 0.95, *, sided: int = 2) -> tuple[Share, Share]:
    """The exact binomial interval for a count without misjudgement (Clopper & Pearson 1934, Biometrika 26:404-413).

    ``sided`` 2 puts half of what is left out on each side; 1 gives the two one-sided limits at ``level`` each.
    """
    check_counts(broken, judged)
    check_level(level)
    tail = (1.0 - level) / (2.0 if sided == 2 else 1.0)
    low = 0.0 if broken == 0 else float(betaincinv(broken, judged - broken + 1, tail))
    high = 1.0 if broken == judged else float(betaincinv(broken + 1, judged - broken, 1.0 - tail))
    return low, high
