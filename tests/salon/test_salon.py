"""What people do with the records: each act is checked against the salon first, and kept whole or not at all."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from coatwright.errors import InputError, OutOfOrder, OutOfRange, UnknownName
from coatwright.salon import by_hand
from coatwright.salon import salon as do
from coatwright.salon.coats import coat_of
from coatwright.salon.dogfile import parse_dogfile
from coatwright.salon.records import DogWish, FixedVisit, PaperCount, Person, Reading, Show, Take, Visit
from tests.salon.making import FIRST, NOON, OWNER, SHOW, TEXT, TODAY, dog, old_coat, visit

DOG = "bramble"


@pytest.fixture
def salon(store):
    """A salon with one dog whose coat was read and who had one visit."""
    do.save_person(store, OWNER, by="anna")
    do.save_show(store, SHOW)
    do.save_dog(store, dog(owner=OWNER, wish=DogWish(shows=(SHOW,))))
    do.assess(store, DOG, old_coat())
    do.log_visit(store, DOG, visit(date(2027, 1, 12), id="v1"))
    return store


def bramble(store):
    return store.state().dogs[DOG]


def test_a_dog_is_kept_with_its_people_its_show_and_its_past(salon):
    animal = bramble(salon)
    assert animal.owner == OWNER
    assert animal.wish.shows == (SHOW,)
    assert animal.assessments == (old_coat(),)
    assert animal.visits == (visit(date(2027, 1, 12), id="v1"),)
    assert salon.events()[0][1].by == "anna"


def test_too_much_pulled_is_kept_and_seen_in_the_coat(salon):
    over = Visit("v2", date(2027, 2, 20), {"back": Take(0.35, planned=0.2), "ribs": Take(0.35, planned=0.2)})
    do.log_visit(salon, DOG, over)
    assert bramble(salon).visits[-1] == over
    assert coat_of(bramble(salon), TODAY)["back"].layers[-1].share == pytest.approx(0.35)


REFUSED = {
    "a visit in the past of another": (
        lambda s: do.log_visit(s, DOG, visit(date(2027, 1, 2))),
        OutOfOrder,
        "2027-01-12 is logged already",
    ),
    "a second visit on one day": (
        lambda s: do.log_visit(s, DOG, visit(date(2027, 1, 12), id="v2")),
        OutOfOrder,
        "second visit",
    ),
    "the same visit again": (
        lambda s: do.log_visit(s, DOG, visit(date(2027, 1, 12), id="v1")),
        OutOfRange,
        "logged already",
    ),
    "a visit that is still to come": (
        lambda s: do.log_visit(s, DOG, visit(TODAY + timedelta(days=1))),
        OutOfOrder,
        "after today",
    ),
    "a take of more than stands": (
        lambda s: do.log_visit(s, DOG, visit(date(2027, 1, 20), 0.9)),
        OutOfRange,
        "only 80 %",
    ),
    "a visit to a zone that was never read": (
        lambda s: do.log_visit(s, DOG, visit(date(2027, 1, 20), id="v", skull=Take(0.2))),
        OutOfOrder,
        "skull",
    ),
    "a visit of a dog that is not here": (
        lambda s: do.log_visit(s, "brambel", visit(TODAY)),
        UnknownName,
        "'brambel'",
    ),
    "a correction of no visit": (
        lambda s: do.correct_visit(s, DOG, visit(date(2027, 1, 12), id="v9")),
        UnknownName,
        "'v9'",
    ),
    "a correction into the future": (
        lambda s: do.correct_visit(s, DOG, visit(TODAY + timedelta(days=9), id="v1")),
        OutOfOrder,
        "after today",
    ),
    "a correction to before the coat was read": (
        lambda s: do.correct_visit(s, DOG, visit(date(2026, 11, 1), id="v1")),
        OutOfOrder,
        "no assessment",
    ),
    "an assessment in the future": (
        lambda s: do.assess(s, DOG, old_coat(TODAY + timedelta(days=1), id="next")),
        OutOfOrder,
        "after today",
    ),
    "a second assessment on one day": (
        lambda s: do.assess(s, DOG, old_coat(id="other")),
        OutOfOrder,
        "second assessment",
    ),
    "an assessment moved behind the visits": (
        lambda s: do.assess(s, DOG, old_coat(date(2027, 2, 1))),
        OutOfOrder,
        "no assessment",
    ),
    "a reading in the future": (
        lambda s: do.take_reading(s, DOG, Reading("r", TODAY + timedelta(days=1), "back", 20.0)),
        OutOfOrder,
        "after today",
    ),
    "a paper test in the future": (
        lambda s: do.keep_paper(s, DOG, PaperCount("k", TODAY + timedelta(days=1), "back", counted_whole=40)),
        OutOfOrder,
        "after today",
    ),
    "a fixed take between the steps": (
        lambda s: by_hand.fix_cell(s, DOG, "back", TODAY, 0.12),
        OutOfRange,
        "12 %",
    ),
    "a fixed take of yesterday": (
        lambda s: by_hand.fix_cell(s, DOG, "back", TODAY - timedelta(days=1), 0.1),
        OutOfOrder,
        "before today",
    ),
    "a fixed take of 120 %": (lambda s: by_hand.fix_cell(s, DOG, "back", TODAY, 1.2), OutOfRange, "120 %"),
    "a fixed take of no zone": (
        lambda s: by_hand.fix_cell(s, DOG, "bakc", TODAY, 0.1),
        UnknownName,
        "'bakc'",
    ),
    "freeing what is not fixed": (
        lambda s: by_hand.free_cell(s, DOG, "back", TODAY),
        UnknownName,
        "back on 2027-03-01",
    ),
    "a visit moved into the past": (
        lambda s: by_hand.fix_visit(s, DOG, FixedVisit(TODAY, on=TODAY - timedelta(days=1))),
        OutOfOrder,
        "before today",
    ),
    "a visit moved on the eve of a show": (
        lambda s: by_hand.fix_visit(
            s, DOG, FixedVisit(TODAY, on=bramble(s).wish.shows[0].day - timedelta(days=1))
        ),
        OutOfRange,
        "quiet days",
    ),
    "a visit dropped and given minutes": (
        lambda s: by_hand.fix_visit(s, DOG, FixedVisit(TODAY, dropped=True, minutes=30.0)),
        OutOfRange,
        "dropped",
    ),
    "a visit in a rhythm of 9 days": (
        lambda s: by_hand.fix_visit(s, DOG, FixedVisit(TODAY, added=True), rhythm=9),
        OutOfRange,
        "every 9 days",
    ),
    "freeing a visit that is not set": (
        lambda s: by_hand.free_visit(s, DOG, TODAY),
        UnknownName,
        "visit set by hand",
    ),
    "unfit for no reason": (lambda s: do.mark_unfit(s, DOG, "  "), OutOfRange, "no reason"),
    "a show before today": (
        lambda s: do.save_show(s, Show("old", "Old Show", date(2027, 2, 1))),
        OutOfOrder,
        "before today",
    ),
    "a wish for a show before today": (
        lambda s: do.save_dog(
            s, dog(owner=OWNER, wish=DogWish(shows=(SHOW, Show("old", "Old", date(2027, 2, 1)))))
        ),
        OutOfOrder,
        "before today",
    ),
    "an owner who is not here": (
        lambda s: do.save_dog(s, dog(owner=Person("nobody", "Nobody Known"))),
        UnknownName,
        "'nobody'",
    ),
    "a birth in the future": (
        lambda s: do.save_dog(s, dog(owner=OWNER, born=TODAY + timedelta(days=2))),
        OutOfRange,
        "born",
    ),
    "growth that the visits cannot have had": (
        lambda s: do.save_dog(s, dog(owner=OWNER, born=date(2027, 2, 1))),
        OutOfOrder,
        "born",
    ),
    "a plan of a name that is taken": (
        lambda s: [do.keep_plan(s, DOG, "spring", problem={}, takes={}) for _ in range(2)],
        OutOfRange,
        "'spring' already",
    ),
    "undoing what was never done": (lambda s: do.undo(s, "dog:bramble", "nothing"), UnknownName, "'nothing'"),
    "a dog of a name that is taken": (lambda s: do.add_dog(s, dog()), OutOfRange, "already"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_is_refused_and_nothing_is_kept(salon, case):
    act, kind, words = REFUSED[case]
    before = bramble(salon)
    with pytest.raises(kind) as caught:
        act(salon)
    assert words in caught.value.text
    assert isinstance(caught.value, InputError)
    assert caught.value.remedy
    after = bramble(salon)
    assert (after.visits, after.assessments, after.readings) == (
        before.visits,
        before.assessments,
        before.readings,
    )
    assert (after.fixed, after.unfit, after.wish, after.owner) == (
        before.fixed,
        before.unfit,
        before.wish,
        before.owner,
    )


def test_a_visit_can_be_corrected(salon):
    better = visit(date(2027, 1, 13), 0.3, id="v1")
    do.correct_visit(salon, DOG, better)
    assert bramble(salon).visits == (better,)


def test_an_assessment_can_be_corrected_by_its_id(salon):
    better = old_coat(date(2026, 12, 2))
    do.assess(salon, DOG, better)
    assert bramble(salon).assessments == (better,)


def test_cells_are_fixed_and_freed(salon):
    by_hand.fix_cell(salon, DOG, "back", TODAY, 0.0)
    by_hand.fix_cell(salon, DOG, "ribs", TODAY, 0.15)
    assert bramble(salon).fixed == {("back", TODAY): 0.0, ("ribs", TODAY): 0.15}
    by_hand.free_cell(salon, DOG, "back", TODAY)
    assert bramble(salon).fixed == {("ribs", TODAY): 0.15}


def test_visits_are_set_by_hand_and_the_rhythm_is_kept_while_one_is(salon):
    moved = FixedVisit(TODAY, on=TODAY + timedelta(days=3))
    event = by_hand.fix_visit(salon, DOG, moved, rhythm=14)
    by_hand.fix_cell(salon, DOG, "back", TODAY, 0.1, rhythm=7)
    assert (bramble(salon).fixed_visits, bramble(salon).rhythm) == ((moved,), 7)
    with pytest.raises(OutOfRange, match="Another visit is set by hand"):
        by_hand.fix_visit(salon, DOG, FixedVisit(TODAY + timedelta(days=7), on=moved.at), rhythm=14)
    by_hand.free_cell(salon, DOG, "back", TODAY)
    assert bramble(salon).rhythm == 14
    do.undo(salon, event.stream, event.id)
    assert (bramble(salon).fixed_visits, bramble(salon).rhythm) == ((), None)
    by_hand.fix_visit(salon, DOG, FixedVisit(TODAY, dropped=True), rhythm=14)
    by_hand.free_visit(salon, DOG, TODAY)
    assert bramble(salon).fixed_visits == ()


def test_no_visit_is_moved_to_where_the_dog_is_away(salon):
    before = bramble(salon)
    away = replace(before.limits, away=((date(2027, 4, 1), date(2027, 4, 9)),))
    do.save_dog(salon, replace(before, limits=away))
    with pytest.raises(OutOfRange, match="is away"):
        by_hand.fix_visit(salon, DOG, FixedVisit(TODAY, on=date(2027, 4, 3)))


def test_a_dog_is_marked_unfit_and_fit_again(salon):
    do.mark_unfit(salon, DOG, "pinpoint blood at the elbow")
    assert bramble(salon).unfit == "pinpoint blood at the elbow"
    do.mark_fit(salon, DOG, "seen by the vet")
    assert bramble(salon).unfit == ""


def test_readings_and_plans_are_kept(salon):
    reading = Reading("r", date(2027, 2, 1), "back", 40.0, 6.0, 0.7)
    do.take_reading(salon, DOG, reading)
    assert bramble(salon).readings == (reading,)
    plan = do.keep_plan(salon, DOG, "spring", problem={"minutes": 150}, takes={"back": {"2027-03-09": 0.2}})
    assert salon.state().plans[DOG] == (plan,)
    assert plan.day == TODAY


def test_paper_tests_are_kept_corrected_and_taken_back(salon):
    paper = PaperCount("k", date(2027, 2, 1), "back", "knife", "Maren", (40.0, 38.5), (12.0,))
    do.keep_paper(salon, DOG, paper, by="Maren")
    better = replace(paper, counted_broken=3)
    correction = do.keep_paper(salon, DOG, better)
    earlier = PaperCount("j", date(2027, 1, 20), "ribs", counted_whole=50)
    do.keep_paper(salon, DOG, earlier)
    assert bramble(salon).papers == (earlier, better)
    do.undo(salon, "dog:bramble", correction.id)
    assert bramble(salon).papers == (earlier, paper)


def test_undo_takes_back_and_undo_of_the_undo_brings_back(salon):
    done = do.log_visit(salon, DOG, visit(date(2027, 2, 1), id="v2"))
    undone = do.undo(salon, "dog:bramble", done.id)
    assert [each.id for each in bramble(salon).visits] == ["v1"]
    with pytest.raises(OutOfRange, match="undone already"):
        do.undo(salon, "dog:bramble", done.id)
    do.undo(salon, "dog:bramble", undone.id)
    assert [each.id for each in bramble(salon).visits] == ["v1", "v2"]
    told = do.history(salon, "dog:bramble")
    assert [(event.kind, counts) for event, counts in told[-3:]] == [
        ("visit.logged", True),
        ("undone", False),
        ("undone", True),
    ]


def test_an_assessment_on_which_a_visit_rests_cannot_be_undone(salon):
    read = next(event for event, _ in do.history(salon, "dog:bramble") if event.kind == "assessment.set")
    with pytest.raises(OutOfOrder, match="no assessment"):
        do.undo(salon, "dog:bramble", read.id)
    assert len(bramble(salon).visits) == 1


def test_a_clock_set_back_does_not_let_an_old_fact_win(salon, clock):
    clock.now = NOON - timedelta(days=1)
    do.save_dog(salon, replace(bramble(salon), name="Brambling"), today=TODAY)
    assert bramble(salon).name == "Brambling"
    clock.now = NOON + timedelta(days=2)
    do.save_dog(salon, replace(bramble(salon), name="Bram"))
    clock.now = NOON
    do.save_dog(salon, replace(bramble(salon), name="Bramble"), today=TODAY)
    assert bramble(salon).name == "Bramble"


def test_a_past_show_stays_in_the_wish_when_the_dog_is_changed_later(salon, clock):
    clock.now = NOON + timedelta(days=200)
    do.save_dog(salon, replace(bramble(salon), notes="leans"))
    assert bramble(salon).wish.shows == (SHOW,)
    do.log_visit(salon, DOG, visit(date(2027, 9, 1), id="later"))
    assert len(bramble(salon).visits) == 2


def test_the_day_is_that_of_the_salons_clock(salon, clock):
    assert do.today_of(salon) == TODAY
    clock.now = NOON + timedelta(days=1)
    assert do.today_of(salon) == TODAY + timedelta(days=1)


def test_a_whole_dog_comes_in_from_a_file_with_its_people_and_shows(store):
    animal = parse_dogfile(TEXT, today=TODAY).dog
    do.add_dog(store, animal, by="anna")
    assert store.state().dogs == {DOG: animal}
    sister = replace(animal, id="sister", name="Sister")
    kinds = [event.kind for event in do.add_dog(store, sister)]
    assert "person.set" not in kinds
    assert store.state().dogs["sister"].owner == animal.owner


def test_a_dog_with_another_person_of_the_same_id_is_refused_whole(store):
    do.save_person(store, OWNER)
    other = dog(owner=replace(OWNER, name="Somebody Else"), assessments=(old_coat(),))
    with pytest.raises(OutOfRange, match="Tobias Marlhope"):
        do.add_dog(store, other)
    assert store.state().dogs == {}
    assert len(store.events()) == 1


def test_a_dog_whose_past_cannot_be_is_refused_whole(store):
    wrong = dog(assessments=(old_coat(),), visits=(visit(FIRST, 0.8), visit(date(2026, 12, 8), 0.8)))
    with pytest.raises(OutOfRange, match="2026-12-08"):
        do.add_dog(store, wrong)
    assert store.events() == []
