"""Aims drawn in where that makes a zone ready more often."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatwright.coat.aims import Aim, staged_aim
from coatwright.planning.plan import Plan
from coatwright.planning.solve import PlanSession
from coatwright.planning.surest import MARGINS, drawn_in, planned_within, surest, tightened
from tests.planning.random_problems import random_problem


@given(
    st.floats(0.0, 60.0),
    st.floats(1.5, 60.0),
    st.floats(0.05, 1.0),
    st.booleans(),
)
def test_an_aim_drawn_in_lies_inside_the_aim(lo: float, width: float, margin: float, staged: bool) -> None:
    aim = staged_aim(lo, lo + width) if staged else Aim(lo, lo + width)
    tight = drawn_in(aim, margin)
    assert aim.lo - 1e-9 <= tight.lo < tight.hi <= max(aim.hi, aim.lo + 1.0) + 1e-9
    assert (tight.cover, tight.top, tight.quiet) == (aim.cover, aim.top, aim.quiet)


def test_the_whole_aim_is_the_aim_itself() -> None:
    aim = staged_aim(5.0, 10.0)
    assert drawn_in(aim, 1.0) is aim
    assert drawn_in(aim, 0.8) == staged_aim(5.5, 9.5)
    assert drawn_in(Aim(12.0, 22.0), 0.8).hi == pytest.approx(17.6)


def session() -> PlanSession:
    return PlanSession(random_problem(11))


def test_where_no_margin_helps_the_plan_stays_as_it_is() -> None:
    made = session()
    plan = made.plan()
    count = len(made.problem.zones)
    kept, margins = surest(made, plan, lambda _: np.full(count, 0.5))
    assert kept is plan
    assert set(margins.values()) == {1.0}


def test_each_zone_takes_the_margin_that_makes_it_surest_and_is_judged_by_the_aim_as_wished() -> None:
    made = session()
    plan = made.plan()
    keys = [zone.key for zone in made.problem.zones]
    asked: list[Plan] = []

    def chances(tried: Plan) -> np.ndarray:
        asked.append(tried)
        return np.array([0.2 * len(asked)] + [0.5] * (len(keys) - 1))

    found, margins = surest(made, plan, chances)
    assert margins[keys[0]] == MARGINS[-1]
    assert all(margins[key] == 1.0 for key in keys[1:])
    assert len(asked) == len(MARGINS) + 1
    assert found is asked[-1]
    assert found.problem is made.problem
    assert found.objective >= found.bound - 1e-6
    assert tightened(made.problem, margins).zones[1:] == made.problem.zones[1:]


def test_takes_weighed_again_cost_what_they_cost() -> None:
    made = session()
    plan = made.plan()
    assert made.weigh(plan.takes).objective == pytest.approx(plan.objective, rel=1e-6, abs=1e-6)
    within = planned_within(made, {})
    assert within.takes == pytest.approx(made.weigh(within.takes).takes)
