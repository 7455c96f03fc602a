"""Solve a plan, bring its takes to steps of 5 %, and solve again after a change by hand.

A :class:`PlanSession` keeps the solver with its last basis: fixing a cell or changing the minutes of a visit
changes limits only, and the next solve takes a few simplex steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.errors import OutOfRange, check_share
from coatwright.planning.oldest import oldest_first
from coatwright.planning.plan import TELLING, Plan, Shortfall, fit_to_coat
from coatwright.planning.problem import Problem
from coatwright.planning.program import CoatProgram, build, check_fixed, take_limits
from coatwright.planning.rounding import move_steps, round_takes
from coatwright.programs import Remainder, Solution, Solver
from coatwright.units import Day, Minutes, Share

REACH = 84
"""Days before a missed limit in which takes are moved to mend it."""
LIGHT = 3.0
"""Visits with less pulling than this many set-ups are tried to be done without."""


def solve(problem: Problem) -> Plan:
    """The best plan for a problem, in steps of 5 %.

    Raises :class:`coatwright.errors.UnfitDog` when the problem is made, never here. A wish that cannot be met
    is met as nearly as can be and told in ``shortfalls``.
    """
    return PlanSession(problem).plan()


@dataclass(frozen=True, slots=True)
class Weighed:
    """Takes that are carried out: their cost, and every column of the program."""

    objective: float
    x: Floats


class PlanSession:
    """One problem being worked on at the desk."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.program: CoatProgram = build(problem)
        if self.program.matrix is None:
            raise ValueError("the program was not built")
        self._solver = Solver(self.program.matrix)
        self.takes_columns = self.program.takes
        self._given = np.concatenate(
            [self.takes_columns.ravel(), *(zone.columns.flow for zone in self.program.zones)]
        )
        self._remainder = (
            None
            if problem.futures is not None
            else Remainder(self.program.matrix, self._given, self.program.lengths)
        )
        self._basis: Any = None
        limits = [take_limits(problem, zone) for zone in problem.zones]
        self._low = np.array([low for low, _ in limits])
        self._high = np.array([high for _, high in limits])
        self._room = np.array(problem.minutes, dtype=float) - problem.setup
        self._free = (self._low.copy(), self._high.copy())

    def fix(self, zone: str, day: Day, share: Share) -> None:
        """Set a cell by hand."""
        z, j = self._cell(zone, day)
        check_share(share, "The take", where=zone)
        low = self._low[z].copy()
        low[j] = share
        check_fixed(self.problem.zones[z], np.array(self.problem.visits, dtype=float), low)
        self._low[z, j] = self._high[z, j] = share

    def free(self, zone: str, day: Day) -> None:
        """Let the plan choose a cell again."""
        z, j = self._cell(zone, day)
        cap = self.problem.zones[z].cap
        fixed = (zone, day) in self.problem.fixed
        self._low[z, j] = 0.0 if fixed else self._free[0][z, j]
        self._high[z, j] = cap if fixed else self._free[1][z, j]

    def drop(self, day: Day) -> None:
        """Pull nothing at a visit (cells fixed by hand excepted)."""
        j = self._visit(day)
        loose = self._low[:, j] < self._high[:, j]
        self._high[loose, j] = 0.0

    def set_minutes(self, day: Day, minutes: Minutes) -> None:
        """Change the minutes of a visit, set-up included."""
        if minutes < 0:
            raise OutOfRange(f"The visit is given {minutes:g} minutes.", remedy="Give 0 minutes or more.")
        j = self._visit(day)
        self._room[j] = minutes - self.problem.setup
        self._solver.limit_rows(self.program.time_rows[j], -np.inf, self._room[j])

    def relaxed(self) -> Solution:
        """Solve without steps of 5 %: the bound, and the warm start of everything else."""
        self._limit(self._low, self._high)
        if self._basis is not None:
            self._solver.start_from(self._basis)
        elif len(self.problem.zones) > 1:
            self._solver.start_from_blocks()
        solution = self._solver.solve()
        self._basis = self._solver.basis()
        return solution

    def shortfalls_relaxed(self) -> tuple[Shortfall, ...]:
        """What even a plan without steps of 5 % misses."""
        return self._shortfalls(self.relaxed())

    def plan(self, *, thorough: bool = True) -> Plan:
        """Solve, leave out visits not worth their set-up, round, and prove the distance from the bound.

        The bound is the relaxed optimum over all visits. ``thorough`` mends, step by step, zones
        that miss a limit only because takes come in whole steps.
        """
        bound = self.relaxed()
        kept, low, high = self._fewer_visits(bound)
        rounded, _ = round_takes(
            self.program.zones, kept.x[self.takes_columns], low, high, self._room, self._priced
        )
        final = self._carried_out(rounded)
        if thorough:
            rounded, final = self._repaired(rounded, final, (low, high), self._shortfalls(kept))
        fitted = np.array(
            [
                fit_to_coat(self.problem, zone, row)
                for zone, row in zip(self.problem.zones, rounded, strict=True)
            ]
        )
        if not np.array_equal(fitted, rounded):
            rounded, final = fitted, self._carried_out(fitted)
        return self._plan(rounded, final, bound, kept)

    def weigh(self, takes: Floats) -> Plan:
        """The plan that given takes (zones, visits) make, with the same proof of its distance from the bound."""
        bound = self.relaxed()
        return self._plan(takes, self._carried_out(takes), bound, bound)

    def _plan(self, takes: Floats, final: Weighed, bound: Solution, kept: Solution) -> Plan:
        return Plan(
            problem=self.problem,
            takes=np.round(takes, 6),
            objective=final.objective,
            bound=bound.objective,
            shortfalls=self._shortfalls(final),
            unavoidable=self._shortfalls(kept),
            minute_price=np.maximum(-kept.price[self.program.time_rows], 0.0),
        )

    def _limit(self, low: Floats, high: Floats) -> None:
        self._solver.limit_columns(self.takes_columns.ravel(), low.ravel(), high.ravel())

    def _carried_out(self, takes: Floats) -> Weighed:
        """What takes come to when the oldest hair is pulled each time."""
        flows = [oldest_first(zone, row) for zone, row in zip(self.program.zones, takes, strict=True)]
        values = np.concatenate([takes.ravel(), *flows])
        if self._remainder is not None:
            return Weighed(*self._remainder.weigh(values))
        # with futures what is missed of one limit bears on others too: the solver finds what is cheapest
        self._solver.limit_columns(self._given, values, values)
        solution = self._solver.solve()
        self._solver.limit_columns(self._given, 0.0, np.inf)
        return Weighed(solution.objective, solution.x)

    def _priced(self, takes: Floats) -> tuple[float, Floats]:
        """Cost of whole takes: of the dog, and what each zone's own columns contribute."""
        solution = self._carried_out(takes)
        matrix = self.program.matrix
        if matrix is None:
            raise ValueError("the program was not built")
        part = matrix.cost * solution.x
        own = np.array([part[zone.columns.flow].sum() for zone in self.program.zones])
        own += np.array([part[zone.columns.take].sum() for zone in self.program.zones])
        for label in self.program.labels:
            known = label.zones >= 0
            np.add.at(own, label.zones[known], part[label.columns[known]])
        return solution.objective, own

    def _repaired(
        self,
        takes: Floats,
        priced: Weighed,
        limits: tuple[Floats, Floats],
        unavoidable: tuple[Shortfall, ...],
    ) -> tuple[Floats, Weighed]:
        """Move single steps in the zones that miss a limit only because takes come in whole steps."""
        known = {(miss.zone, miss.limit) for miss in unavoidable}
        days = np.array(self.problem.visits)
        better, tried = takes.copy(), False
        for z, task in enumerate(self.problem.zones):
            misses = [
                s for s in self._shortfalls(priced) if s.zone == task.key and (s.zone, s.limit) not in known
            ]
            if misses:
                first, last = min(s.first for s in misses) - REACH, max(s.last for s in misses)
                near = np.flatnonzero((days >= first) & (days <= last))
                alone = PlanSession(_alone(self.problem, z))
                better[z] = move_steps(better[z], limits[0][z], limits[1][z], near, alone.price_row)
                tried = True
        if not tried or np.array_equal(better, takes):
            return takes, priced
        final = self._carried_out(better)
        return (better, final) if final.objective < priced.objective else (takes, priced)

    def price_row(self, row: Floats) -> float:
        """Cost of a row of takes of the only zone; infinite where more is pulled than stands."""
        try:
            return self._carried_out(row[None, :]).objective
        except OutOfRange:
            return float("inf")

    def _fewer_visits(self, best: Solution) -> tuple[Solution, Floats, Floats]:
        """Try to do without each visit, the lightest first; keep it out if that costs less than its set-up.

        A rolling coat keeps its rhythm.
        """
        low, high = self._low.copy(), self._high.copy()
        if self.problem.setup <= 0.0 or self.problem.wish.rolling:
            return best, low, high
        weights = np.array([zone.minutes for zone in self.problem.zones])
        minutes = weights @ best.x[self.takes_columns]
        unused = minutes <= 1e-6
        high[:, unused] = np.minimum(high[:, unused], low[:, unused])  # work may only move to visits in use
        for j in np.argsort(minutes):
            if unused[j] or (low[:, j] > 0.0).any():
                continue
            if minutes[j] > LIGHT * self.problem.setup:
                break
            kept = high[:, j].copy()
            high[:, j] = 0.0
            self._limit(low, high)
            without = self._solver.solve()
            if without.objective <= best.objective + self.problem.setup:
                best = without
            else:
                high[:, j] = kept
        self._limit(low, high)
        return self._solver.solve(), low, high

    def _shortfalls(self, solution: Solution | Weighed) -> tuple[Shortfall, ...]:
        missed: dict[tuple[int, str], dict[Day, float]] = {}
        for label in self.program.labels:
            values = solution.x[label.columns]
            for k in np.flatnonzero(values > 1e-9):
                days = missed.setdefault((int(label.zones[k]), label.limit), {})
                day = int(label.days[k])
                days[day] = days.get(day, 0.0) + float(values[k])
        tail = float(solution.x[self.program.tail_short].sum())
        if tail > 0.0:
            missed[-1, "futures"] = {max(self.problem.wish.days): tail}
        told = []
        for (number, limit), days in missed.items():
            worth = {day: by for day, by in days.items() if by > TELLING}
            if worth:
                key = self.problem.zones[number].key if number >= 0 else ""
                told.append(Shortfall(key, limit, min(worth), max(worth), max(worth.values()), len(worth)))
        return tuple(told)

    def _visit(self, day: Day) -> int:
        if day not in self.problem.visits:
            raise OutOfRange("There is no visit on that day.", remedy="Add the visit first.")
        return self.problem.visits.index(day)

    def _cell(self, zone: str, day: Day) -> tuple[int, int]:
        keys = [task.key for task in self.problem.zones]
        if zone not in keys:
            from coatwright.errors import UnknownName

            raise UnknownName.of("zone", zone, keys)
        return keys.index(zone), self._visit(day)


def _alone(problem: Problem, z: int) -> Problem:
    """One zone of a problem, with all the time in the world."""
    task = problem.zones[z]
    return problem.with_(
        zones=(task,),
        minutes=tuple(1.0e6 for _ in problem.visits),
        fixed={},
        previous={cell: share for cell, share in problem.previous.items() if cell[0] == task.key},
        futures=None,
    )
