"""The table of zones: complete, mutual, and as long to work as practice says."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatwright.drawing.figure import figure
from coatwright.errors import OutOfRange, UnknownName
from coatwright.patterns import aimed_zones, body_surface, surface_factor, zone, zones
from coatwright.patterns.shapes import BUILDS

UNSEEN = {"chest", "belly", "inner_thighs", "under_tail"}
TENDER = {"belly", "inner_thighs", "under_tail", "throat", "ears", "cheeks"}


def test_every_zone_of_the_side_view_and_the_unseen_ones_are_there():
    assert set(zones()) == {*figure("square", "folded", "up", 390.0).zones, *UNSEEN}
    assert {key for key, row in zones().items() if not row.seen} == UNSEEN
    assert len(zones()) == 25


def test_neighbours_are_mutual():
    for key, row in zones().items():
        assert row.neighbours
        assert len(set(row.neighbours)) == len(row.neighbours)
        for other in row.neighbours:
            assert other != key
            assert key in zones()[other].neighbours


@pytest.mark.parametrize("build", BUILDS)
def test_zones_that_share_a_border_on_the_drawn_dog_are_neighbours(build):
    dog = figure(build, "folded", "up", 390.0)
    owners = {}
    for key in dog.body_zones:
        points = [tuple(point) for point in dog.zones[key].round(6).tolist()]
        for a, b in zip(points, (*points[1:], points[0]), strict=True):
            owners.setdefault(frozenset((a, b)), set()).add(key)
    touching = {frozenset(pair) for pair in owners.values() if len(pair) == 2}
    assert len(touching) > 25
    for one, other in touching:
        assert other in zones()[one].neighbours


def test_tender_zones_are_taken_in_small_shares():
    # Common practice: tender zones are taken a little at a visit; 0.2 to 0.25 in a rolling coat.
    assert {key for key, row in zones().items() if row.tender} == TENDER
    for row in zones().values():
        if row.tender:
            assert 0.2 <= row.cap <= 0.25
        else:
            assert row.cap == 1.0
        assert round(row.cap / 0.05, 9).is_integer()  # takes go in steps of 5 %


def test_work_by_zone():
    works = {key: row.work for key, row in zones().items()}
    assert {key for key, work in works.items() if work == "scissors"} == {"feet", "hind_feet"}
    assert {key for key, work in works.items() if work == "tidy"} == {"beard", "brows"}
    assert set(aimed_zones()) == {key for key, work in works.items() if work != "scissors"}
    for key in ("feet", "hind_feet"):
        assert "never over a pad" in zones()[key].tip


def test_a_full_show_strip_takes_eight_to_ten_hours():
    # Common practice: a full show strip of a terrier is eight to ten hours of work over several days.
    pulled = sum(row.minutes for row in zones().values() if row.work == "pull")
    assert 8 * 60 <= pulled <= 10 * 60


def test_the_working_order_ends_with_head_and_tender_zones():
    order = list(zones())
    assert [row.order for row in zones().values()] == list(range(1, 26))
    hard = [i for i, key in enumerate(order) if not zones()[key].tender]
    soft = [i for i, key in enumerate(order) if zones()[key].tender]
    assert max(hard) < min(soft)
    assert order.index("skull") > order.index("back")


def test_every_zone_tells_how_to_hold_the_skin():
    texts = [text for row in zones().values() for text in (row.hold, row.tip)]
    assert len(set(texts)) == 50
    for text in texts:
        assert text.endswith(".")
        assert len(text.split()) >= 7


@pytest.mark.parametrize(("kg", "m2"), [(5, 0.295), (10, 0.469), (20, 0.744), (30, 0.975), (50, 1.371)])
def test_body_surface_agrees_with_the_veterinary_table(kg, m2):
    # Weight to body surface of dogs, dosing tables of veterinary handbooks (from memory; they round
    # to 0.29, 0.46, 0.74, 0.96, 1.36 m2 or thereabouts, depending on the edition).
    assert body_surface(kg) == pytest.approx(m2, abs=0.002)


@given(st.floats(0.5, 120), st.floats(0.5, 120))
def test_work_grows_with_skin_not_with_weight(one, other):
    ratio = surface_factor(one) / surface_factor(other)
    assert ratio == pytest.approx((one / other) ** (2 / 3))
    assert surface_factor(10.0) == 1.0
    assert zone("back").minutes_for(one) == pytest.approx(zone("back").minutes * surface_factor(one))


@pytest.mark.parametrize("weight", [0.0, -3.0, math.nan, math.inf])
def test_a_dog_without_weight_is_refused(weight):
    with pytest.raises(OutOfRange, match="above 0 kg"):
        surface_factor(weight)


def test_an_unknown_zone_is_answered_with_near_names():
    with pytest.raises(UnknownName, match="hocks"):
        zone("hock")
