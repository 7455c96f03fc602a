"""From timed visits to the minutes of a plan: whose speed counts, from when, and where it is used."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from coatwright.patterns import surface_factor, zones
from coatwright.salon.fold import Salon
from coatwright.salon.plans import case_of, compare_approaches, plan_dog, zone_cases
from coatwright.salon.records import Dog, Reading, Take, Visit
from coatwright.salon.sheets import sheet_of
from coatwright.salon.speeds import WINDOW, Speeds, minutes_for, speeds_of
from coatwright.web.pages.today.day import logged, planned
from coatwright.web.planner import Planner
from tests.salon.making import dog, old_coat
from tests.salon.test_sheets import FIRST, rolling_dog

BEGAN = FIRST - timedelta(days=300)
PULLED = tuple(key for key, zone in zones().items() if zone.work == "pull")


def visits(factor, groomer="Ivo Teaselby", count=8, first=BEGAN, *, singly=True, size=1.0):
    """Visits every fortnight at so many times the table's minutes, zone by zone or as a whole."""
    found = []
    for number in range(count):
        day = first + timedelta(days=14 * number)
        spent = {key: 0.2 * zones()[key].minutes * size * factor for key in PULLED}
        takes = {key: Take(0.2, minutes=round(spent[key], 1) if singly else None) for key in PULLED}
        total = None if singly else round(sum(spent.values()) + 20.0)
        found.append(Visit(f"v{groomer}{number}", day, takes, minutes=total, groomer=groomer))
    return tuple(found)


def timed(id="moss", factor=1.5, **changes) -> Dog:
    weight = changes.pop("weight_kg", 10.0)
    given = {key: changes.pop(key) for key in ("groomer", "count", "first", "singly") if key in changes}
    return dog(
        id=id,
        name=id.title(),
        weight_kg=weight,
        assessments=(old_coat(BEGAN - timedelta(days=700), zones=PULLED),),
        visits=visits(factor, size=surface_factor(weight), **given),
        **changes,
    )


def salon(*dogs: Dog) -> Salon:
    return Salon(dogs={each.id: each for each in dogs})


def pace(speeds: Speeds, of: Dog, zone="back") -> float:
    """Minutes of a zone against the table's for this dog."""
    return speeds.minutes(of)[zone] / zones()[zone].minutes_for(of.weight_kg or of.pattern.weight_kg)


def test_nothing_timed_teaches_nothing():
    bare = replace(timed(), visits=tuple(replace(v, takes={"back": Take(0.2)}) for v in visits(1.0)))
    found = speeds_of(salon(bare), FIRST)
    assert found.minutes(bare) == {}
    assert found.groomers() == ()
    assert zone_cases(timed(), FIRST) == zone_cases(timed(), FIRST, {}), "the table's minutes then"


@pytest.mark.parametrize("singly", [True, False])
@pytest.mark.parametrize("factor", [0.7, 1.5])
def test_what_was_timed_comes_back_for_the_dog_and_in_part_for_another(factor, singly):
    other = dog(id="fern", name="Fern", weight_kg=22.0)
    own = timed(factor=factor, singly=singly, weight_kg=7.0)
    found = speeds_of(salon(own, other), FIRST)
    moss, fern = pace(found, own), pace(found, other)
    assert moss == pytest.approx(factor, rel=0.12)
    assert min(1.0, factor) < fern < max(1.0, factor), "the same groomer, but a dog that is not known"
    assert abs(fern - 1.0) < abs(moss - 1.0)


def test_the_last_groomer_of_the_dog_counts_else_the_only_one_else_nobody():
    slow, quick = timed("moss", 1.6), timed("wren", 0.7, groomer="Maren Sedgemoor-Pike")
    new = dog(id="fern", name="Fern", weight_kg=10.0)
    both = speeds_of(salon(slow, quick, new), FIRST)
    assert both.groomer_of("moss") == "ivo teaselby"
    assert both.groomer_of("wren") == "maren sedgemoor-pike"
    assert both.groomer_of("fern") is None
    changed = replace(
        slow, visits=(*slow.visits, replace(quick.visits[0], id="last", day=FIRST - timedelta(days=1)))
    )
    after = speeds_of(salon(changed, quick, new), FIRST)
    assert after.groomer_of("moss") == "maren sedgemoor-pike"
    assert pace(after, changed) < 0.85 * pace(both, slow)
    alone = speeds_of(salon(slow, new), FIRST)
    assert alone.groomer_of("fern") == "ivo teaselby"
    assert pace(alone, new) > 1.1


def test_a_groomer_is_one_however_the_name_is_typed():
    untidy = replace(timed(), visits=tuple(replace(v, groomer=f" {v.groomer.upper()} ") for v in visits(1.5)))
    unnamed = replace(timed("wren"), visits=tuple(replace(v, groomer="") for v in visits(1.5)))
    found = speeds_of(salon(untidy, timed("fern"), unnamed), FIRST)
    (only,) = found.groomers()
    assert only.name.casefold() == "ivo teaselby"
    assert (only.visits, only.dogs) == (24, 3), "visits without a name are the only groomer's"
    two = speeds_of(salon(untidy, timed("fern", groomer="Maren"), unnamed), FIRST)
    assert [each.name for each in two.groomers()] == ["", "IVO TEASELBY", "Maren"], "else they are nobody's"


def test_a_visit_counts_from_the_morrow_and_for_two_years():
    moss = timed(count=1, first=FIRST)
    assert speeds_of(salon(moss), FIRST).minutes(moss) == {}
    assert speeds_of(salon(moss), FIRST + timedelta(days=1)).minutes(moss)
    assert speeds_of(salon(moss), FIRST + WINDOW).minutes(moss)
    assert speeds_of(salon(moss), FIRST + WINDOW + timedelta(days=1)).minutes(moss) == {}


def test_a_state_is_learnt_from_once_and_what_teaches_nothing_changes_nothing():
    moss = timed()
    state = salon(moss)
    found = speeds_of(state, FIRST)
    assert speeds_of(state, FIRST) is found
    read = replace(moss, readings=(Reading("r1", FIRST, "back", longest_mm=30.0),), notes="Shy.")
    assert speeds_of(salon(read), FIRST) is found, "a reading says nothing about speed"
    assert speeds_of(salon(moss), FIRST + timedelta(days=1)) is found, "nor does a night"
    assert speeds_of(salon(replace(moss, visits=moss.visits[:-1])), FIRST) is not found
    assert minutes_for(moss, FIRST) == found.minutes(moss)


def test_one_slip_moves_no_plan_by_more_than_a_little():
    good = timed("moss", 1.3)
    takes = dict(good.visits[3].takes)
    takes["back"] = replace(takes["back"], minutes=10.0 * takes["back"].minutes)
    spoilt = replace(good, visits=(*good.visits[:3], replace(good.visits[3], takes=takes), *good.visits[4:]))
    one, two = speeds_of(salon(good), FIRST), speeds_of(salon(spoilt), FIRST)
    for zone in PULLED:
        assert pace(two, spoilt, zone) == pytest.approx(pace(one, good, zone), rel=0.05)
    (doubt,) = two.doubts()
    assert (doubt.dog, doubt.day, doubt.zone) == ("moss", good.visits[3].day, "back")
    assert doubt.expected < 0.3 * doubt.minutes
    assert one.doubts() == ()


def test_nothing_is_told_as_known_before_there_is_enough():
    few = speeds_of(salon(timed(count=2)), FIRST).groomers()[0]
    assert not few.known
    assert not any(zone.known for zone in few.zones)
    many = speeds_of(salon(*(timed(f"dog{n}", 1.5, count=6) for n in range(6))), FIRST).groomers()[0]
    assert many.known
    assert many.whole.mean / many.table == pytest.approx(1.5, rel=0.15)
    assert [zone.zone for zone in many.zones] == list(PULLED)
    assert all(zone.known and zone.visits == 36 for zone in many.zones if zone.table >= 12.0)
    low, high = many.whole.band()
    assert low < many.whole.mean < high


# --- the use in plan, sheet and day ------------------------------------------------------------------------


@pytest.fixture(scope="module")
def slow():
    return dict.fromkeys(("back", "ribs"), 100.0)


def test_the_plan_the_sheet_and_the_day_take_the_learnt_minutes(slow):
    plan = plan_dog(rolling_dog(), FIRST, speed=slow)
    day = plan.visits[0]
    takes = plan.takes(day)
    weight = {zone.key: zone.minutes for zone in plan.case.zones}
    assert weight["back"] == 100.0
    assert weight["throat"] == pytest.approx(zones()["throat"].minutes), (
        "a zone that was not learnt: the table"
    )
    pulling = sum(share * weight[zone] for zone, share in takes.items())
    assert plan.minutes(day) == pytest.approx(pulling + plan.case.setup)
    sheet = sheet_of(plan, day)
    assert sheet.minutes == pytest.approx(pulling + sheet.setup)
    assert {zone.key: zone.minutes for zone in sheet.zones} == pytest.approx(
        {zone: share * weight[zone] for zone, share in takes.items()}
    )
    assert planned(plan, day).pulling == pytest.approx(pulling)
    options = compare_approaches(rolling_dog(), FIRST, speed=slow)
    assert min(o.minutes for o in options) > min(o.minutes for o in compare_approaches(rolling_dog(), FIRST))


def test_minutes_set_by_hand_win(slow):
    by_hand = rolling_dog(speed={"back": 30.0})
    found = {zone.key: zone.minutes for zone in case_of(by_hand, FIRST, speed=slow).zones}
    assert (found["back"], found["ribs"]) == (30.0, 100.0)


def test_a_visit_logged_without_minutes_counts_at_the_learnt_speed(slow):
    done = Visit("v", FIRST, {"back": Take(0.5), "throat": Take(0.5, minutes=3.0)})
    assert logged(rolling_dog(), done, slow).pulling == 53.0
    assert logged(rolling_dog(speed={"back": 10.0}), done, slow).pulling == 8.0


def test_another_speed_is_another_plan_and_the_same_speed_the_same(slow):
    planner = Planner(workers=1)
    try:
        one = planner.plan(rolling_dog(), FIRST, speed=slow, wait=60)
        assert planner.plan(rolling_dog(), FIRST, speed=dict(reversed(slow.items())), wait=60) is one
        assert planner.plan(rolling_dog(), FIRST, wait=60) is not one
        assert planner.plan(rolling_dog(), FIRST, speed={}, wait=60) is planner.plan(
            rolling_dog(), FIRST, wait=60
        )
        assert planner.compare(rolling_dog(), FIRST, speed=slow, wait=60) is not planner.compare(
            rolling_dog(), FIRST, wait=60
        )
    finally:
        planner.close()


def test_a_limit_of_minutes_takes_less_from_a_dog_that_takes_longer():
    """With half the pace the same hour pulls less: the plan must know it."""
    short = rolling_dog(limits=replace(rolling_dog().limits, minutes=60.0), fixed={})
    quick = plan_dog(short, FIRST)
    slower = plan_dog(short, FIRST, speed={"back": 165.0, "ribs": 225.0, "throat": 48.0})
    assert all(slower.minutes(day) <= 60.5 for day in slower.visits)
    assert sum(slower.takes(slower.visits[0]).values()) < sum(quick.takes(quick.visits[0]).values())


def test_dates_are_never_in_the_future():
    early = timed(count=3, first=date(2030, 1, 1))
    assert speeds_of(salon(early), FIRST).minutes(early) == {}
