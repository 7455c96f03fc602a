"""What stands on a day, as a linear expression in the flow of a zone's network.

Of the hairs born at i there stand on day t (before any later pull)

    standing(i, t) = born(i) - sum of y[i,j] over the visits j up to t

and born(i) is a number for the layers on the dog today and ``renewed x[i] + lost`` for a visit. Since only
births of the last few visits are short enough to be judged, this has far fewer terms than a sum over the arcs
that are still under way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coatwright.coat import measures
from coatwright.coat.growth import Floats, Growth, blown, length
from coatwright.planning.network import FlowColumns, Network
from coatwright.planning.problem import ZoneTask
from coatwright.programs import Ints, Program

_NOTHING = 1e-7


@dataclass(frozen=True, slots=True)
class ZoneFlow:
    """One zone in the program."""

    number: int
    task: ZoneTask
    network: Network
    columns: FlowColumns
    shares: Floats
    removed: Floats

    @property
    def births(self) -> int:
        """Layers on the dog today plus one birth per visit."""
        return len(self.network.born)

    def at_birth(self) -> tuple[Ints, Ints, Floats]:
        """Terms of born(i) for the births at visits: birth, column, coefficient."""
        net, renewed = self.network, 1.0 - self.task.broken
        visits = np.arange(len(net.visits))
        arc, node, part = net.lost
        return (
            np.concatenate([net.initial + visits, net.initial + node]),
            np.concatenate([self.columns.take, self.columns.flow[arc]]),
            np.concatenate([np.full(len(visits), renewed), part]),
        )

    def constant(self, weights: Floats) -> Floats:
        """The part of ``sum_i weights[k, i] standing(i, .)`` that no plan changes: today's layers, per row k."""
        part: Floats = weights[:, : self.network.initial] @ self.shares
        return part

    def put_standing(self, program: Program, rows: Ints, weights: Floats, cut: Floats) -> None:
        """Add ``sum_i weights[k, i] standing(i, .)`` to each row k, pulls up to day ``cut[k]`` taken off.

        ``weights`` has shape (rows, births). The constant part is not in the row: see :meth:`constant`.
        """
        net = self.network
        birth, column, part = self.at_birth()
        k, e = np.nonzero(np.abs(weights[:, birth]) > _NOTHING)
        program.put(rows[k], column[e], weights[k, birth[e]] * part[e])
        by_arc = weights[:, net.tail] * (net.end_time[None, :] <= cut[:, None])
        k, a = np.nonzero(np.abs(by_arc) > _NOTHING)
        program.put(rows[k], self.columns.flow[a], -by_arc[k, a])

    def cost_standing(self, program: Program, weights: Floats, cut: float) -> None:
        """Add ``sum_i weights[i] standing(i, .)`` to the cost (its constant part is left out)."""
        birth, column, part = self.at_birth()
        program.add_cost(column, weights[birth] * part)
        gone = np.flatnonzero(self.network.end_time <= cut)
        program.add_cost(self.columns.flow[gone], -weights[self.network.tail[gone]])


@dataclass(frozen=True, slots=True)
class Judged:
    """How each birth of a zone would look on some days, shape (days, births), were it still standing.

    ``over``  part longer than the aim's longest or blown; ``top`` part inside the band; ``mean`` length, mm.
    Births after the day count as nothing.
    """

    over: Floats
    top: Floats
    mean: Floats

    @classmethod
    def of(
        cls,
        zone: ZoneFlow,
        days: Floats,
        *,
        later: float = 0.0,
        faster: float = 1.0,
        cut: Floats | None = None,
    ) -> Judged:
        """Judge on ``days``; ``later`` d more lag and ``faster`` times the rate than the zone's own growth."""
        aim = zone.task.aim
        if aim is None:
            raise ValueError(f"{zone.task.key} has no aim")
        growth = bend(zone.task.growth, later, faster)
        age = days[:, None] - zone.network.born[None, :]
        born = zone.network.born[None, :] <= (days if cut is None else cut)[:, None]
        mean = length(age, growth, zone.removed[None, :]) * born
        visible = (age >= growth.lag - 1e-9) * born
        is_blown = blown(age, growth).astype(float)
        over = measures.overdue_part(mean, is_blown, growth, aim) * born
        top = measures.in_band_part(mean, visible.astype(float), growth, aim)
        return cls(over, top * born, mean)


def bend(growth: Growth, later: float, faster: float) -> Growth:
    """Growth with ``later`` days more lag and ``faster`` times the rate, kept within its limits."""
    if later == 0.0 and faster == 1.0:
        return growth
    lag = min(max(growth.lag + later, 0.0), 365.0)
    return growth.with_(lag=lag, rate=min(max(growth.rate * faster, 0.01), 5.0))


def hidden(zone: ZoneFlow, days: Floats, *, cut: Floats, later: float = 0.0) -> Floats:
    """1 for each birth still under the skin on each day, shape (days, births); births after ``cut`` are 0."""
    age = days[:, None] - zone.network.born[None, :]
    born = zone.network.born[None, :] <= cut[:, None]
    lag = zone.task.cover_lag + later
    under: Floats = ((age < lag - 1e-9) & born).astype(float)
    return under
