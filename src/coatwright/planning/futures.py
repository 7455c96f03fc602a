"""Growth that is not known: the wished days in many futures, with a bound on how bad the bad ones may be.

The groomer pulls the longest hair whatever the growth turns out to be, so the flows are the same in every
future; only lengths and visibility differ. What stands on a wished day is gathered by birth in one column each,
and every future reads its own shortfall off these few columns. The conditional value at risk of the dog's total
shortfall is bounded (Rockafellar & Uryasev 2000, J Risk 2(3):21-41; formula from memory):

    CVaR = eta + sum_s p_s max(U_s - eta, 0) / tail  <=  bound
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.planning.problem import Futures
from coatwright.planning.standing import ZoneFlow
from coatwright.programs import Ints, Program

if TYPE_CHECKING:
    from coatwright.planning.program import CoatProgram


def merged(futures: Futures) -> Futures:
    """Futures that differ by less than a day of lag and 1 % of the rate are one future."""
    count = len(futures.weight)
    keys = np.concatenate(
        [
            np.round(futures.lag).reshape(count, -1),
            np.round(np.log(futures.rate) / 0.01).reshape(count, -1),
        ],
        axis=1,
    )
    _, first, group = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    weight = np.bincount(group.ravel(), weights=futures.weight).astype(float)
    return Futures(futures.lag[first], futures.rate[first], weight, futures.tail, futures.bound)


def add_futures(program: Program, coat: CoatProgram, days: Floats) -> None:
    """Rows of every future on the wished days, and the bounded tail of the dog's shortfall."""
    if coat.problem.futures is None:
        return
    futures = merged(coat.problem.futures)
    count, costs = len(futures.weight), coat.problem.costs
    total = program.add_rows(count, high=0.0)  # sum of shortfalls - eta - beyond <= 0
    for number, zone in enumerate(coat.zones):
        if zone.task.aim is not None:
            for day in days:
                _judge(program, zone, float(day), futures.of_zone(number), total)
    eta = program.add_columns(1, low=-np.inf)
    beyond = program.add_columns(count)
    program.put(total, eta, -1.0)
    program.put(total, beyond, -1.0)
    tail = program.add_rows(1, high=futures.bound)
    program.put(tail, eta, 1.0)
    program.put(tail, beyond, futures.weight / futures.tail)
    coat.tail_short = program.add_columns(1, cost=costs.short)
    program.put(tail, coat.tail_short, -1.0)


def _judge(program: Program, zone: ZoneFlow, day: float, futures: tuple[Floats, Floats], total: Ints) -> None:
    """One zone on one day in every future (lag, rate): three limits, each with a shortfall that enters ``total``."""
    from coatwright.planning.program import aim_weights

    days = np.array([day])
    per_limit = {
        limit: [
            aim_weights(zone, limit, days, days, later=float(lag), faster=float(rate))
            for lag, rate in zip(*futures, strict=True)
        ]
        for limit in ("over", "top", "cover")
    }
    used = np.zeros(zone.births, dtype=bool)
    for parts in per_limit.values():
        for weights, _ in parts:
            used |= np.abs(weights[0]) > 1e-7
    births = np.flatnonzero(used)
    stands = program.add_columns(len(births), high=1.0)
    picks = np.zeros((len(births), zone.births))
    picks[np.arange(len(births)), births] = 1.0
    rows = program.add_rows(len(births), low=-zone.constant(picks), high=-zone.constant(picks))
    zone.put_standing(program, rows, picks, np.full(len(births), day))
    program.put(rows, stands, -1.0)
    for parts in per_limit.values():
        weights = np.array([w[0, births] for w, _ in parts])
        asked = np.array([a for _, a in parts])
        _rows_per_future(program, weights, asked, stands, total)


def _rows_per_future(program: Program, weights: Floats, asked: Floats, stands: Ints, total: Ints) -> None:
    """Futures with the same weights share a row and a shortfall; each adds it to its own total."""
    block, where = np.unique(np.round(weights, 9), axis=0, return_inverse=True)
    where = where.ravel()
    least = np.zeros(len(block))
    least[where] = asked
    rows = program.add_rows(len(block), low=least)
    k, i = np.nonzero(np.abs(block) > 1e-7)
    program.put(rows[k], stands[i], block[k, i])
    short = program.add_columns(len(block))
    program.put(rows, short, 1.0)
    program.put(total, short[where], 1.0)
