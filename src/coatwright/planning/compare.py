"""Cadences and approaches side by side on the same dog."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from coatwright.errors import OutOfRange
from coatwright.planning.approach import Case, natural, problem_for, strip_problem
from coatwright.planning.cadence import CADENCES
from coatwright.planning.plan import Plan
from coatwright.planning.problem import Problem
from coatwright.planning.solve import PlanSession
from coatwright.units import Day, Minutes, Share

Progress = Callable[[str, int, int], None]
"""Told what is being worked on, how many parts are done, and how many there are."""

Surer = Callable[[PlanSession, Plan, int], Plan]
"""Makes the plan of a session at a cadence surer, see :mod:`coatwright.planning.surest`."""


@dataclass(frozen=True)
class Option:
    """One way to do it: the plan, its approach and cadence, and the figures that a groomer compares.

    ``shown_until`` is the last day that is told of a plan; what lies beyond only keeps its end from bending it.
    """

    approach: str
    cadence: int
    plan: Plan
    shown_until: Day
    price_per_hour: float | None = None

    @property
    def score(self) -> float:
        """What the planner weighs: the objective and the set-up of every visit, in minutes."""
        return self.plan.objective + self.plan.problem.setup * len(self.plan.visits)

    @cached_property
    def ready_days(self) -> int:
        """Days shown on which every zone with an aim is ready; quiet days after a pull do not count."""
        days = self.shown_until - self.plan.problem.today + 1
        return int(self.plan.forecast(days).ready[0].all(axis=0).sum())

    @property
    def visits(self) -> int:
        """Visits shown at which something is pulled."""
        return sum(day <= self.shown_until for day in self.plan.visits)

    @property
    def minutes(self) -> Minutes:
        """Minutes of all visits shown, set-up included."""
        shown = np.array(self.plan.problem.visits) <= self.shown_until
        return float(self.plan.minutes[shown].sum())

    @cached_property
    def thinnest(self) -> Share:
        """Least cover of any zone after any visit."""
        return self.plan.thinnest(self.shown_until)[2]

    @property
    def price(self) -> float | None:
        """What the visits shown cost, in the salon's money; None without a price per hour."""
        return None if self.price_per_hour is None else self.minutes / 60.0 * self.price_per_hour


def option(case: Case, approach: str, cadence: int, plan: Plan, price_per_hour: float | None) -> Option:
    """A plan as one way to do it."""
    shown = plan.problem.last_day if approach == "staged" else min(case.last, plan.problem.last_day)
    return Option(approach, cadence, plan, shown, price_per_hour)


def best_cadence(
    case: Case,
    approach: str | None = None,
    *,
    cadences: Iterable[int] = CADENCES,
    price_per_hour: float | None = None,
    surer: Surer | None = None,
    progress: Progress | None = None,
) -> list[Option]:
    """Plans of one approach at each cadence, the best first.

    Visits set by hand leave one "cadence". Shortfalls weigh first, then minutes and visits; a cadence without a
    single visit before the last wished day is left out.
    Only the best plan's rounding is mended step by step, and only it is made surer by ``surer``.
    """
    chosen = approach or natural(case)
    if chosen == "strip":
        return [best_strip(case, price_per_hour=price_per_hour)]
    tried = list(cadences)[:1] if case.own_visits else list(cadences)
    thorough = len(tried) == 1
    found: list[Option] = []
    sessions: dict[int, PlanSession] = {}
    for number, cadence in enumerate(tried):
        if progress is not None:
            progress(f"{chosen}, every {cadence} days", number, len(tried))
        problem = _or_none(case, chosen, cadence)
        if problem is not None:
            sessions[cadence] = PlanSession(problem)
            plan = sessions[cadence].plan(thorough=thorough)
            found.append(option(case, chosen, cadence, plan, price_per_hour))
    if not found:
        raise OutOfRange(
            "No visit fits between today and the last wished day.",
            remedy="Move the day, or allow more days for visits.",
        )
    found.sort(key=lambda each: each.score)
    cadence = found[0].cadence
    careful = found[0].plan if thorough else sessions[cadence].plan()
    if surer is not None:
        if progress is not None:
            progress("making it surer", len(tried), len(tried))
        careful = surer(sessions[cadence], careful, cadence)
    return [option(case, chosen, cadence, careful, price_per_hour), *found[1:]]


def best_strip(case: Case, *, price_per_hour: float | None = None) -> Option:
    """The full strip that makes the dog readiest: sessions beginning in each week before the (first) show."""
    end = min(case.shows) if case.shows else case.last
    first = case.calendar.first
    starts = range(first, max(end - 14, first) + 1, 7)
    plans = [PlanSession(strip_problem(case, start)).plan() for start in starts]
    best = min(plans, key=lambda plan: plan.objective)
    return option(case, "strip", 0, best, price_per_hour)


def compare(
    case: Case,
    *,
    cadences: Iterable[int] = CADENCES,
    price_per_hour: float | None = None,
    progress: Progress | None = None,
) -> list[Option]:
    """The best option of every approach that this wish allows: rolling, staged and strip (with a show), free."""
    names = ["rolling"]
    if case.shows:
        names += ["staged", "strip"]
    if case.ready_from is not None and case.shows:
        names.append("free")
    chosen = list(cadences)
    results = []
    for number, name in enumerate(names):
        if progress is not None:
            progress(name, number, len(names))
        results.append(best_cadence(case, name, cadences=chosen, price_per_hour=price_per_hour)[0])
    return results


def _or_none(case: Case, approach: str, cadence: int) -> Problem | None:
    """The problem, or None where this cadence has no visit in time."""
    problem = None
    try:
        problem = problem_for(case, approach, cadence)
    except OutOfRange as refused:
        if "no visit to plan" not in refused.what:
            raise
    return problem
