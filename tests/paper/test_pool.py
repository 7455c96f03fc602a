"""Two photographs of one sheet: made-up readings, and a drawn sheet photographed three times."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from coatwright.paper.marks import Hair, Trace
from coatwright.paper.pool import pool_shaken, pool_unmoved
from coatwright.paper.read import read_hairs
from coatwright.paper.rectify import rectify
from tests.paper.pooling import Alone, right_in
from tests.paper.rendering import FIGURES, again, render


def hair(
    length: float, at: tuple[float, float], turn: float = 0.0, width: float = 0.08, score: float = 0.99
) -> Hair:
    s = np.arange(0, length + 0.05, 0.1)
    points = np.array(at) + np.column_stack([s * np.cos(turn), s * np.sin(turn)])
    return Hair(
        Trace(points, width, 0.6, (0.1, 0.1, 0.1)),
        length,
        True,
        ("club", "taper"),
        score,
        "a club at one end",
    )


def sheet(shift: float, turn: float) -> list[Hair]:
    return [hair(12.0 + 2.5 * k, (25.0 + shift, 24.0 + 8 * k), turn, 0.06 + 0.004 * k) for k in range(10)]


def test_hairs_that_lie_elsewhere_are_matched_by_their_looks() -> None:
    one, two = sheet(0.0, 0.0), sheet(40.0, 0.3)[::-1]
    found = pool_shaken(one, two)
    assert found.agreed == 10
    assert {(h.hair, h.other) if h.photo == 0 else (h.other, h.hair) for h in found.hairs} == {
        (k, 9 - k) for k in range(10)
    }


def test_a_wrong_join_in_one_photo_is_outdone_by_the_other() -> None:
    one, two = sheet(0.0, 0.0), sheet(40.0, 0.3)
    one[3] = replace(one[3], length_mm=31.0, score=0.05)
    one[4] = replace(one[4], length_mm=10.0, score=0.05)
    found = pool_shaken(one, two)
    lengths = sorted(h.length_mm for h in found.hairs)
    assert lengths == pytest.approx([12.0 + 2.5 * k for k in range(10)])
    assert found.agreed == 8


def test_on_an_unmoved_sheet_the_surer_reading_of_a_bundle_is_taken() -> None:
    one, two = sheet(0.0, 0.0), sheet(0.02, 0.0)
    # the second photograph reads hair 5 as two pieces
    two[5:6] = [hair(10.0, (25.0, 64.0), score=0.3), hair(14.0, (35.5, 64.0), score=0.2)]
    found = pool_unmoved(one, two)
    assert found.agreed == 9
    assert found.counts == (10, 11)
    assert sorted(h.length_mm for h in found.hairs) == pytest.approx([12.0 + 2.5 * k for k in range(10)])


def test_what_the_two_photos_say_of_the_ends_is_put_together() -> None:
    one, two = sheet(0.0, 0.0), sheet(0.0, 0.0)
    two[0], two[1] = replace(two[0], whole=None), replace(two[1], whole=False)
    for found in (pool_unmoved(one, two), pool_shaken(one, two)):
        said = {h.hair: h.whole for h in found.hairs}
        assert said[0] is True
        assert said[1] is None
        assert said[2] is True


def test_an_empty_reading_leaves_the_other() -> None:
    some = sheet(0.0, 0.0)
    assert pool_unmoved(some, []).agreed == pool_shaken([], some).agreed == 0
    assert len(pool_unmoved(some, []).hairs) == 10
    assert pool_unmoved([], []).hairs == pool_shaken([], []).hairs == ()
    assert pool_shaken(some, sheet(3.0, 0.1)) == pool_shaken(some, sheet(3.0, 0.1))


def test_two_photos_of_a_drawn_sheet_tell_more_than_one() -> None:
    first = render(FIGURES, 41010, hairs=120, coat="cream", quality="medium")
    still, shaken = (again(FIGURES, first, 41011 + k, quality="medium", shaken=bool(k)) for k in (0, 1))
    one, two, three = (
        Alone(first, p, read_hairs(p.image, rectify(p.image)).hairs) for p in (first, still, shaken)
    )
    assert right_in(pool_unmoved(one.hairs, two.hairs), one, two) > (one.right() + two.right()) / 2
    assert right_in(pool_shaken(one.hairs, three.hairs), one, three) >= (one.right() + three.right()) / 2
