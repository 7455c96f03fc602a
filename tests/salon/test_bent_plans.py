"""Plans with visits and takes set by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from coatwright.salon.plans import plan_dog
from coatwright.salon.records import FixedVisit
from tests.salon.making import FIRST
from tests.salon.test_sheets import rolling_dog


@pytest.fixture(scope="module")
def plan():
    return plan_dog(rolling_dog(fixed={}), FIRST)


def bent(plan, *visits, **changes):
    dog = replace(plan.dog, fixed_visits=visits, rhythm=plan.option.cadence or None, **changes)
    return plan_dog(dog, FIRST)


def test_a_moved_visit_takes_its_fixed_takes_along(plan):
    day, on = plan.visits[2], plan.visits[2] + timedelta(days=3)
    after = bent(plan, FixedVisit(day, on=on), fixed={("back", day): 0.1})
    assert day not in after.visits
    assert after.takes(on)["back"] == pytest.approx(0.1)
    assert after.option.cadence == plan.option.cadence
    assert (after.dog.rhythm_day(on), after.dog.visit_set_on(on)) == (day, FixedVisit(day, on=on))
    others = [each for each in plan.visits if each != day and each <= after.visits[-1]]
    assert [each for each in after.visits if each != on] == others


def test_a_visit_is_dropped_and_one_is_added(plan):
    day, more = plan.visits[1], plan.visits[2] + timedelta(days=4)
    after = bent(plan, FixedVisit(day, dropped=True), FixedVisit(more, added=True))
    assert day not in after.visits
    assert more in after.visits


def test_minutes_of_one_visit_hold(plan):
    day = max(plan.visits[:4], key=plan.minutes)
    less = plan.minutes(day) - 10.0
    after = bent(plan, FixedVisit(day, minutes=less))
    assert after.minutes(day) <= less + 0.5
    assert plan.minutes(day) > less + 0.5


def test_the_rhythm_is_chosen_anew_when_nothing_set_by_hand_is_to_come(plan):
    other = 7 if plan.option.cadence != 7 else 28
    past = FixedVisit(FIRST - timedelta(days=30), minutes=60.0)
    assert (
        plan_dog(replace(plan.dog, fixed_visits=(past,), rhythm=other), FIRST).option.cadence
        == plan.option.cadence
    )
    coming = FixedVisit(plan.visits[3], minutes=200.0)
    assert plan_dog(replace(plan.dog, fixed_visits=(coming,), rhythm=other), FIRST).option.cadence == other
