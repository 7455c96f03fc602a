"""What is believed of a break share after a test: a distribution over 0 to 1, kept on a fixed grid.

The grid is even in the arcsine of the root of the share, ``share = sin(phi)**2``: its cells are narrow where shares
are small. In that measure Jeffreys' prior of a binomial share is flat (Brown, Cai & DasGupta 2001, Statistical
Science 16:101-133, cited from memory). Hairs that can be misjudged say less about small shares than clear ones do,
which calls for a prior that is less steep at 0: it lies between Jeffreys' and the even one. The coverage that
follows was measured: ``docs/reference/paper-test-figures.md``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc

from coatwright.errors import OutOfRange
from coatwright.units import Share

Floats = NDArray[np.float64]

CELLS = 600
_EDGE_ANGLES: Floats = np.linspace(0.0, 0.5 * math.pi, CELLS + 1)
EDGES: Floats = np.sin(_EDGE_ANGLES) ** 2
"""Edges of the cells, shape (CELLS + 1,)."""
GRID: Floats = np.sin(0.5 * (_EDGE_ANGLES[1:] + _EDGE_ANGLES[:-1])) ** 2
"""The share in the middle of each cell, shape (CELLS,)."""
PRIOR = 2.0 / 3.0
"""Both parameters of the Beta prior of a break share: between Jeffreys' (0.5) and the even one (1)."""
JEFFREYS = 0.5
"""Both parameters of the Beta prior of a sensitivity or specificity."""
_LOG_PRIOR: Floats = (PRIOR - JEFFREYS) * np.log(GRID * (1.0 - GRID))


@dataclass(frozen=True, slots=True, eq=False)
class ShareBelief:
    """A distribution of a share: ``weight`` per cell of :data:`GRID`, shape (CELLS,), adding up to 1."""

    weight: Floats

    @classmethod
    def of_likelihood(cls, log_likelihood: Floats) -> ShareBelief:
        """The posterior, under the prior above, of a log likelihood given on :data:`GRID`."""
        log_weight = log_likelihood + _LOG_PRIOR
        weight = np.exp(log_weight - log_weight.max())
        return cls(weight / weight.sum())

    @classmethod
    def of_beta(cls, a: float, b: float) -> ShareBelief:
        """A Beta distribution, exact to the cells."""
        return cls(np.diff(betainc(a, b, EDGES)))

    @classmethod
    def of_counts(cls, chance: Floats) -> ShareBelief:
        """The posterior when k of n hairs broke with the given ``chance`` of each k, shape (n + 1,)."""
        n = len(chance) - 1
        k = np.flatnonzero(chance > 0.0).astype(float)
        cumulative = betainc(k[:, None] + PRIOR, n - k[:, None] + PRIOR, EDGES)
        weight = chance[chance > 0.0] @ np.diff(cumulative, axis=1)
        return cls(weight / weight.sum())

    @property
    def log_likelihood(self) -> Floats:
        """The log likelihood on :data:`GRID` that this belief holds, up to a constant; the prior taken off."""
        result: Floats = np.log(np.maximum(self.weight, 1e-300)) - _LOG_PRIOR
        return result

    @property
    def mean(self) -> Share:
        """Its mean."""
        return float(self.weight @ GRID)

    @property
    def sd(self) -> float:
        """Its standard deviation."""
        return math.sqrt(max(float(self.weight @ (GRID - self.mean) ** 2), 0.0))

    @property
    def median(self) -> Share:
        """As likely below as above this share."""
        return self.quantile(0.5)

    def quantile(self, level: float) -> Share:
        """The share that the true one lies below with chance ``level``."""
        total = np.concatenate([[0.0], np.cumsum(self.weight)])
        angle = float(np.interp(level, total / total[-1], _EDGE_ANGLES))
        return math.sin(angle) ** 2

    def interval(self, level: float = 0.95) -> tuple[Share, Share]:
        """The shortest interval that holds ``level`` of the distribution, short as measured in ``phi``.

        In that measure it holds the most plausible shares, and it reaches down to 0 where 0 is one of them.
        """
        check_level(level)
        total = np.concatenate([[0.0], np.cumsum(self.weight)])
        total = total / total[-1]
        starts = total[total <= 1.0 - level]
        ends = np.interp(starts + level, total, _EDGE_ANGLES)
        best = int(np.argmin(ends - _EDGE_ANGLES[: len(starts)]))
        return float(EDGES[best]), math.sin(float(ends[best])) ** 2

    def above(self, limit: Share) -> float:
        """Chance that the share lies above ``limit``."""
        total = np.concatenate([[0.0], np.cumsum(self.weight)])
        angle = math.asin(math.sqrt(min(max(limit, 0.0), 1.0)))
        return float(np.clip(1.0 - np.interp(angle, _EDGE_ANGLES, total / total[-1]), 0.0, 1.0))

    @property
    def worth(self) -> float:
        """How many hairs without any doubt about them would leave as much uncertainty (Beta of equal moments)."""
        spread = self.sd**2
        if spread <= 0.0:
            return math.inf
        return max(self.mean * (1.0 - self.mean) / spread - 1.0 - 2.0 * PRIOR, 0.0)


def check_level(level: float) -> float:
    """``level`` if an interval can have it, else :class:`OutOfRange`."""
    if not 0.0 < level < 1.0:
        raise OutOfRange(
            f"An interval of {100 * level:g} % cannot be given.", remedy="Give a level such as 0.95 (95 %)."
        )
    return level
