"""The figure of every build: zones without gap or overlap, true height, hair that lies as on a dog."""

import itertools

import numpy as np
import pytest

from coatwright.drawing.anatomy import shape
from coatwright.drawing.curves import area, centroid, inside
from coatwright.drawing.figure import EXTRA, figure
from coatwright.drawing.relief import SUN, Relief, darker_than, relief
from coatwright.errors import OutOfRange, UnknownName
from coatwright.patterns import patterns, zones
from coatwright.patterns.shapes import BUILDS, EARS, TAILS

ALL = list(itertools.product(BUILDS, EARS, TAILS))


@pytest.mark.parametrize("build", BUILDS)
def test_the_zones_of_the_body_cover_the_outline_once(build):
    dog = figure(build, "folded", "up", 390.0)
    parts = [dog.zones[zone] for zone in dog.body_zones]
    assert sum(area(part) for part in parts) == pytest.approx(area(dog.outline), rel=1e-9)
    left, bottom, right, top = dog.bounds
    x, y = np.meshgrid(np.linspace(left, right, 90), np.linspace(bottom, top, 90))
    times = sum(inside(part, x, y).astype(int) for part in parts)
    assert np.array_equal(times, inside(dog.outline, x, y).astype(int))


@pytest.mark.parametrize(("build", "ears"), list(itertools.product(BUILDS, EARS)))
def test_the_eye_lies_under_the_brow_and_each_zone_is_large_enough_to_be_touched(build, ears):
    dog = figure(build, ears, "up", 390.0)
    assert bool(inside(dog.zones["brows"], *dog.eye[:2]))
    small = min(area(polygon) for polygon in dog.zones.values()) / dog.unit**2
    assert small > 45.0  # a square of nearly 7 % of the withers' height


def test_the_figure_has_exactly_the_zones_that_are_seen_from_the_side():
    dog = figure("square", "folded", "up", 390.0)
    assert set(dog.zones) == {key for key, zone in zones().items() if zone.seen}


@pytest.mark.parametrize(("build", "ears", "tail"), ALL)
def test_every_build_stands_on_the_ground_and_has_its_height_at_the_withers(build, ears, tail):
    dog = figure(build, ears, tail, 333.0)
    assert shape(build, ears, tail).withers * dog.unit == pytest.approx(333.0)
    assert np.abs(dog.outline[:, 1] - 333.0).min() < 0.01
    assert dog.outline[:, 1].min() == pytest.approx(0.0, abs=0.004 * 333.0)
    assert all(len(polygon) > 10 and area(polygon) > 0.0 for polygon in dog.zones.values())


def test_every_pattern_has_a_figure():
    for one in patterns().values():
        assert figure(one.build, one.ears, one.tail, one.height_mm).height_mm == one.height_mm


def test_twice_the_height_doubles_every_length():
    small, large = figure("leggy", "drop", "level", 300.0), figure("leggy", "drop", "level", 600.0)
    assert np.allclose(2 * small.outline, large.outline)
    assert np.allclose(2 * np.array(small.eye), large.eye)


def test_builds_differ_as_their_names_say():
    def leg(build):
        dog = figure(build, "drop", "docked", 400.0)
        return dog.zones["underline"][:, 1].min() / 400.0

    def length(build):
        dog = figure(build, "drop", "docked", 400.0)
        return np.ptp(np.concatenate([dog.zones["back"], dog.zones["ribs"]])[:, 0]) / 400.0

    def muzzle(build):
        dog = figure(build, "drop", "docked", 400.0)
        return np.ptp(dog.zones["foreface"][:, 0]) / np.ptp(dog.zones["skull"][:, 0])

    assert leg("long_low") < leg("short_legged") < 0.8 * leg("square")
    assert length("long_low") > 1.5 * length("square")
    assert muzzle("round_headed") < 0.6 * muzzle("square")


def test_a_place_belongs_to_the_zone_that_is_seen_there():
    dog = figure("square", "drop", "up", 390.0)
    for zone in ("back", "ribs", "forelegs", "hind_feet", "beard", "ears"):
        assert dog.zone_at(*centroid(dog.zones[zone])) == zone
    assert dog.zone_at(-500.0, 0.0) is None


@pytest.mark.parametrize("build", BUILDS)
def test_hair_lies_backwards_on_the_back_down_the_legs_and_along_the_tail(build):
    dog = figure(build, "folded", "up", 390.0)

    def lie(zone):
        x, y = (np.array([value]) for value in centroid(dog.zones[zone]))
        dx, dy = dog.lie(zone, x, y)
        assert np.hypot(dx, dy) == pytest.approx(1.0)
        return float(dx[0]), float(dy[0])

    assert lie("back")[0] > 0.9
    assert lie("forelegs")[1] < -0.95
    assert lie("hocks")[1] < -0.85
    assert lie("beard")[1] < -0.7
    assert lie("tail")[1] > 0.9
    assert lie("foreface")[0] > 0.0


def test_unknown_kinds_and_heights_are_refused_with_what_to_do():
    with pytest.raises(UnknownName, match="square"):
        figure("squar", "folded", "up", 390.0)
    with pytest.raises(UnknownName, match="kind of ear"):
        figure("square", "bat", "up", 390.0)
    with pytest.raises(OutOfRange, match="between 80 and 1200"):
        figure("square", "folded", "up", 3.9)


def test_ears_and_tail_are_the_only_zones_beside_the_body():
    dog = figure("square", "prick", "up", 390.0)
    assert tuple(zone for zone in dog.zones if zone not in dog.body_zones) == EXTRA
    assert dog.zones["ears"][:, 1].max() > dog.outline[:, 1].max()


def test_a_long_strip_is_lit_like_a_round_tube():
    # A cylinder of radius R: at height y over its axis the normal is (0, y/R, sqrt(1 - y^2/R^2)).
    strip = np.array([[0.0, -20.0], [300.0, -20.0], [300.0, 20.0], [0.0, 20.0]])
    lit = relief(strip, cells=400)
    y = np.array([-12.0, -6.0, 0.0, 6.0, 12.0])
    expected = SUN[1] * y / 20 + SUN[2] * np.sqrt(1 - (y / 20) ** 2)
    assert lit.at(np.full(5, 150.0), y) == pytest.approx(expected, abs=0.04)


def test_contours_of_a_cone_are_circles():
    x, y = np.meshgrid(np.arange(-20.0, 21.0), np.arange(-20.0, 21.0))
    loops = darker_than(Relief(-20.0, -20.0, 1.0, np.hypot(x, y)), 9.0)
    assert len(loops) == 1
    assert area(loops[0]) == pytest.approx(np.pi * 81, rel=0.01)
