"""Draws as a normal distribution that proposes moves: what zones share, and each zone given that."""

from __future__ import annotations

from typing import Any

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.learning.evidence import Packed
from coatwright.learning.lanes import compiled
from coatwright.learning.priors import TRAITS
from coatwright.learning.state import State


class Guide:
    """The draws at one temperature as a normal distribution.

    Whatever it gets wrong is put right by what is accepted. A zone's own numbers are its traits, its takes and the
    misreadings of its first layers, in this order.
    """

    def __init__(self, state: State, pack: Packed) -> None:
        zones = state.zones.shape[1]
        takes, starts = pack.takes_of, pack.starts_of
        widths = [len(TRAITS) + len(a) + len(b) for a, b in zip(takes, starts, strict=True)]
        self.width = sum(widths)
        self.takes, self.starts = takes, starts
        shared = np.concatenate([state.dog, state.bias], axis=1)
        self.shared_width = count = shared.shape[1]
        means: Floats = np.empty(self.width)
        slopes: Floats = np.empty((self.width, count))
        roots: Floats = np.zeros((zones, max(widths), max(widths)))
        inverses: Floats = np.zeros_like(roots)
        place = np.concatenate([[0], np.cumsum(widths)]).astype(np.int64)
        for z, width in enumerate(widths):
            middle, covariance = moments(np.concatenate([shared, self.own(state, z)], axis=1), state.weight)
            mean, among = middle[:count], covariance[:count, :count]
            root = _root(among)
            means[place[z] : place[z + 1]] = middle[count:]
            slope = slopes[place[z] : place[z + 1]] = slope_of(covariance, count)
            roots[z, :width, :width] = _root(covariance[count:, count:] - slope @ covariance[:count, count:])
            inverses[z, :width, :width] = np.linalg.inv(roots[z, :width, :width])
        self.mean, self.inverse, self.place, self.slopes = mean, np.linalg.inv(root), place, slopes
        self.arrays = (mean, root, self.inverse, place, means, slopes, roots, inverses)

    def own(self, state: State, z: int) -> Floats:
        """A zone's own numbers, shape (draws, numbers)."""
        return np.concatenate(
            [state.zones[:, z], state.takes[:, self.takes[z]], state.starts[:, self.starts[z]]], axis=1
        )

    def put(self, state: State, z: int, own: Floats) -> None:
        """Set a zone's own numbers in the arrays of ``state``."""
        ends = np.cumsum([len(TRAITS), len(self.takes[z])])
        state.zones[:, z], state.takes[:, self.takes[z]], state.starts[:, self.starts[z]] = np.split(
            own, ends, axis=1
        )


def moments(numbers: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of weighted draws (draws, numbers), summed in their order by one thread."""
    mean: Floats = weight @ numbers
    covariance: Floats = np.zeros((len(mean), len(mean)))
    _add_squares(numbers - mean, weight, covariance)
    return mean, covariance + np.tril(covariance, -1).T


def slope_of(covariance: Floats, count: int) -> Floats:
    """By how much the other numbers move with the first ``count`` ones, shape (others, count)."""
    root = _root(covariance[:count, :count])
    return np.asarray(np.linalg.solve(root @ root.T, covariance[:count, count:]).T, dtype=float)


@compiled
def _add_squares(off: Any, weight: Any, covariance: Any) -> None:
    for d in range(len(off)):
        for i in range(off.shape[1]):
            part = weight[d] * off[d, i]
            for j in range(i + 1):
                covariance[i, j] += part * off[d, j]


def _root(covariance: Floats) -> Floats:
    """Lower root of a covariance, a millionth of its diagonal added so that it has one."""
    ridge = 1e-6 * np.diag(covariance) + 1e-12
    found: Floats = np.linalg.cholesky(covariance + np.diag(ridge)).astype(float)
    return found
