"""Pixels to mm on drawn photographs whose cameras are known, and photographs that must be refused."""

from __future__ import annotations

import json

import cv2
import numpy as np
import pytest

from coatwright.errors import OutOfRange
from coatwright.paper.marks import Rectified
from coatwright.paper.rectify import rectify
from coatwright.paper.refusals import PhotoRefused, check_bar, judge_photo
from coatwright.paper.sheet import SHEETS
from coatwright.paper.thread import ThreadCheck, check_threads
from tests.paper.rendering import styles
from tests.paper.rendering.photo import Photo, render

STYLE = next(value for value in vars(styles).values() if isinstance(value, styles.Style))
GRID = np.stack(np.meshgrid(np.linspace(20, 190, 18), np.linspace(20, 128, 12)), -1).reshape(-1, 2)


@pytest.fixture(scope="module")
def drawn() -> Photo:
    return render(STYLE, 1, hairs=5, quality="medium")


@pytest.fixture(scope="module")
def place(drawn: Photo) -> Rectified:
    return rectify(drawn.image)


def test_points_land_within_two_hundredths_of_a_mm(drawn: Photo, place: Rectified) -> None:
    seen = drawn.camera.project(np.c_[GRID, np.zeros(len(GRID))])
    assert np.hypot(*(place.to_mm(seen) - GRID).T).max() < 0.02
    np.testing.assert_allclose(place.to_px(GRID), seen, atol=0.4)
    assert judge_photo(place) == []


def test_blur_of_the_edges_is_what_was_drawn(drawn: Photo, place: Rectified) -> None:
    assert place.blur_px == pytest.approx(drawn.blur, abs=0.15)


def test_the_place_is_kept_as_json(place: Rectified) -> None:
    again = Rectified.from_json(json.loads(json.dumps(place.as_json())))
    assert again.as_json() == place.as_json()
    older = place.as_json() | {"bar_mm": 99.98, "background": [[0.9]]}  # kept once, and read by nothing
    assert Rectified.from_json(older).as_json() == place.as_json()
    np.testing.assert_array_equal(again.to_mm([[900.0, 800.0]]), place.to_mm([[900.0, 800.0]]))


def test_the_printers_bar_scales_every_length(drawn: Photo, place: Rectified) -> None:
    small = rectify(drawn.image, bar_mm=96.0)
    np.testing.assert_allclose(small.to_mm([[900.0, 800.0]]), 0.96 * place.to_mm([[900.0, 800.0]]))
    with pytest.raises(OutOfRange):
        check_bar(89.0)


def spoiled(image: np.ndarray, how: str) -> np.ndarray:
    h, w = image.shape[:2]
    if how == "blur":
        return cv2.GaussianBlur(image, (0, 0), 4.5)
    if how == "far":
        return cv2.resize(image, None, fx=0.55, fy=0.55, interpolation=cv2.INTER_AREA)
    if how == "shadow":
        shade = np.where(np.arange(w) < w // 2, 0.55, 1.0)[None, :, None]
        return (image * shade).astype(np.uint8)
    out = image.copy()
    out[h // 4 : h // 2, w // 4 : w // 2] = 255
    return out


@pytest.mark.parametrize("how", ["blur", "far", "shadow", "glare"])
def test_a_spoiled_photo_is_refused(drawn: Photo, how: str) -> None:
    found = judge_photo(rectify(spoiled(drawn.image, how)))
    assert how in {one.code for one in found if one.stops}


def test_too_few_marks_are_named(drawn: Photo) -> None:
    hidden = drawn.image.copy()
    hidden[:, : hidden.shape[1] * 3 // 4] = 128
    hidden[: hidden.shape[0] // 2] = 128
    with pytest.raises(PhotoRefused, match="top left") as caught:
        rectify(hidden)
    assert caught.value.code == "markers"


def test_marks_never_touch_and_numbers_never_repeat() -> None:
    numbers = [number for one in SHEETS.values() for number in one.markers]
    assert sorted(numbers) == list(range(48))  # the dictionary has 50
    for one in SHEETS.values():
        assert one.clear[2] - one.clear[0] == one.width_mm - 40
        assert one.bar[2] - one.bar[0] == 100
    # ISO 216: A5 148 x 210, A4 210 x 297, A6 105 x 148
    assert {one.page_mm for one in SHEETS.values()} == {(210, 148), (297, 210), (148, 105)}
    assert SHEETS["a5"].clear == (20, 20, 190, 128)


def test_threads_prove_or_accuse_a_printer() -> None:
    rng = np.random.default_rng(5)
    cuts = np.repeat([10.0, 20.0, 40.0], 5)
    good = check_threads(list(cuts + rng.normal(0, 0.15, 15)), phone="own", printer="hall")
    assert good.verdict == "good"
    off = check_threads(list(1.04 * cuts + rng.normal(0, 0.15, 15)), phone="own", printer="hall")
    assert off.verdict == "off"
    assert off.scale == pytest.approx(1.04, abs=0.01)
    rough = check_threads(list(cuts + rng.normal(0, 1.2, 15)), phone="own", printer="hall")
    assert rough.verdict == "rough"
    assert ThreadCheck.from_json(json.loads(json.dumps(good.as_json()))) == good
    with pytest.raises(OutOfRange, match="40 mm"):
        check_threads([10.0] * 5 + [20.0] * 5, phone="own", printer="hall")
