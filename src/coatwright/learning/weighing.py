"""New records weigh the draws: as wholes, or zone by zone where that would leave too few of them.

Given what they share, the zones of a dog are independent. The weight of a whole draw is the product over all zones
and leaves few of many; zone by zone nearly all stay. So a straight line through the draws, weighed by one zone's new
records, splits that zone's numbers into what goes with what zones share and a rest. What they share is picked by how
probable each zone's new records are where it is so (taken as normal), rests are picked by the zone's own weight
beside that, and both are put together anew: divide and conquer (Lindsten et al. 2017, J Comput Graph Stat
26:445-458; from memory). Lines and normal distributions are not the whole truth: the moves that follow put right
what they miss.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import replace

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.learning.evidence import Ints
from coatwright.learning.guide import Guide, moments, slope_of
from coatwright.learning.state import State, evenly

LEAST_SAID = -4.0
"""No draw of a zone's rest is worth more than e^4 times its weight for lying where the shared is improbable."""
NARROWER = 4.0
"""Times the error of a variance, 1 / sqrt(effective draws), by which a direction must have become narrower."""
HALVINGS, LEAST_STEP = 14, 1e-5
"""How closely a step of temper is sought, and the least one."""


class _Weighing(ABC):
    """Steps of temper that leave enough draws effective."""

    def step(self, most: float, least: float) -> float:
        """The largest step, up to ``most``, that leaves this share of effective draws."""
        if self.effective(most) >= least:
            return most
        low, high = 0.0, most
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.effective(middle) >= least else (low, middle)
        return max(low, LEAST_STEP)

    @abstractmethod
    def effective(self, step: float) -> float:
        """Share of effective draws after a step."""


class Whole(_Weighing):
    """Draws weighed as they are by ``fresh``, the ln likelihood of the new records of each zone (draws, zones)."""

    def __init__(self, state: State, fresh: Floats) -> None:
        self.state, self.fresh = state, fresh.sum(axis=1)

    def effective(self, step: float) -> float:
        """Share of effective draws after a step."""
        return self._weighed(step).effective / len(self.state)

    def at(self, step: float, rng: np.random.Generator) -> State:
        """As many draws of equal weight, after a step of temper."""
        found = self._weighed(step)
        return found.at(found.places(len(found), rng.random()))

    def _weighed(self, step: float) -> State:
        weight = self.state.weight * np.exp(step * (self.fresh - self.fresh.max()))
        return replace(self.state, weight=weight / weight.sum())


class Apart(_Weighing):
    """Draws whose zones are weighed by ``fresh``, the ln likelihood of their new records (draws, zones)."""

    def __init__(self, state: State, guide: Guide, fresh: Floats) -> None:
        self.state, self.guide = state, guide
        self.fresh = fresh - fresh.max(axis=0)
        self.off: Floats = np.concatenate([state.dog, state.bias], axis=1) - guide.mean
        self.even: Floats = self.off @ guide.inverse.T

    def at(self, step: float, rng: np.random.Generator) -> State:
        """As many draws of equal weight, after a step of temper."""
        shared, zones = self._weights(step)
        count = len(self.state)
        pick = evenly(shared, count, rng.random())
        found = self.state.at(pick)
        for z in range(zones.shape[1]):
            own = _matched(pick, evenly(zones[:, z], count, rng.random()), rng)
            numbers = self.guide.own(self.state, z)
            _, covariance = moments(np.concatenate([self.off, numbers], axis=1), zones[:, z])
            slope = slope_of(covariance, self.off.shape[1])
            self.guide.put(found, z, numbers[own] + (self.off[pick] - self.off[own]) @ slope.T)
        return found

    def _weights(self, step: float) -> tuple[Floats, Floats]:
        """Weights of what is shared (draws,), and of each zone's rest (draws, zones); each adds up to 1."""
        zones = self.state.weight[:, None] * np.exp(step * self.fresh)
        zones /= zones.sum(axis=0)
        said = np.stack([self._said(weight) for weight in zones.T], axis=1)
        shared = np.log(self.state.weight) + said.sum(axis=1)
        shared = np.exp(shared - shared.max())
        rest = zones * np.exp(-np.maximum(said, LEAST_SAID))
        return shared / shared.sum(), rest / rest.sum(axis=0)

    def _said(self, weight: Floats) -> Floats:
        """What a zone's new records say of what is shared: ln of how probable they are at each draw, on average.

        Both taken as normal: the ratio of the density after the records to the density before. A direction that has
        hardly become narrower, within what so many draws can tell, has become none.
        """
        mean, covariance = moments(self.even, weight)
        part, directions = np.linalg.eigh(covariance)
        part = np.where(part > 1.0 - NARROWER * np.sqrt((weight**2).sum()), 1.0, part)
        off = (self.even - mean) @ directions
        found: Floats = 0.5 * ((self.even**2).sum(axis=1) - (off**2 / part).sum(axis=1) - np.log(part).sum())
        return found

    def effective(self, step: float) -> float:
        """The least share of effective draws, of what is shared and of any zone."""
        shared, zones = self._weights(step)
        return float(1.0 / max((shared**2).sum(), (zones**2).sum(axis=0).max()) / len(shared))


def _matched(pick: Ints, own: Ints, rng: np.random.Generator) -> Ints:
    """The numbers ``own`` (rising) put beside ``pick`` (rising): beside their like where it is there, else anyhow."""
    count = len(pick)
    both = np.minimum(np.bincount(pick, minlength=count), np.bincount(own, minlength=count))
    kept, spare = _place_in_run(pick) < both[pick], _place_in_run(own) >= both[own]
    found = pick.copy()
    found[~kept] = rng.permutation(own[spare])
    return found


def _place_in_run(numbers: Ints) -> Ints:
    """Which of its like each one is, from 0, among ``numbers`` that never fall."""
    return np.arange(len(numbers)) - np.searchsorted(numbers, numbers)
