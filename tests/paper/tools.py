"""Simulated sheets for the tests and the table of figures: coats by layers, tools that break, errors of reading.

Nothing here is shared with the code under test: hairs are drawn one by one, not from its densities.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coatwright.paper.witness_ends import Misjudged
from coatwright.paper.witness_lengths import Fingers

SENSITIVITY, SPECIFICITY = 0.96, 0.97
"""What the judging of ends comes to on clear photographs; see the design of the test."""
KNOWN = 150
"""Hairs of each kind whose state was known when sensitivity and specificity were found."""
JUDGEABLE = 0.7
"""Share of hairs whose ends are clear enough to be judged."""
SHORTEST = 2.0
LAWS = ("one layer", "three layers", "five layers")


@dataclass(frozen=True)
class Sheet:
    """Lengths (mm) of a sheet's hairs, which are broken, how ends were judged, the known hairs, the layers."""

    control: np.ndarray
    lengths: np.ndarray
    broken: np.ndarray
    judged: np.ndarray
    misjudged: Misjudged
    means: np.ndarray
    weights: np.ndarray

    @property
    def fingers(self) -> Fingers:
        """The control as the witness takes it."""
        return Fingers(tuple(self.control))


def coat(kind: str, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Means (mm) and weights of the layers that a take brings out."""
    if kind == "one layer":
        return np.array([rng.uniform(20.0, 70.0)]), np.ones(1)
    gap = rng.uniform(5.0, 8.0)
    if kind == "three layers":
        return rng.uniform(25.0, 55.0) - gap * np.arange(3), np.array([0.70, 0.22, 0.08])
    return rng.uniform(42.0, 60.0) - gap * np.arange(5), np.full(5, 0.2)


def hairs(count: int, means: np.ndarray, weights: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Whole hairs: a layer each, 10 % of its mean give or take."""
    chosen = means[rng.choice(len(means), count, p=weights)]
    return np.maximum(chosen * (1.0 + 0.1 * rng.standard_normal(count)), SHORTEST)


def misread(lengths: np.ndarray, share: float, rng: np.random.Generator) -> np.ndarray:
    """Every length 0.15 mm off, and a ``share`` of them wrongly joined at a crossing: half to one and a half."""
    seen = lengths + 0.15 * rng.standard_normal(len(lengths))
    wrong = rng.random(len(lengths)) < share
    return np.maximum(np.where(wrong, seen * rng.uniform(0.5, 1.5, len(lengths)), seen), SHORTEST)


def sheet(
    rng: np.random.Generator,
    broken_share: float,
    kind: str,
    count: int = 100,
    *,
    wrong_joins: float = 0.0,
    stub: float = 0.0,
) -> Sheet:
    """A control and a sheet of ``count`` hairs each; ``stub`` mm: every break leaves this much in the skin."""
    means, weights = coat(kind, rng)
    whole = hairs(count, means, weights, rng)
    broken = rng.random(count) < broken_share
    pieces = whole - stub if stub > 0.0 else whole * rng.random(count)
    while stub == 0.0 and np.any(pieces < SHORTEST):
        again = pieces < SHORTEST
        pieces[again] = whole[again] * rng.random(int(again.sum()))
    judged = np.where(broken, rng.random(count) < SENSITIVITY, rng.random(count) > SPECIFICITY).astype(int)
    judged[rng.random(count) > JUDGEABLE] = -1
    known_broken, known_whole = rng.binomial(KNOWN, SENSITIVITY), rng.binomial(KNOWN, SPECIFICITY)
    return Sheet(
        control=misread(hairs(count, means, weights, rng), wrong_joins, rng),
        lengths=misread(np.where(broken, pieces, whole), wrong_joins, rng),
        broken=broken,
        judged=judged,
        misjudged=Misjudged(known_broken, KNOWN - known_broken, known_whole, KNOWN - known_whole),
        means=means,
        weights=weights,
    )
