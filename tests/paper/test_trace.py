"""Lines drawn with lengths known on paper: arcs of circles, straight lines that cross, and nothing at all."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from coatwright.paper.marks import Rectified
from coatwright.paper.read import Reading, read_hairs
from tests.paper.rendering.raster import stroke

PX_PER_MM = 17.0
BLUR_PX = 0.8


def place(scale: float = 1.0) -> Rectified:
    """A camera straight above the A5 sheet."""
    size = (int(210 * PX_PER_MM), int(148 * PX_PER_MM))
    flat = np.diag([1 / PX_PER_MM, 1 / PX_PER_MM, 1.0])
    return Rectified(
        "a5", size, flat, np.zeros((10, 2)), (210.0, 148.0), tuple(range(8)), PX_PER_MM, 0.0, BLUR_PX, 0.0, 1.0, 0.0,
        scale=scale,
    )  # fmt: skip


def photograph(lines: list[np.ndarray], width_mm: float = 0.11) -> np.ndarray:
    """Dark strips with square ends on white paper, (h, w, 3) uint8; points in mm."""
    image = np.full((int(148 * PX_PER_MM), int(210 * PX_PER_MM), 3), 0.8, np.float32)
    for mm in lines:
        half = np.full(len(mm), width_mm / 2 * PX_PER_MM)
        stroke(image, mm * PX_PER_MM, half, np.full((len(mm), 3), 0.05))
    image = cv2.GaussianBlur(image, (0, 0), BLUR_PX)
    code = np.where(image <= 0.0031308, 12.92 * image, 1.055 * image ** (1 / 2.4) - 0.055)
    noise = np.random.default_rng(5).normal(0, 0.4, image.shape)
    return np.clip(code * 255 + noise, 0, 255).astype(np.uint8)


def arc(centre: tuple[float, float], radius: float, degrees: float, start: float = 0.0) -> np.ndarray:
    """Points along a circle: the length is the radius times the angle (Euclid; radians)."""
    angle = np.radians(start + np.linspace(0, degrees, max(40, int(radius * degrees / 3))))
    return np.array(centre) + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def straight(middle: tuple[float, float], length: float, degrees: float) -> np.ndarray:
    t = np.radians(degrees)
    return np.array(middle) + np.linspace(-length / 2, length / 2, 200)[:, None] * np.array(
        [np.cos(t), np.sin(t)]
    )


def lengths(found: Reading) -> list[float]:
    return sorted(hair.length_mm for hair in found.hairs)


@pytest.fixture(scope="module")
def arcs() -> Reading:
    drawn = [
        arc((50, 60), 10, 90),
        arc((100, 70), 20, 80, 40),
        arc((150, 110), 40, 50, 200),
        arc((60, 110), 6, 150),
    ]
    return read_hairs(photograph(drawn), place())


def test_arcs_of_circles_are_as_long_as_radius_times_angle(arcs: Reading) -> None:
    exact = sorted(r * np.radians(a) for r, a in ((10, 90), (20, 80), (40, 50), (6, 150)))
    np.testing.assert_allclose(lengths(arcs), exact, atol=0.15)


def test_points_lie_on_the_circle(arcs: Reading) -> None:
    longest = max(arcs.hairs, key=lambda hair: hair.length_mm)
    radius = np.hypot(*(longest.trace.points - [150, 110]).T)
    assert np.abs(radius - 40).max() < 0.05


def test_the_printers_scale_scales_lengths() -> None:
    image = photograph([straight((100, 70), 30, 20)])
    (true,), (small,) = lengths(read_hairs(image, place())), lengths(read_hairs(image, place(0.96)))
    assert small == pytest.approx(0.96 * true, abs=0.05)


@pytest.mark.parametrize("degrees", [12, 25, 45, 90])
def test_two_lines_that_cross_are_two_hairs(degrees: float) -> None:
    image = photograph([straight((100, 70), 40, 10), straight((103, 70.5), 25, 10 + degrees)])
    np.testing.assert_allclose(lengths(read_hairs(image, place())), [25, 40], atol=0.25)


def test_two_hairs_that_lie_upon_each_other_for_a_stretch_are_two_whole_hairs() -> None:
    """Two circles that touch: their lines run as one for about 4 mm."""
    image = photograph([arc((100, 40), 30, 70, 55), arc((100, 100), 30, 70, -125)])
    exact = 30 * np.radians(70)
    np.testing.assert_allclose(lengths(read_hairs(image, place())), [exact, exact], atol=0.4)


def test_an_end_that_touches_another_hair_stays_an_end() -> None:
    image = photograph([straight((100, 70), 40, 0), straight((100, 59.9), 20, 90)])
    np.testing.assert_allclose(lengths(read_hairs(image, place())), [20, 40], atol=0.4)


def test_an_empty_sheet_holds_no_hair() -> None:
    found = read_hairs(photograph([]), place())
    assert found.hairs == ()
    assert found.tufted == 0


def test_thin_curly_underwool_is_left_out() -> None:
    wool = [arc((40 + 25 * k, 70), 3, 200, 40 * k) for k in range(5)]
    assert read_hairs(photograph(wool, width_mm=0.022), place()).hairs == ()


def test_a_felted_lump_is_seen_as_one() -> None:
    lump = [straight((100, 70), 8, angle) for angle in range(0, 180, 3)]
    assert read_hairs(photograph(lump, width_mm=0.4), place()).tufted > 0.5
