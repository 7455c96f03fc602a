"""The command line and the Python interface plan at the learnt speed too."""

from __future__ import annotations

from dataclasses import replace

import coatwright
from coatwright.cli.source import find_dog
from coatwright.salon.salon import add_dog
from coatwright.salon.speeds import minutes_for
from coatwright.salon.store import Store
from tests.salon.test_sheets import FIRST, rolling_dog
from tests.salon.test_speeds import PULLED, timed, visits


def test_a_dog_of_the_salon_is_planned_at_the_speed_of_its_groomer(tmp_path):
    with Store.open(tmp_path / "salon.db") as store:
        add_dog(store, timed("moss", 1.6), today=FIRST)
        add_dog(store, rolling_dog(), today=FIRST)
    found = find_dog("bramble", today=FIRST, data=tmp_path)
    assert found.speed == minutes_for(rolling_dog(), FIRST, [timed("moss", 1.6)])
    assert found.speed["back"] > 1.15 * 55.0
    assert find_dog("bramble", today=FIRST.replace(year=2030), data=tmp_path).speed == {}, "too long ago"


def test_the_interface_learns_from_the_dogs_own_visits():
    slow = timed("moss", 1.6)
    rolled = replace(
        rolling_dog(), assessments=slow.assessments, visits=visits(1.6), limits=slow.limits, fixed={}
    )
    plan = coatwright.plan(rolled, FIRST)
    untimed = replace(
        rolled,
        visits=tuple(
            replace(v, takes={key: replace(t, minutes=None) for key, t in v.takes.items()})
            for v in rolled.visits
        ),
    )
    usual = coatwright.plan(untimed, FIRST)
    for one, two in zip(plan.case.zones, usual.case.zones, strict=True):
        assert one.minutes > 1.3 * two.minutes, one.key
    assert {zone.key for zone in plan.case.zones} == set(PULLED)
