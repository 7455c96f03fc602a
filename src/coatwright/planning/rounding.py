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
from coatwright.programs import Ints
from coatwright.units import Share

TEMPERS = ((0.5, 1.0), (0.75, 1.0), (0.25, 1.0), (0.5, 0.0), (0.9, 0.0))
"""Where between two steps a take is rounded up, and how much of the running difference is carried on."""

Pricing = Callable[[Floats], tuple[float, Floats]]


def round_takes(
    problem: Problem, relaxed: Floats, low: Floats, high: Floats, price: Pricing
) -> tuple[Floats, float]:
    """Takes in whole steps near ``relaxed`` (zones, visits), within ``low`` and ``high``.

    Cells fixed by hand keep their value, in whole steps or not. ``price(takes)`` gives the cost of the dog and
    per zone of such takes. Returns the takes and the dog's cost.
    """
    on_grid = np.abs(relaxed / STEP - np.round(relaxed / STEP)) < 1e-6
    if bool(on_grid.all()):
        exact = np.asarray(np.round(relaxed / STEP) * STEP)
        return exact, price(exact)[0]
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
    cost, takes = min(options, key=lambda option: option[0])
    return takes, cost


def move_steps(
    row: Floats, low: Floats, high: Floats, where: Ints, price: Callable[[Floats], float], *, passes: int = 2
) -> Floats:
    """Better a zone's takes by moving single steps, to or from a visit or between two that follow each other.

    Only the visits numbered in ``where`` are tried. Stops when a pass over them gains nothing.
    """
    best, cost = row.copy(), price(row)
    moves = [(1,), (-1,), (1, -1), (-1, 1)]
    for _ in range(passes):
        before = cost
        for j in where:
            for move in moves:
                tried = best.copy()
                tried[j : j + len(move)] += STEP * np.array(move[: len(row) - j])
                if (tried < low - 1e-9).any() or (tried > high + 1e-9).any():
                    continue
                tried_cost = price(tried)
                if tried_cost < cost - 1e-6:
                    best, cost = tried, tried_cost
        if cost > before - 1e-6:
            break
    return best


def _round_zone(
    problem: Problem, zone: ZoneTask, relaxed: Floats, low: Floats, high: Floats, *, up: float, carry: float
) -> Floats:
    """Round a zone's takes one after the other."""
    takes = np.zeros(len(relaxed))
    behind = 0.0
    for j in range(len(relaxed)):
        if high[j] - low[j] < 1e-9:
            takes[j] = low[j]
        else:
            takes[j] = _to_step(
                problem, zone, relaxed, takes[:j], float(relaxed[j]) + behind, up, (low[j], high[j])
            )
        behind = carry * (behind + float(relaxed[j] - takes[j]))
    return takes


def _to_step(
    problem: Problem,
    zone: ZoneTask,
    relaxed: Floats,
    before: Floats,
    wanted: float,
    up: float,
    limits: tuple[float, float],
) -> Share:
    """``wanted`` after the takes ``before``, in whole steps, hiding no more hair than floor or relaxed plan do."""
    j = len(before)
    days = np.array(problem.visits[: j + 1], dtype=float)
    hiding = days[:-1] > days[-1] - zone.cover_lag + 1e-9
    allowed = max(1.0 - max(zone.look, zone.welfare), float(relaxed[:j][hiding].sum() + relaxed[j]))
    room = min(limits[1], allowed - float(before[hiding].sum()))
    steps = max(np.floor(wanted / STEP + up + 1e-6), np.ceil(limits[0] / STEP - 1e-6), 0.0)
    return float(max(min(steps, np.floor(room / STEP + 1e-6)), 0.0) * STEP)
