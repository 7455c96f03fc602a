"""What is read at the table bit by bit becomes one reading; nothing is lost, and every bit can be taken back."""

from __future__ import annotations

import threading
from datetime import date, timedelta

import pytest

from coatwright.errors import InputError, OutOfOrder, OutOfRange, UnknownName
from coatwright.salon import salon as do
from coatwright.salon.readings import note_reading, reading_at
from coatwright.salon.records import Reading
from coatwright.salon.store import Store
from tests.salon.making import NOON, TODAY, dog, old_coat

DOG = "bramble"


@pytest.fixture
def salon(tmp_path):
    with Store.open(tmp_path / "salon.db", clock=lambda: NOON) as store:
        do.add_dog(store, dog(assessments=(old_coat(),)))
        yield store


def readings(store):
    return store.state().dogs[DOG].readings


def note(store, zone="back", **said):
    options = {"day": TODAY, **{key: said.pop(key) for key in [*said] if key in OPTIONS}}
    return note_reading(store, DOG, zone, said=said, **options)


OPTIONS = ("day", "at_visit", "add_steps", "drop_steps", "groomer", "by", "today")


def test_one_thing_after_the_other_becomes_one_reading(salon):
    note(salon, longest_mm=40.0, groomer="Maren")
    note(salon, look="open")
    note(salon, add_steps=(22.0,))
    last = note(salon, add_steps=(8.0,))
    assert readings(salon) == (last,)
    assert (last.longest_mm, last.look, last.steps_mm, last.groomer) == (40.0, "open", (8.0, 22.0), "Maren")


def test_zones_days_and_moments_are_readings_of_their_own(salon):
    note(salon, longest_mm=40.0)
    note(salon, "ribs", longest_mm=38.0)
    note(salon, longest_mm=20.0, at_visit="after")
    note(salon, longest_mm=35.0, day=TODAY - timedelta(days=9))
    found = readings(salon)
    assert [each.day for each in found] == sorted(each.day for each in found)
    assert len(found) == 4
    animal = salon.state().dogs[DOG]
    assert reading_at(animal, "back", TODAY).longest_mm == 40.0
    assert reading_at(animal, "back", TODAY, "after").longest_mm == 20.0
    assert reading_at(animal, "neck", TODAY) is None


def test_the_same_bit_sent_twice_counts_once(salon):
    for _ in range(2):
        note(salon, longest_mm=40.0)
        note(salon, add_steps=(22.0,))
        note(salon, add_steps=(22.03,))
    kinds = [event.kind for event, _ in do.history(salon, "dog:bramble")]
    assert kinds.count("reading.taken") == 2
    assert readings(salon)[0].steps_mm == (22.0,)


def test_each_bit_can_be_taken_back_and_an_empty_reading_goes(salon):
    note(salon, longest_mm=40.0)
    note(salon, look="thin")
    note(salon, add_steps=(8.0, 22.0))
    assert note(salon, drop_steps=(8.0,)).steps_mm == (22.0,)
    assert note(salon, drop_steps=(22.0,)).steps_mm == ()
    assert note(salon, look="").says == ("longest_mm",)
    assert note(salon, longest_mm=None) is None
    assert readings(salon) == ()
    assert note(salon, longest_mm=None) is None, "what is not there needs no taking back"
    assert note(salon, longest_mm=41.0).longest_mm == 41.0


def test_a_reading_taken_back_whole_is_brought_back_by_undoing_the_last_undoing(salon):
    note(salon, longest_mm=40.0)
    kept = note(salon, look="thin")
    note(salon, look="")
    note(salon, longest_mm=None)
    undoing = do.history(salon, "dog:bramble")[-1][0]
    assert undoing.kind == "undone"
    do.undo(salon, "dog:bramble", undoing.id)
    assert [each.id for each in readings(salon)] == [kept.id]


def test_a_reading_that_came_in_another_way_is_added_to(salon):
    do.take_reading(salon, DOG, Reading("r", TODAY, "back", 40.0, cover=0.6))
    assert note(salon, shortest_mm=6.0) == Reading("r", TODAY, "back", 40.0, 6.0, 0.6)
    assert len(readings(salon)) == 1


WRONG = {
    "a day to come": ({"longest_mm": 20.0, "day": TODAY + timedelta(days=1)}, OutOfOrder, "after today"),
    "no zone": ({"longest_mm": 20.0, "zone": "bakc"}, UnknownName, "bakc"),
    "a part that is none": ({"weight": 20.0}, UnknownName, "weight"),
    "shorter than the shortest": ({"longest_mm": 2.0}, OutOfRange, "longer than the longest"),
    "a layer beyond the longest": ({"add_steps": (60.0,), "longest_mm": 50.0}, OutOfRange, "60 mm is longer"),
    "a moment that is none": ({"longest_mm": 20.0, "at_visit": "during"}, OutOfRange, "during"),
    "a dog that is none": ({"longest_mm": 20.0, "dog": "brambel"}, UnknownName, "brambel"),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_cannot_be_is_told_and_nothing_of_it_kept(salon, case):
    said, kind, words = WRONG[case]
    note(salon, shortest_mm=10.0)
    before = salon.events()
    said = dict(said)
    who, zone = said.pop("dog", DOG), said.pop("zone", "back")
    options = {key: said.pop(key) for key in [*said] if key in OPTIONS}
    with pytest.raises(kind) as caught:
        note_reading(salon, who, zone, said=said, **{"day": TODAY, **options})
    assert words in caught.value.text
    assert isinstance(caught.value, InputError)
    assert salon.events() == before


def test_taps_from_two_devices_at_once_are_all_kept(salon):
    lengths = [float(mm) for mm in range(5, 40, 5)]
    together = threading.Barrier(len(lengths))

    def tap(mm):
        together.wait()
        note(salon, add_steps=(mm,))

    threads = [threading.Thread(target=tap, args=(mm,)) for mm in lengths]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [each.steps_mm for each in readings(salon)] == [tuple(lengths)]


def test_a_dog_born_after_the_reading_is_told(tmp_path):
    with Store.open(tmp_path / "salon.db", clock=lambda: NOON) as store:
        do.add_dog(store, dog(born=date(2027, 2, 1)))
        with pytest.raises(InputError, match="born"):
            note_reading(store, DOG, "back", day=date(2027, 1, 1), said={"longest_mm": 9.0})
