"""Cadences, approaches, comparison, and the answer to a wish that cannot be met."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.errors import OutOfRange, UnfitDog
from coatwright.planning.approach import Case, ZoneCase, natural, problem_for
from coatwright.planning.cadence import Calendar, visit_days
from coatwright.planning.compare import best_cadence, best_strip, compare
from coatwright.planning.explain import explain, weeks_until_possible
from coatwright.units import date_of

TODAY = 740_000
OLD = ZoneCoat.of([Layer(TODAY - 260, 1.0)])


def dog(**changes: object) -> Case:
    zones = (
        ZoneCase("back", OLD, Growth(), (13.0, 25.0), minutes=55.0, neighbours=("rear",)),
        ZoneCase("rear", OLD, Growth(), (6.0, 14.0), minutes=30.0),
        ZoneCase("legs", OLD, Growth(), (30.0, 50.0), minutes=60.0),
        ZoneCase("belly", OLD, Growth(), None, tender=True, cap=0.2, minutes=15.0),
    )
    return Case(**{"today": TODAY, "zones": zones, "calendar": Calendar(TODAY), **changes})


@settings(max_examples=100, deadline=None)
@given(
    st.sampled_from([7, 10, 14, 21, 28]),
    st.frozensets(st.integers(0, 6), max_size=5),
    st.integers(0, 60),
    st.integers(0, 30),
)
def test_visits_keep_to_open_days_and_apart(cadence: int, off: frozenset[int], away: int, span: int) -> None:
    calendar = Calendar(
        TODAY, days_off=off, away=((TODAY + away, TODAY + away + span),), blocked=frozenset({TODAY + 33})
    )
    days = visit_days(calendar, cadence, TODAY + 182)
    assert list(days) == sorted(set(days))
    for day in days:
        assert calendar.open(day)
        assert date_of(day).weekday() not in off
        assert not TODAY + away <= day <= TODAY + away + span
    assert all(b - a >= cadence // 2 for a, b in pairwise(days))
    if not off and span == 0:
        assert len(days) >= 182 // cadence


def test_a_calendar_without_an_open_day_is_refused() -> None:
    with pytest.raises(OutOfRange, match="Every weekday is a day off"):
        Calendar(TODAY, days_off=frozenset(range(7)))
    with pytest.raises(OutOfRange, match="ends before it begins"):
        Calendar(TODAY, away=((TODAY + 3, TODAY),))


def test_the_approach_is_what_the_wish_amounts_to() -> None:
    assert natural(dog(ready_from=TODAY + 112)) == "rolling"
    assert natural(dog(shows=(TODAY + 126,))) == "staged"
    assert natural(dog(shows=(TODAY + 126,), ready_from=TODAY + 112)) == "free"


def test_a_rolling_wish_gives_a_rolling_coat_and_a_show_a_staged_one() -> None:
    rolling = best_cadence(dog(ready_from=TODAY + 112))[0]
    staged = best_cadence(dog(shows=(TODAY + 126,)))[0]
    back = rolling.plan.takes[0]
    assert back.max() <= 0.25
    assert (back > 0).sum() >= 8
    assert staged.plan.takes[0].max() == pytest.approx(1.0)
    assert rolling.thinnest >= 0.3
    assert staged.thinnest == pytest.approx(0.0)
    assert staged.plan.judged(TODAY + 126)["back"].ready


def test_every_cadence_is_solved_and_the_best_comes_first() -> None:
    options = best_cadence(dog(ready_from=TODAY + 112))
    assert {option.cadence for option in options} == {7, 10, 14, 21, 28}
    assert options[0].score == min(option.score for option in options)


def test_the_way_into_a_rolling_coat_may_begin_with_a_full_strip() -> None:
    """The first sessions take all that may be taken; shares begin when hair has come back."""
    case = dog(ready_from=TODAY + 140, entry="strip")
    plan = best_cadence(case, cadences=[14])[0].plan
    strip = [day for day in plan.visits if day <= TODAY + 7]
    assert sum(plan.take("back", day) for day in strip) == pytest.approx(1.0)
    later = [day for day in plan.visits if plan.take("back", day) > 0 and day > TODAY + 7]
    assert later[0] - strip[-1] >= 28
    shares = best_cadence(dog(ready_from=TODAY + 140), cadences=[14])[0]
    assert shares.thinnest > plan.thinnest()[2]


def test_approaches_stand_side_by_side_on_the_same_dog() -> None:
    case = dog(shows=(TODAY + 126,), ready_from=TODAY + 112)
    found = {option.approach: option for option in compare(case, cadences=[7, 14], price_per_hour=40.0)}
    assert set(found) == {"rolling", "staged", "strip", "free"}
    assert found["rolling"].ready_days > found["staged"].ready_days
    assert found["rolling"].thinnest > found["strip"].thinnest
    assert found["strip"].visits <= found["rolling"].visits
    assert all(option.price == pytest.approx(option.minutes / 60 * 40) for option in found.values())


def test_a_full_strip_is_laid_where_it_makes_the_show() -> None:
    """One band can be met by one strip; the sessions lie within a few days of each other."""
    zones = (ZoneCase("back", OLD, Growth(), (13.0, 25.0), minutes=200.0),)
    option = best_strip(dog(zones=zones, shows=(TODAY + 126,)))
    assert option.plan.judged(TODAY + 126)["back"].ready
    assert option.plan.visits[-1] - option.plan.visits[0] <= 7
    assert 8 <= (TODAY + 126 - option.plan.visits[0]) / 7 <= 12


def test_a_wish_too_soon_is_answered_with_zone_limit_amount_and_day() -> None:
    """A show in six weeks cannot have a 13 mm jacket on a coat that is all blown: ten weeks could."""
    case = dog(shows=(TODAY + 42,))
    option = best_cadence(case, cadences=[7])[0]
    answers = explain(case, option.plan, option.approach, option.cadence)
    about = {answer.zone: answer for answer in answers}
    assert "back" in about
    assert about["back"].worst > 0.3
    assert about["back"].earliest is not None
    weeks = (about["back"].earliest - TODAY) / 7
    assert 8 <= weeks <= 12  # lag 4 weeks and 13 mm at 0.45 mm/d
    text = about["back"].sentence("The back", lambda day: str(date_of(day)))
    assert "The back would be" in text
    assert "%" in text
    assert str(date_of(about["back"].earliest)) in text
    assert about["back"].remedies
    moved = case.with_(shows=(about["back"].earliest,))
    again = best_cadence(moved, cadences=[7])[0]
    assert not [s for s in again.plan.unavoidable if s.zone == "back"]


def test_a_wish_that_only_time_forbids_says_so() -> None:
    zones = tuple(ZoneCase(f"zone{k}", OLD, Growth(), (13.0, 25.0), minutes=170.0) for k in range(6))
    case = dog(zones=zones, shows=(TODAY + 70,), calendar=Calendar(TODAY, minutes=60.0))
    option = best_cadence(case, cadences=[7])[0]
    answers = explain(case, option.plan, option.approach, option.cadence)
    assert {answer.cause for answer in answers} == {"time"}
    assert all("minutes" in " ".join(remedy.text for remedy in answer.remedies) for answer in answers)


def test_a_band_that_no_rhythm_can_hold_has_no_earliest_day() -> None:
    """Never below 0.6 and never above 14 mm: a hair would be above the skin for less time than below it."""
    zones = (ZoneCase("back", OLD, Growth(), (5.0, 12.0), minutes=40.0),)
    case = dog(zones=zones, ready_from=TODAY + 112, covered=((TODAY + 112, TODAY + 900),))
    option = best_cadence(case, cadences=[14])[0]
    answers = explain(case, option.plan, option.approach, option.cadence)
    assert answers
    assert all(answer.earliest is None for answer in answers if answer.cause == "coat")


def test_a_bare_dog_is_not_planned_in_the_weeks_the_owner_rules_out() -> None:
    show = TODAY + 126
    free = best_cadence(dog(shows=(show,)), cadences=[7])[0].plan
    bare = min(day for day in free.visits if free.take("back", day) >= 0.9)
    case = dog(shows=(show,), covered=((bare - 7, bare + 7),))
    plan = best_cadence(case, cadences=[7])[0].plan
    assert all(plan.take("back", day) <= 0.4 + 1e-9 for day in range(bare - 7, bare + 8))


def test_unfit_dogs_staged_without_show_and_unknown_approaches_are_refused() -> None:
    with pytest.raises(UnfitDog, match="itchy"):
        best_cadence(dog(ready_from=TODAY + 100, unfit="itchy skin"))
    with pytest.raises(OutOfRange, match="needs a show"):
        problem_for(dog(ready_from=TODAY + 100), "staged", 14)
    with pytest.raises(OutOfRange, match="no approach 'fast'"):
        problem_for(dog(), "fast", 14)
    with pytest.raises(OutOfRange, match="No visit fits"):
        best_cadence(dog(shows=(TODAY + 3,), calendar=Calendar(TODAY + 10)))


def test_a_zone_alone_needs_no_longer_than_the_dog() -> None:
    case = dog(shows=(TODAY + 42,))
    option = best_cadence(case, cadences=[7])[0]
    miss = next(s for s in option.plan.unavoidable if s.zone == "legs")
    weeks = weeks_until_possible(case, "staged", 7, miss)
    assert weeks is not None
    assert weeks > 4


def test_a_full_strip_keeps_the_caps_of_tender_zones() -> None:
    """Over all its sessions a tender zone loses no more than it may lose at one visit."""
    option = best_strip(dog(shows=(TODAY + 126,)))
    assert option.plan.takes[option.plan.zone_number("belly")].sum() <= 0.2 + 1e-9
    entry = best_cadence(dog(ready_from=TODAY + 140, entry="strip"), cadences=[14])[0].plan
    first = [day for day in entry.visits if day <= TODAY + 7]
    assert sum(entry.take("belly", day) for day in first) <= 0.2 + 1e-9


def test_the_rhythm_goes_on_from_the_last_visit() -> None:
    calendar = Calendar(TODAY + 1, last_visit=TODAY)
    assert visit_days(calendar, 14, TODAY + 60)[0] == TODAY + 14
    late = Calendar(TODAY, last_visit=TODAY - 40)
    assert visit_days(late, 14, TODAY + 60)[0] == TODAY


def test_nothing_beyond_the_last_day_shown_is_told() -> None:
    case = dog(ready_from=TODAY + 30)
    option = best_cadence(case, cadences=[21])[0]
    assert option.plan.thinnest(option.shown_until)[1] <= option.shown_until
    answers = explain(case, option.plan, "rolling", 21, until=option.shown_until)
    assert answers
    assert all(answer.last <= option.shown_until for answer in answers)


def test_a_full_strip_of_a_rolled_coat_takes_what_stands() -> None:
    """Hair pulled two weeks ago is under the skin still; a strip takes the rest, with a show or without."""
    rolled = ZoneCoat.even(TODAY - 14, 14, 5)
    zones = (ZoneCase("back", rolled, Growth(), (13.0, 25.0), minutes=55.0),)
    for wish in ({"shows": (TODAY + 126,)}, {"ready_from": TODAY + 112}):
        option = best_cadence(dog(zones=zones, **wish), "strip")[0]
        assert option.plan.takes.sum() >= 0.8 - 1e-9
        first = option.plan.visits[0]
        assert option.plan.visits[-1] - first <= 3


def test_visits_set_by_hand_have_their_way_in_the_rhythm() -> None:
    rhythm = visit_days(Calendar(TODAY), 14, TODAY + 70)
    second, third, fourth = rhythm[1:4]
    calendar = Calendar(
        TODAY,
        moved={second: second + 3, fourth - 1: fourth + 2},
        dropped=frozenset({third}),
        added=frozenset({third + 5}),
    )
    days = visit_days(calendar, 14, TODAY + 70)
    assert days == (rhythm[0], second + 3, third + 5, fourth + 2, *rhythm[4:])


def test_what_is_set_by_hand_stays_with_its_visit_when_the_rhythm_shifts() -> None:
    moved = {TODAY + 28: TODAY + 31}
    early = visit_days(Calendar(TODAY, last_visit=TODAY - 12, moved=moved), 14, TODAY + 60)
    assert early == (TODAY + 2, TODAY + 16, TODAY + 31, TODAY + 44, TODAY + 58)


def test_a_day_off_does_not_stand_against_a_visit_set_by_hand_but_a_dog_away_does() -> None:
    weekday = date_of(TODAY + 3).weekday()
    off = Calendar(TODAY, days_off=frozenset({weekday}), added=frozenset({TODAY + 3}))
    assert TODAY + 3 in visit_days(off, 14, TODAY + 30)
    away = Calendar(TODAY, away=((TODAY + 2, TODAY + 4),), added=frozenset({TODAY + 3}))
    assert TODAY + 3 not in visit_days(away, 14, TODAY + 30)
