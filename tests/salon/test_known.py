"""What is known of a dog: bands against what was believed beforehand, habits, chances, alarms, advice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from coatwright.learning.priors import really
from coatwright.patterns import pattern
from coatwright.printing.sheet import Chance
from coatwright.printing.words import chance, chance_line, nearly
from coatwright.salon.believed import Habit, judged_for
from coatwright.salon.cautions import alarm_cautions, visit_cautions
from coatwright.salon.chances import Alarm
from coatwright.salon.known import (
    advice_of,
    chance_at,
    chances_of,
    expected_ready,
    facts_of,
    known_of,
    learn_where_asked,
)
from coatwright.salon.learnt import Shelf, learn_dog
from coatwright.salon.outlooks import LEVELS, draws_ahead, fan_of, outlooks
from coatwright.salon.plans import DogPlan, plan_dog
from coatwright.salon.records import (
    Assessment,
    Dog,
    DogLimits,
    DogWish,
    LayerReading,
    Reading,
    Show,
    Take,
    Visit,
    ZoneReading,
)
from coatwright.units import day_of

TODAY = date(2026, 11, 25)
ZONES = ("back", "ribs", "neck")
SHOW = Show("fell", "Fell Terrier Day", TODAY + timedelta(weeks=10), "Upper Fell", aim="rolling")
DRAWS = 500


def bare_dog() -> Dog:
    """A rolled Lakeland of which nothing was measured."""
    coat = ZoneReading(tuple(LayerReading(0.2, weeks=week) for week in (2.0, 4.0, 6.0, 8.0, 10.0)))
    return Dog(
        id="bramble",
        name="Bramble",
        pattern=pattern("lakeland"),
        limits=DogLimits(minutes=150, cadences=(14,)),
        wish=DogWish(
            ready_from=TODAY + timedelta(weeks=8), horizon_weeks=12, shows=(SHOW,), approach="rolling"
        ),
        assessments=(Assessment("a", TODAY - timedelta(weeks=14), dict.fromkeys(ZONES, coat)),),
    )


def read_dog() -> Dog:
    """The same dog, visited every other week and read by comb and ruler before each visit, growing slowly."""
    dog, visits, readings = bare_dog(), [], []
    for week in range(14, 0, -2):
        day = TODAY - timedelta(weeks=week)
        takes = {zone: Take(0.15, planned=0.2, grams=0.3 if week == 4 else None) for zone in ZONES}
        visits.append(Visit(f"v{week}", day, takes, groomer="Ivo Teaselby"))
        if week <= 8:
            old = (14 - week) * 7.0
            mm = max(0.25 * (old - 28.0), 1.0)
            readings += [
                Reading(f"{zone}{week}", day, zone, shortest_mm=mm, at_visit="before") for zone in ZONES
            ]
    return replace(dog, visits=tuple(visits), readings=tuple(readings))


@pytest.fixture(scope="module")
def unmeasured() -> DogPlan:
    """The plan of a dog that was only looked at."""
    dog = bare_dog()
    return plan_dog(dog, TODAY, learnt=learn_dog(dog, TODAY, shelf=Shelf(), draws=DRAWS))


@pytest.fixture(scope="module")
def measured() -> DogPlan:
    """The plan of a dog that was read."""
    dog = read_dog()
    return plan_dog(dog, TODAY, learnt=learn_dog(dog, TODAY, shelf=Shelf(), draws=DRAWS))


def test_before_anything_is_measured_no_more_is_known_than_beforehand(unmeasured: DogPlan) -> None:
    assert unmeasured.learnt is not None
    known = known_of(unmeasured.learnt, shelf=Shelf())
    assert known.rate.now == known.rate.before
    assert known.rate.how == "no more"
    assert all(each.how == "no more" for zone in known.zones for each in (zone.lag, zone.rate, zone.end))
    assert known.since is None
    assert not known.facts.some
    assert known.sight is not None
    assert known.sight.low <= known.sight.middle <= known.sight.high


def test_readings_narrow_the_growth_and_say_since_when(measured: DogPlan) -> None:
    assert measured.learnt is not None
    known = known_of(measured.learnt, shelf=Shelf())
    low, middle, high = known.rate.now
    assert low < middle < high
    assert known.rate.left < 0.6
    assert known.rate.how != "no more"
    assert known.since in known.facts.days
    assert known.facts.readings == 12
    assert known.facts.weighed == 3
    assert known.facts.papers == 0
    assert set(known.takes) == {visit.id for visit in measured.learnt.dog.visits}
    first = known.takes["v14"][0]
    assert (first.planned, first.recorded) == (0.2, 0.15)
    assert first.low <= first.middle <= first.high


def test_the_band_beforehand_holds_eight_of_ten_of_the_prior(unmeasured: DogPlan) -> None:
    learnt = unmeasured.learnt
    assert learnt is not None
    from coatwright.learning.priors import RATE

    rng = np.random.default_rng(0)
    for number, zone in enumerate(known_of(learnt, shelf=Shelf()).zones):
        mean = learnt.evidence.zones[number].centre[RATE] + learnt.prior.mean[RATE]
        dog = learnt.prior.dog_sd[RATE] * rng.standard_normal(20_000)
        drawn = np.exp(mean + dog + learnt.prior.zone_sd[RATE] * rng.standard_normal(20_000))
        inside = np.mean((drawn >= zone.rate.before[0]) & (drawn <= zone.rate.before[2]))
        assert abs(inside - 0.8) < 0.015


def test_a_show_has_a_chance_and_each_judged_zone_too(measured: DogPlan) -> None:
    (found,) = chances_of(measured)
    assert chances_of(measured) is chances_of(measured), "worked out once"
    assert found is chance_at(measured, "fell")
    assert found.zones
    assert 0.0 <= found.chance <= min(found.zones.values()) <= 1.0
    assert expected_ready(found) == pytest.approx(sum(found.zones.values()))
    (page,) = outlooks(measured)
    assert page.show.chance is not None
    assert page.show.chance.measured
    assert [row.chance for row in page.zones] == list(found.zones.values())


def test_fans_and_bands_of_paper_are_of_the_same_draws(measured: DogPlan) -> None:
    day = day_of(SHOW.day)
    whole = draws_ahead(measured, day, 1)
    tasks = [task.key for task in measured.option.plan.problem.zones]
    (page,) = outlooks(measured)
    for zone, row in zip(tasks, page.zones, strict=True):
        first, fan = fan_of(measured, zone)
        assert fan.shape[0] == len(LEVELS)
        assert np.all(np.diff(fan, axis=0) >= 0.0)
        drawn = whole.outline[:, tasks.index(zone), 0]
        assert fan[:, day - first] == pytest.approx(np.quantile(drawn, LEVELS), abs=1e-3)
        assert (row.outline_from, row.outline_to) == pytest.approx(
            (fan[0, day - first], fan[-1, day - first]), abs=1e-3
        )


def test_a_measured_dog_has_a_narrower_fan(measured: DogPlan, unmeasured: DogPlan) -> None:
    def width(plan: DogPlan) -> float:
        first, fan = fan_of(plan, "back")
        at = day_of(TODAY + timedelta(weeks=5)) - first
        return float(fan[-1, at] - fan[0, at])

    assert width(measured) < width(unmeasured)


def test_advice_names_readings_worth_taking(unmeasured: DogPlan) -> None:
    found = advice_of(unmeasured)
    assert 1 <= len(found) <= 3
    assert all(each.zone in ZONES and 0.02 <= each.share <= 1.0 for each in found)
    assert [each.share for each in found] == sorted((each.share for each in found), reverse=True)


@pytest.mark.parametrize("factor", [0.8, 1.25])
@pytest.mark.parametrize("share", [0.1, 0.2, 0.35])
def test_judging_as_told_pulls_what_is_planned_to_half_a_step(share: float, factor: float) -> None:
    judged = judged_for(share, 0.7, Habit("Ivo", factor, factor - 0.05, factor + 0.05))
    pulled = really(share if judged is None else judged, 0.7, float(np.log(factor)))
    untold = really(share, 0.7, float(np.log(factor)))
    assert abs(pulled - share) <= 0.025 * factor + 1e-9
    assert abs(pulled - share) <= abs(untold - share) + 1e-9


def test_all_that_stands_is_judged_as_all_that_stands() -> None:
    assert judged_for(0.6, 0.6, Habit("Ivo", 1.25, 1.2, 1.3)) is None
    assert judged_for(0.05, 0.6, Habit("Ivo", 2.0, 1.9, 2.1)) is None, "never less than a step"


def test_alarms_become_cautions_with_the_vet_in_them() -> None:
    found = alarm_cautions(
        [
            Alarm("thin", TODAY, "ribs", chance=0.7),
            Alarm("slow", TODAY, "back", 4.0, 9.0, 0.001),
            Alarm("nothing", TODAY, "neck"),
        ]
    )
    assert [each.level for each in found] == ["stop", "caution", "caution"]
    assert "neck" in found[0].text.lower()
    assert "vet" in found[0].text
    assert "back" in found[1].text.lower()
    assert "vet" in found[1].text
    assert "ribs" in found[2].text.lower()
    assert alarm_cautions([]) == ()


def test_a_plan_hands_its_alarms_on_to_the_sheet(measured: DogPlan) -> None:
    raised = replace(measured, alarms=(Alarm("nothing", TODAY, "back"),))
    titles = [each.title for each in visit_cautions(raised, raised.visits[0])]
    assert titles[0] == "Nothing has come back"
    assert "Nothing has come back" not in [
        each.title for each in visit_cautions(measured, measured.visits[0])
    ]


def test_nothing_is_learnt_where_nobody_asks() -> None:
    dog = bare_dog()
    assert learn_where_asked(replace(dog, wish=replace(dog.wish, shows=())), TODAY) is None
    assert facts_of(dog, TODAY).days == ()


def test_chances_in_words_never_claim_certainty() -> None:
    assert chance(0.0) == "below 1\u202f%"
    assert chance(1.0) == "above 99\u202f%"
    assert chance(0.5) == "50\u202f%"
    line = chance_line(Chance(0.78, 15.2, 17, False))
    assert line.startswith("78\u202f% (likely)")
    assert "15 of 17" in line
    assert "its kind" in line
    assert "kind" not in chance_line(Chance(0.78, 15.2, 17, True))


def test_parts_in_words_are_the_nearest_by_ratio() -> None:
    assert [nearly(part) for part in (0.1, 0.21, 0.48, 0.024)] == ["a tenth", "a fifth", "half", "a fiftieth"]
