"""Bring takes to steps of 5 % ("5 % or nothing") without a single integer variable.

Two ideas are tried for each zone, each in three tempers (to the nearest step, sooner, later). Rounding the
*running total* keeps it within half a step of the relaxed plan, so that coats convert on time; rounding *each take
by itself* lets an even plan stay even, since a rotation may well be a little faster than it need be. Each zone
keeps what costs it least. The relaxed plan is a bound, so the distance from the best possible is known (exact
binaries took 3.5 s for the same; coat model, section 3).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.planning.problem import STEP, Problem, ZoneTask

TEMPERS = ((0.5, 1.0), (0.75, 1.0), (0.25, 1.0), (0.5, 0.0), (0.9, 0.0))
"""Where between two steps a take is rounded up, and how much of the running difference is carried on."""

Pricing = Callable[[Floats], tuple[float, Floats]]


def round_takes(problem: Problem, relaxed: Floats, low: Floats, high: Floats, price: Pricing) -> Floats:
    """Takes in whole steps near ``relaxed`` (zones, visits), within ``low`` and ``high``.

    Cells fixed by hand keep their value, in whole steps or not. ``price(takes)`` gives the cost of the dog and
    per zone of such takes.
    """
    on_grid = np.abs(relaxed / STEP - np.round(relaxed / STEP)) < 1e-6
    if bool(on_grid.all()):
        return np.asarray(np.round(relaxed / STEP) * STEP)
    candidates = [
        np.array(
            [
                _round_zone(problem, zone, relaxed[z], low[z], high[z], up=up, carry=carry)
                for z, zone in enumerate(problem.zones)
            ]
        )
        for up, carry in TEMPERS
    ]
    priced = [price(takes) for takes in candidates]
    choice = np.argmin(np.array([own for _, own in priced]), axis=0)
    mixed = np.array([candidates[c][z] for z, c in enumerate(choice)])
    options = [*zip((total for total, _ in priced), candidates, strict=True), (price(mixed)[0], mixed)]
    return min(options, key=lambda option: option[0])[1]


def _round_zone(
    problem: Problem, zone: ZoneTask, relaxed: Floats, low: Floats, high: Floats, *, up: float, carry: float
) -> Floats:
    """Round a zone's takes, never hiding more hair at once than the relaxed plan or the floor allows."""
    days = np.array(problem.visits, dtype=float)
    takes = np.zeros(len(days))
    behind = 0.0
    for j, day in enumerate(days):
        hiding = days[:j] > day - zone.cover_lag + 1e-9
        most_hidden = max(
            1.0 - max(zone.look, zone.welfare), float(relaxed[: j + 1][np.append(hiding, True)].sum())
        )
        if high[j] - low[j] < 1e-9:
            takes[j] = low[j]
        else:
            room = min(high[j], most_hidden - float(takes[:j][hiding].sum()))
            steps = np.floor((relaxed[j] + behind) / STEP + up + 1e-6)
            takes[j] = (
                min(max(steps, np.ceil(low[j] / STEP - 1e-6), 0.0), np.floor(room / STEP + 1e-6)) * STEP
            )
            takes[j] = max(takes[j], 0.0)
        behind = carry * (behind + relaxed[j] - takes[j])
    return takes
