"""What is tapped at the table becomes one visit a day, zone by zone, whoever tapped it and whenever it arrives."""

from datetime import date, timedelta
from itertools import permutations

import pytest

from coatwright.errors import InputError
from coatwright.salon.dogfile import parse_dogfile
from coatwright.salon.dogwrite import write_dogfile
from coatwright.salon.events import Undone, event_of, payload
from coatwright.salon.facts import facts_of
from coatwright.salon.fold import fold
from coatwright.salon.records import Photo, Take, Visit
from coatwright.salon.salon import correct_visit
from coatwright.salon.taps import CareDone, PhotoTaken, TakeLogged, VisitTold, ZoneCarded
from tests.salon.making import FIRST, NOON, TODAY, at, dog, old_coat

DAY = date(2026, 12, 8)
SHA = "0123456789abcdef" * 4


def event(kind, record, minute, id="", by=""):
    return event_of(kind, "dog:bramble", record, at=at(minute), id=id or f"{kind}-{minute}", by=by)


BRAMBLE = event("dog.set", facts_of(dog()), 0)
COAT = event("assessment.set", old_coat(), 1)


def take(minute, zone="back", share=0.2, device="one", by="Mira", day=DAY, **more):
    made = TakeLogged(f"table-{day}", day, zone, Take(share, **more), groomer=by, device=device)
    return event("take.logged", made, minute, f"{zone}-{minute}-{device}", by)


def visits(*events):
    return fold([BRAMBLE, COAT, *events]).dogs["bramble"].visits


def test_the_taps_of_a_day_are_one_visit():
    taps = [
        take(10, planned=0.25, tool="fingers", minutes=4.0, ease="firm"),
        take(14, "ribs", 0.1),
        event("zone.carded", ZoneCarded("table", DAY, "back", True, "one"), 15),
        event("zone.carded", ZoneCarded("table", DAY, "ribs", True, "one"), 16),
        event("zone.carded", ZoneCarded("table", DAY, "ribs", False, "one"), 17),
        event("care.done", CareDone("table", DAY, "nails", True, "one"), 18),
        event("care.done", CareDone("table", DAY, "ears", True, "one"), 19),
        event("care.done", CareDone("table", DAY, "ears", False, "one"), 20),
        event("photo.taken", PhotoTaken("table", DAY, SHA, "back", 800, 600, "one"), 21),
        event("visit.told", VisitTold("table", DAY, "Mira", 75.0, "calm", "one"), 22),
    ]
    assert visits(*reversed(taps)) == (
        Visit(
            id="table",
            day=DAY,
            takes={
                "back": Take(0.2, planned=0.25, tool="fingers", minutes=4.0, ease="firm"),
                "ribs": Take(0.1),
            },
            carded=("back",),
            minutes=75.0,
            note="calm",
            groomer="Mira",
            care=("nails",),
            photos=(Photo(SHA, "back", 800, 600),),
        ),
    )


def test_the_later_of_two_tablets_counts_zone_by_zone():
    one, two = take(10, share=0.15), take(18, share=0.3, device="two", by="Ivo")
    ribs = take(12, "ribs", 0.1)
    for order in permutations([one, two, ribs]):
        (made,) = visits(*order)
        assert made.takes == {"back": Take(0.3), "ribs": Take(0.1)}
        assert made.groomer == "Ivo"


def test_a_visit_written_at_the_desk_and_taps_of_its_day_are_one_visit():
    written = Visit("desk", DAY, {"back": Take(0.4), "ribs": Take(0.1)}, minutes=60.0, note="sheet")
    desk = event("visit.logged", written, 15)
    for order in permutations([desk, take(10, share=0.2), take(20, "ribs", 0.25)]):
        (made,) = visits(*order)
        assert (made.id, made.minutes, made.note) == ("desk", 60.0, "sheet")
        assert made.takes == {"back": Take(0.4), "ribs": Take(0.25)}


def test_each_tablet_tells_its_minutes_and_note_and_none_is_lost():
    told = [
        event("visit.told", VisitTold("t", DAY, "Mira", 40.0, "thin loin", "one"), 30),
        event("visit.told", VisitTold("t", DAY, "Ivo", 90.0, "", "two"), 31),
        event("visit.told", VisitTold("t", DAY, "Mira", 55.0, "thin left loin", "one"), 32),
        event("visit.told", VisitTold("t", DAY, "Ivo", None, "calm", "two"), 33),
    ]
    (made,) = visits(*told)
    assert (made.minutes, made.note, made.groomer) == (90.0, "thin left loin\ncalm", "Ivo")


def test_a_correction_takes_the_place_of_all_that_was_said_before_it():
    corrected = Visit("table", DAY, {"back": Take(0.25)}, minutes=70.0)
    events = [
        event("visit.told", VisitTold("table", DAY, "Mira", 90.0, "note", "one"), 9),
        take(10),
        take(11, "ribs"),
        event("visit.corrected", corrected, 20),
    ]
    for order in (events, events[::-1]):
        assert visits(*order) == (corrected,)
    later = take(30, "ribs", 0.1)
    (made,) = visits(later, *events)
    assert made.takes == {"back": Take(0.25), "ribs": Take(0.1)}


def test_a_correction_can_move_a_tapped_visit_to_its_right_day():
    moved = Visit("table-2026-12-08", DAY - timedelta(days=1), {"back": Take(0.2)})
    assert visits(take(10), event("visit.corrected", moved, 20)) == (moved,)


def test_a_tapped_visit_is_corrected_at_the_desk_like_any_other(store):
    store.append([BRAMBLE, COAT, take(10)])
    (made,) = store.state().dogs["bramble"].visits
    correct_visit(store, "bramble", Visit(made.id, DAY, {"back": Take(0.1)}), today=TODAY)
    assert store.state().dogs["bramble"].visits[0].takes == {"back": Take(0.1)}


def test_undoing_a_tap_brings_back_what_was_before():
    first, second = take(10, share=0.1), take(12, share=0.3)
    undo = event("undone", Undone(second.id), 13, "undo")
    assert visits(first, second, undo)[0].takes["back"].share == 0.1
    redo = event("undone", Undone("undo"), 14, "redo")
    assert visits(redo, first, second, undo)[0].takes["back"].share == 0.3


def test_when_all_is_taken_back_there_is_no_visit():
    assert visits(take(10), event("undone", Undone(take(10).id), 13)) == ()
    assert visits(event("zone.carded", ZoneCarded("t", DAY, "back", False), 5)) == ()


def test_taps_before_the_coat_was_read_are_set_aside():
    early = take(10, day=FIRST - timedelta(days=1))
    salon = fold([BRAMBLE, COAT, early])
    assert salon.dogs["bramble"].visits == ()
    assert [item.event for item in salon.set_aside] == [early.id]


# --- the intake -------------------------------------------------------------------------------------------


def test_two_tablets_on_one_zone_are_told_of_each_other(store):
    store.append([BRAMBLE, COAT])
    clock = [each.at.astimezone().strftime("%H:%M") for each in (take(32), take(40))]
    (first,) = store.append([take(32, share=0.15)])
    assert (first.outcome, first.note) == ("kept", "")
    (second,) = store.append([take(40, share=0.2, device="two", by="Ivo")])
    assert second.note == f"Also logged by Mira's tablet at {clock[0]} (15 %); yours of {clock[1]} counts."
    (late,) = store.append([take(20, share=0.4, device="three", by="")])
    assert "by Ivo's tablet" in late.note
    assert "(20 %), which counts" in late.note
    (again,) = store.append([take(40, share=0.2, device="two", by="Ivo")])
    assert again.outcome == "already"
    assert "Also logged" in again.note, "an answer that was lost is told again"


def test_a_tablet_is_told_of_what_the_desk_wrote_and_not_of_itself(store):
    store.append([BRAMBLE, COAT, event("visit.logged", Visit("v", DAY, {"back": Take(0.4)}), 5)])
    (answer,) = store.append([take(10)])
    assert answer.note.startswith("Also logged at the desk")
    assert "40 %" in answer.note
    (other,) = store.append([take(11, "ribs")])
    assert other.note == ""
    (own,) = store.append([take(12, "ribs", 0.25)])
    assert own.note == ""


def test_cardings_that_agree_need_no_word_and_others_do(store):
    store.append([BRAMBLE, COAT])
    carded = [
        event("zone.carded", ZoneCarded("t", DAY, "back", done, device), minute, by=device)
        for minute, (done, device) in enumerate([(True, "one"), (True, "two"), (False, "three")], start=5)
    ]
    answers = [store.append([each])[0] for each in carded]
    assert [bool(each.note) for each in answers] == [False, False, True]
    assert "(carded)" in answers[2].note


def test_of_two_in_one_batch_each_is_told_of_the_other(store):
    store.append([BRAMBLE, COAT])
    first, second = store.append([take(32, share=0.15), take(40, device="two", by="Ivo")])
    assert "by Ivo's tablet" in first.note
    assert "which counts" in first.note
    assert "by Mira's tablet" in second.note
    assert "yours of" in second.note


def test_a_tap_that_cannot_be_is_refused_alone(store, clock):
    store.append([BRAMBLE, COAT])
    answers = store.append(
        [
            take(10, share=0.9),
            take(10 + 7 * 1440, share=0.9, day=DAY + timedelta(days=7)),
            take(11, "croup"),
            take(12, day=NOON.date() + timedelta(days=2)),
            take(13, day=FIRST - timedelta(days=1)),
            take(14, "ribs"),
        ]
    )
    assert [each.outcome for each in answers] == ["kept", "refused", "refused", "refused", "refused", "kept"]
    for answer, words in zip(
        answers[1:5], ("only 10 %", "no assessment", "a day to come", "no assessment"), strict=True
    ):
        assert words in answer.why


@pytest.mark.parametrize(
    ("kind", "data"),
    [
        ("take.logged", {"visit": "t", "day": "2026-12-08", "zone": "back"}),
        ("take.logged", {"visit": "t", "day": "2026-12-08", "zone": "wing", "take": {"share": 0.2}}),
        ("take.logged", {"visit": "t", "day": "2026-12-08", "zone": "back", "take": {"share": 1.2}}),
        ("take.logged", {"visit": "t", "day": "2026-12-08", "zone": "back", "take": {"share": 10**400}}),
        ("zone.carded", {"visit": "t", "day": "2026-12-08", "zone": "back", "carded": 1}),
        ("care.done", {"visit": "t", "day": "2026-12-08", "what": "Nails!", "done": True}),
        ("visit.told", {"visit": "t", "day": "2026-12-08", "minutes": 2000}),
        ("visit.told", {"visit": "", "day": "2026-12-08", "minutes": 20}),
        ("photo.taken", {"visit": "t", "day": "2026-12-08", "photo": "../../salon.db"}),
        ("photo.taken", {"visit": "t", "day": "2026-12-08", "photo": SHA, "width": -1}),
    ],
)
def test_a_tap_of_the_wrong_shape_is_told(kind, data):
    wrong = event("undone", Undone("x"), 3)
    with pytest.raises(InputError) as caught:
        payload(type(wrong)("w", "dog:bramble", kind, at(3), "", data))
    assert caught.value.remedy


# --- files ------------------------------------------------------------------------------------------------


def test_a_dog_s_file_holds_chores_and_photos():
    animal = dog(
        assessments=(old_coat(),),
        visits=(
            Visit(
                "v",
                DAY,
                {"back": Take(0.2)},
                care=("nails", "scissors_feet"),
                photos=(Photo(SHA, "back", 800, 600), Photo(SHA[::-1])),
            ),
        ),
    )
    assert parse_dogfile(write_dogfile(animal), today=TODAY).dog == animal
