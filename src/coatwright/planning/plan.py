"""A plan: what to pull where and when, what comes of it, and what could not be had."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from coatwright.coat.forecast import Draws, Epochs, Forecast, carry_out, forecast
from coatwright.coat.growth import Floats
from coatwright.coat.layers import pull, shed
from coatwright.coat.measures import cover
from coatwright.coat.readiness import Readiness, readiness
from coatwright.planning.problem import SLIGHT, STEP, Problem, ZoneTask
from coatwright.units import Day, Minutes, Share

TELLING: Share = SLIGHT + 0.002
"""A shortfall smaller than this is not worth telling: two hairs in a hundred, and the solver's last digits."""


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A limit that the plan misses: by ``worst`` at most, first on ``first`` and last on ``last``.

    ``limit``: ``cover``, ``top``, ``over``, ``welfare`` (shares of the zone's hairs), ``minutes`` (zone is ""),
    or ``futures`` (the bound on the bad tail; zone is "").
    """

    zone: str
    limit: str
    first: Day
    last: Day
    worst: float
    days: int


@dataclass(frozen=True)
class Plan:
    """The answer to a :class:`Problem`. ``takes`` has the shape (zones, visits): shares in steps of 5 %.

    ``objective`` is what the takes cost and ``bound`` what no plan, rounded or not, can undercut. ``shortfalls``
    is what these takes miss, ``unavoidable`` what takes of any size would miss too. ``minute_price`` says per
    visit what one more minute would save, in minutes of the whole plan's cost.
    """

    problem: Problem
    takes: Floats
    objective: float
    bound: float
    shortfalls: tuple[Shortfall, ...]
    unavoidable: tuple[Shortfall, ...]
    minute_price: Floats

    @property
    def distance(self) -> Minutes:
        """How much better any plan at all could be, in minutes of cost: the proof of how good this one is."""
        return max(self.objective - self.bound, 0.0)

    @property
    def gap(self) -> float:
        """:attr:`distance` as a share of the minutes of work in the plan."""
        return self.distance / max(float(self.minutes.sum()), 1.0)

    @property
    def possible(self) -> bool:
        """Whether everything that was wished holds."""
        return not self.shortfalls

    @property
    def minutes(self) -> NDArray[np.float64]:
        """Minutes per visit, set-up included; 0 where nothing is pulled. Shape (visits,)."""
        weights = np.array([zone.minutes for zone in self.problem.zones])
        pulled = self.takes.sum(axis=0) > 0.0
        return np.where(pulled, weights @ self.takes + self.problem.setup, 0.0)

    @property
    def visits(self) -> tuple[Day, ...]:
        """Days of the visits at which something is pulled."""
        worked = self.takes.sum(axis=0) > 0.0
        return tuple(day for day, used in zip(self.problem.visits, worked, strict=True) if used)

    def take(self, zone: str, day: Day) -> Share:
        """The planned take of a zone on a day; 0 without a visit."""
        if day not in self.problem.visits:
            return 0.0
        return float(self.takes[self.zone_number(zone), self.problem.visits.index(day)])

    def zone_number(self, key: str) -> int:
        """Row of a zone in ``takes``."""
        return [zone.key for zone in self.problem.zones].index(key)

    def cells(self) -> dict[tuple[str, Day], Share]:
        """The takes above nothing, by zone and day."""
        z, j = np.nonzero(self.takes)
        zones, visits = self.problem.zones, self.problem.visits
        return {(zones[a].key, visits[b]): float(self.takes[a, b]) for a, b in zip(z, j, strict=True)}

    @cached_property
    def epochs(self) -> tuple[Epochs, ...]:
        """Each zone's coat through the plan, pulled longest first. One per zone."""
        return tuple(
            carry_out_plan(self.problem, zone, row)
            for zone, row in zip(self.problem.zones, self.takes, strict=True)
        )

    def forecast(self, days: int | None = None, *, draws: Draws | None = None) -> Forecast:
        """Cover, outline and readiness from today until ``days`` later (default: the last day of the plan)."""
        count = days if days is not None else self.problem.last_day - self.problem.today + 1
        zones = self.problem.zones
        return forecast(
            self.epochs,
            [zone.growth for zone in zones],
            self.problem.today,
            count,
            aims=[zone.aim for zone in zones],
            draws=draws,
            slack=TELLING,
        )

    def judged(self, day: Day) -> Mapping[str, Readiness]:
        """How each zone with an aim stands against it on a day."""
        return {
            zone.key: readiness(
                epochs.at(day), day, zone.growth, zone.aim, last_pull=epochs.last_pull(day), slack=TELLING
            )
            for zone, epochs in zip(self.problem.zones, self.epochs, strict=True)
            if zone.aim is not None
        }

    def thinnest(self, until: Day | None = None) -> tuple[str, Day, Share]:
        """Zone, day and share of the least cover after any visit up to ``until`` (today, when there is none)."""
        worst = ("", self.problem.today, 2.0)
        for zone, epochs in zip(self.problem.zones, self.epochs, strict=True):
            for day, coat in zip(epochs.starts, epochs.coats, strict=True):
                if until is not None and day > until:
                    break
                share = cover(coat, day, zone.growth)
                if share < worst[2]:
                    worst = (zone.key, day, share)
        return worst


def carry_out_plan(problem: Problem, zone: ZoneTask, row: Sequence[float] | Floats) -> Epochs:
    """A zone's coat through a row of takes."""
    takes = [(day, float(share)) for day, share in zip(problem.visits, row, strict=True)]
    return carry_out(zone.coat, problem.today, takes, zone.growth, broken=zone.broken)


def fit_to_coat(problem: Problem, zone: ZoneTask, row: Floats) -> Floats:
    """A row of takes, each no more than stands on its day when the row is carried out; in whole steps.

    The network takes broken hair to stand in the youngest layer that was pulled at; in the coat it stands in all of
    them, and where blown hair is also lost, part of it is gone by the next visit. Only zones with both can differ.
    Cells fixed by hand stay as they are.
    """
    if zone.growth.loss == 0.0 or zone.broken == 0.0:
        return row
    fitted, coat, since = row.copy(), zone.coat, problem.today
    for j, day in enumerate(problem.visits):
        coat, since = shed(coat, since, day, zone.growth), day
        stands = cover(coat, day, zone.growth)
        if fitted[j] > stands and (zone.key, day) not in problem.fixed:
            fitted[j] = int(stands / STEP + 1e-9) * STEP
        if fitted[j] > 0.0:
            coat = pull(coat, day, float(fitted[j]), zone.growth, broken=zone.broken).coat
    return fitted
