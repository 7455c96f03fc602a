"""The side view: zones cover the dog once, builds bend it without tearing, and the geometry is right."""

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatwright.errors import UnknownName
from coatwright.patterns.profile import EARS, TAILS, area, inside, profile, smooth, smooth_line

BUILDS = ("square", "short_legged", "long_low", "leggy", "round_headed", "giant")
SEEN = [
    "skull",
    "brows",
    "foreface",
    "beard",
    "cheeks",
    "throat",
    "neck",
    "forechest",
    "shoulders",
    "back",
    "croup",
    "ribs",
    "underline",
    "forelegs",
    "feet",
    "hind_feet",
    "thighs",
    "rear",
    "hocks",
]


def grid(outline, step):
    """Points of a grid inside the outline."""
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    columns = range(math.floor(min(xs) / step), math.ceil(max(xs) / step) + 1)
    rows = range(math.floor(min(ys) / step), math.ceil(max(ys) / step) + 1)
    points = (((i + 0.5) * step, (j + 0.5) * step) for i in columns for j in rows)
    return [point for point in points if inside(point, outline)]


def test_the_side_view_has_every_zone_and_build():
    assert sorted(profile().zones) == sorted(SEEN)
    assert tuple(profile().builds) == BUILDS
    assert set(profile().polygons("prick", "up")) == {*SEEN, "ears", "tail"}


@pytest.mark.parametrize("key", BUILDS)
def test_every_point_of_the_body_lies_in_one_zone(key):
    build = profile().build(key)
    body = smooth(build.place_all(profile().curves["body"]))
    zones = [build.place_all(polygon) for polygon in profile().zones.values()]
    points = grid(body, 1.0)
    counts = [sum(inside(point, polygon) for polygon in zones) for point in points]
    assert len(points) > 3000
    assert counts.count(0) <= 0.002 * len(points)
    assert sum(count > 1 for count in counts) <= 0.002 * len(points)


@pytest.mark.parametrize("key", BUILDS)
def test_the_border_between_zones_is_shared_so_their_areas_add_up(key):
    build = profile().build(key)
    placed = {zone: build.place_all(polygon) for zone, polygon in profile().zones.items()}
    uses = {}
    for polygon in placed.values():
        for a, b in zip(polygon, (*polygon[1:], polygon[0]), strict=True):
            edge = frozenset((a, b))
            uses[edge] = uses.get(edge, 0) + 1
    assert set(uses.values()) == {1, 2}
    follow = {}
    for edge in (edge for edge, count in uses.items() if count == 1):
        a, b = edge
        follow.setdefault(a, []).append(b)
        follow.setdefault(b, []).append(a)
    assert all(len(ends) == 2 for ends in follow.values())
    start = next(iter(follow))
    loop, at = [start], follow[start][0]
    while at != start:
        loop.append(at)
        at = next(end for end in follow[at] if end != loop[-2])
    assert len(loop) == len(follow)
    assert sum(area(polygon) for polygon in placed.values()) == pytest.approx(area(loop), rel=1e-9)


def test_the_eye_lies_under_the_brow_and_each_zone_shows_enough_to_be_touched():
    body = smooth(profile().curves["body"])
    assert inside(profile().eye, profile().zones["brows"])
    shown = dict.fromkeys(profile().zones, 0)
    for point in grid(body, 0.7):
        for zone, polygon in profile().zones.items():
            shown[zone] += inside(point, polygon)
    assert min(shown.values()) * 0.49 > 20.0  # square units; a foot is about 90


def test_head_and_legs_follow_the_build():
    builds = profile().builds
    assert builds["square"].withers == pytest.approx(100.0)
    assert builds["square"].place((12.0, 119.0)) == pytest.approx((12.0, 119.0))
    assert builds["long_low"].withers < builds["short_legged"].withers < builds["square"].withers
    assert builds["square"].withers < builds["leggy"].withers < builds["giant"].withers
    nose = profile().curves["nose"][0]
    assert builds["round_headed"].place(nose)[0] > builds["square"].place(nose)[0]


@given(
    x=st.floats(-6, 150),
    y=st.floats(-4, 149),
    key=st.sampled_from(BUILDS),
    turn=st.floats(0, 2 * math.pi),
)
def test_a_build_never_folds_or_tears_the_drawing(x, y, key, turn):
    place = profile().build(key).place
    near = place((x, y))
    step = 1e-4
    far = place((x + step * math.cos(turn), y + step * math.sin(turn)))
    assert math.dist(near, far) < 3.0 * step
    right, up = place((x + step, y)), place((x, y + step))
    turned = (right[0] - near[0]) * (up[1] - near[1]) - (right[1] - near[1]) * (up[0] - near[0])
    assert turned > 0.1 * step**2


def test_ears_and_tails_by_kind():
    for ears in EARS:
        assert area(smooth(profile().ear(ears))) > 50
    for tail in TAILS:
        assert area(smooth(profile().tail(tail))) > 50
    with pytest.raises(UnknownName, match="folded"):
        profile().ear("fold")
    with pytest.raises(UnknownName, match="level"):
        profile().tail("leval")
    with pytest.raises(UnknownName, match="leggy"):
        profile().build("legy")


def test_spline_goes_through_its_points_and_has_the_published_middle():
    # Catmull-Rom at t = 1/2: (-p0 + 9 p1 + 9 p2 - p3) / 16 (textbook basis matrix, from memory)
    points = [(0.0, 0.0), (4.0, 2.0), (7.0, -1.0), (3.0, -5.0), (-2.0, -3.0)]
    curve = smooth(points, 2)
    assert curve[::2] == tuple(points)
    quad = zip(*points[:4], strict=True)
    expected = tuple((-a + 9 * b + 9 * c - d) / 16 for a, b, c, d in quad)
    assert curve[3] == pytest.approx(expected)
    assert smooth_line(points, 3)[0] == points[0]
    assert smooth_line(points, 3)[-1] == points[-1]
    assert len(smooth_line(points, 3)) == 3 * 4 + 1


def test_area_and_inside_agree_on_a_shape_known_by_hand():
    # An L of three unit squares.
    shape = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0), (1.0, 2.0), (0.0, 2.0)]
    assert area(shape) == 3.0
    assert inside((0.5, 1.5), shape)
    assert not inside((1.5, 1.5), shape)


def test_reading_the_side_view_needs_no_numpy():
    code = "import sys, coatwright.patterns.profile as p; p.profile(); sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
