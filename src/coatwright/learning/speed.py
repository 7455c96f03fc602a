"""How fast a groomer pulls: minutes for a whole zone against the table's, learnt from what was timed.

The minutes of a record are log-normal around the table's:

    minutes = share  reference  exp(groomer + groomer in this zone + kind of coat + dog + visit + noise)

Every term is normal with mean ``-sd^2 / 2``, so that its factor is 1 on average: of whom nothing is known the
expected minutes are those of the table. The *pace* of a zone is the exponent without visit and noise; exp(pace)
times the reference is the minutes of the whole zone on average over visits. Given the records the terms are
jointly normal again (normal equations, the linear mixed model; Robinson 1991, Statist Sci 6:15-32, from memory).

A visit of which only the whole time was kept says the logarithm of a sum, set-up and zones together. It is
linearised at what is believed, its bend put right to second order, and solved again until that stands still.

Records can be wrong: minutes meant as seconds, a nought too many, a pause not taken off. Records, and the terms of
visits, are therefore mixtures: right, or anything within ``range`` of the logarithm. Each is judged by what all the
*others* lead to expect, its own part taken out, and weighs as much as it is likely to be right; weights and beliefs
are found in turn. Without slips (``slip``, ``wrong_visit`` 0) and without whole times one step is exact.

Minutes and shares in, logarithms inside; no clock, no random numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from coatwright.coat.growth import Floats
from coatwright.learning.speed_records import BASIS, Level, Priors, Pull, Work, levels_of, sd_of
from coatwright.learning.speed_solver import Records, Solver
from coatwright.units import Minutes

__all__ = ["BASIS", "Belief", "Paces", "Priors", "Pull", "Slip", "Work", "learn"]


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of the minutes of a whole zone: log-normal, ``mu`` and ``sd`` of its logarithm."""

    mu: float
    sd: float

    @property
    def mean(self) -> Minutes:
        """Expected minutes: ``exp(mu + sd^2 / 2)``."""
        return float(np.exp(self.mu + 0.5 * self.sd**2))

    @property
    def median(self) -> Minutes:
        """As likely more as less: ``exp(mu)``."""
        return float(np.exp(self.mu))

    def band(self, level: float = 0.8) -> tuple[Minutes, Minutes]:
        """The middle ``level`` of what is believed, min."""
        half = float(ndtri(0.5 + 0.5 * level)) * self.sd
        return float(np.exp(self.mu - half)), float(np.exp(self.mu + half))


@dataclass(frozen=True, slots=True)
class Slip:
    """A record that is more likely wrong than right: of which work, which zone ("" for the whole time).

    ``expected`` min from all other records, ``chance`` that it is right.
    """

    work: int
    zone: str
    minutes: Minutes
    expected: Minutes
    chance: float


class Paces:
    """The terms after the records: jointly normal, ``mean`` (terms,) and ``covariance`` (terms, terms).

    ``levels`` names each term: ("groomer", name), ("groomer_zone", name, zone), ("kind", key), ("dog", id) or
    ("set_up", name). ``visits`` are the terms of the visits, ``slips`` what is more likely wrong than right.
    """

    def __init__(
        self,
        priors: Priors,
        levels: dict[Level, int],
        mean: Floats,
        covariance: Floats,
        slips: tuple[Slip, ...] = (),
        steps: int = 0,
    ) -> None:
        self.priors = priors
        self.levels = levels
        self.mean = mean
        self.covariance = covariance
        self.slips = slips
        self.steps = steps

    def minutes(
        self,
        zone: str,
        reference: Minutes,
        *,
        groomer: str | None = None,
        kind: str | None = None,
        dog: str | None = None,
    ) -> Belief:
        """Minutes of a whole zone with ``reference`` min in the table, on average over visits.

        A name that no record has is somebody or something new. ``None`` averages over all of a sort: its
        factor is 1.
        """
        mu, variance = self._sum(levels_of(zone, groomer, kind, dog))
        return Belief(float(np.log(reference)) + mu, variance**0.5)

    def together(
        self,
        references: Mapping[str, Minutes],
        *,
        groomer: str | None = None,
        kind: str | None = None,
        dog: str | None = None,
    ) -> Belief:
        """Minutes of several whole zones together, with the table's minutes of each.

        A sum of log-normal parts, taken as log-normal with its mean and variance (Fenton 1960, IRE Trans Commun
        Syst 8:57-67, from memory).
        """
        parts = [levels_of(zone, groomer, kind, dog) for zone in references]
        means = np.array(
            [
                self.minutes(zone, reference, groomer=groomer, kind=kind, dog=dog).mean
                for zone, reference in references.items()
            ]
        )
        shared = np.array([[self._shared(one, other) for other in parts] for one in parts])
        whole = float(means.sum())
        variance = float(np.log1p(means @ np.expm1(shared) @ means / whole**2))
        return Belief(float(np.log(whole)) - 0.5 * variance, variance**0.5)

    def set_up(self, groomer: str) -> Belief:
        """Minutes of a visit of this groomer for anything but pulling, on average over visits."""
        mu, variance = self._sum([("set_up", groomer)])
        return Belief(float(np.log(self.priors.set_up)) + mu, variance**0.5)

    def prior(self, *, groomer: bool = True, kind: bool = True, dog: bool = True) -> float:
        """Sd of the logarithm of the minutes before any record; False for what is averaged over."""
        p = self.priors
        known = [(p.groomer, groomer), (p.groomer_zone, groomer), (p.kind, kind), (p.dog, dog)]
        return float(sum(sd**2 for sd, there in known if there) ** 0.5)

    def _shared(self, one: Sequence[Level], other: Sequence[Level]) -> float:
        """Covariance of two sums of terms."""
        rows, columns = (
            [self.levels[level] for level in each if level in self.levels] for each in (one, other)
        )
        new = sum(
            sd_of(self.priors, level) ** 2 for level in one if level in other and level not in self.levels
        )
        return float(self.covariance[np.ix_(rows, columns)].sum()) + new

    def _sum(self, wanted: Sequence[Level]) -> tuple[float, float]:
        """Mean and variance of a sum of terms; those that no record has are as before any."""
        rows = [self.levels[level] for level in wanted if level in self.levels]
        new = sum(sd_of(self.priors, level) ** 2 for level in wanted if level not in self.levels)
        mu = float(self.mean[rows].sum()) - 0.5 * new
        return mu, max(float(self.covariance[np.ix_(rows, rows)].sum()), 0.0) + new


def learn(works: Iterable[Work], priors: Priors | None = None) -> Paces:
    """What these visits, in any order, teach about pace and set-up.

    Zones with minutes of their own count by them; what is left of the whole time speaks for set-up and the
    zones without. Pulls of nothing, and times of nothing, say nothing.
    """
    given = priors or Priors()
    records = Records(list(works), given)
    if not records.y.size:
        return Paces(given, {}, np.zeros(0), np.zeros((0, 0)))
    solver = Solver(records, given)
    solver.solve()
    return Paces(given, records.levels, solver.beta, solver.covariance, _slips(solver), solver.steps)


def _slips(solver: Solver) -> tuple[Slip, ...]:
    found = []
    for row in np.flatnonzero(solver.right < 0.5):
        work, zone = solver.r.about[row]
        minutes = float(solver.r.minutes[row])
        expected = minutes * float(np.exp(-solver.residual[row]))
        found.append(Slip(work, zone, minutes, expected, float(solver.right[row])))
    return tuple(found)
