"""What is read off a zone on a day: cover, outline, layers, what is overdue, in the band, or cut."""

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat import measures
from coatwright.coat.aims import Aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from tests.coat.coats import GROWTHS, TODAY, coats

GROWTH = Growth(lag=28.0, rate=0.5, end=60.0, spread=0.1)
Z95 = NormalDist().inv_cdf(0.95)
"""The 95 % point of the standard normal distribution, 1.6449 in tables (Python's own statistics)."""
HAIRS = np.array([NormalDist().inv_cdf((k + 0.5) / 2000) for k in range(2000)])
"""How far 2000 hairs of a layer lie from its mean, in standard deviations."""


def coat_of(*layers: tuple[int, float] | tuple[int, float, float]) -> ZoneCoat:
    """Layers as (days since the pull, share, mm cut off)."""
    return ZoneCoat.of(Layer(TODAY - age, share, *rest) for age, share, *rest in layers)


# --- cover ------------------------------------------------------------------------------------------------


def test_cover_counts_hair_on_the_day_it_breaks_through() -> None:
    coat = coat_of((100, 0.5), (28, 0.2), (27, 0.3))
    assert measures.cover(coat, TODAY, GROWTH) == pytest.approx(0.7)
    assert measures.cover(coat, TODAY + 1, GROWTH) == pytest.approx(1.0)
    assert measures.cover(coat, TODAY - 1, GROWTH) == pytest.approx(0.5)


def test_a_stricter_length_leaves_out_what_is_shorter() -> None:
    """At 12 mm half of the layer whose mean is 12 mm counts, all of the long one, and of a stub nothing."""
    coat = coat_of((100, 0.5), (52, 0.3), (100, 0.2, 35.0))
    assert measures.cover(coat, TODAY, GROWTH) == pytest.approx(1.0)
    assert measures.cover(coat, TODAY, GROWTH, 12.0) == pytest.approx(0.5 + 0.15)
    assert measures.cover(coat_of((28, 1.0)), TODAY, GROWTH, 0.05) == 0.0
    # one standard deviation, 1.2 mm, below the mean: 84.134 % are longer (normal tables)
    assert measures.cover(coat, TODAY, GROWTH, 10.8) == pytest.approx(0.5 + 0.3 * 0.84134, abs=1e-5)


@settings(max_examples=100, deadline=None)
@given(coats(), GROWTHS, st.integers(0, 200), st.floats(0, 60), st.floats(0, 60))
def test_cover_lies_between_none_and_all_and_falls_with_the_length_asked(
    coat: ZoneCoat, growth: Growth, later: int, a: float, b: float
) -> None:
    low, high = sorted((a, b))
    day = TODAY + later
    loose, strict = (measures.cover(coat, day, growth, length) for length in (low, high))
    slack = 1e-9
    assert -slack <= strict <= loose + slack <= measures.cover(coat, day, growth) + 2 * slack
    assert measures.cover(coat, day, growth) <= 1 + slack
    assert measures.cover(coat, day + 1, growth) >= measures.cover(coat, day, growth) - slack


# --- outline ----------------------------------------------------------------------------------------------


def test_the_outline_of_one_layer_is_the_95_per_cent_point_of_its_lengths() -> None:
    coat = coat_of((68, 1.0))
    assert measures.outline(coat, TODAY, GROWTH) == pytest.approx(20.0 * (1 + 0.1 * Z95), abs=1e-4)


def test_hair_under_the_skin_does_not_count_in_the_outline() -> None:
    """Of the visible hairs, not of all: 60 % hidden changes nothing."""
    coat = coat_of((68, 0.4), (5, 0.6))
    assert measures.outline(coat, TODAY, GROWTH) == pytest.approx(20.0 * (1 + 0.1 * Z95), abs=1e-4)


@pytest.mark.parametrize(("long", "carried_by"), [(0.04, 20.0), (0.06, 30.0)])
def test_fewer_than_five_in_a_hundred_hairs_do_not_carry_the_outline(long: float, carried_by: float) -> None:
    coat = coat_of((88, long), (68, 1.0 - long))
    outline = measures.outline(coat, TODAY, GROWTH.with_(spread=0.0))
    assert outline == pytest.approx(carried_by, abs=1e-5)


def test_a_bare_zone_has_no_outline() -> None:
    assert measures.outline(coat_of((10, 1.0)), TODAY, GROWTH) == 0.0
    assert measures.outline(coat_of((28, 1.0)), TODAY, GROWTH) == pytest.approx(0.0, abs=1e-6)


@settings(max_examples=200, deadline=None)
@given(coats(), GROWTHS)
def test_five_in_a_hundred_of_single_visible_hairs_are_longer_than_the_outline(
    coat: ZoneCoat, growth: Growth
) -> None:
    """Counted on single hairs, without the formula of the model."""
    day = TODAY + 60
    lengths, weights = [], []
    for layer in coat.layers:
        age = day - layer.born
        if age >= growth.lag:
            mean = max(min(growth.speed * (age - growth.lag), growth.end) - layer.removed, 0.0)
            lengths.append(mean * (1 + growth.spread * HAIRS))
            weights.append(np.full(2000, layer.share / 2000))
    outline = measures.outline(coat, day, growth)
    hairs, weight = np.concatenate(lengths), np.concatenate(weights)
    slack = 0.01 + 0.01 * outline
    assert weight[hairs > outline + slack].sum() <= 0.05 * weight.sum() + 1e-6
    assert weight[hairs > outline - slack].sum() >= 0.05 * weight.sum() - 1e-6 or outline < slack


# --- layers -----------------------------------------------------------------------------------------------


def test_visible_layers_are_those_above_the_skin_and_make_up_the_whole() -> None:
    lengths, shares = measures.visible_layers(coat_of((100, 0.2), (48, 0.3), (3, 0.5)), TODAY, GROWTH)
    assert lengths == pytest.approx([36.0, 10.0])
    assert shares == pytest.approx([0.4, 0.6])
    none, nothing = measures.visible_layers(coat_of((3, 1.0)), TODAY, GROWTH)
    assert none.size == nothing.size == 0


def test_the_effective_number_of_layers_is_that_of_diversity() -> None:
    """The inverse of Simpson's index (Simpson 1949, Nature 163:688; from memory): 1/2, 1/4, 1/4 are 8/3 alike."""

    def layers(coat: ZoneCoat) -> float:
        return measures.effective_layers(coat, TODAY, GROWTH)

    assert layers(coat_of((100, 0.5), (80, 0.25), (60, 0.25))) == pytest.approx(8 / 3)
    assert layers(ZoneCoat.even(TODAY - 28, 14, 6)) == pytest.approx(6)
    assert layers(coat_of((100, 0.3), (80, 0.3), (3, 0.4))) == pytest.approx(2)
    assert layers(coat_of((3, 1.0))) == 0.0


# --- against an aim ---------------------------------------------------------------------------------------


def test_overdue_is_what_is_longer_than_the_aim_and_what_is_blown_each_hair_once() -> None:
    aim = Aim(10, 20)
    # 36 mm; 20 mm on the edge, so half; 10 mm; blown and long; blown and cut short
    coat = coat_of((100, 0.1), (68, 0.2), (48, 0.3), (400, 0.1), (400, 0.3, 55.0))
    assert measures.overdue(coat, TODAY, GROWTH, aim) == pytest.approx(0.1 + 0.1 + 0.0 + 0.1 + 0.3, abs=1e-6)


def test_in_the_band_is_what_is_visible_and_neither_shorter_nor_longer() -> None:
    aim = Aim(10, 20)
    coat = coat_of((100, 0.1), (68, 0.2), (58, 0.3), (48, 0.2), (10, 0.2))
    # 15 mm lies whole in the band, the layers of 20 and 10 mm with half, 36 mm and the hidden not at all
    assert measures.in_band(coat, TODAY, GROWTH, aim) == pytest.approx(0.1 + 0.3 + 0.1, abs=1e-3)


def test_a_band_from_nothing_on_counts_all_that_has_just_broken_through() -> None:
    coat = coat_of((28, 0.5), (27, 0.5))
    assert measures.in_band(coat, TODAY, GROWTH, Aim(0, 10)) == pytest.approx(0.5)
    assert measures.in_band(coat, TODAY, GROWTH, Aim(0.5, 10)) == 0.0


@settings(max_examples=200, deadline=None)
@given(coats(), GROWTHS, st.integers(0, 120), st.floats(0, 30), st.floats(1, 30))
def test_hair_is_in_the_band_or_beyond_it_never_both(
    coat: ZoneCoat, growth: Growth, later: int, lo: float, width: float
) -> None:
    aim, day = Aim(lo, lo + width), TODAY + later
    top = measures.in_band(coat, day, growth, aim)
    beyond = measures.cover(coat, day, growth, aim.hi)
    assert top >= -1e-12
    assert top + beyond <= measures.cover(coat, day, growth) + 1e-9
    assert top == pytest.approx(max(measures.cover(coat, day, growth, lo) - beyond, 0.0), abs=1e-9)
    assert beyond - 1e-9 <= measures.overdue(coat, day, growth, aim) <= 1 + 1e-9


def test_the_cut_share_counts_blunt_tips_and_no_others() -> None:
    assert measures.cut_share(coat_of((100, 0.25, 5.0), (80, 0.25), (80, 0.5, 0.001))) == pytest.approx(0.75)
    assert measures.cut_share(coat_of((100, 1.0))) == 0.0
