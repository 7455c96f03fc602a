"""One sheet photographed twice: what is counted, what stands with the test, and what is left behind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from coatwright.errors import InputError
from coatwright.paper.marks import Hair, Rectified, Trace
from coatwright.paper.read import Reading
from coatwright.paper.whole import SheetRead
from coatwright.salon.paper_drafts import BROKEN, NO_HAIR, OPEN, WHOLE, ByHand
from coatwright.salon.paper_pairs import SHAKEN, UNMOVED, Pair, Second

LENGTHS = (12.0, 17.5, 23.0, 29.0, 36.0, 44.0)


def hair(length: float, y: float, whole: bool | None = True, score: float = 0.9) -> Hair:
    line = np.column_stack([np.linspace(30.0, 30.0 + length, 40), np.full(40, y)])
    ends = ("club", "taper") if whole else ("blunt", "taper")
    return Hair(Trace(line, 0.1, 0.8, (0.1, 0.1, 0.1)), length, whole, ends, score, "")


def sheet(*hairs: Hair) -> SheetRead:
    back = np.array([[0.08, 0.0, 0.0], [0.0, 0.08, 0.0], [0.0, 0.0, 1.0]])
    place = Rectified(
        "a5",
        (2700, 1900),
        back,
        np.zeros((10, 2)),
        (210.0, 148.0),
        tuple(range(8)),
        12.5,
        0.0,
        0.8,
        0.01,
        1.1,
        0.0,
    )
    return SheetRead(place, Reading(hairs, 0, 0.0, 0.0))


def first() -> SheetRead:
    return sheet(*(hair(mm, 30.0 + 12 * k) for k, mm in enumerate(LENGTHS)))


def counts(pair: Pair) -> dict[str, int]:
    return {word: len(lengths) for word, lengths in pair.lengths.items()}


def test_the_same_hairs_in_another_order_are_counted_once() -> None:
    shaken = sheet(*(hair(mm + 0.03, 100.0 - 12 * k) for k, mm in enumerate(reversed(LENGTHS))))
    pair = Pair(first(), ByHand(), Second(shaken, SHAKEN))
    assert counts(pair) == {WHOLE: 6, BROKEN: 0, OPEN: 0}
    assert pair.pooled.agreed == 6
    assert not pair.unlike
    for length, mm in zip(sorted(pair.lengths[WHOLE]), LENGTHS, strict=True):
        assert length == pytest.approx(mm, abs=0.04)


def test_where_the_photos_contradict_each_other_a_hair_stays_open_and_a_mark_by_hand_settles_it() -> None:
    other = sheet(*(hair(mm, 30.0 + 12 * k, whole=k != 2) for k, mm in enumerate(LENGTHS)))
    pair = Pair(first(), ByHand(), Second(other, UNMOVED))
    assert counts(pair) == {WHOLE: 5, BROKEN: 0, OPEN: 1}
    marked = replace(pair, by_hand=ByHand((), {2: BROKEN}))
    assert counts(marked) == {WHOLE: 5, BROKEN: 1, OPEN: 0}
    # also where the second photograph shows that hair more clearly
    clearer = sheet(*(hair(mm, 30.0 + 12 * k, score=0.99) for k, mm in enumerate(LENGTHS)))
    assert counts(Pair(first(), ByHand((), {4: BROKEN}), Second(clearer, UNMOVED)))[BROKEN] == 1


def test_a_hair_marked_as_none_does_not_come_back_through_the_second_photo_alone() -> None:
    with_lint = sheet(*first().hairs, hair(8.0, 110.0))
    pair = Pair(with_lint, ByHand((), {6: NO_HAIR}), Second(first(), UNMOVED))
    assert sum(counts(pair).values()) == 6


@pytest.mark.parametrize("way", [SHAKEN, UNMOVED])
def test_a_line_marked_as_no_hair_does_not_come_back_where_the_second_photo_shows_it_too(way: str) -> None:
    with_lint = sheet(*first().hairs, hair(8.0, 110.0))
    pair = Pair(with_lint, ByHand((), {6: NO_HAIR}), Second(with_lint, way))
    assert sorted(pair.lengths[WHOLE]) == list(LENGTHS)
    assert (pair.pooled.agreed, pair.pooled.counts) == (6, (6, 7))


@pytest.mark.parametrize("way", [SHAKEN, UNMOVED])
def test_a_hair_marked_by_hand_is_never_dropped(way: str) -> None:
    """Hairs 0 and 1 are seen in the first photograph alone, and are the least sure of all."""
    unsure = sheet(
        hair(LENGTHS[0], 30.0, score=0.01),
        hair(LENGTHS[1], 42.0, score=0.01),
        *(hair(mm, 30.0 + 12 * k) for k, mm in enumerate(LENGTHS) if k > 1),
    )
    other = sheet(*first().hairs[2:], hair(50.0, 110.0, score=0.99))
    marked = Pair(unsure, ByHand((), {0: BROKEN, 1: BROKEN}), Second(other, way))
    assert sorted(marked.lengths[BROKEN]) == [LENGTHS[0], LENGTHS[1]]


def test_where_one_of_a_bundle_is_marked_the_first_photo_is_taken() -> None:
    """The second photograph shows hair 5 as two lines, more surely; a person said what hair 5 is."""
    line = first().hairs[5].trace.points
    halves = [replace(hair(22.0, 90.0, score=0.99), trace=replace(first().hairs[5].trace, points=part))
              for part in (line[:20], line[20:])]  # fmt: skip
    second = Second(sheet(*first().hairs[:5], *halves), UNMOVED)
    assert sorted(Pair(first(), ByHand(), second).lengths[WHOLE])[-1] < 40.0
    marked = Pair(first(), ByHand((), {5: BROKEN}), second)
    assert marked.lengths[BROKEN] == (LENGTHS[5],)
    assert len(marked.lengths[WHOLE]) == 5
    gone = Pair(first(), ByHand((), {5: NO_HAIR}), second)
    assert counts(gone) == {WHOLE: 5, BROKEN: 0, OPEN: 0}


def test_on_a_sheet_of_known_hairs_two_photos_keep_what_the_program_judged() -> None:
    by_hand = ByHand((), {0: BROKEN, 1: NO_HAIR})
    for purpose, told in (
        ("tool", {WHOLE: 4, BROKEN: 1, OPEN: 0}),
        ("whole", {WHOLE: 5, BROKEN: 0, OPEN: 0}),
    ):
        assert counts(Pair(first(), by_hand.counted(purpose), Second(first(), UNMOVED))) == told


def test_two_different_sheets_are_told_as_such() -> None:
    other = sheet(*(hair(mm, 30.0 + 12 * k) for k, mm in enumerate((9.0, 14.5, 20.0, 26.5, 32.0, 50.0))))
    assert Pair(first(), ByHand(), Second(other, SHAKEN)).unlike


def test_a_second_reading_is_kept_as_it_is_and_a_spoilt_one_is_refused() -> None:
    second = Second(first(), SHAKEN)
    again = Second.from_json(second.as_json())
    assert again.as_json() == second.as_json()
    for spoilt in ({}, second.as_json() | {"way": "sideways"}, second.as_json() | {"read": {}}):
        with pytest.raises(InputError):
            Second.from_json(spoilt)
