"""Aims: what they refuse, what they imply, and what a rolling coat can be asked."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat import aims, measures
from coatwright.coat.aims import Aim, rolling_aim, rolling_cover, rolling_shortest, staged_aim
from coatwright.coat.closed_forms import layers_for
from coatwright.coat.forecast import carry_out
from coatwright.coat.growth import Growth
from coatwright.coat.layers import ZoneCoat
from coatwright.coat.readiness import readiness
from coatwright.errors import OutOfRange
from tests.coat.coats import TODAY

GROWTH = Growth()


@pytest.mark.parametrize(
    ("values", "what", "remedy"),
    [
        ((-1.0, 5.0), "An aim runs from -1 to 5 mm", "0 mm or more"),
        ((5.0, 5.0), "An aim runs from 5 to 5 mm", "longer than the first"),
        ((9.0, 5.0), "An aim runs from 9 to 5 mm", "longer than the first"),
        ((math.nan, 5.0), "An aim runs from nan to 5 mm", "0 mm or more"),
        ((1.0, 5.0, 1.2), "aim.cover is 1.2", "share of 0 to 1"),
        ((1.0, 5.0, -0.1), "aim.cover is -0.1", "share of 0 to 1"),
        ((1.0, 5.0, 0.5, 2.0), "aim.top is 2", "share of 0 to 1"),
        ((1.0, 5.0, 0.5, 0.2, -0.5), "aim.over is -0.5", "share of 0 to 1"),
        ((1.0, 5.0, 0.5, 0.2, 0.03, -1), "aim.quiet is -1 days", "0 days or more"),
    ],
)
def test_an_aim_that_makes_no_sense_is_refused(values: tuple[float, ...], what: str, remedy: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        Aim(*values)
    assert what in refused.value.what
    assert remedy in refused.value.remedy


def test_the_limits_themselves_are_allowed() -> None:
    loosest, strictest = Aim(0.0, 1.0, 0.0, 0.0, 1.0, 0), Aim(0.0, 1.0, 1.0, 1.0, 0.0, 0)
    assert (loosest.cover, strictest.cover, loosest.lo) == (0.0, 1.0, 0.0)
    assert Aim(10.0, 24.0).middle == 17.0


def test_what_may_be_over_never_carries_the_outline_of_the_thinnest_coat() -> None:
    """3 % of all hairs are 5 % of those in sight at cover 0.6; in a thinner coat fewer are allowed."""
    assert Aim(5, 9, cover=0.6, over=0.03).over_limit == pytest.approx(0.03)
    assert Aim(5, 9, cover=0.9, over=0.03).over_limit == pytest.approx(0.03)
    assert Aim(5, 9, cover=0.4, over=0.03).over_limit == pytest.approx(0.02)
    assert Aim(5, 9, cover=0.9, over=0.01).over_limit == pytest.approx(0.01)


def test_a_staged_coat_is_to_be_full_and_nearly_all_of_it_in_the_band() -> None:
    """Common practice: cover of about 0.9 on the day, 0.8 of the hairs in the band."""
    aim = staged_aim(13, 25, quiet=3)
    assert (aim.lo, aim.hi, aim.cover, aim.top, aim.quiet) == (13, 25, 0.9, 0.8, 3)
    assert staged_aim(13, 25).quiet == 2


# --- how short a zone can be rolled -----------------------------------------------------------------------


def test_the_shortest_rolling_coat_is_four_fortnights_of_growth() -> None:
    """56 - 28 days at 0.45 mm are 12.6 mm, and 85 % of a layer lie below 1.04 standard deviations more."""
    assert rolling_shortest(GROWTH) == pytest.approx(12.6 * 1.104)
    assert rolling_shortest(GROWTH.with_(spread=0.0)) == pytest.approx(12.6)
    assert rolling_shortest(GROWTH.with_(season=0.5)) == pytest.approx(6.3 * 1.104)
    assert rolling_shortest(GROWTH.with_(end=10.0)) == 10.0
    assert rolling_shortest(GROWTH.with_(lag=60.0)) == 0.0


@pytest.mark.parametrize(("cap", "visits"), [(1.0, 4.0), (0.5, 4.0), (0.25, 4.5), (0.2, 5.5), (0.1, 10.5)])
def test_a_zone_of_small_takes_waits_longer_for_its_turn(cap: float, visits: float) -> None:
    expected = 0.45 * (14 * visits - 28) * 1.104
    assert rolling_shortest(GROWTH, cap) == pytest.approx(expected)


def test_cover_that_equal_takes_can_hold() -> None:
    """By hand, without spread: pulls every fortnight hide two layers of N, weekly ones four; the better counts."""
    sharp = GROWTH.with_(spread=0.0)
    assert rolling_cover(0.45 * (5 * 14 - 28), sharp) == pytest.approx(0.6)  # 1 - 2/5 and 1 - 4/10
    assert rolling_cover(0.45 * (8 * 14 - 28), sharp) == pytest.approx(0.75)
    # 7 weeks from pull to pull: fortnights leave 1 - 2/3, weeks 1 - 4/7
    assert rolling_cover(0.45 * (7 * 7 - 28), sharp) == pytest.approx(3 / 7)
    # lag of 22 d: fortnights still hide two layers, 1 - 2/4; weeks hide four of eight
    assert rolling_cover(0.45 * (4 * 14 - 22), sharp.with_(lag=22.0)) == pytest.approx(0.5)
    assert rolling_cover(90.0, GROWTH) == 1.0  # hair that rests below hi need never be pulled
    assert rolling_cover(0.1, GROWTH.with_(lag=5.0)) == 0.0


def test_a_wide_band_is_asked_as_it_stands() -> None:
    aim = rolling_aim(12, 24, GROWTH, quiet=4)
    assert (aim.lo, aim.hi, aim.cover, aim.top, aim.quiet) == (12, 24, 0.6, 0.1, 4)
    assert rolling_aim(12, 24, GROWTH).quiet == 2


def test_a_short_band_ends_at_the_shortest_that_can_be_rolled_and_is_asked_less_cover() -> None:
    """The four layers of the head leave half of them hidden; nine tenths of that half are asked."""
    aim = rolling_aim(0, 4, GROWTH)
    assert (aim.lo, aim.hi) == (0, pytest.approx(12.6 * 1.104))
    assert aim.cover == pytest.approx(0.9 * 0.5)
    assert rolling_aim(0, 4, GROWTH, cover=0.4).cover == 0.4
    assert rolling_aim(2, 10, GROWTH, cap=0.2).hi == pytest.approx(0.45 * (14 * 5.5 - 28) * 1.104)


def test_a_band_begins_no_longer_than_the_hair_that_a_pull_leaves() -> None:
    """At 24 mm five layers fit; the fourth, 56 - 28 days old above the skin, is left at 12.6 mm."""
    assert rolling_aim(20, 24, GROWTH).lo == pytest.approx(12.6)
    assert rolling_aim(10, 24, GROWTH).lo == 10.0
    # at 30 mm six layers fit, since 27.2 mm take 60 days above the skin: the fifth is left, 42 days above it
    assert rolling_aim(25, 30, GROWTH).lo == pytest.approx(18.9)
    assert rolling_aim(30, 90, GROWTH).lo == 30.0  # hair that rests below hi is never due


@settings(max_examples=300, deadline=None)
@given(
    st.floats(0, 60),
    st.floats(1, 30),
    st.floats(15, 45),
    st.floats(0.2, 1.0),
    st.floats(0.0, 0.3),
    st.sampled_from([1.0, 0.25, 0.2]),
    st.floats(0.3, 0.8),
)
def test_a_rolling_aim_is_never_narrower_than_the_band_nor_asks_more_cover_than_wished(
    lo: float, width: float, lag: float, rate: float, spread: float, cap: float, cover: float
) -> None:
    growth = Growth(lag=lag, rate=rate, spread=spread)
    aim = rolling_aim(lo, lo + width, growth, cover=cover, cap=cap)
    assert aim.lo <= lo
    assert aim.hi >= lo + width
    assert aim.hi >= rolling_shortest(growth, cap)
    assert 0.0 <= aim.cover <= cover


@pytest.mark.parametrize("every", [7, 14])
@pytest.mark.parametrize("rate", [0.3, 0.45, 0.7])
@pytest.mark.parametrize("hi", [5.0, 14.0, 18.0, 24.0])
def test_equal_takes_at_rest_hold_what_a_rolling_aim_asks_on_every_day(
    every: int, rate: float, hi: float
) -> None:
    """The aim against the coats themselves, one whole round of visits, the days of the visits included.

    As many layers as keep 85 % of the longest below hi; a band that begins at half its longest.
    """
    growth = Growth(rate=rate)
    aim = rolling_aim(0.5 * hi, hi, growth)
    layers = int(layers_for(aim.hi / 1.104, every, growth) + 1e-9)
    takes = [(TODAY + every * k, 1.0 / layers) for k in range(1, 2 * layers)]
    epochs = carry_out(ZoneCoat.even(TODAY, every, layers), TODAY, takes, growth)
    for day in range(TODAY + every * layers, TODAY + every * (2 * layers - 1)):
        assert readiness(epochs.at(day), day, growth, aim).misses == (), day - TODAY


def test_a_fifth_in_the_band_is_more_than_a_single_layer_just_left_by_a_pull_can_show() -> None:
    """Why a rolling coat is asked 0.1: half of the fifth that stands at 12.6 mm is shorter than 12.6 mm."""
    coat = ZoneCoat.even(TODAY, 14, 5)
    band = Aim(12.6, 24.0)
    assert measures.in_band(coat, TODAY, GROWTH, band) == pytest.approx(aims.ROLLING_TOP, abs=1e-6)
    assert measures.in_band(coat, TODAY + 7, GROWTH, band) > 0.19
