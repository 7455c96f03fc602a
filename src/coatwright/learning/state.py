"""Weighted draws of all that is not known of a dog."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coatwright.coat.growth import Floats
from coatwright.units import Day


@dataclass(frozen=True, slots=True)
class State:
    """Weighted draws of what is not known of a dog, after the records up to ``day``.

    ``dog``     (draws, traits)         what its zones share, against the centre
    ``bias``    (draws, groomers)       habit: ln strength of the hand, see :func:`coatwright.learning.priors.really`
    ``zones``   (draws, zones, traits)  traits against the centre, all three parts together
    ``takes``   (draws, pulls)          ln strength of the hand at every take
    ``starts``  (draws, latents)        how far the shares of the first layers were misread, in standard deviations
    ``weight``  (draws,)                adding up to 1
    """

    day: Day
    dog: Floats
    bias: Floats
    zones: Floats
    takes: Floats
    starts: Floats
    weight: Floats

    def __len__(self) -> int:
        return len(self.weight)

    @property
    def effective(self) -> float:
        """Effective number of draws, ``1 / sum(w ** 2)``."""
        return float(1.0 / (self.weight**2).sum())

    def picked(self, count: int) -> State:
        """So many draws of equal weight, evenly spaced along the sum of the weights."""
        return self.at(self.places(count))

    def places(self, count: int, offset: float = 0.5) -> NDArray[np.int64]:
        """Numbers of so many draws, evenly spaced along the sum of the weights, the first at ``offset``."""
        return evenly(self.weight, count, offset)

    def at(self, pick: NDArray[np.int64]) -> State:
        """The draws of these numbers, with equal weights."""
        return State(
            self.day,
            self.dog[pick],
            self.bias[pick],
            self.zones[pick],
            self.takes[pick],
            self.starts[pick],
            np.full(len(pick), 1.0 / len(pick)),
        )


def evenly(weight: Floats, count: int, offset: float = 0.5) -> NDArray[np.int64]:
    """Numbers of so many draws, evenly spaced along the sum of weights that add up to 1, the first at ``offset``."""
    points = (np.arange(count) + offset) / count
    return np.minimum(np.searchsorted(np.cumsum(weight), points), len(weight) - 1)
