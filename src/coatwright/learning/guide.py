"""Draws as a normal distribution that proposes moves: what zones share, and each zone given that."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coatwright.coat.growth import Floats
from coatwright.learning.evidence import Packed
from coatwright.learning.priors import TRAITS
from coatwright.learning.state import State

Ints = NDArray[np.int64]

ENOUGH = 1500
"""Draws that are enough to tell the means and covariances."""


class Guide:
    """The draws at one temperature as a normal distribution.

    Whatever it gets wrong is put right by what is accepted. A zone's own numbers are its traits, its takes and the
    misreadings of its first layers, in this order.
    """

    def __init__(self, state: State, pack: Packed) -> None:
        zones = state.zones.shape[1]
        takes: list[Ints] = [np.flatnonzero(pack.takes[:, 1] == z) for z in range(zones)]
        starts: list[Ints] = [np.flatnonzero(pack.start_zone == z) for z in range(zones)]
        widths = [len(TRAITS) + len(a) + len(b) for a, b in zip(takes, starts, strict=True)]
        self.width = sum(widths)
        few = state if len(state) <= ENOUGH else state.picked(ENOUGH)
        weight = few.weight[:, None]
        shared = np.concatenate([few.dog, few.bias], axis=1)
        self.shared_width = shared.shape[1]
        mean = (weight * shared).sum(axis=0)
        off = shared - mean
        root = _root(off.T @ (weight * off))
        spread = np.linalg.inv(root @ root.T)
        means: Floats = np.empty(self.width)
        slopes: Floats = np.empty((self.width, self.shared_width))
        roots: Floats = np.zeros((zones, max(widths), max(widths)))
        inverses: Floats = np.zeros_like(roots)
        place = np.concatenate([[0], np.cumsum(widths)]).astype(np.int64)
        for z, width in enumerate(widths):
            own = np.concatenate([few.zones[:, z], few.takes[:, takes[z]], few.starts[:, starts[z]]], axis=1)
            middle: Floats = (weight * own).sum(axis=0)
            slope: Floats = spread @ (off.T @ (weight * (own - middle)))
            rest = own - middle - off @ slope
            means[place[z] : place[z + 1]] = middle
            slopes[place[z] : place[z + 1]] = slope.T
            roots[z, :width, :width] = _root(rest.T @ (weight * rest))
            inverses[z, :width, :width] = np.linalg.inv(roots[z, :width, :width])
        self.arrays = (
            mean, root, np.linalg.inv(root), place, means, slopes, roots, inverses,
            *_listed(takes), *_listed(starts),
        )  # fmt: skip


def _listed(columns: list[Ints]) -> tuple[Ints, Ints]:
    """Lists of columns one after the other, and where each begins."""
    where = np.concatenate([[0], np.cumsum([len(each) for each in columns])]).astype(np.int64)
    return where, np.concatenate([*columns, np.zeros(0)]).astype(np.int64)


def _root(covariance: Floats) -> Floats:
    """Lower root of a covariance, a millionth of its diagonal added so that it has one."""
    ridge = 1e-6 * np.diag(covariance) + 1e-12
    found: Floats = np.linalg.cholesky(covariance + np.diag(ridge)).astype(float)
    return found
