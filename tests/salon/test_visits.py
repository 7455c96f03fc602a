"""What stands of a visit when devices speak of the same zone: remarks so far, corrections at the desk."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import permutations

import pytest

from coatwright.salon.events import Undone, event_of, from_json, to_json
from coatwright.salon.facts import facts_of
from coatwright.salon.fold import fold
from coatwright.salon.records import Take, Visit
from coatwright.salon.salon import correct_visit
from coatwright.salon.taps import CareDone, TakeLogged, VisitTold
from tests.salon.making import TODAY, at, dog, old_coat

DAY = date(2026, 12, 8)
TABLE = f"table-{DAY}"
WEEK = 7 * 1440
"""Minutes from the day of the coat to the day of the visit."""


def event(kind, record, minute, id=""):
    return event_of(kind, "dog:bramble", record, at=at(minute), id=id or f"{kind}-{minute}")


BRAMBLE = event("dog.set", facts_of(dog()), 0)
COAT = event("assessment.set", old_coat(), 1)


def take(minute, share=0.2, device="one", *, by="Mira", so_far=False, zone="back", **more):
    made = TakeLogged(TABLE, DAY, zone, Take(share, **more), groomer=by, device=device, so_far=so_far)
    return event_of("take.logged", "dog:bramble", made, at=at(minute), id=f"{zone}-{minute}-{device}", by=by)


def remark(minute, device="two", *, by="Ivo", **more):
    return take(minute, 0.0, device, by=by, so_far=True, **more)


def back(*events):
    """The back as it stands, whatever the order of arrival."""
    found = [fold([BRAMBLE, COAT, *order]).dogs["bramble"].visits for order in permutations(events)]
    assert all(each == found[0] for each in found)
    return found[0][0].takes["back"] if found[0] else None


# --- remarks so far -----------------------------------------------------------------------------------------


def test_a_remark_of_another_tablet_stands_beside_the_take_and_leaves_its_share():
    logged = take(10, 0.15, planned=0.2, tool="fingers", ease="firm", minutes=4.0)
    after = back(logged, remark(12, planned=0.2, reaction="flinched", skin="red"))
    assert after == Take(0.15, 0.2, "fingers", minutes=4.0, ease="firm", reaction="flinched", skin="red")
    assert back(logged, remark(8, reaction="flinched")).reaction == "flinched", "what was said before it too"
    assert back(logged, remark(8, ease="hard")).ease == "firm", "the later of two that say something counts"


def test_a_remark_stands_beside_what_the_desk_wrote():
    written = event("visit.logged", Visit("desk", DAY, {"back": Take(0.4, skin="sound")}), 10)
    assert back(written, remark(12, reaction="flinched")) == Take(0.4, skin="sound", reaction="flinched")


def test_a_take_of_the_same_tablet_replaces_its_remark_and_one_remark_the_other():
    first, second = remark(8, reaction="flinched"), remark(9, reaction="", skin="flaky")
    assert back(first) == Take(0.0, reaction="flinched", so_far=True)
    assert back(first, second) == Take(0.0, skin="flaky", so_far=True)
    assert back(first, second, take(12, 0.1, "two", skin="sound")) == Take(0.1, skin="sound")
    assert back(take(5, 0.15), first, second) == Take(0.15, skin="flaky"), "taken back, it says nothing more"


def test_remarks_of_two_tablets_without_a_take_both_stand():
    assert back(remark(8, reaction="flinched"), remark(9, "three", skin="red")) == Take(
        0.0, reaction="flinched", skin="red", so_far=True
    )


def test_a_remark_says_not_who_pulled_where_somebody_did():
    for events, groomer in (
        ([take(10), remark(12)], "Mira"),
        ([take(14), remark(12)], "Mira"),
        ([remark(12)], "Ivo"),
    ):
        (made,) = fold([BRAMBLE, COAT, *events]).dogs["bramble"].visits
        assert made.groomer == groomer


def test_undoing_the_take_leaves_the_remark_and_undoing_the_remark_the_take():
    logged, said = take(10, 0.15), remark(12, reaction="flinched")
    assert back(logged, said, event("undone", Undone(logged.id), 13)) == Take(
        0.0, reaction="flinched", so_far=True
    )
    assert back(logged, said, event("undone", Undone(said.id), 13)) == Take(0.15)


def test_takes_of_before_there_were_remarks_read_as_they_did():
    """An event as tablets sent it when a remark was a take like any other: no ``so_far`` in its data."""
    old = to_json(take(12, 0.0, "two", reaction="flinched"))
    assert "so_far" not in old["data"]
    assert back(take(10, 0.15), from_json(old)) == Take(0.0, reaction="flinched")
    assert to_json(remark(12))["data"]["so_far"] is True


def test_a_tablet_that_remarks_is_told_that_the_take_counts_and_no_take_is_told_of_a_bare_remark(store):
    store.append([BRAMBLE, COAT])
    (first,) = store.append([remark(8, reaction="restless")])
    (second,) = store.append([take(32, 0.15)])
    assert (first.note, second.note) == ("", "")
    clock = [at(minute).astimezone().strftime("%H:%M") for minute in (32, 40)]
    (third,) = store.append([remark(40, reaction="flinched")])
    assert third.note == (
        f"Also logged by Mira's tablet at {clock[0]} (15 %), which counts; your remark of {clock[1]} is added."
    )
    assert store.state().dogs["bramble"].visits[0].takes["back"] == Take(0.15, reaction="flinched")


# --- a correction at the desk ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "late",
    [
        take(20, 0.3, zone="ribs"),
        take(20, 0.3),
        event("care.done", CareDone(TABLE, DAY, "nails", True, "one"), 20),
        event("visit.told", VisitTold(TABLE, DAY, "Mira", 75.0, "calm", "one"), 20),
    ],
    ids=lambda each: each.id,
)
def test_a_tap_that_comes_after_a_later_correction_is_told_that_it_does_not_count(store, clock, late):
    store.append([BRAMBLE, COAT, take(10)])
    clock.now = at(WEEK + 30)
    correct_visit(store, "bramble", Visit(TABLE, DAY, {"back": Take(0.25)}), today=TODAY)
    before = store.state().dogs["bramble"].visits
    (answer,) = store.append([late])
    assert answer.outcome == "kept"
    assert store.state().dogs["bramble"].visits == before
    corrected, own = (each.astimezone().strftime("%H:%M") for each in (clock.now, late.at))
    assert answer.note == (
        f"The visit was corrected at the desk at {corrected}, after this tap of {own}: the correction counts."
    )
    (again,) = store.append([late])
    assert (again.outcome, again.note) == ("already", answer.note), "an answer that was lost is told again"


def test_a_tap_after_the_correction_counts_and_is_not_told_otherwise(store, clock):
    store.append([BRAMBLE, COAT, take(10)])
    clock.now = at(WEEK + 30)
    correct_visit(store, "bramble", Visit(TABLE, DAY, {"back": Take(0.25)}), today=TODAY)
    (answer,) = store.append([take(WEEK + 31, 0.3, zone="ribs")])
    assert answer.note == ""
    assert store.state().dogs["bramble"].visits[0].takes["ribs"] == Take(0.3)


def test_a_correction_of_the_day_or_of_the_visit_is_told_wherever_it_was_put(store, clock):
    """Of a sheet's visit with its own id on the same day; and of the tapped visit, moved to another day."""
    store.append([BRAMBLE, COAT, event("visit.logged", Visit("sheet", DAY, {"back": Take(0.1)}), 5)])
    clock.now = at(WEEK + 30)
    correct_visit(store, "bramble", Visit("sheet", DAY, {"back": Take(0.25)}), today=TODAY)
    (answer,) = store.append([take(20, 0.3, zone="ribs")])
    assert "the correction counts" in answer.note
    assert store.state().dogs["bramble"].visits[0].takes == {"back": Take(0.25)}
    moved = event("visit.corrected", Visit(TABLE, DAY - timedelta(days=1), {"ribs": Take(0.1)}), WEEK + 40)
    (kept, late) = store.append([moved, take(WEEK + 35, 0.3, "two", zone="ribs")])
    assert kept.outcome == "kept"
    assert "the correction counts" in late.note


def test_a_correction_that_was_taken_back_is_not_told(store, clock):
    store.append([BRAMBLE, COAT, take(10)])
    clock.now = at(WEEK + 30)
    made = correct_visit(store, "bramble", Visit(TABLE, DAY, {"back": Take(0.25)}), today=TODAY)
    store.append([event("undone", Undone(made.id), WEEK + 31)])
    (answer,) = store.append([take(20, 0.3, zone="ribs")])
    assert answer.note == ""
    assert set(store.state().dogs["bramble"].visits[0].takes) == {"back", "ribs"}
