"""Why a zone is pulled or spared: each sentence against a coat and takes that were worked by hand.

All zones grow as coat model, section 1, has it: under the skin for 28 days, then 0.45 mm a day up to 75 mm.
"""

from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from coatwright.coat.aims import Aim, staged_aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.errors import OutOfRange
from coatwright.planning.plan import Plan
from coatwright.planning.problem import Problem, Wish, ZoneTask
from coatwright.printing.words import THIN
from coatwright.salon.plans import plan_dog
from coatwright.salon.reasons import reasons_of
from coatwright.units import day_of
from tests.salon.test_sheets import FIRST, rolling_dog

D = day_of(FIRST)
GROWTH = Growth(lag=28.0, rate=0.45, end=75.0, spread=0.01)
GROWN = ZoneCoat.of([Layer(D - 300, 1.0)])


def layered(*weeks):
    """Equal layers of these ages."""
    return ZoneCoat.of([Layer(D - 7 * age, 1.0 / len(weeks)) for age in weeks])


def planned(tasks, takes, visits, wish, minutes=180.0, fixed=(), covered=()):
    """A plan of exactly these takes."""
    problem = Problem(
        D, visits, tuple(minutes for _ in visits), tuple(tasks), wish, fixed=dict(fixed), covered=covered
    )
    whole = Plan(problem, np.array(takes, dtype=float), 0.0, 0.0, (), (), np.zeros(len(visits)))
    option = SimpleNamespace(plan=whole, shown_until=problem.last_day)
    return SimpleNamespace(option=option, case=SimpleNamespace(fixed=dict(fixed)))


def told(*args, day=FIRST, **kwargs):
    reasons = reasons_of(planned(*args, **kwargs), day)
    return {reason.zone: reason.text.replace(THIN, " ") for reason in reasons}


def test_a_staged_zone_is_pulled_when_its_hair_will_have_the_length_of_the_show_day():
    # The show is 112 days (16 weeks) on, 23 March 2027. Hair pulled now: 0.45 x (112 - 28) = 37.8 mm. Pulled after 63
    # days: 0.45 x (49 - 28) = 9.45 mm, so the skull waits, and its hair of today would be as long as the back's.
    tasks = [
        ZoneTask("back", GROWN, GROWTH, staged_aim(19.0, 44.0)),
        ZoneTask("skull", GROWN, GROWTH, staged_aim(4.0, 13.0)),
    ]
    takes, visits, wish = [[1.0, 0.0], [0.0, 1.0]], (D, D + 63), Wish((D + 112,))
    assert told(tasks, takes, visits, wish) == {
        "back": "hair pulled now is 38 mm on 23 Mar 2027, when 19–44 mm is wanted; all that stands above the skin",
        "skull": "too early: hair pulled now would be 38 mm on 23 Mar 2027, when 4–13 mm is wanted; "
        "next take 2 Feb 2027",
    }
    later = told(tasks, takes, visits, wish, day=FIRST + timedelta(days=63))
    assert later["skull"].startswith("hair pulled now is 9 mm on 23 Mar, when 4–13 mm is wanted")
    assert later["back"].startswith("not due: nothing is overgrown")


def test_hair_at_the_very_end_of_its_band_is_too_early_by_the_part_that_is_longer():
    # 37.8 mm with a spread of 1 % about an end of 37.8 mm: half of it is longer.
    tasks = [ZoneTask("foreface", GROWN, GROWTH, staged_aim(15.0, 37.8))]
    text = told(tasks, [[0.0, 1.0]], (D, D + 7), Wish((D + 112,)))["foreface"]
    assert text == (
        "too early: 50 % of what is pulled now would be longer than 38 mm on 23 Mar 2027; next take 8 Dec"
    )


def test_a_rolling_zone_is_pulled_before_its_oldest_hair_is_too_long():
    # Fifths of 2, 4, 6, 8 and 10 weeks; visits every 14 days; longest wanted 22 mm. On the eve of the next visit the
    # oldest, 83 days, is 0.45 x 55 = 24.75 mm: a fifth is too long. Two days after today it is 19.8 mm: not yet.
    # Cover before: four fifths (2 weeks are under the skin); after a fifth is gone, 60 %, which is the floor.
    aim = Aim(5.0, 22.0, cover=0.6, top=0.1)
    tasks = [ZoneTask("back", layered(2, 4, 6, 8, 10), GROWTH, aim, look=0.6)]
    text = told(tasks, [[0.2, 0.2]], (D, D + 14), Wish(every_from=D))["back"]
    assert text == (
        "oldest hair 10 weeks; left alone, 20 % would be overgrown on 14 Dec; more would leave less than 60 % cover"
    )


def test_a_thin_zone_is_spared_until_its_next_take():
    # 0.52 of the hairs are a week old and under the skin: 48 % cover, and the floor is 60 %.
    coat = ZoneCoat.of([Layer(D - 63, 0.48), Layer(D - 7, 0.52)])
    aim = Aim(5.0, 22.0, cover=0.6, top=0.1)
    tasks = [ZoneTask("back", coat, GROWTH, aim, look=0.6)]
    text = told(tasks, [[0.0, 0.0, 0.2]], (D, D + 14, D + 36), Wish(every_from=D))["back"]
    assert text == "thin: 48 % cover, never to be less than 60 %; next take 6 Jan 2027"
    # Half of that floor would not hold it back.
    tasks = [ZoneTask("back", coat, GROWTH, aim, look=0.3)]
    text = told(tasks, [[0.0, 0.0, 0.2]], (D, D + 14, D + 36), Wish(every_from=D))["back"]
    assert not text.startswith("thin")
    # But a time in which the owner rules out a bare dog does.
    spans = ((D, D + 10, 0.6),)
    args = tasks, [[0.0, 0.0, 0.2]], (D, D + 14, D + 36), Wish(every_from=D)
    assert told(*args, covered=spans)["back"].startswith("thin: 48 % cover, never to be less than 60 %")


def test_what_holds_a_take_back_is_told():
    # Tender: 20 % at most. By hand: nothing else is told. Time: 20 min set-up and 50 min for half a zone are 70,
    # and one step of 5 % more is another 5 min, where 72 min are allowed.
    tender = [ZoneTask("belly", GROWN, GROWTH, None, cap=0.2)]
    assert told(tender, [[0.2]], (D,), Wish()) == {
        "belly": "not judged; the oldest hair, full-grown, goes in its turn; tender: never more than 20 %"
    }
    assert told(tender, [[0.1]], (D,), Wish(), fixed={("belly", D): 0.1})["belly"] == "set by hand"
    back = [ZoneTask("back", GROWN, GROWTH, None, minutes=100.0)]
    full = told(back, [[0.5]], (D,), Wish(), minutes=72.0)["back"]
    assert full.endswith("; more does not fit into the 72 min of this visit")
    assert "fit" not in told(back, [[0.5]], (D,), Wish(), minutes=75.0)["back"]


def test_hair_that_is_young_or_under_the_skin_is_left_alone():
    # 3 weeks are under the skin (28 days); 5 weeks stand, and hair comes willingly from 8 weeks on.
    tasks = [
        ZoneTask("back", layered(3), GROWTH, None),
        ZoneTask("ribs", layered(5), GROWTH, None),
        ZoneTask("croup", layered(9), GROWTH, None),
    ]
    assert told(tasks, [[0.0]] * 3, (D,), Wish()) == {
        "back": "all of it is under the skin",
        "ribs": "young: the oldest hair is 5 weeks, and it comes willingly from 8 weeks on",
        "croup": "not judged",
    }


def test_every_zone_of_a_made_plan_has_one_reason_that_tells_its_share():
    plan = plan_dog(rolling_dog(), FIRST)
    for day in plan.visits[:3]:
        reasons = reasons_of(plan, day)
        assert [reason.zone for reason in reasons] == [zone.key for zone in plan.case.zones]
        assert {each.zone: each.share for each in reasons if each.share} == pytest.approx(plan.takes(day))
        for reason in reasons:
            if ("left alone" in reason.text) or ("in its turn" in reason.text):
                assert reason.share > 0.0
            if "next take" in reason.text or reason.text.startswith("not due"):
                assert reason.share == 0.0
    assert reasons_of(plan, FIRST)[0].text == "set by hand"


def test_days_and_lengths_are_written_as_the_reader_writes_them():
    tasks = [ZoneTask("back", GROWN, GROWTH, staged_aim(19.0, 44.0))]
    plan = planned(tasks, [[1.0]], (D,), Wish((D + 112,)))
    # 37.8 mm are 1.488 in: one and a half inches.
    text = reasons_of(plan, FIRST, unit="in", day_text=date.isoformat)[0].text
    assert text.replace(THIN, " ").startswith(
        "hair pulled now is 1½ in on 2027-03-23, when ¾–1¾ in is wanted"
    )
    with pytest.raises(OutOfRange):
        reasons_of(plan, FIRST, unit="cm")
