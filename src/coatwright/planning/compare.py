"""Cadences and approaches side by side on the same dog."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

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


@dataclass(frozen=True)
class Option:
    """One way to do it: the plan, its approach and cadence, and the figures that a groomer compares.

    ``ready_days`` counts the days, of those shown, on which every zone with an aim is ready (quiet days after a
    pull do not count as ready). ``price`` is in the salon's money, None without a price per hour.
    """

    approach: str
    cadence: int
    plan: Plan
    shown_until: Day
    ready_days: int
    visits: int
    minutes: Minutes
    thinnest: Share
    price: float | None

    @property
    def score(self) -> float:
        """What the planner weighs: the objective and the set-up of every visit, in minutes."""
        return self.plan.objective + self.plan.problem.setup * len(self.plan.visits)


def option(case: Case, approach: str, cadence: int, plan: Plan, price_per_hour: float | None) -> Option:
    """Work out the figures of a plan."""
    shown = min(case.last, plan.problem.last_day) if approach != "staged" else plan.problem.last_day
    days = shown - case.today + 1
    ready = plan.forecast(days).ready[0].all(axis=0)
    used = np.array(plan.problem.visits) <= shown
    minutes = float(plan.minutes[used].sum())
    return Option(
        approach,
        cadence,
        plan,
        shown,
        int(ready.sum()),
        int((plan.minutes[used] > 0).sum()),
        minutes,
        plan.thinnest()[2],
        None if price_per_hour is None else minutes / 60.0 * price_per_hour,
    )


def best_cadence(
    case: Case,
    approach: str | None = None,
    *,
    cadences: Iterable[int] = CADENCES,
    price_per_hour: float | None = None,
    progress: Progress | None = None,
) -> list[Option]:
    """Plans of one approach at each cadence, the best first.

    Visits set by hand leave one "cadence". Shortfalls weigh first, then minutes and visits; a cadence without a
    single visit before the last wished day is left out.
    Only the best plan is rounded with all care.
    """
    chosen = approach or natural(case)
    if chosen == "strip":
        return [best_strip(case, price_per_hour=price_per_hour)]
    tried = list(cadences)[:1] if case.own_visits else list(cadences)
    found: list[Option] = []
    sessions: dict[int, PlanSession] = {}
    for number, cadence in enumerate(tried):
        if progress is not None:
            progress(f"{chosen}, every {cadence} days", number, len(tried))
        problem = _or_none(case, chosen, cadence)
        if problem is not None:
            sessions[cadence] = PlanSession(problem)
            plan = sessions[cadence].plan(thorough=False)
            found.append(option(case, chosen, cadence, plan, price_per_hour))
    if not found:
        raise OutOfRange(
            "No visit fits between today and the last wished day.",
            remedy="Move the day, or allow more days for visits.",
        )
    found.sort(key=lambda each: each.score)
    careful = sessions[found[0].cadence].plan()
    return [option(case, chosen, found[0].cadence, careful, price_per_hour), *found[1:]]


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
