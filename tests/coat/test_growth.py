"""One hair: limits of its values, the growth law, the day it breaks through, its layer's spread, its loss."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatwright.coat.growth import Growth, blown, emerged, length, share_longer, survival
from coatwright.errors import OutOfRange

GROWTHS = st.builds(
    Growth,
    lag=st.floats(0, 60),
    rate=st.floats(0.1, 1.5),
    end=st.floats(10, 120),
    spread=st.floats(0, 0.4),
    loss=st.floats(0, 0.1),
    hold=st.floats(0, 120),
    season=st.floats(0.5, 1.5),
)
AGES = st.floats(0, 900)


@pytest.mark.parametrize(
    ("name", "low", "high", "unit"),
    [
        ("lag", 0.0, 365.0, " d"),
        ("rate", 0.01, 5.0, " mm/d"),
        ("end", 1.0, 500.0, " mm"),
        ("spread", 0.0, 0.5, ""),
        ("ripe", 0.0, 365.0, " d"),
        ("loss", 0.0, 0.5, " per day"),
        ("hold", 0.0, 1000.0, " d"),
        ("season", 0.2, 3.0, ""),
    ],
)
def test_a_value_outside_its_limits_is_named_with_its_unit_and_the_limits(
    name: str, low: float, high: float, unit: str
) -> None:
    assert getattr(Growth(**{name: low}), name) == low
    assert getattr(Growth(**{name: high}), name) == high
    for wrong in (low - 0.001, high + 1.0, math.nan):
        with pytest.raises(OutOfRange) as refused:
            Growth(**{name: wrong})
        assert refused.value.what == f"growth.{name} is {wrong:g}{unit}."
        assert refused.value.remedy == f"It must lie between {low:g} and {high:g}."


def test_a_changed_copy_is_held_to_the_limits_and_leaves_the_first_alone() -> None:
    first = Growth()
    assert first.with_(rate=0.6) == Growth(rate=0.6)
    assert first == Growth()
    with pytest.raises(OutOfRange, match="rate is -1"):
        first.with_(rate=-1.0)


def test_a_hair_waits_then_grows_evenly_then_rests() -> None:
    growth = Growth(lag=28.0, rate=0.5, end=40.0)
    ages = [0, 27, 28, 29, 48, 107, 108, 109, 400]
    assert length(ages, growth) == pytest.approx([0, 0, 0, 0.5, 10, 39.5, 40, 40, 40])
    assert growth.full_age == 108.0
    assert length(growth.full_age, growth) == pytest.approx(growth.end)


def test_the_season_makes_growth_faster_and_the_rest_earlier_and_moves_nothing_else() -> None:
    winter, summer = Growth(rate=0.5, end=40.0, season=0.8), Growth(rate=0.5, end=40.0, season=1.25)
    assert winter.speed == pytest.approx(0.4)
    assert float(length(38, winter)) == pytest.approx(4.0)
    assert float(length(38, summer)) == pytest.approx(6.25)
    assert winter.full_age == pytest.approx(28 + 100)
    assert summer.full_age == pytest.approx(28 + 64)
    assert length(500, winter) == length(500, summer) == 40.0
    assert emerged([27, 28], winter).tolist() == emerged([27, 28], summer).tolist() == [False, True]


def test_a_hair_counts_as_above_the_skin_on_the_day_of_the_lag_itself() -> None:
    assert emerged([27, 28, 29], Growth(lag=28.0)).tolist() == [False, True, True]
    assert emerged([27, 28], Growth(lag=27.5)).tolist() == [False, True]
    assert emerged([0], Growth(lag=0.0)).tolist() == [True]


def test_cut_hair_keeps_growing_from_where_it_was_cut() -> None:
    growth = Growth(lag=28.0, rate=0.5, end=40.0)
    assert length([38, 48, 108, 200], growth, 10.0) == pytest.approx([0, 0, 30, 30])
    assert length(58, growth, [0.0, 5.0, 20.0]) == pytest.approx([15, 10, 0])


def test_a_hair_is_blown_after_its_rest_that_day_included() -> None:
    growth = Growth(lag=28.0, rate=0.5, end=40.0, hold=60.0)
    assert growth.blown_age == 168.0
    assert blown([167, 168, 300], growth).tolist() == [False, True, True]


@pytest.mark.parametrize(
    ("above", "share"),
    # Upper tail of the standard normal distribution: NIST/SEMATECH e-Handbook, table 1.3.6.7.1 (from memory).
    [(0.0, 0.5), (0.5, 0.30854), (1.0, 0.15866), (1.28, 0.10027), (1.645, 0.04998), (2.0, 0.02275)],
)
def test_lengths_of_a_layer_are_normal_with_the_given_spread(above: float, share: float) -> None:
    for mean, spread in ((20.0, 0.1), (50.0, 0.25)):
        over, under = mean * (1 + above * spread), mean * (1 - above * spread)
        assert float(share_longer(over, mean, spread)) == pytest.approx(share, abs=1e-5)
        assert float(share_longer(under, mean, spread)) == pytest.approx(1 - share, abs=1e-5)


def test_a_layer_without_spread_has_one_length() -> None:
    assert share_longer([19.999, 20.001], 20.0, 0.0).tolist() == [1.0, 0.0]


def test_nothing_under_the_skin_is_longer_than_nothing_but_all_is_longer_than_less() -> None:
    assert float(share_longer(0.0, 0.0, 0.1)) == 0.0
    assert float(share_longer(-0.1, 0.0, 0.1)) == 1.0
    assert float(share_longer(0.0, 12.0, 0.1)) == pytest.approx(1.0)
    assert float(share_longer(0.02, 0.05, 0.1)) == pytest.approx(1.0)
    assert share_longer([[5.0], [15.0]], [10.0, 20.0, 0.0], 0.1).shape == (2, 3)


def test_blown_hair_is_lost_day_by_day_and_other_hair_never() -> None:
    growth = Growth(lag=28.0, rate=0.5, end=40.0, hold=60.0, loss=0.02)
    assert float(survival(0, 168, growth)) == 1.0
    assert float(survival(100, 169, growth)) == pytest.approx(0.98)
    assert float(survival(170, 180, growth)) == pytest.approx(0.98**10)
    assert float(survival(200, 190, growth)) == 1.0
    # with a hazard h a day, half of it is gone after ln 2 / -ln(1 - h) days
    half = math.log(2) / -math.log1p(-0.02)
    assert float(survival(168, 168 + half, growth)) == pytest.approx(0.5)
    assert float(survival(168, 10_000, growth.with_(loss=0.0))) == 1.0


@given(GROWTHS, AGES, AGES, AGES)
def test_standing_through_two_spans_is_standing_through_both(
    growth: Growth, a: float, b: float, c: float
) -> None:
    first, middle, last = sorted((a, b, c))
    whole = survival(first, last, growth)
    assert 0.0 <= whole <= 1.0
    assert survival(first, middle, growth) * survival(middle, last, growth) == pytest.approx(whole, abs=1e-12)


@given(GROWTHS, AGES, AGES, st.floats(0, 60))
def test_hair_never_shortens_by_itself_nor_outgrows_its_end(
    growth: Growth, a: float, b: float, removed: float
) -> None:
    young, old = sorted((a, b))
    before, after = (float(x) for x in length([young, old], growth, removed))
    assert 0.0 <= before <= after <= growth.end
    assert after - before <= growth.speed * (old - young) + 1e-9
    assert float(length(old, growth)) - after <= removed + 1e-9


@given(GROWTHS, st.lists(st.floats(0, 150), min_size=2, max_size=6), st.floats(0, 150))
def test_the_share_longer_than_a_length_falls_with_the_length(
    growth: Growth, thresholds: list[float], mean: float
) -> None:
    shares = share_longer(sorted(thresholds), mean, growth.spread)
    assert np.all(np.diff(shares) <= 1e-12)
    assert np.all((shares >= 0.0) & (shares <= 1.0))
