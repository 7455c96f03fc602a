"""A zone against its aim: each limit by its name and amount, and the runs of ready days."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat.aims import Aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.coat.readiness import dog_ready, readiness, windows
from tests.coat.coats import GROWTHS, TODAY, coats

GROWTH = Growth(lag=28.0, rate=0.5, end=60.0, spread=0.0)
AIM = Aim(10.0, 20.0, cover=0.6, top=0.2, over=0.03, quiet=2)


def coat_of(*layers: tuple[int, float]) -> ZoneCoat:
    """Layers as (days since the pull, share)."""
    return ZoneCoat.of(Layer(TODAY - age, share) for age, share in layers)


READY = coat_of((60, 0.4), (40, 0.4), (10, 0.2))
"""40 % of 16 mm, 40 % of 6 mm, 20 % under the skin."""


def test_a_zone_that_is_what_its_aim_asks_misses_nothing_and_tells_what_it_is() -> None:
    found = readiness(READY, TODAY, GROWTH, AIM, last_pull=TODAY - 10)
    assert found.ready
    assert found.misses == ()
    assert (found.day, found.quiet) == (TODAY, 10)
    assert found.cover == pytest.approx(0.8)
    assert found.in_band == pytest.approx(0.4)
    assert found.overdue == 0.0
    assert found.outline == pytest.approx(16.0, abs=1e-5)


@pytest.mark.parametrize(
    ("coat", "last_pull", "limit", "by"),
    [
        (coat_of((60, 0.3), (40, 0.2), (10, 0.5)), None, "cover", 0.1),
        (coat_of((60, 0.15), (40, 0.85)), None, "top", 0.05),
        (coat_of((100, 0.05), (60, 0.95)), None, "over", 0.02),
        (READY, TODAY, "quiet", 2),
        (READY, TODAY - 1, "quiet", 1),
    ],
)
def test_each_limit_that_is_missed_is_named_with_its_amount(
    coat: ZoneCoat, last_pull: int | None, limit: str, by: float
) -> None:
    found = readiness(coat, TODAY, GROWTH, AIM, last_pull=last_pull)
    assert not found.ready
    assert found.misses == ((limit, pytest.approx(by)),)


def test_all_that_is_missed_is_told_in_one_order() -> None:
    coat = coat_of((100, 0.3), (10, 0.7))
    found = readiness(coat, TODAY, GROWTH, AIM, last_pull=TODAY)
    assert [name for name, _ in found.misses] == ["cover", "top", "over", "quiet"]
    assert dict(found.misses) == pytest.approx({"cover": 0.3, "top": 0.2, "over": 0.27, "quiet": 2})


def test_the_quiet_days_are_over_on_the_last_of_them() -> None:
    assert readiness(READY, TODAY, GROWTH, AIM, last_pull=TODAY - 2).ready
    assert readiness(READY, TODAY, GROWTH, AIM, last_pull=None).quiet is None


def test_a_blown_coat_of_the_right_length_is_not_ready() -> None:
    growth = GROWTH.with_(end=15.0)
    found = readiness(coat_of((400, 1.0)), TODAY, growth, AIM)
    assert found.in_band == pytest.approx(1.0)
    assert dict(found.misses) == pytest.approx({"over": 0.97})


def test_the_slack_forgives_what_is_no_larger() -> None:
    coat = coat_of((60, 0.3), (40, 0.29), (10, 0.41))
    assert not readiness(coat, TODAY, GROWTH, AIM).ready
    assert not readiness(coat, TODAY, GROWTH, AIM, slack=0.009).ready
    assert readiness(coat, TODAY, GROWTH, AIM, slack=0.011).ready


@settings(max_examples=300, deadline=None)
@given(coats(), GROWTHS, st.integers(0, 150), st.floats(0, 25), st.floats(2, 25), st.floats(0.3, 0.9))
def test_where_the_limits_hold_the_outline_lies_in_the_band(
    coat: ZoneCoat, growth: Growth, later: int, lo: float, width: float, cover: float
) -> None:
    """The outline is no limit of its own: at most 5 % of the visible are over, and more than 5 % reach lo."""
    aim = Aim(lo, lo + width, cover=cover, top=0.1, quiet=0)
    found = readiness(coat, TODAY + later, growth, aim)
    if found.ready:
        assert found.outline <= aim.hi + 1e-3
        assert found.outline >= aim.lo - 1e-3


def test_ready_days_make_windows() -> None:
    days = range(TODAY, TODAY + 9)
    flags = [True, True, False, True, False, False, True, True, True]
    assert windows(days, flags) == [(TODAY, TODAY + 1), (TODAY + 3, TODAY + 3), (TODAY + 6, TODAY + 8)]
    assert windows(days, [False] * 9) == []
    assert windows([], []) == []
    with pytest.raises(ValueError, match="shorter"):
        windows(days, flags[:-1])


@given(st.lists(st.booleans(), max_size=40))
def test_windows_hold_exactly_the_ready_days_and_do_not_touch(flags: list[bool]) -> None:
    runs = windows(range(len(flags)), flags)
    inside = {day for first, last in runs for day in range(first, last + 1)}
    assert inside == {day for day, flag in enumerate(flags) if flag}
    assert all(b[0] - a[1] >= 2 for a, b in pairwise(runs))


def test_a_dog_is_ready_when_every_zone_is() -> None:
    good = readiness(READY, TODAY, GROWTH, AIM)
    bad = readiness(coat_of((10, 1.0)), TODAY, GROWTH, AIM)
    assert dog_ready({"back": good, "ribs": good})
    assert not dog_ready({"back": good, "ribs": bad})
