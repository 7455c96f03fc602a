"""Repairs by hand on kept traces: drawn lines whose right joins are known, and a drawn photograph."""

from __future__ import annotations

import json
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.errors import CoatwrightError, FileFormatError, OutOfOrder, OutOfRange, UnknownName
from coatwright.paper.marks import Hair, Joint, Trace
from coatwright.paper.read import read_hairs
from coatwright.paper.rectify import rectify
from coatwright.paper.repair import (
    Repair,
    apply,
    doubtful,
    exchange,
    join,
    next_number,
    numbered,
    replay,
    split,
    taken_back,
)
from coatwright.paper.splice import evenly
from coatwright.paper.wholeness import LOST_MM, LOST_TAPER_MM
from tests.paper.rendering import FIGURES, render
from tests.paper.scoring import score

CLUB_TIP = ("club", "taper")


def hair(
    *corners: tuple[float, float], ends: tuple[str, str] = CLUB_TIP, joints: tuple[Joint, ...] = ()
) -> Hair:
    points = np.concatenate(
        [np.linspace(a, b, 100, endpoint=False) for a, b in pairwise(corners)] + [np.array([corners[-1]])]
    )
    trace = Trace(evenly(points), 0.08, 0.6, (0.2, 0.1, 0.05))
    return Hair(
        trace, trace.length_mm + LOST_MM + LOST_TAPER_MM, True, ends, 0.9, "a club at one end", joints
    )


@pytest.fixture
def wrong() -> dict[int, Hair]:
    """Two straight hairs of 40 and 20 mm that cross at (50, 50), each led on into the other's arm."""
    doubt = Joint((50.0, 50.0), 0.3, (51.0, 50.0), joined=True)
    return numbered(
        [
            hair((30, 50), (50, 50), (50, 60), joints=(doubt,)),
            hair((50, 40), (50, 50), (70, 50), joints=(Joint((50.1, 50.0), 0.4, (50.0, 51.0), joined=True),)),
            hair((100, 20), (120, 20)),
        ]
    )


def test_the_exchange_gives_the_straight_hairs_with_their_lengths_and_ends(wrong: dict[int, Hair]) -> None:
    done = exchange(wrong, 0, 1, (50.2, 49.9), blur_px=1.0)
    lengths = {k: one.length_mm for k, one in done.hairs.items()}
    ends = LOST_MM + LOST_TAPER_MM
    assert lengths[0] == pytest.approx(40 + ends, abs=0.02)
    assert lengths[1] == pytest.approx(
        20 + LOST_MM + (LOST_TAPER_MM if "taper" in done.hairs[1].ends else 0), abs=0.02
    )
    assert np.abs(done.hairs[0].trace.points[:, 1] - 50).max() < 0.02
    assert done.hairs[0].ends == ("club", "taper")
    assert done.hairs[0].whole is True
    assert done.hairs[2] is wrong[2]
    assert "by hand" in done.hairs[0].why
    assert done.hairs[0].joints == ()


def test_both_ways_of_an_exchange_can_be_asked_for(wrong: dict[int, Hair]) -> None:
    one, two = (exchange(wrong, 0, 1, (50, 50), way, blur_px=1.0) for way in (0, 1))
    assert {round(h.length_mm) for h in one.hairs.values()} != {
        round(h.length_mm) for h in two.hairs.values()
    }
    for done in (one, two):
        total = sum(h.trace.length_mm for h in done.hairs.values())
        assert total == pytest.approx(sum(h.trace.length_mm for h in wrong.values()), abs=1.0)


@pytest.mark.parametrize("way", [0, 1])
def test_exchanging_twice_gives_the_first_hairs_back(wrong: dict[int, Hair], way: int) -> None:
    there = exchange(wrong, 0, 1, (50, 50), way, blur_px=1.0)
    back = exchange(there.hairs, 0, 1, (50, 50), way, blur_px=1.0)
    for k in (0, 1):
        assert back.hairs[k].length_mm == pytest.approx(wrong[k].length_mm, abs=1.2)  # the corner is rounded
        assert back.hairs[k].ends == wrong[k].ends


def test_a_join_makes_one_hair_and_a_split_parts_it_again() -> None:
    hairs = numbered(
        [hair((20, 30), (35, 30), ends=("club", "blunt")), hair((60, 30), (36, 30), ends=CLUB_TIP[::-1])]
    )
    one = join(hairs, 0, 1, blur_px=1.0)
    assert list(one.hairs) == [0]
    assert one.hairs[0].length_mm == pytest.approx(40 + LOST_MM + LOST_TAPER_MM, abs=0.02)
    assert one.hairs[0].ends == ("club", "taper")
    parted = split(one.hairs, 0, (35.5, 30.2), new=next_number(hairs, [one.repair]), blur_px=1.0)
    assert sorted(parted.hairs) == [0, 2]
    assert [round(parted.hairs[k].trace.length_mm, 1) for k in (0, 2)] == [15.5, 24.5]
    assert parted.hairs[0].ends[1] == parted.hairs[2].ends[0] == "unclear"
    assert parted.hairs[0].whole is None


def test_a_hair_that_ends_at_another_takes_over_its_arm() -> None:
    hairs = numbered([hair((30, 40), (50, 40)), hair((50.3, 20), (50.3, 40), (70, 40))])
    done = exchange(hairs, 0, 1, (50.2, 40), blur_px=1.0)
    assert done.hairs[0].trace.length_mm == pytest.approx(40, abs=0.1)
    assert done.hairs[1].trace.length_mm == pytest.approx(20, abs=0.1)
    assert "unclear" in done.hairs[1].ends


def test_doubts_come_least_sure_first_and_each_crossing_once(wrong: dict[int, Hair]) -> None:
    found = doubtful(wrong)
    assert [(one.repair.kind, one.repair.hairs) for one in found] == [("exchange", (0, 1))]
    assert found[0].margin in (0.3, 0.4)
    assert 0.15 <= found[0].chance <= 1
    assert found[0].bend[0] > 60 > 10 > found[0].bend[1]
    assert doubtful(wrong, least=0.99) == []
    done = apply(wrong, found[0].repair, blur_px=1.0)
    assert done.hairs[0].trace.length_mm == pytest.approx(40, abs=0.05)
    assert doubtful(done.hairs) == []


def test_repairs_are_kept_replayed_and_taken_back(wrong: dict[int, Hair]) -> None:
    first = exchange(wrong, 0, 1, (50, 50), blur_px=1.0)
    second = split(first.hairs, 2, (108, 20), blur_px=1.0)
    third = split(second.hairs, 0, (40, 50), blur_px=1.0)
    repairs = [one.repair for one in (first, second, third)]
    kept = [Repair.from_json(json.loads(json.dumps(one.as_json()))) for one in repairs]
    assert kept == repairs
    again = replay(wrong, kept, blur_px=1.0)
    assert {k: h.as_json() for k, h in again.items()} == {k: h.as_json() for k, h in third.hairs.items()}
    assert taken_back(repairs, 0) == [repairs[1]]  # the third stands on the first
    assert taken_back(repairs, 1) == [repairs[0], repairs[2]]
    assert sorted(replay(wrong, taken_back(repairs, 1), blur_px=1.0)) == [0, 1, 2, 4]
    with pytest.raises(OutOfRange, match="no repair 4"):
        taken_back(repairs, 3)
    with pytest.raises(UnknownName):
        replay(wrong, [Repair("join", (0, 7), (1.0, 1.0))], blur_px=1.0)
    with pytest.raises(OutOfOrder):
        replay(wrong, [Repair("split", (2,), (108.0, 20.0), made=1)], blur_px=1.0)


def test_sentences_count_hairs_from_1_and_what_is_kept_counts_from_0(wrong: dict[int, Hair]) -> None:
    kept = {"kind": "join", "hairs": [0, 2], "at": [60.0, 40.0], "made": -1, "way": 0}
    repair = Repair.from_json(kept)
    assert repair.as_json() == kept
    for what, where in (
        (lambda: join(wrong, 0, 2, blur_px=1.0), "hairs 1 and 3"),
        (lambda: join(wrong, 1, 1, blur_px=1.0), "hair 2"),
        (lambda: split(wrong, 2, (100.1, 20), blur_px=1.0), "hair 3"),
        (lambda: exchange(wrong, 0, 2, (50, 50), blur_px=1.0), "hair 3"),
    ):
        with pytest.raises(OutOfRange) as caught:
            what()
        assert caught.value.where == where
    with pytest.raises(OutOfOrder, match="Hair 2 is there"):
        split(wrong, 2, (108.0, 20.0), new=1, blur_px=1.0)


def test_a_soft_photo_stays_unjudged_after_a_repair(wrong: dict[int, Hair]) -> None:
    assert exchange(wrong, 0, 1, (50, 50), blur_px=2.0).hairs[0].whole is None


@pytest.mark.parametrize(
    ("what", "error"),
    [
        (lambda hairs: join(hairs, 0, 0, blur_px=1.0), "itself"),
        (lambda hairs: join(hairs, 0, 9, blur_px=1.0), "no hair 10"),
        (lambda hairs: join(hairs, 0, 2, blur_px=1.0), "mm apart"),
        (lambda hairs: split(hairs, 2, (100.2, 20), blur_px=1.0), "an end of the hair already"),
        (lambda hairs: split(hairs, 2, (110, 30), blur_px=1.0), "beside the hair"),
        (lambda hairs: exchange(hairs, 0, 2, (50, 50), blur_px=1.0), "beside the hair"),
    ],
)
def test_what_cannot_be_done_is_refused_and_nothing_changes(wrong: dict[int, Hair], what, error) -> None:
    before = json.dumps([h.as_json() for h in wrong.values()])
    with pytest.raises(CoatwrightError, match=error):
        what(wrong)
    assert json.dumps([h.as_json() for h in wrong.values()]) == before


@pytest.mark.parametrize("spoiled", [{"kind": "melt"}, {"hairs": [1]}, {"at": [1]}, {"way": 2}])
def test_a_kept_repair_that_is_none_is_refused(spoiled: dict) -> None:
    with pytest.raises(FileFormatError):
        Repair.from_json(Repair("join", (0, 1), (5.0, 5.0)).as_json() | spoiled)


def test_hairs_kept_before_joints_were_are_still_read() -> None:
    kept = hair((10, 10), (30, 10)).as_json()
    del kept["joints"]
    assert Hair.from_json(kept).joints == ()
    with_joint = hair((10, 10), (30, 10), joints=(Joint((20.0, 10.0), 1.25, (20.0, 11.0), joined=False),))
    assert Hair.from_json(json.loads(json.dumps(with_joint.as_json()))).joints == with_joint.joints


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(25, 185), st.floats(25, 120)), min_size=2, max_size=5, unique=True),
    st.lists(st.tuples(st.floats(25, 185), st.floats(25, 120)), min_size=2, max_size=5, unique=True),
    st.tuples(st.floats(20, 190), st.floats(20, 128)),
    st.sampled_from(["join", "split", "exchange"]),
)
def test_a_repair_gives_sound_hairs_or_says_why_not(one, two, at, kind) -> None:
    try:
        hairs = numbered([hair(*one), hair(*two)])
    except ValueError:
        return
    try:
        if kind == "join":
            done = join(hairs, 0, 1, blur_px=1.0)
        elif kind == "split":
            done = split(hairs, 0, at, blur_px=1.0)
        else:
            done = exchange(hairs, 0, 1, at, blur_px=1.0)
    except OutOfRange:
        return
    for k, h in done.hairs.items():
        assert np.isfinite(h.trace.points).all()
        if h is not hairs.get(k):
            steps = np.hypot(*np.diff(h.trace.points, axis=0).T)
            assert steps.max() < 0.16
            assert h.length_mm == pytest.approx(steps.sum() + LOST_MM, abs=LOST_TAPER_MM + 1e-6)
    assert json.dumps(
        [h.as_json() for h in apply(hairs, done.repair, blur_px=1.0).hairs.values()]
    ) == json.dumps([h.as_json() for h in done.hairs.values()])


def test_doubts_of_a_photograph_are_where_it_was_misread() -> None:
    """Following only doubts that the truth bears out, as one who looks would, more hairs have their true length."""
    photo = render(FIGURES, 31004, hairs=150, coat="banded", quality="medium")
    place = rectify(photo.image)
    hairs = numbered(read_hairs(photo.image, place).hairs)
    true = [photo.seen(one) for one in photo.hairs]
    lengths = [one.length for one in photo.hairs]

    def right(of: dict[int, Hair]) -> int:
        found = score(
            [h.trace.points for h in of.values()], [h.length_mm for h in of.values()], true, lengths, []
        )
        return int((np.abs(found.errors) <= 1).sum())

    before = most = right(hairs)
    doubts = doubtful(hairs)
    assert 10 <= len(doubts) <= 40
    for doubt in doubts:
        if set(doubt.repair.hairs) <= set(hairs):
            try:
                changed = apply(hairs, doubt.repair, blur_px=place.blur_px).hairs
            except OutOfRange:
                continue
            if (now := right(changed)) > most:
                hairs, most = changed, now
    assert most >= before + 6
