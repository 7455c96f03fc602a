"""Every kind of photograph that must be refused is, by its own code; changed good ones are not."""

from __future__ import annotations

import numpy as np
import pytest

from coatwright.errors import OutOfRange
from coatwright.paper.photo import PhotoError, PhotoFile
from coatwright.paper.refusals import CODES, PhotoRefused, judge_file, judge_hairs, refusal
from coatwright.paper.whole import read_sheet
from tests.paper.rendering import FIGURES, Photo, render
from tests.paper.scoring import score
from tests.paper.spoiling import SPOILED, UNSPOILED, curled, on_the_wrong_ground, printed_and_photographed


@pytest.fixture(scope="module")
def sheet_of_hairs() -> Photo:
    return render(FIGURES, 52000, hairs=20, coat="black")


@pytest.mark.parametrize("kind", SPOILED)
def test_a_spoiled_photograph_is_refused_by_its_own_code(kind: str, sheet_of_hairs: Photo) -> None:
    spoil, codes = SPOILED[kind]
    with pytest.raises(PhotoError) as caught:
        read_sheet(spoil(sheet_of_hairs, np.random.default_rng([52, len(kind)])))
    assert caught.value.code in codes
    assert caught.value.remedy


@pytest.mark.parametrize("chance", range(6))
def test_a_corner_that_stands_up_is_seen_though_its_mark_is_set_aside(
    chance: int, sheet_of_hairs: Photo
) -> None:
    """A mark that lies off far is left out of the fit, which is then smooth: its own place still tells."""
    with pytest.raises(PhotoError) as caught:
        read_sheet(curled(sheet_of_hairs, np.random.default_rng([54, chance])))
    assert caught.value.code == "curved"


@pytest.mark.parametrize("name", UNSPOILED)
def test_a_good_photograph_is_read_however_it_was_sent(name: str, sheet_of_hairs: Photo) -> None:
    found = read_sheet(UNSPOILED[name](sheet_of_hairs, np.random.default_rng([53, len(name)])))
    assert abs(len(found.hairs) - 20) <= 1


@pytest.mark.parametrize("bar", [60.0, 89.9, 110.1])
def test_a_bar_that_cannot_be_allowed_for_is_refused(bar: float, sheet_of_hairs: Photo) -> None:
    with pytest.raises(OutOfRange, match="bar measures"):
        read_sheet(sheet_of_hairs.jpeg, bar_mm=bar)


@pytest.mark.parametrize(
    ("camera", "says_screenshot", "codes"),
    [
        (True, False, []),
        (False, False, ["no-camera"]),
        (True, True, ["screenshot"]),
        (False, True, ["screenshot"]),
    ],
)
def test_what_the_file_tells_is_judged(camera: bool, says_screenshot: bool, codes: list[str]) -> None:
    pixels = np.zeros((2, 2, 3), np.uint8)
    found = judge_file(PhotoFile(pixels, "JPEG", "", camera, says_screenshot))
    assert [one.code for one in found] == codes
    assert all(one.stops == (one.code == "screenshot") for one in found)


def test_every_code_has_a_sentence_and_a_remedy_and_becomes_an_error() -> None:
    for code in CODES:
        one = refusal(code, "7")
        assert one.what.endswith(".")
        assert one.change.endswith(".")
        assert isinstance(one.error, PhotoRefused)
        assert one.error.as_json()["code"] == code


def test_nothing_on_the_sheet_is_no_refusal() -> None:
    assert judge_hairs([], dark=False) == judge_hairs([], dark=True) == []


@pytest.mark.parametrize(("wide_mm", "ends_seen"), [(130.0, False), (280.0, True)])
def test_a_photo_of_a_printed_photo_is_read_by_its_marks(
    wide_mm: float, ends_seen: bool, sheet_of_hairs: Photo
) -> None:
    """The marks are printed with the hairs, so lengths hold at any size; a small print is too soft for ends."""
    found = read_sheet(printed_and_photographed(sheet_of_hairs, np.random.default_rng([7, 1]), wide_mm))
    agreed = score(
        [one.trace.points for one in found.hairs], [one.length_mm for one in found.hairs],
        [sheet_of_hairs.seen(one) for one in sheet_of_hairs.hairs],
        [one.length for one in sheet_of_hairs.hairs], [],
    )  # fmt: skip
    assert agreed.matched >= 18
    assert np.median(np.abs(agreed.errors)) <= 0.3
    assert any(one.whole is not None for one in found.hairs) == ends_seen


def test_black_hair_on_black_card_is_refused_for_what_shines(sheet_of_hairs: Photo) -> None:
    """Where nothing of it shines no hair is found at all, and a sheet without a hair is never kept."""
    with pytest.raises(PhotoRefused, match="too dark for the dark frame") as caught:
        read_sheet(on_the_wrong_ground("black", True)(sheet_of_hairs, np.random.default_rng(3)))
    assert caught.value.code == "banded"
