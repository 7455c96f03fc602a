"""The state is a function of the set of events: any order and any repetition gives the same."""

import os
from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coatwright.errors import FileFormatError, InputError, UnknownName
from coatwright.patterns import copy_with, pattern
from coatwright.salon.dogfile import parse_dogfile
from coatwright.salon.events import (
    KINDS,
    Cell,
    Event,
    Fit,
    KeptPlan,
    Undone,
    Unfit,
    VisitFreed,
    VisitSet,
    event_of,
    from_json,
    payload,
    to_json,
)
from coatwright.salon.facts import facts_of
from coatwright.salon.fold import Fold, fold
from coatwright.salon.gear import Printer, Sharpened, ThreadKept
from coatwright.salon.records import FixedVisit, PaperCount, Person, Reading, Take
from coatwright.salon.salon import events_of
from coatwright.salon.taps import CareDone, PhotoKept, PhotoTaken, TakeLogged, VisitTold, ZoneCarded
from tests.salon.making import FIRST, OWNER, SHOW, TEXT, TODAY, at, dog, old_coat, visit

EXAMPLES = int(os.environ.get("COATWRIGHT_EXAMPLES", "200"))
"""Examples of the property below; the promise in the reference of reliability is for 10,000."""


def event(kind, record, minute, stream="dog:bramble", id=""):
    return event_of(kind, stream, record, at=at(minute), id=id or f"{kind}-{minute}")


BRAMBLE = event("dog.set", facts_of(dog()), 0)
COAT = event("assessment.set", old_coat(), 1)


def state_of(*events):
    return fold(events).dogs["bramble"]


# --- any order, any repetition ----------------------------------------------------------------------------

DAYS = st.one_of(st.integers(0, 60), st.sampled_from([20, 21])).map(
    lambda days: FIRST + timedelta(days=days - 10)
)
"""Any of some days, two of them often, so that much happens on one day."""
RECORDS = st.one_of(
    st.builds(lambda name: ("dog.set", facts_of(dog(name=name))), st.sampled_from(["Bramble", "Brambling"])),
    st.builds(lambda id, day: ("assessment.set", old_coat(day, id=id)), st.sampled_from("ab"), DAYS),
    st.builds(
        lambda kind, id, day, share: (kind, visit(day, share, id=id)),
        st.sampled_from(["visit.logged", "visit.corrected"]),
        st.sampled_from("vw"),
        DAYS,
        st.sampled_from([0.1, 0.2]),
    ),
    st.builds(
        lambda day, zone, share, device, skin: (
            "take.logged",
            TakeLogged(
                "table", day, zone, Take(share, skin=skin), f"groomer {device}", device, so_far=share == 0.0
            ),
        ),
        DAYS,
        st.sampled_from(["back", "ribs"]),
        st.sampled_from([0.0, 0.05, 0.3]),
        st.sampled_from(["one", "two"]),
        st.sampled_from(["", "sound", "red"]),
    ),
    st.builds(lambda day, done: ("zone.carded", ZoneCarded("table", day, "back", done)), DAYS, st.booleans()),
    st.builds(lambda day, done: ("care.done", CareDone("table", day, "nails", done)), DAYS, st.booleans()),
    st.builds(
        lambda day, minutes, note, device: (
            "visit.told",
            VisitTold("table", day, f"groomer {device}", minutes, note, device),
        ),
        DAYS,
        st.sampled_from([None, 50.0, 90.0]),
        st.sampled_from(["", "calm"]),
        st.sampled_from(["one", "two"]),
    ),
    st.builds(
        lambda day, sha, width: ("photo.taken", PhotoTaken("table", day, sha * 64, "back", width)),
        DAYS,
        st.sampled_from("ab"),
        st.sampled_from([None, 800]),
    ),
    st.builds(lambda id, day: ("reading.taken", Reading(id, day, "back", 20.0)), st.sampled_from("rs"), DAYS),
    st.builds(
        lambda id, day, broken: ("paper.read", PaperCount(id, day, "back", counted_broken=broken)),
        st.sampled_from("kl"),
        DAYS,
        st.sampled_from([1, 2]),
    ),
    st.builds(lambda day, share: ("cell.fixed", Cell("back", day, share)), DAYS, st.sampled_from([0.0, 0.5])),
    st.builds(lambda day: ("cell.freed", Cell("back", day)), DAYS),
    st.builds(
        lambda day, on, rhythm: ("visit.fixed", VisitSet(FixedVisit(day, on=on), rhythm)),
        DAYS,
        DAYS,
        st.sampled_from([None, 7, 14]),
    ),
    st.builds(lambda day: ("visit.freed", VisitFreed(day)), DAYS),
    st.sampled_from([("dog.unfit", Unfit("a sore")), ("dog.fit", Fit())]),
    st.builds(lambda id: ("plan.kept", KeptPlan(id, f"plan {id}", FIRST)), st.sampled_from("pq")),
    st.builds(lambda number: ("undone", Undone(f"e{number}")), st.integers(0, 16)),
)
MADE = st.lists(
    st.tuples(RECORDS, st.integers(0, 5), st.sampled_from(["dog:bramble", "dog:other"])), max_size=16
).map(
    lambda rows: [
        replace(event(kind, record, minute, stream), id=f"e{number}")
        for number, ((kind, record), minute, stream) in enumerate(rows)
    ]
)


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(events=MADE, data=st.data())
def test_any_order_and_any_repetition_of_the_same_events_gives_the_same_state(events, data):
    once = [BRAMBLE, COAT, *events]
    again = data.draw(st.lists(st.sampled_from(once), max_size=6))
    mixed = data.draw(st.permutations([*once, *again]))
    assert fold(mixed) == fold(once)
    # And whether they come at once or one by one, looked at in between or not.
    slowly = Fold()
    for each in mixed:
        slowly.add([each])
        if data.draw(st.booleans()):
            slowly.state()
    assert slowly.state() == fold(once)


def test_a_fold_that_goes_its_own_way_leaves_the_first_alone():
    first = Fold()
    first.add([BRAMBLE, COAT])
    before = first.state()
    other = first.copy()
    other.add([event("dog.unfit", Unfit("a sore"), 5)])
    assert other.state().dogs["bramble"].unfit == "a sore"
    assert first.state() == before


# --- what each kind does ----------------------------------------------------------------------------------


def test_a_dog_from_a_file_and_one_from_events_are_the_same():
    animal = parse_dogfile(TEXT, today=TODAY).dog
    assert fold(reversed(events_of(animal, at=at(0)))).dogs == {"bramble": animal}


def test_a_dog_with_a_pattern_of_its_own_comes_back_whole():
    own = copy_with(pattern("lakeland"), end_mm={"back": 90.0})
    animal = replace(dog(), pattern=own)
    assert fold(events_of(animal, at=at(0))).dogs["bramble"] == animal


def test_the_later_of_two_facts_counts_by_the_time_of_the_device():
    early = event("dog.set", facts_of(dog(name="Early")), 3)
    late = event("dog.set", facts_of(dog(name="Late")), 7)
    for order in permutations([BRAMBLE, early, late]):
        assert state_of(*order).name == "Late"


def test_a_corrected_visit_takes_the_place_of_the_logged_one():
    logged = event("visit.logged", visit(date(2027, 1, 5), 0.2, id="v"), 10)
    corrected = event("visit.corrected", visit(date(2027, 1, 6), 0.3, id="v"), 11)
    visits = state_of(BRAMBLE, corrected, COAT, logged).visits
    assert visits == (visit(date(2027, 1, 6), 0.3, id="v"),)


def test_visits_are_in_the_order_of_their_days_whenever_they_were_logged():
    later = event("visit.logged", visit(date(2027, 2, 5)), 10)
    earlier = event("visit.logged", visit(date(2027, 1, 5)), 11)
    assert [each.day.month for each in state_of(BRAMBLE, COAT, later, earlier).visits] == [1, 2]


def test_a_visit_before_any_assessment_is_set_aside_and_said_so():
    lost = event("visit.logged", visit(FIRST - timedelta(days=30)), 10)
    salon = fold([BRAMBLE, COAT, lost])
    assert salon.dogs["bramble"].visits == ()
    assert [(item.event, item.stream) for item in salon.set_aside] == [(lost.id, "dog:bramble")]
    assert "no assessment" in salon.set_aside[0].why


def test_cells_fitness_readings_and_plans_are_kept():
    day = date(2027, 4, 1)
    reading = Reading("r", date(2027, 1, 5), "ribs", 20.0)
    paper = PaperCount("k", date(2027, 1, 5), "ribs", whole_mm=(20.0, 22.0), counted_broken=1)
    plan = KeptPlan("p", "spring", TODAY, {"minutes": 150}, {"back": {"2027-04-01": 0.2}})
    events = [
        BRAMBLE,
        event("cell.fixed", Cell("back", day, 0.2), 2),
        event("cell.fixed", Cell("ribs", day, 0.1), 3),
        event("cell.freed", Cell("ribs", day), 4),
        event("dog.unfit", Unfit("a sore"), 5),
        event("reading.taken", reading, 6),
        event("plan.kept", plan, 7),
        event("paper.read", paper, 8),
    ]
    salon = fold(events)
    animal = salon.dogs["bramble"]
    assert animal.fixed == {("back", day): 0.2}
    assert animal.unfit == "a sore"
    assert animal.readings == (reading,)
    assert animal.papers == (paper,)
    assert salon.plans["bramble"] == (plan,)
    assert fold([*events, event("dog.fit", Fit("seen by the vet"), 8)]).dogs["bramble"].unfit == ""


def test_a_dog_shows_its_owner_and_its_shows_as_they_are_now():
    owned = replace(dog(), owner=OWNER, wish=replace(dog().wish, shows=(SHOW,)))
    moved = Person("marl", "Tobias Marlhope", phone="01632 960999")
    folding = Fold()
    folding.add(events_of(owned, at=at(0)))
    assert folding.state().dogs["bramble"] == owned
    folding.add([event("person.set", moved, 9, "person:marl")])
    assert folding.state().dogs["bramble"].owner == moved
    assert fold([event("dog.set", facts_of(owned), 0)]).dogs["bramble"].owner is None


def test_a_later_reading_or_paper_test_with_a_known_id_takes_the_place_of_the_earlier_one():
    day = date(2027, 1, 5)
    first = event("reading.taken", Reading("r", day, "back", 20.0), 5)
    second = event("reading.taken", Reading("r", day, "back", 20.0, look="open"), 6, id="second")
    counted = event("paper.read", PaperCount("k", day, "back", counted_whole=40), 7)
    again = event("paper.read", PaperCount("k", day, "back", counted_whole=41), 8, id="again")
    after = state_of(again, second, BRAMBLE, counted, first)
    assert (after.readings[0].look, after.papers[0].whole) == ("open", 41)
    undone = [event("undone", Undone(id), 9 + at) for at, id in enumerate(("second", "again"))]
    before = state_of(again, second, BRAMBLE, counted, first, *undone)
    assert (before.readings[0].look, before.papers[0].whole) == ("", 40)


# --- undoing ----------------------------------------------------------------------------------------------


def test_undoing_takes_back_and_undoing_the_undoing_brings_back():
    sore = event("dog.unfit", Unfit("a sore"), 5, id="sore")
    undo = event("undone", Undone("sore"), 6, id="undo")
    redo = event("undone", Undone("undo"), 7, id="redo")
    again = event("undone", Undone("redo"), 8, id="again")
    assert state_of(BRAMBLE, sore).unfit == "a sore"
    assert state_of(undo, BRAMBLE, sore).unfit == ""
    assert state_of(redo, undo, BRAMBLE, sore).unfit == "a sore"
    assert state_of(again, redo, undo, BRAMBLE, sore).unfit == ""


def test_undoing_a_change_brings_back_what_was_before():
    renamed = event("dog.set", facts_of(dog(name="Other")), 5, id="renamed")
    assert state_of(BRAMBLE, renamed, event("undone", Undone("renamed"), 6)).name == "Bramble"


def test_two_undoings_of_one_event_both_have_to_be_undone():
    sore = event("dog.unfit", Unfit("a sore"), 5, id="sore")
    undos = [event("undone", Undone("sore"), minute, id=f"u{minute}") for minute in (6, 7)]
    redo = event("undone", Undone("u6"), 8)
    assert state_of(BRAMBLE, sore, *undos, redo).unfit == ""
    assert state_of(BRAMBLE, sore, *undos, redo, event("undone", Undone("u7"), 9)).unfit == "a sore"


def test_undoings_that_form_a_ring_do_not_count():
    ring = [event("undone", Undone("b"), 5, id="a"), event("undone", Undone("a"), 6, id="b")]
    sore = event("dog.unfit", Unfit("a sore"), 5, id="sore")
    for order in permutations([BRAMBLE, sore, *ring]):
        assert state_of(*order).unfit == "a sore"


def test_an_event_cannot_undo_one_of_another_stream():
    sore = event("dog.unfit", Unfit("a sore"), 5, id="sore")
    assert state_of(BRAMBLE, sore, event("undone", Undone("sore"), 6, "dog:other")).unfit == "a sore"


# --- events that are none ---------------------------------------------------------------------------------


def test_every_kind_comes_back_from_json():
    records = {
        "person.set": ("person:marl", OWNER),
        "show.set": ("show:fellside", SHOW),
        "dog.set": ("dog:bramble", facts_of(dog(born=FIRST, growth={"rate": 0.4}))),
        "assessment.set": ("dog:bramble", old_coat()),
        "visit.logged": ("dog:bramble", visit(FIRST, id="v", back=Take(0.2, planned=0.1, skin="sound"))),
        "visit.corrected": ("dog:bramble", visit(FIRST)),
        "reading.taken": (
            "dog:bramble",
            Reading("r", FIRST, "back", 20.0, steps_mm=(8.0, 19.5), look="thin", at_visit="after"),
        ),
        "paper.read": (
            "dog:bramble",
            PaperCount("k", FIRST, "back", "knife", "Maren", (20.0,), (9.0,), 3, 1),
        ),
        "plan.kept": ("dog:bramble", KeptPlan("p", "spring", FIRST, {"a": [1, 2.5, None]})),
        "cell.fixed": ("dog:bramble", Cell("back", FIRST, 0.0)),
        "cell.freed": ("dog:bramble", Cell("back", FIRST)),
        "visit.fixed": ("dog:bramble", VisitSet(FixedVisit(FIRST, on=TODAY, minutes=90.0), 14)),
        "visit.freed": ("dog:bramble", VisitFreed(FIRST)),
        "dog.unfit": ("dog:bramble", Unfit("a sore")),
        "dog.fit": ("dog:bramble", Fit("healed")),
        "take.logged": (
            "dog:bramble",
            TakeLogged("t", FIRST, "back", Take(0.2, minutes=4.0), "Mira", "one", so_far=True),
        ),
        "zone.carded": ("dog:bramble", ZoneCarded("t", FIRST, "back", True, "one")),
        "care.done": ("dog:bramble", CareDone("t", FIRST, "nails", False)),
        "visit.told": ("dog:bramble", VisitTold("t", FIRST, "Mira", 75.0, "calm", "one")),
        "photo.taken": ("dog:bramble", PhotoTaken("t", FIRST, "a" * 64, "", 800, 600, "one")),
        "printer.set": ("printer:hall", Printer("hall", "Hall", 97.5, FIRST)),
        "thread.checked": ("printer:hall", ThreadKept("t", FIRST, "a phone", "Hall", {"scale": 1.001})),
        "tool.sharpened": ("tool:knife", Sharpened("knife", FIRST, "stone")),
        "photo.kept": ("photo:" + "a" * 64, PhotoKept("a" * 64, "b" * 64 + ".jpg", 800, 600)),
        "undone": ("show:fellside", Undone("e")),
    }
    assert set(records) == set(KINDS)
    for kind, (stream, record) in records.items():
        made = event(kind, record, 3, stream)
        assert from_json(to_json(made)) == made
        assert payload(made) == record


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": "dog.sold"}, "dog.sold"),
        ({"stream": "bramble"}, "stream"),
        ({"stream": "cat:bramble"}, "stream"),
        ({"stream": "dog:"}, "stream"),
        ({"stream": "show:bramble"}, "cannot belong"),
        ({"stream": "dog:other"}, "speaks of 'bramble'"),
        ({"version": 2}, "version 2"),
        ({"version": 0}, "version 0"),
        ({"id": " "}, "id"),
        ({"data": {"id": "bramble", "name": "B"}}, "'pattern' is missing"),
        ({"data": {"id": "bramble", "name": "B", "pattern": "no_such"}}, "no_such"),
        ({"at": at(0).replace(tzinfo=None)}, "time zone"),
        ({"kind": "cell.fixed", "data": {"zone": "back", "day": "2027-01-01"}}, "no share"),
        ({"kind": "cell.fixed", "data": {"zone": "back", "day": "2027-02-30", "share": 0.1}}, "2027-02-30"),
        ({"kind": "dog.unfit", "data": {"reason": " "}}, "no reason"),
        (
            {
                "kind": "visit.logged",
                "data": {"id": "v", "day": "2027-01-01", "takes": {"back": {"share": 1.4}}},
            },
            "140 %",
        ),
    ],
)
def test_a_wrong_event_is_refused_and_set_aside_by_a_fold(changes, words):
    wrong = replace(BRAMBLE, **{"id": "wrong", **changes})
    with pytest.raises(InputError) as caught:
        payload(wrong)
    assert words in caught.value.text
    if wrong.at.tzinfo:
        assert fold([wrong]).dogs == {}
        assert [item.event for item in fold([wrong]).set_aside] == [wrong.id]


def test_an_event_knows_whether_it_says_the_same():
    assert BRAMBLE.same(replace(BRAMBLE, received=at(99)))
    assert not BRAMBLE.same(replace(BRAMBLE, by="someone"))


@pytest.mark.parametrize(
    "table",
    [
        None,
        [],
        {},
        {"id": "e"},
        {**to_json(BRAMBLE), "at": "yesterday"},
        {**to_json(BRAMBLE), "at": "2027-01-01T10:00:00"},
        {**to_json(BRAMBLE), "data": 7},
        {**to_json(BRAMBLE), "id": 7},
        {**to_json(BRAMBLE), "extra": 1},
        {**to_json(BRAMBLE), "version": "x"},
    ],
)
def test_json_that_is_no_event_is_refused(table):
    with pytest.raises(FileFormatError) as caught:
        from_json(table)
    assert caught.value.remedy


def test_an_unknown_zone_in_a_cell_is_named():
    with pytest.raises(UnknownName, match="bakc"):
        Cell("bakc", FIRST, 0.1)


def test_an_event_is_a_plain_value():
    assert isinstance(BRAMBLE, Event)
    with pytest.raises(AttributeError):
        BRAMBLE.kind = "other"
