"""Sheets read into drafts, put right, accepted or thrown away; verdicts, tools over time, what learning gets.

Photographs are drawn by the renderer of the tests, with their truth.
"""

import time
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from coatwright.errors import InputError, OutOfRange, UnknownName
from coatwright.paper.photo import PhotoError
from coatwright.paper.repair_record import Repair
from coatwright.paper.whole import read_sheet
from coatwright.paper.witness_ends import clopper_pearson
from coatwright.salon import hearing, papers, printers, tools, verdicts
from coatwright.salon.attachments import Attachments
from coatwright.salon.cautions import tool_cautions, visit_cautions
from coatwright.salon.evidence import evidence_of, is_measured, is_taken
from coatwright.salon.history import PaperCount, Take
from coatwright.salon.known import facts_of
from coatwright.salon.paper_drafts import ByHand, SheetHead, packed, unpacked
from coatwright.salon.plans import plan_dog
from coatwright.salon.salon import add_dog, keep_paper, undo
from coatwright.salon.sheets import sheet_of
from tests.paper.rendering import FIGURES, render
from tests.salon.making import FIRST, TODAY, dog, old_coat, visit
from tests.salon.test_sheets import FIRST as SHEET_DAY
from tests.salon.test_sheets import rolled, rolling_dog

SMALL = (2800, 2100)
DAY = TODAY - timedelta(days=3)


@pytest.fixture(scope="module")
def shot():
    return render(FIGURES, 81, hairs=45, broken=0.25, size=SMALL)


@pytest.fixture(scope="module")
def few():
    return render(FIGURES, 82, hairs=14, size=SMALL).jpeg


@pytest.fixture
def salon(store):
    """A store with a dog whose coat is known."""
    add_dog(store, dog(assessments=(old_coat(),), visits=(visit(DAY, back=Take(0.2)),)), today=TODAY)
    return store


@pytest.fixture(scope="module")
def read(shot):
    return read_sheet(shot.jpeg)


@pytest.fixture
def draft(salon, shot, read):
    head = SheetHead("sheet-1", "bramble", "back", DAY, "Coarse  knife", "Mira", phone="p", printer="q")
    return papers.keep_draft(salon, head, shot.jpeg, read)


def names(store):
    return set(Attachments.of(store).names())


def bramble(store):
    return store.state().dogs["bramble"]


def count(day=DAY, *, whole=0, broken=0, tool="knife", zone="back", **more):
    return PaperCount(
        f"{tool}-{day}-{zone}-{more.get('purpose', '')}",
        day,
        zone,
        tool,
        counted_whole=whole,
        counted_broken=broken,
        **more,
    )


# --- drafts -----------------------------------------------------------------------------------------------


def test_a_draft_waits_beside_the_records_until_it_is_accepted(salon, draft, shot):
    assert bramble(salon).papers == ()
    assert [head.id for head in papers.drafts(salon)] == [draft.id]
    assert papers.drafts(salon, "another") == ()
    again = papers.draft(salon, draft.id)
    assert again.counted == draft.counted
    assert sum(draft.counted.values()) == pytest.approx(len(shot.hairs), abs=3)
    event = papers.accept(salon, draft.id, today=TODAY)
    (kept,) = bramble(salon).papers
    assert (event.kind, kept.id, kept.tool, kept.zone) == ("paper.read", draft.id, "Coarse  knife", "back")
    assert (kept.whole, kept.broken, len(kept.open_mm)) == tuple(
        draft.counted[word] for word in ("whole", "broken", "unjudged")
    )
    assert papers.drafts(salon) == ()
    assert names(salon) == {kept.photo, kept.traces}


def test_every_number_can_be_made_again_from_the_kept_traces(salon, draft):
    first = next(iter(draft.hairs))
    papers.mark(salon, draft.id, first, "broken")
    papers.accept(salon, draft.id, today=TODAY)
    (kept,) = bramble(salon).papers
    assert papers.recounted(salon, "bramble", kept) == kept
    read, by_hand = papers.traces_of(salon, kept)
    assert by_hand.marks == {first: "broken"}
    assert read.sheet == kept.sheet == "a5"
    untouched = unpacked(packed(read))[0]
    assert [hair.as_json() for hair in untouched.hairs] == [hair.as_json() for hair in read.hairs]


def test_the_kept_photo_tells_no_place_and_is_upright(salon, draft):
    from PIL import Image

    with Image.open(Attachments.of(salon).path(draft.photo)) as picture:
        assert picture.size == draft.read.size_px
        assert dict(picture.getexif()) == {}


def test_a_draft_thrown_away_leaves_nothing(salon, draft):
    papers.throw_away(salon, draft.id)
    assert names(salon) == set()
    assert not list(Attachments.of(salon).folder.rglob("*.json"))
    with pytest.raises(UnknownName):
        papers.draft(salon, draft.id)


def test_a_photo_is_read_into_a_draft_and_a_file_that_another_sheet_names_stays(salon, draft):
    from coatwright.salon.paper_drafts import Drafts

    other = Drafts(Attachments.of(salon)).save(replace(draft, head=replace(draft.head, id="other")))
    papers.throw_away(salon, draft.id)
    assert papers.draft(salon, other.id).counted == other.counted
    papers.accept(salon, other.id, today=TODAY)
    assert bramble(salon).papers[0].photo in names(salon)


def test_a_photo_sent_twice_is_refused_and_says_where_it_is(salon, draft, shot, read, monkeypatch):
    monkeypatch.setattr(papers, "read_sheet", lambda *_, **__: pytest.fail("it is refused before it is read"))
    before = names(salon)

    def sent():
        with pytest.raises(PhotoError) as caught:
            papers.read_photo(salon, "bramble", "ribs", shot.jpeg, day=DAY, name="again.jpg")
        assert (caught.value.code, caught.value.where) == ("twice", "again.jpg")
        assert f"Bramble, back, {DAY}" in caught.value.what
        return caught.value

    assert "waits to be accepted" in sent().what
    papers.accept(salon, draft.id, today=TODAY)
    assert "is accepted" in sent().what
    assert "take it back" in sent().remedy
    assert len(names(salon)) == len(before)
    assert papers.drafts(salon) == ()
    head = replace(draft.head, id="sheet-2", zone="ribs")
    with pytest.raises(PhotoError, match="count twice"):
        papers.keep_draft(salon, head, shot.jpeg, read)


def test_a_photo_of_a_test_that_was_taken_back_can_be_sent_again(salon, draft, shot, read):
    event = papers.accept(salon, draft.id, today=TODAY)
    undo(salon, event.stream, event.id)
    again = papers.keep_draft(salon, replace(draft.head, id="sheet-2"), shot.jpeg, read)
    papers.accept(salon, again.id, today=TODAY)
    assert [paper.id for paper in bramble(salon).papers] == ["sheet-2"]


def test_of_two_drafts_of_one_photo_only_the_first_is_accepted(salon, draft):
    """Two programs may keep a draft at the same moment."""
    from coatwright.salon.paper_drafts import Drafts

    Drafts(Attachments.of(salon)).save(replace(draft, head=replace(draft.head, id="other")))
    papers.accept(salon, draft.id, today=TODAY)
    with pytest.raises(PhotoError, match="is accepted"):
        papers.accept(salon, "other", today=TODAY)
    assert [paper.id for paper in bramble(salon).papers] == [draft.id]
    papers.throw_away(salon, "other")


def test_a_sheet_that_could_not_be_accepted_is_refused_before_anything_is_kept(salon, shot, read):
    head = SheetHead("sheet-1", "bramble", "back", DAY, "knife", phone="p")
    for spoilt in ({"phone": "p" * 301}, {"tool": "t" * 301}, {"bar_mm": 70.0}, {"dog": "nobody"}):
        with pytest.raises((OutOfRange, UnknownName)):
            papers.keep_draft(salon, replace(head, **spoilt), shot.jpeg, read)
    assert names(salon) == set()
    assert papers.drafts(salon) == ()


def test_accepting_that_fails_leaves_the_draft_as_it_was(salon, draft):
    before = names(salon)
    with pytest.raises(Exception, match="after today"):
        papers.accept(salon, draft.id, today=DAY - timedelta(days=1))
    assert names(salon) == before
    assert papers.draft(salon, draft.id).counted == draft.counted
    papers.accept(salon, draft.id, today=TODAY)
    assert len(bramble(salon).papers) == 1


def test_accepting_again_after_a_stop_keeps_one_test(salon, draft, monkeypatch):
    from coatwright.salon.paper_drafts import Drafts

    monkeypatch.setattr(Drafts, "remove", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
    with pytest.raises(KeyboardInterrupt):
        papers.accept(salon, draft.id, today=TODAY)
    monkeypatch.undo()
    papers.accept(salon, draft.id, today=TODAY)
    assert len(bramble(salon).papers) == 1
    assert papers.drafts(salon) == ()


@pytest.mark.parametrize("data", [b"", b"no photo", b"\xff\xd8\xff\xe0 cut off"])
def test_a_refused_photo_leaves_nothing_behind(salon, data):
    with pytest.raises(PhotoError) as caught:
        papers.read_photo(salon, "bramble", "back", data)
    assert caught.value.code
    assert caught.value.remedy
    assert names(salon) == set()
    assert papers.drafts(salon) == ()


def test_a_sheet_is_of_a_known_dog_zone_and_day(salon, few):
    for dog_id, zone, more in (
        ("nobody", "back", {}),
        ("bramble", "wings", {}),
        ("bramble", "back", {"day": TODAY + timedelta(days=1)}),
        ("bramble", "back", {"purpose": "fun"}),
        ("bramble", "back", {"bar_mm": 80.0}),
    ):
        with pytest.raises((UnknownName, OutOfRange)):
            papers.read_photo(salon, dog_id, zone, few, **more)
    assert names(salon) == set()


# --- by hand ----------------------------------------------------------------------------------------------


def test_marks_change_what_a_hair_counts_as_and_can_be_taken_back(salon, draft):
    whole = next(number for number in draft.hairs if draft.state(number) == "whole")
    marked = papers.mark(salon, draft.id, whole, "broken")
    assert marked.counted["broken"] == draft.counted["broken"] + 1
    assert papers.mark(salon, draft.id, whole, "not a hair").counted["whole"] == draft.counted["whole"] - 1
    assert papers.mark(salon, draft.id, whole, "").counted == draft.counted
    with pytest.raises(UnknownName):
        papers.mark(salon, draft.id, 10_000, "whole")
    with pytest.raises(OutOfRange):
        papers.mark(salon, draft.id, whole, "splendid")


def test_marks_that_come_at_the_same_moment_are_all_kept(salon, draft, monkeypatch):
    from threading import Thread

    from coatwright.salon.paper_drafts import Drafts

    load = Drafts.load

    def slow(self, id):
        found = load(self, id)
        time.sleep(0.02)
        return found

    monkeypatch.setattr(Drafts, "load", slow)
    numbers = list(draft.hairs)[:8]
    hands = [Thread(target=papers.mark, args=(salon, draft.id, number, "broken")) for number in numbers]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    assert set(papers.draft(salon, draft.id).by_hand.marks) == set(numbers)


@pytest.mark.parametrize("purpose", ["whole", "cut"])
def test_marks_do_not_reach_the_measure_of_how_ends_are_judged(salon, draft, purpose):
    """Marked as broken before the sheet was said to hold hairs of known state: it must not count there."""
    numbers = [number for number in draft.hairs if draft.state(number) == "whole"][:3]
    for number in numbers[:2]:
        papers.mark(salon, draft.id, number, "broken")
    found = papers.set_head(salon, draft.id, purpose=purpose)
    assert found.counted == draft.counted
    with pytest.raises(OutOfRange, match="measures how the program judges"):
        papers.mark(salon, draft.id, numbers[2], "broken")
    papers.mark(salon, draft.id, numbers[2], "not a hair")
    event = papers.accept(salon, draft.id, today=TODAY)
    (kept,) = bramble(salon).papers
    assert (kept.whole, kept.broken) == (draft.counted["whole"] - 1, draft.counted["broken"])
    assert papers.recounted(salon, "bramble", kept) == kept
    assert event.data["purpose"] == purpose


def test_a_repair_is_carried_out_listed_and_taken_back(salon, draft):
    longest = max(draft.hairs, key=lambda number: draft.hairs[number].length_mm)
    points = draft.hairs[longest].trace.points
    middle = tuple(float(value) for value in points[len(points) // 2])
    papers.mark(salon, draft.id, longest, "whole")
    split = papers.repair(salon, draft.id, Repair("split", (longest,), middle))
    assert len(split.hairs) == len(draft.hairs) + 1
    assert split.by_hand.marks == {}  # it was a mark of the unsplit hair
    (done,) = split.by_hand.repairs
    parts = [split.hairs[number].length_mm for number in (longest, done.made)]
    assert sum(parts) == pytest.approx(draft.hairs[longest].length_mm, abs=0.5)
    papers.mark(salon, draft.id, done.made, "broken")
    back = papers.take_back(salon, draft.id)
    assert (back.by_hand.repairs, back.by_hand.marks) == ((), {longest: "whole"})
    assert papers.mark(salon, draft.id, longest, "").counted == draft.counted


def test_marks_that_repairs_laid_aside_come_back_with_the_hairs_that_they_were_of():
    one, two = Repair("join", (5, 7), (1.0, 1.0)), Repair("split", (5,), (2.0, 2.0), made=50)
    apart = Repair("join", (1, 2), (9.0, 9.0))
    hand = ByHand((), {5: "whole", 8: "broken", 1: "whole"}).with_repair(one)
    assert hand.marks == {8: "broken", 1: "whole"}
    hand = replace(hand, marks={**hand.marks, 5: "broken"}).with_repair(two)
    hand = replace(hand, marks={**hand.marks, 5: "unjudged", 50: "unjudged"}).with_repair(apart)
    hand = ByHand.from_json(hand.as_json())  # as it is kept
    assert hand.without_repair(1).marks == {8: "broken", 5: "broken"}
    assert hand.without_repair(1).laid == ({5: "whole"}, {1: "whole"})
    first = hand.without_repair(0)
    assert (first.marks, first.repairs) == ({8: "broken", 5: "whole"}, (apart,))
    assert hand.without_repair(2).marks == {8: "broken", 5: "unjudged", 50: "unjudged", 1: "whole"}
    for spoilt in ({"laid": [{"5": "splendid"}] * 3}, {"laid": [{}]}, {"laid": 3}):
        with pytest.raises(InputError):
            ByHand.from_json(hand.as_json() | spoilt)
    there = Repair("exchange", (1, 2), (3.0, 3.0))
    twice = ByHand((), {1: "whole"}).with_repair(there).with_repair(replace(there))
    assert (len(twice.without_repair(1).repairs), twice.without_repair(1).laid) == (1, ({1: "whole"},))
    old = ByHand.from_json({"repairs": [one.as_json()], "marks": {"8": "broken"}})
    assert old.without_repair(0).marks == {8: "broken"}


def test_doubts_come_with_a_repair_that_can_be_carried_out(salon):
    crowded = render(FIGURES, 83, hairs=110, size=SMALL)
    found = papers.read_photo(salon, "bramble", "back", crowded.jpeg, day=DAY)
    doubts = papers.doubts(found)
    assert doubts
    before = found.counted
    mended = papers.repair(salon, found.id, doubts[0].repair)
    assert len(mended.by_hand.repairs) == 1
    assert papers.take_back(salon, found.id).counted == before


def test_the_head_of_a_draft_can_be_put_right(salon, draft):
    changed = papers.set_head(salon, draft.id, tool="stone", purpose="fingers")
    assert (changed.head.tool, papers.draft(salon, draft.id).head.purpose) == ("stone", "fingers")
    with pytest.raises(UnknownName):
        papers.set_head(salon, draft.id, zone="wings")
    with pytest.raises(UnknownName):
        papers.set_head(salon, draft.id, photo="x")


# --- verdicts ---------------------------------------------------------------------------------------------


def trial(store, tool="knife"):
    known = bramble(store)
    return verdicts.trial_of(known, verdicts.trials_of(known, tool=tool)[-1])


def test_a_count_by_hand_gives_the_same_kind_of_verdict(salon):
    papers.hand_count(salon, "bramble", "back", whole=40, broken=20, tool="blade", day=DAY, today=TODAY)
    found = trial(salon, "blade")
    assert (found.verdict.word, found.heard.known, found.whole, found.broken) == ("breaks", "lens", 40, 20)
    low, high = clopper_pearson(20, 60)  # Clopper & Pearson 1934: the exact interval holds the Bayesian one
    assert low < found.verdict.interval[0] < 20 / 60 < found.verdict.interval[1] < high
    assert found.verdict.rule == "Not for a rolling coat, nor for a show dog."
    assert found.settling.more == 0


def test_below_forty_judged_hairs_there_is_no_verdict_and_above_there_is(salon):
    papers.hand_count(salon, "bramble", "back", whole=30, broken=9, tool="a", day=DAY, today=TODAY)
    assert (trial(salon, "a").verdict.word, trial(salon, "a").verdict.interval) == ("too few hairs", None)
    papers.hand_count(salon, "bramble", "back", whole=1, broken=0, tool="A ", day=DAY, today=TODAY)
    assert trial(salon, "a").verdict.word == "breaks"  # two sheets of one trial


def test_sheets_of_another_hand_zone_or_day_are_other_trials(salon):
    for more in ({}, {"zone": "ribs"}, {"day": DAY - timedelta(days=1)}, {"groomer": "Maren"}):
        keep_paper(salon, "bramble", replace(count(whole=50), **{"id": str(more), **more}), today=TODAY)
    assert len(verdicts.trials_of(bramble(salon))) == 4
    assert len(verdicts.trials_of(bramble(salon), zone="ribs")) == 1


def test_a_photographed_sheet_is_judged_with_the_misjudgement_of_ends(salon, draft, shot):
    papers.accept(salon, draft.id, today=TODAY)
    found = verdicts.verdict_of(salon.state(), "bramble", draft.id)
    assert found.heard.known == "drawn"
    assert found.heard.misjudged is not None
    true = sum(hair.broken for hair in shot.hairs) / len(shot.hairs)
    assert found.verdict.interval[0] < true < found.verdict.interval[1]
    assert found.verdict.word in ("breaks", "doubtful")
    assert any("misjudged" in remark for remark in found.heard.remarks)
    preview = verdicts.trial_of(dog(), verdicts.key_of(dog(), draft.record()), [draft.record()])
    assert preview.broken == found.broken


def test_hairs_of_known_state_take_the_place_of_drawn_ones(salon, draft):
    papers.accept(salon, draft.id, today=TODAY)
    for purpose, whole, broken in (("whole", 38, 2), ("cut", 3, 27)):
        lengths = {"whole_mm": (30.0,) * whole, "broken_mm": (20.0,) * broken}
        keep_paper(salon, "bramble", count(tool="", purpose=purpose, sheet="a5", **lengths), today=TODAY)
    found = verdicts.verdict_of(salon.state(), "bramble", draft.id)
    assert found.heard.known == "own"
    counts = found.heard.misjudged
    assert (counts.broken_as_broken, counts.broken_as_whole) == (27, 3)
    assert (counts.whole_as_whole, counts.whole_as_broken) == (38, 2)


def lengths_of(rng, broken_share, count_of=100):
    """Lengths of one layer of 32 mm, some broken to a uniform part."""
    whole = rng.normal(32.0, 3.2, count_of)
    broken = rng.random(count_of) < broken_share
    return tuple(np.round(np.where(broken, np.maximum(whole * rng.random(count_of), 4.0), whole), 3))


def test_a_finger_pulled_sheet_of_the_same_zone_is_the_second_witness(salon):
    rng = np.random.default_rng(5)
    keep_paper(salon, "bramble", count(sheet="a5", open_mm=lengths_of(rng, 0.3)), today=TODAY)
    control = count(
        DAY + timedelta(days=1), tool="", purpose="fingers", sheet="a5", open_mm=lengths_of(rng, 0.0)
    )
    keep_paper(salon, "bramble", control, today=TODAY)
    found = trial(salon)
    assert (found.heard.control, found.heard.control_hairs, found.heard.known) == ("fingers", 100, "")
    assert found.verdict.word == "breaks"
    assert found.verdict.interval[0] < 0.3 < found.verdict.interval[1]


def test_a_finger_pulled_sheet_of_another_zone_or_time_is_none(salon):
    rng = np.random.default_rng(6)
    keep_paper(salon, "bramble", count(sheet="a5", open_mm=lengths_of(rng, 0.3)), today=TODAY)
    for number, more in enumerate(({"zone": "ribs"}, {"day": DAY - timedelta(days=30)})):
        control = count(tool="", purpose="fingers", sheet="a5", open_mm=lengths_of(rng, 0.0))
        keep_paper(salon, "bramble", replace(control, **{"id": str(number), **more}), today=TODAY)
    assert trial(salon).heard.control != "fingers"


def test_the_coat_model_alone_never_says_that_a_tool_breaks(salon):
    rng = np.random.default_rng(7)
    keep_paper(salon, "bramble", count(sheet="a5", open_mm=lengths_of(rng, 0.6)), today=TODAY)
    found = trial(salon)
    assert found.heard.control == "layers"
    assert found.verdict.over > 0.95
    assert found.verdict.word == "doubtful"
    assert "rolling coat" in found.verdict.rule


def test_where_the_model_does_not_fit_the_ends_it_is_the_model_that_is_set_aside(salon):
    rng = np.random.default_rng(8)
    short = tuple(
        np.round(rng.normal(18.0, 2.0, 100), 3)
    )  # whole hairs, far shorter than the model's old coat
    keep_paper(salon, "bramble", count(sheet="a5", whole_mm=short), today=TODAY)
    found = trial(salon)
    assert found.heard.control == ""
    assert any("coat model" in remark for remark in found.heard.remarks)
    assert found.verdict.share < 0.05


def test_two_tools_are_compared(salon):
    for tool, whole, broken in (("stone", 98, 2), ("blade", 80, 20)):
        keep_paper(salon, "bramble", count(whole=whole, broken=broken, tool=tool), today=TODAY)
    found = verdicts.compare_trials(trial(salon, "blade"), trial(salon, "stone"))
    assert found.interval[0] < 0.18 < found.interval[1]
    assert found.chance > 0.99
    assert verdicts.difference_words(found, "blade", "stone").startswith(
        "blade breaks more than stone: blade +"
    )
    turned = verdicts.difference_words(
        verdicts.compare_trials(trial(salon, "stone"), trial(salon, "blade")), "stone", "blade"
    )
    assert turned == verdicts.difference_words(found, "blade", "stone")


def test_the_same_records_give_the_same_verdict(salon, draft):
    papers.accept(salon, draft.id, today=TODAY)
    first = verdicts.verdict_of(salon.state(), "bramble", draft.id)
    verdicts._trial.cache_clear()
    hearing._hear.cache_clear()
    again = verdicts.verdict_of(salon.state(), "bramble", draft.id)
    assert first is not again
    assert first.verdict == again.verdict
    assert first.settling == again.settling


def test_what_happens_elsewhere_does_not_make_sheets_be_heard_again(salon, draft):
    papers.accept(salon, draft.id, today=TODAY)
    verdicts.verdict_of(salon.state(), "bramble", draft.id)
    before = hearing._hear.cache_info().misses
    papers.hand_count(salon, "bramble", "ribs", whole=5, broken=0, tool="stone", day=DAY, today=TODAY)
    verdicts.verdict_of(salon.state(), "bramble", draft.id)
    assert hearing._hear.cache_info().misses == before


# --- tools ------------------------------------------------------------------------------------------------


def test_an_edge_that_goes_dull_is_seen_and_sharpening_begins_anew(salon):
    for number, broken in enumerate((1, 4, 12, 30)):
        day = FIRST + timedelta(days=25 * number)
        keep_paper(salon, "bramble", count(day, whole=100 - broken, broken=broken), today=TODAY)
    history = tools.tool_history(salon.state(), " KNIFE")
    assert len(history.trials) == 4
    assert history.trend.word == "going dull"
    assert history.last.verdict.word == "breaks"
    tools.sharpen(salon, "Knife", day=TODAY - timedelta(days=1))
    assert tools.tool_history(salon.state(), "knife").trend is None
    with pytest.raises(OutOfRange):
        tools.sharpen(salon, "knife", day=TODAY + timedelta(days=1))


def test_a_tool_that_breaks_is_kept_off_and_one_that_is_sound_is_not(salon):
    for tool, whole, broken in (("stone", 400, 2), ("blade", 70, 30), ("new knife", 58, 2)):
        keep_paper(salon, "bramble", count(whole=whole, broken=broken, tool=tool), today=TODAY)
    found = tools.kept_off(bramble(salon))
    assert {name: each.verdict.word for name, each in found.items()} == {
        "blade": "breaks",
        "new knife": "doubtful",
    }
    assert list(tools.kept_off(bramble(salon), ["Blade", "stone"])) == ["blade"]
    assert list(tools.tools_tested(salon.state())) == ["blade", "new knife", "stone"]


# --- printers and phones ----------------------------------------------------------------------------------


def test_the_bar_of_a_printer_is_kept_and_every_length_follows_it(salon, few):
    plain = papers.read_photo(salon, "bramble", "back", few, printer="Hall")
    papers.throw_away(salon, plain.id)
    printers.set_bar(salon, "hall", 96.0)
    assert printers.bar_of(salon.state(), "HALL ") == 96.0
    scaled = papers.read_photo(salon, "bramble", "back", few, printer="Hall")
    one, two = (sum(hair.length_mm for hair in each.hairs.values()) for each in (plain, scaled))
    assert two / one == pytest.approx(0.96, abs=0.005)
    assert scaled.head.bar_mm == 96.0
    with pytest.raises(OutOfRange):
        printers.set_bar(salon, "hall", 80.0)


def test_a_phone_without_a_thread_check_is_named_as_unproven(salon, few):
    assert printers.proof_words(salon.state(), "p", "q", TODAY) == printers.UNPROVEN
    with pytest.raises(OutOfRange):  # hair is no thread
        printers.thread_check(salon, "p", "q", few)
    assert names(salon) == set()


def test_a_thread_check_is_told_for_its_phone_and_printer_only(salon):
    straight = replace(FIGURES, pinches=0.0)
    photo = render(
        straight, 88, hairs=15, broken=0, fluff=0, dust=0, size=SMALL, lengths=(10.0, 20.0, 40.0) * 5
    )
    kept, found = printers.thread_check(salon, "p", "q", photo.jpeg, day=DAY)
    assert (found.verdict, found.odd) == ("good", 0)
    assert printers.last_check(salon.state(), " P", "Q") == kept
    assert found.words in printers.proof_words(salon.state(), "p", "q", TODAY)
    assert "check again" in printers.proof_words(salon.state(), "p", "q", DAY + timedelta(days=400))
    assert printers.proof_words(salon.state(), "p", "other", TODAY) == printers.UNPROVEN
    assert names(salon) == {kept.photo, kept.traces}


# --- learning ---------------------------------------------------------------------------------------------


def paper_hairs(store):
    (pulled,) = [
        record for zone in evidence_of(bramble(store)).zones if zone.key == "back"
        for record in zone.records if getattr(record, "paper", ())
    ]  # fmt: skip
    return pulled.paper


def test_learning_gets_whole_hairs_as_lengths_and_others_as_the_least(salon):
    keep_paper(
        salon, "bramble", count(whole_mm=(30.4, 30.6, 12.0), broken_mm=(8.5,), open_mm=(21.0,)), today=TODAY
    )
    hairs = {(hair.length, hair.broken): hair.count for hair in paper_hairs(salon)}
    assert hairs == {(31.0, False): 2.0, (13.0, False): 1.0, (8.0, True): 1.0, (20.0, True): 1.0}


def test_long_hairs_of_a_full_sheet_weigh_more_and_no_more_hairs_are_made_of_them(salon):
    lengths = (12.0,) * 60 + (40.0,) * 60
    keep_paper(salon, "bramble", count(sheet="a5", whole_mm=lengths), today=TODAY)
    short, long = (hair.count for hair in sorted(paper_hairs(salon), key=lambda hair: hair.length))
    assert long > short
    assert long + short == pytest.approx(120.0)
    density = sum(lengths) / (170.0 * 108.0)
    assert long / short == pytest.approx(np.exp(0.04 * density * 28.0), rel=1e-9)


def test_all_sheets_of_the_take_are_learnt_from_but_hair_cut_with_scissors_is_not(salon):
    keep_paper(salon, "bramble", count(whole_mm=(30.0,)), today=TODAY)
    keep_paper(salon, "bramble", count(tool="", purpose="fingers", whole_mm=(34.0,)), today=TODAY)
    keep_paper(salon, "bramble", count(tool="", purpose="cut", broken_mm=(20.0,)), today=TODAY)
    keep_paper(salon, "bramble", count(tool="", purpose="whole", whole_mm=(40.0,)), today=TODAY)
    assert sorted(hair.length for hair in paper_hairs(salon)) == [31.0, 35.0]


def test_sheets_without_a_logged_take_of_their_zone_and_day_are_no_evidence():
    coat, measured = (old_coat(),), count(open_mm=(30.0,))
    for visits in (
        (),
        (visit(DAY, ribs=Take(0.2)),),
        (visit(DAY, back=Take(0.0)),),
        (visit(DAY + timedelta(days=1), back=Take(0.2)),),
    ):
        alone = dog(assessments=coat, papers=(measured,), visits=visits)
        assert not is_taken(alone, DAY, "back")
        assert not is_measured(alone, TODAY)
        assert (facts_of(alone, TODAY).papers, facts_of(alone, TODAY).days) == (0, ())
        assert repr(evidence_of(alone)) == repr(evidence_of(replace(alone, papers=())))
    assert is_taken(dog(assessments=coat, visits=(visit(DAY, back=Take(0.2)),)), DAY, "back")


def test_what_was_learnt_with_a_sheet_of_another_purpose_is_not_taken_again():
    from coatwright.salon.learnt import _mark

    marks = set()
    for papers_ in ((), (count(open_mm=(30.0,)),), (count(open_mm=(30.0,), purpose="whole"),)):
        known = evidence_of(
            dog(assessments=(old_coat(),), papers=papers_, visits=(visit(DAY, back=Take(0.2)),))
        )
        marks.add(_mark(known, max(known.days()), 100))
    assert len(marks) == 2  # a sheet of chosen hairs is as none, one of pulled hairs is not


def test_tests_of_before_this_program_kept_traces_are_read_as_they_were(salon):
    keep_paper(
        salon,
        "bramble",
        PaperCount("old", date(2027, 1, 5), "back", "knife", "", (30.0,), (9.0,)),
        today=TODAY,
    )
    with pytest.raises(UnknownName):
        papers.traces_of(salon, bramble(salon).papers[0])


# --- cautions ---------------------------------------------------------------------------------------------


def test_a_tool_that_breaks_is_named_on_the_visit_sheet_of_a_rolling_coat():
    tested = (
        count(SHEET_DAY - timedelta(days=20), whole=70, broken=30, tool="blade"),
        count(SHEET_DAY - timedelta(days=20), whole=500, broken=2, tool="stone"),
    )
    early = old_coat(SHEET_DAY - timedelta(days=30), id="before")
    plan = plan_dog(rolling_dog(assessments=(early, rolled()), papers=tested), SHEET_DAY)
    assert plan.option.approach == "rolling"
    said = {note.title: note.text for note in sheet_of(plan, SHEET_DAY).cautions}
    text = said["A tool that breaks hair"]
    assert text.startswith("Blade: about 30 of 100 hairs broke in the paper test on the back on ")
    assert "Not for a rolling coat, nor for a show dog." in text
    assert "tool_breaks" not in {
        note.key for note in visit_cautions(plan_dog(rolling_dog(), SHEET_DAY), SHEET_DAY)
    }


def test_only_tools_that_a_visit_names_are_warned_of_and_old_tests_do_not_speak():
    tested = dog(
        papers=(
            count(DAY, whole=70, broken=30, tool="blade"),
            count(DAY, whole=58, broken=2, tool="new knife"),
            count(DAY, whole=20, broken=9, tool="hardly tested"),
        )
    )
    keys = [note.key for note in tool_cautions(tested, TODAY)]
    assert keys == ["tool_breaks", "tool_doubtful"]
    assert [note.key for note in tool_cautions(tested, TODAY, ["BLADE ", "fingers"])] == ["tool_breaks"]
    assert tool_cautions(tested, TODAY, ["fingers"]) == ()
    assert tool_cautions(tested, DAY + timedelta(days=366)) == ()
    assert tool_cautions(tested, DAY - timedelta(days=1)) == ()


def test_a_count_without_lengths_and_cut_hair_do_not_make_a_coat_measured():
    nothing = dog(
        assessments=(old_coat(),), papers=(count(whole=50), count(purpose="cut", broken_mm=(20.0,)))
    )
    assert not is_measured(nothing, TODAY)
    assert facts_of(nothing, TODAY).papers == 0
    measured = dog(
        assessments=(old_coat(),), papers=(count(open_mm=(30.0,)),), visits=(visit(DAY, back=Take(0.2)),)
    )
    assert is_measured(measured, TODAY)
    assert facts_of(measured, TODAY).papers == 1
