"""Two tools, or two hands: the posterior of the difference of their break shares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coatwright.paper.share import GRID, JEFFREYS, PRIOR, Floats, ShareBelief, check_level
from coatwright.paper.witness_ends import Misjudged, check_counts, ends_belief, seen_as

_STEPS = 4000


@dataclass(frozen=True, slots=True)
class Difference:
    """How much more the first tool breaks than the second.

    ``mean`` and ``interval`` of the difference of the shares (-1 to 1); ``chance`` that the first breaks more.
    """

    mean: float
    interval: tuple[float, float]
    chance: float


def difference(first: ShareBelief, second: ShareBelief, level: float = 0.95) -> Difference:
    """First less second, from two tests that have nothing in common."""
    return _of_joint(np.outer(first.weight, second.weight), level)


def difference_of_ends(
    first: tuple[int, int],
    second: tuple[int, int],
    misjudged: Misjudged | None = None,
    level: float = 0.95,
) -> Difference:
    """First less second, from counts (broken, judged) whose ends were judged by the same means.

    Sensitivity and specificity are uncertain but the same for both, so that most of that doubt falls out of the
    difference: this interval is narrower than the one of :func:`difference`.
    """
    check_counts(*first)
    check_counts(*second)
    if misjudged is None:
        return difference(ends_belief(*first), ends_belief(*second), level)
    seen = seen_as(misjudged)
    prior: Floats = (GRID * (1.0 - GRID)) ** (PRIOR - JEFFREYS)
    joint = seen.node_likelihoods(*first) @ seen.node_likelihoods(*second).T
    joint = joint * np.outer(prior, prior)
    return _of_joint(joint / joint.sum(), level)


def _of_joint(joint: Floats, level: float) -> Difference:
    check_level(level)
    gap = GRID[:, None] - GRID[None, :]
    mean = float((joint * gap).sum())
    cell = np.minimum(((gap + 1.0) * (0.5 * _STEPS)).astype(np.int64), _STEPS - 1)
    mass = np.bincount(cell.ravel(), weights=joint.ravel(), minlength=_STEPS)
    total = np.concatenate([[0.0], np.cumsum(mass)])
    edges = np.linspace(-1.0, 1.0, _STEPS + 1)
    low, high = np.interp([0.5 - 0.5 * level, 0.5 + 0.5 * level], total / total[-1], edges)
    chance = float(np.tril(joint, -1).sum() + 0.5 * np.trace(joint))
    return Difference(mean, (float(low), float(high)), min(chance, 1.0))
