"""From a dog's records to what is known of it, kept on a shelf and worked out again to the same digit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from coatwright.coat.growth import Growth
from coatwright.coat.measures import cover
from coatwright.patterns import pattern
from coatwright.salon.believed import believed, habits_of, takes_of
from coatwright.salon.coats import coat_of, growth_of
from coatwright.salon.evidence import evidence_of, is_measured
from coatwright.salon.learnt import FOLDER, KEPT_DAYS, Learnt, Shelf, learn_dog, shelf_of
from coatwright.salon.plans import plan_dog
from coatwright.salon.records import (
    Assessment,
    Dog,
    DogWish,
    LayerReading,
    PaperCount,
    Reading,
    Show,
    Take,
    Visit,
    ZoneReading,
)
from coatwright.salon.store import Store
from coatwright.units import day_of

FIRST = date(2027, 1, 5)
ZONES = ("back", "ribs", "thighs")
DRAWS = 400


def made(visits: int = 5, *, id: str = "bramble", groomer: str = "Maren", slow: float = 0.0) -> Dog:
    """A dog in three zones, read and pulled every two weeks: regrown hair is as long as at 0.45 mm a day."""
    days = [FIRST + timedelta(days=14 * n) for n in range(visits)]
    old = ZoneReading((LayerReading(1.0, resting=True),))
    growth = Growth(rate=0.45 - slow)
    readings = []
    for n, day in enumerate(days):
        regrown = [growth.speed * (14 * k - growth.lag) for k in range(1, n + 1) if 14 * k > growth.lag]
        for zone in ZONES:
            shortest = min((mm for mm in regrown if mm > 1.5), default=None)
            if shortest is not None:
                readings.append(
                    Reading(f"{zone}-{n}", day, zone, longest_mm=70.0, shortest_mm=round(0.84 * shortest, 1))
                )
    return Dog(
        id=id,
        name=id.title(),
        pattern=pattern("lakeland"),
        assessments=(Assessment("first", FIRST, dict.fromkeys(ZONES, old)),),
        visits=tuple(
            Visit(f"v{n}", day, {zone: Take(0.2, planned=0.2) for zone in ZONES}, groomer=groomer)
            for n, day in enumerate(days)
        ),
        readings=tuple(readings),
    )


def numbers(learnt: Learnt | None) -> np.ndarray:
    assert learnt is not None
    coats = learnt.coats
    parts = (coats.traits, coats.layers, coats.taken, coats.bias)
    return np.concatenate([part.ravel() for part in parts])


def known(dog: Dog, day: date, shelf: Shelf | None = None, others: tuple[Dog, ...] = ()) -> Learnt:
    found = learn_dog(dog, day, others=others, shelf=shelf or Shelf(), draws=DRAWS)
    assert found is not None
    return found


LAST = FIRST + timedelta(days=56)


def test_visit_by_visit_on_one_shelf_is_the_same_as_all_at_once() -> None:
    dog, shelf = made(), Shelf()
    for n in range(1, 6):
        grown = replace(
            dog,
            visits=dog.visits[:n],
            readings=tuple(r for r in dog.readings if r.day <= dog.visits[n - 1].day),
        )
        step = known(grown, grown.visits[-1].day, shelf)
    assert np.array_equal(numbers(step), numbers(known(dog, LAST)))


def test_a_corrected_and_a_late_record_give_what_the_right_records_would_have_given() -> None:
    dog, shelf = made(), Shelf()
    wrong = replace(dog, readings=(*dog.readings[:2], *dog.readings[3:]))
    wrong = replace(wrong, readings=(replace(wrong.readings[0], shortest_mm=60.0), *wrong.readings[1:]))
    assert not np.array_equal(numbers(known(wrong, LAST, shelf)), numbers(known(dog, LAST)))
    assert np.array_equal(numbers(known(dog, LAST, shelf)), numbers(known(dog, LAST)))


def test_a_wrong_record_cannot_bend_a_dog() -> None:
    dog = made()
    wild = replace(dog.readings[-1], shortest_mm=None, longest_mm=None, steps_mm=(480.0,))
    bent = replace(dog, readings=(*dog.readings[:-1], wild))
    rates = [np.median(known(each, LAST).coats.traits[:, :, 1].mean(axis=1)) for each in (dog, bent)]
    assert rates[0] == pytest.approx(rates[1], abs=0.05)


def test_growth_is_known_once_regrown_hair_was_read_and_not_before() -> None:
    dog = made()
    early = known(dog, FIRST + timedelta(days=14))
    late = known(dog, LAST)
    assert early.left("rate") == pytest.approx(1.0, abs=0.15)
    assert not early.tells_growth
    assert late.left("rate") < 0.65 * early.left("rate")
    assert late.tells_growth
    rate = np.exp(late.coats.traits[:, :, 1]).mean()
    assert rate == pytest.approx(0.45, rel=0.12)


def test_a_dog_of_which_nothing_was_measured_is_still_forecast_but_not_called_measured() -> None:
    dog = replace(made(), readings=())
    found = known(dog, LAST)
    assert not found.measured
    assert not is_measured(dog, LAST)
    assert found.left("lag") == pytest.approx(1.0, abs=0.15)
    assert learn_dog(replace(dog, assessments=(), visits=()), LAST, shelf=Shelf()) is None


def test_coats_that_were_let_go_are_drawn_again_the_same(monkeypatch) -> None:
    monkeypatch.setattr("coatwright.salon.learnt.DRAWN", 1)
    dog, shelf = made(), Shelf()
    first = known(dog, LAST, shelf)
    held, before = first.coats, numbers(first)
    assert first.coats is held
    known(replace(dog, id="another"), LAST, shelf)
    assert first.coats is not held
    assert np.array_equal(numbers(first), before)


def test_draws_are_kept_in_a_folder_and_only_the_last_few(tmp_path: Path) -> None:
    dog = made()
    shelf = Shelf(tmp_path)
    first = known(dog, LAST, shelf)
    files = sorted(tmp_path.glob("*/*.npz"))
    assert len(files) == KEPT_DAYS
    again = known(dog, LAST, Shelf(tmp_path))
    assert np.array_equal(numbers(first), numbers(again))
    for file in files:
        file.write_bytes(b"half a file")
    assert np.array_equal(numbers(first), numbers(known(dog, LAST, Shelf(tmp_path))))
    assert not list(tmp_path.glob("*/*.part"))


def test_the_shelf_of_a_salon_lies_beside_its_records(tmp_path: Path) -> None:
    with Store.open(tmp_path / "salon.sqlite") as store:
        assert shelf_of(store).folder == tmp_path / FOLDER


def test_dogs_of_a_kind_help_a_new_one_but_only_from_the_next_day() -> None:
    slow = tuple(made(5, id=f"slow{n}", groomer=f"hand {n}", slow=0.2) for n in range(3))
    new = replace(made(1, id="new"), readings=(), visits=())
    alone = known(new, LAST + timedelta(days=1)).coats.traits[:, :, 1].mean()
    helped = known(new, LAST + timedelta(days=1), others=slow).coats.traits[:, :, 1].mean()
    assert helped < alone - 0.06
    on_first_day = known(new, FIRST, others=slow).coats.traits[:, :, 1].mean()
    assert on_first_day == pytest.approx(alone, abs=0.02)
    other_kind = tuple(replace(dog, pattern=pattern("standard_schnauzer")) for dog in slow)
    apart = known(new, LAST + timedelta(days=1), others=other_kind).coats.traits[:, :, 1].mean()
    assert apart == pytest.approx(alone, abs=0.02)


def test_the_dog_as_it_is_believed_can_always_be_replayed() -> None:
    dog = made()
    found = known(dog, LAST)
    shown = believed(found)
    coats = coat_of(shown, LAST)
    for zone in ZONES:
        assert 0.0 < cover(coats[zone], day_of(LAST), growth_of(shown, zone)) <= 1.0
        assert growth_of(shown, zone).rate == pytest.approx(
            float(np.exp(np.median(found.coats.traits[:, found.zones.index(zone), 1]))), abs=1e-3
        )
    assert [visit.takes["back"].planned for visit in shown.visits] == [0.2] * 5
    assert [visit.takes["back"].share for visit in dog.visits] == [0.2] * 5


def test_a_take_is_told_with_its_band_round_what_was_recorded() -> None:
    found = known(made(), LAST)
    takes = takes_of(found, found.dog.visits[0])
    assert [take.zone for take in takes] == ["back", "ribs", "thighs"]
    for take in takes:
        assert take.low < take.middle < take.high
        assert take.recorded == 0.2
        assert 0.12 < take.middle < 0.3
    (habit,) = habits_of(found)
    assert habit.groomer == "Maren"
    assert 0.6 < habit.low < habit.middle < habit.high < 1.2
    assert habit.known == (habit.high < 1.0)


def test_everything_that_is_recorded_reaches_what_is_learnt() -> None:
    dog = made(2)
    take = Take(0.2, grams=3.0, minutes=6.0, ease="firm", broken=0.1, selectivity=0.8, cut_to_mm=20.0)
    visit = replace(dog.visits[1], takes={"back": take})
    paper = PaperCount(
        "p", visit.day, "back", whole_mm=(61.0, 62.5, 70.0), broken_mm=(30.0,), counted_whole=9
    )
    reading = Reading("r", visit.day, "back", steps_mm=(4.0, 70.0), look="close", cover=0.8, at_visit="after")
    dog = replace(dog, visits=(dog.visits[0], visit), papers=(paper,), readings=(reading,))
    zone = evidence_of(dog).zones[0]
    pull, look = zone.records[-2], zone.records[-1]
    assert (pull.grams, pull.minutes, pull.ease, pull.broken, pull.selectivity, pull.cut_to) == (  # type: ignore[union-attr]
        3.0, 6.0, "firm", 0.1, 0.8, 20.0,
    )  # fmt: skip
    assert [(h.length, h.count, h.broken) for h in pull.paper] == [  # type: ignore[union-attr]
        (61.0, 1.0, False),
        (63.0, 1.0, False),
        (71.0, 1.0, False),
        (30.0, 1.0, True),
    ]
    assert (look.steps, look.look, look.cover, look.after) == ((4.0, 70.0), "close", 0.8, True)  # type: ignore[union-attr]
    assert known(dog, visit.day).measured


def test_a_plan_of_a_measured_dog_is_made_of_the_dog_as_believed_and_finds_its_margins_once() -> None:
    show = Show("fell", "Fellside Terrier Day", LAST + timedelta(days=90))
    dog = replace(made(), wish=DogWish(shows=(show,)))
    found = known(dog, LAST)
    plan = plan_dog(dog, LAST, learnt=found)
    assert plan.dog.zone_growth["back"] != dog.zone_growth.get("back")
    assert plan.learnt is found
    assert found.margins
    before = dict(found.margins)
    again = plan_dog(dog, LAST, learnt=found)
    assert found.margins == before
    assert again.option.plan.cells() == plan.option.plan.cells()
