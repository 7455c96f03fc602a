"""Whole photographs in the style of the figures, which nothing was learned from: hairs found, lengths, ends."""

from __future__ import annotations

import json

import numpy as np
import pytest

from coatwright.paper.read import Reading, read_hairs
from coatwright.paper.rectify import rectify
from coatwright.paper.refusals import judge_hairs, judge_photo
from coatwright.paper.sheet import sheet
from tests.paper.rendering import FIGURES, TRAINING, Photo, render
from tests.paper.scoring import Score, score

KINDS = {"black on white": ("black", "good", 60), "cream on dark": ("cream", "medium", 60)}


def agreed(photo: Photo, found: Reading) -> Score:
    return score(
        [hair.trace.points for hair in found.hairs], [hair.length_mm for hair in found.hairs],
        [photo.seen(hair) for hair in photo.hairs], [hair.length for hair in photo.hairs],
        [photo.seen(one) for one in photo.others if one.kind == "fluff"],
    )  # fmt: skip


@pytest.fixture(scope="module", params=KINDS)
def case(request: pytest.FixtureRequest) -> tuple[Photo, Reading, Score]:
    coat, quality, hairs = KINDS[request.param]
    photo = render(FIGURES, 31, hairs=hairs, coat=coat, quality=quality)
    found = read_hairs(photo.image, rectify(photo.image))
    return photo, found, agreed(photo, found)


def test_hairs_are_counted_and_found(case) -> None:
    _, _, agreement = case
    assert abs(agreement.found / agreement.true - 1) <= 0.05
    assert agreement.matched >= 0.94 * max(agreement.true, agreement.found)


def test_lengths_are_those_in_space(case) -> None:
    _, _, agreement = case
    assert np.median(np.abs(agreement.errors)) <= 0.15
    assert (np.abs(agreement.errors) <= 1).sum() >= 0.85 * agreement.true
    assert agreement.total_found == pytest.approx(agreement.total_true, rel=0.03)


def test_underwool_is_not_counted(case) -> None:
    _, found, agreement = case
    assert agreement.fluff > 0
    assert agreement.fluff_taken == 0
    assert found.left_out > 0


def test_whole_and_broken_are_told_apart(case) -> None:
    photo, found, agreement = case
    judged = [
        (found.hairs[i].whole, not photo.hairs[j].broken)
        for i, j in agreement.pairs
        if found.hairs[i].whole is not None
    ]
    assert len(judged) >= 0.6 * len(photo.hairs)
    assert np.mean([seen == true for seen, true in judged]) >= 0.93


def test_a_good_photo_is_not_refused(case) -> None:
    photo, found, _ = case
    place = rectify(photo.image)
    dark = sheet(place.sheet).dark
    faults = [
        *judge_photo(place),
        *judge_hairs(found.hairs, dark=dark, opposite=found.opposite, tufted=found.tufted),
    ]
    assert [fault.code for fault in faults if fault.stops] == []


def test_the_same_photograph_gives_the_same_hairs() -> None:
    photo = render(TRAINING, 32, hairs=25, coat="grey", quality="medium")
    again = render(TRAINING, 32, hairs=25, coat="grey", quality="medium")
    assert photo.jpeg == again.jpeg
    one, two = (read_hairs(image, rectify(image)) for image in (photo.image, again.image))
    assert json.dumps([hair.as_json() for hair in one.hairs]) == json.dumps(
        [hair.as_json() for hair in two.hairs]
    )


def test_a_photograph_upside_down_tells_the_same() -> None:
    photo = render(FIGURES, 33, hairs=15, coat="black")
    upright = photo.image
    over = np.ascontiguousarray(upright[::-1, ::-1])
    one, two = (sorted(h.length_mm for h in read_hairs(i, rectify(i)).hairs) for i in (upright, over))
    assert len(one) == len(two)
    assert np.median(np.abs(np.array(one) - np.array(two))) < 0.1


def test_the_two_styles_draw_other_photographs_from_the_same_seed() -> None:
    one, two = (render(style, 34, hairs=3, size=(1000, 750)) for style in (TRAINING, FIGURES))
    assert one.jpeg != two.jpeg
    assert one.camera.barrel < 0 < two.camera.barrel
    assert not np.allclose(one.hairs[0].space[:50], two.hairs[0].space[:50])
