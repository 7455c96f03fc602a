"""Curves and polygons against geometry's own theorems."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatwright.drawing.curves import area, centroid, inside, join, nearest, spline, thin, thin_ring


def circle(count, radius=1.0):
    angle = 2 * np.pi * np.arange(count) / count
    return radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def test_a_closed_spline_goes_through_its_points_and_rounds_a_polygon_into_a_circle():
    points = circle(16, 50.0)
    curve = spline(points, 12, closed=True)
    assert np.allclose(curve[::12], points)
    assert np.allclose(np.hypot(*curve.T), 50.0, rtol=2e-3)


def test_an_open_spline_keeps_its_ends_and_stays_straight_on_a_line():
    points = np.array([[0.0, 0.0], [1.0, 2.0], [4.0, 8.0], [5.0, 10.0]])
    curve = spline(points, 5)
    assert np.allclose(curve[[0, -1]], points[[0, -1]])
    assert np.allclose(curve[:, 1], 2 * curve[:, 0])


def test_area_and_inside_agree_with_picks_theorem_on_lattice_polygons():
    # Pick 1899: a simple polygon with corners on the lattice has the area I + B/2 - 1, I lattice points
    # inside and B on its border.
    polygon = np.array([[0, 0], [7, 1], [9, 6], [4, 4], [1, 9]], dtype=float)
    steps = np.abs(np.roll(polygon, -1, axis=0) - polygon).astype(int)
    border = sum(math.gcd(int(a), int(b)) for a, b in steps)
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(-1, 11), np.arange(-1, 11)))
    on_border = nearest(polygon, x, y)[0] < 1e-9
    within = inside(polygon, x, y) & ~on_border
    assert int(on_border.sum()) == border
    assert area(polygon) == pytest.approx(within.sum() + border / 2 - 1)


def test_the_centroid_of_a_triangle_is_the_mean_of_its_corners():
    corners = np.array([[0.0, 0.0], [9.0, 0.0], [3.0, 6.0]])
    assert centroid(corners) == pytest.approx((4.0, 2.0))


@given(st.floats(0.05, 2.0))
def test_thinning_moves_a_curve_by_no_more_than_its_tolerance(tolerance):
    ring = spline(circle(9, 30.0), 20, closed=True)
    kept = thin_ring(ring, tolerance)
    assert len(kept) < len(ring)
    assert nearest(kept, ring[:, 0], ring[:, 1])[0].max() <= tolerance + 1e-9


def test_thinning_a_straight_line_leaves_its_ends():
    line = np.stack([np.arange(10.0), 2 * np.arange(10.0)], axis=1)
    assert thin(line, 0.1).tolist() == [[0.0, 0.0], [9.0, 18.0]]


def test_lines_that_do_not_meet_are_refused():
    with pytest.raises(ValueError, match="break off"):
        join([np.array([[0.0, 0.0], [1.0, 0.0]]), np.array([[5.0, 0.0], [0.0, 0.0]])])
    with pytest.raises(ValueError, match="do not close"):
        join([np.array([[0.0, 0.0], [1.0, 0.0]]), np.array([[1.0, 0.0], [5.0, 5.0]])])
