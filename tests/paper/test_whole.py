"""A photograph from its bytes to its hairs: what is told on the way, what is refused, what is kept of it."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
from PIL import Image

from coatwright.errors import FileFormatError, OutOfRange
from coatwright.paper.photo import PhotoError
from coatwright.paper.read import Reading
from coatwright.paper.refusals import WARN_HAIRS
from coatwright.paper.whole import STEPS, SheetRead, read_sheet
from tests.paper.rendering import FIGURES, render

SMALL = (2800, 2100)


@pytest.fixture(scope="module")
def shot():
    return render(FIGURES, 91, hairs=16, size=SMALL)


@pytest.fixture(scope="module")
def read(shot):
    return read_sheet(shot.jpeg)


def test_a_photo_gives_its_sheet_size_and_hairs(shot, read) -> None:
    assert (read.sheet, read.size_px) == ("a5", SMALL)
    assert len(read.hairs) == pytest.approx(len(shot.hairs), abs=1)
    assert not any(one.stops for one in read.remarks)


def test_what_is_kept_tells_all_of_it_again_digit_for_digit(read) -> None:
    kept = json.dumps(read.as_json())
    again = SheetRead.from_json(json.loads(kept))
    assert json.dumps(again.as_json()) == kept
    assert [hair.length_mm for hair in again.hairs] == [hair.length_mm for hair in read.hairs]
    assert again.remarks == read.remarks
    points = read.hairs[0].trace.points
    assert np.abs(again.place.to_px(points) - read.place.to_px(points)).max() < 1e-6


@pytest.mark.parametrize("spoil", [
    lambda table: table.pop("hairs"), lambda table: table.update(version=99), lambda table: table.update(place={}),
    lambda table: table["hairs"][0].pop("trace"), lambda table: table.update(left_out="many"),
])  # fmt: skip
def test_what_was_kept_and_is_spoilt_is_refused(read, spoil) -> None:
    table = json.loads(json.dumps(read.as_json()))
    spoil(table)
    with pytest.raises(FileFormatError):
        SheetRead.from_json(table)


def test_progress_is_told_to_its_end(shot) -> None:
    told: list[tuple[str, int, int]] = []
    read_sheet(shot.jpeg, progress=lambda *step: told.append(step))
    assert [done for _, done, _ in told] == [0, 1, 2, 3, 4]
    assert {total for *_, total in told} == {len(STEPS)}
    assert [what for what, *_ in told][:4] == list(STEPS)


def test_the_bar_of_the_printer_stretches_every_length(shot, read) -> None:
    longer = read_sheet(shot.jpeg, bar_mm=104.0)
    assert sum(h.length_mm for h in longer.hairs) == pytest.approx(
        1.04 * sum(h.length_mm for h in read.hairs), rel=0.005
    )
    with pytest.raises(OutOfRange, match="bar"):
        read_sheet(shot.jpeg, bar_mm=112.0)


def test_an_empty_sheet_is_read_and_says_so() -> None:
    bare = read_sheet(render(FIGURES, 92, hairs=0, fluff=0, dust=0, size=SMALL).jpeg)
    assert bare.hairs == ()
    assert [one.code for one in bare.remarks if one.code == "empty-sheet"] == ["empty-sheet"]


def test_a_photo_of_something_else_is_refused_by_name() -> None:
    rng = np.random.default_rng(3)
    out = io.BytesIO()
    Image.fromarray(rng.integers(0, 255, (900, 1200, 3), dtype=np.uint8)).save(out, "JPEG")
    with pytest.raises(PhotoError) as caught:
        read_sheet(out.getvalue(), name="garden.jpg")
    assert caught.value.code == "markers"
    assert caught.value.where.startswith("garden.jpg")
    assert caught.value.remedy


def test_a_crowded_sheet_is_refused_with_its_whole_length_and_a_rough_count(shot, read, monkeypatch) -> None:
    many = Reading(read.hairs * 20, 0, 0.0, 0.0)
    monkeypatch.setattr("coatwright.paper.read.read_hairs", lambda *_: many)
    with pytest.raises(PhotoError) as caught:
        read_sheet(shot.jpeg)
    assert caught.value.code == "crowded"
    metres = 20 * sum(hair.length_mm for hair in read.hairs) / 1000
    assert f"about {metres:.1f} m" in caught.value.what
    low, high = (round(20 * len(read.hairs) * (1 + way), -1) for way in (-0.15, 0.15))
    assert f"About {low:.0f} to {high:.0f} hairs" in caught.value.what


def test_a_full_sheet_is_read_with_a_warning(shot, read, monkeypatch) -> None:
    full = Reading(read.hairs * (1 + WARN_HAIRS // len(read.hairs)), 0, 0.0, 0.0)
    monkeypatch.setattr("coatwright.paper.read.read_hairs", lambda *_: full)
    found = read_sheet(shot.jpeg)
    assert "many" in [one.code for one in found.remarks]
