"""The closed forms of equal takes against the model itself, for any N, T, L and r, to 1e-9."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coatwright.coat import closed_forms, measures
from coatwright.coat.forecast import carry_out
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.errors import OutOfRange

NS = st.integers(1, 16)
TS = st.integers(3, 40)
LAGS = st.floats(5, 60)
RATES = st.floats(0.1, 1.2)


def settled(N: int, T: int, growth: Growth) -> tuple[ZoneCoat, ZoneCoat, int]:
    """The coat just before and just after a pull, and that day, long after the takes of 1/N began."""
    takes = [(T * k, 1.0 / N) for k in range(3 * N)]
    epochs = carry_out(ZoneCoat.of([Layer(-2000, 1.0)]), 0, takes, growth)
    day = takes[-1][0]
    return epochs.before(day), epochs.at(day), day


def possible(N: int, T: int, growth: Growth) -> bool:
    """Whether equal takes of 1/N leave hair above the skin to pull."""
    return math.ceil(growth.lag / T - 1e-9) < N and growth.lag <= N * T


@settings(max_examples=300, deadline=None)
@given(NS, TS, LAGS, RATES)
def test_longest_hair_and_cover(N: int, T: int, L: float, r: float) -> None:
    growth = Growth(lag=L, rate=r, end=90.0)
    assume(possible(N, T, growth))
    before, after, day = settled(N, T, growth)
    longest = before.lengths(day, growth).max()
    assert longest == pytest.approx(closed_forms.longest_before_pull(N, T, growth), abs=1e-9)
    assert measures.cover(after, day, growth) == pytest.approx(
        closed_forms.cover_after_pull(N, T, growth), abs=1e-9
    )
    assert measures.effective_layers(after, day + T - 1, growth) <= N + 1e-9


@settings(max_examples=300, deadline=None)
@given(NS, TS, LAGS, RATES)
def test_layers_for_a_length_is_the_inverse_of_the_length(N: int, T: int, L: float, r: float) -> None:
    growth = Growth(lag=L, rate=r, end=400.0)
    longest = closed_forms.longest_before_pull(N, T, growth)
    assume(0.0 < longest < 399.0)
    assert closed_forms.layers_for(longest, T, growth) == pytest.approx(N, abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(st.floats(0.05, 0.9), TS, LAGS)
def test_the_largest_even_take_keeps_the_cover_and_no_larger_one_does(f: float, T: int, L: float) -> None:
    growth = Growth(lag=L)
    take = closed_forms.largest_even_take(f, T, growth)
    hidden = max(math.ceil(L / T - 1e-9), 1)
    assert 1.0 - hidden * take == pytest.approx(f, abs=1e-9)
    visits = closed_forms.visits_to_convert(take)
    assert (visits - 1) * take < 1.0 <= visits * take + 1e-9
    assert closed_forms.days_to_convert(take, T) == (visits - 1) * T


def test_common_values() -> None:
    """Common practice, no source: two weeks at cover 0.6 is a fifth, a week at 0.5 an eighth."""
    growth = Growth()
    assert closed_forms.largest_even_take(0.6, 14, growth) == pytest.approx(0.2, abs=1e-12)
    assert closed_forms.largest_even_take(0.5, 7, growth) == pytest.approx(0.125, abs=1e-12)
    assert closed_forms.visits_to_convert(0.2) == 5
    assert closed_forms.days_to_convert(0.2, 14) == 56
    assert closed_forms.visits_to_convert(0.125) == 8


@settings(max_examples=200, deadline=None)
@given(st.floats(0, 30), st.floats(0.5, 30), LAGS, RATES)
def test_a_pulled_zone_enters_and_leaves_its_band_on_the_days_of_the_closed_form(
    lo: float, width: float, L: float, r: float
) -> None:
    from coatwright.coat.growth import length

    growth = Growth(lag=L, rate=r, end=100.0)
    first, last = closed_forms.ready_window(lo, lo + width, growth)
    assert float(length(first, growth)) == pytest.approx(lo, abs=1e-9)
    assert float(length(last, growth)) == pytest.approx(lo + width, abs=1e-9)
    assert last - first == pytest.approx(width / r, rel=1e-9)


def test_lengths_that_no_pulling_can_hold_are_refused() -> None:
    with pytest.raises(OutOfRange, match="cannot be kept at 80 mm"):
        closed_forms.layers_for(80.0, 14, Growth(end=75.0))
    with pytest.raises(OutOfRange, match="never converts"):
        closed_forms.visits_to_convert(0.0)
