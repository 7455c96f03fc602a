"""The coat forward in time: epochs, orders that are refused, draws, and the forecast's shapes and quantiles."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat import measures
from coatwright.coat.aims import Aim
from coatwright.coat.forecast import Draws, Epochs, Forecast, carry_out, forecast
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat, pull, shed
from coatwright.coat.readiness import readiness
from coatwright.errors import OutOfOrder, OutOfRange
from tests.coat.coats import GROWTHS, TODAY, coats, part_of

GROWTH = Growth(lag=28.0, rate=0.5, end=60.0)
OLD = ZoneCoat.of([Layer(TODAY - 300, 1.0)])
TAKES = [(TODAY + 14, 0.3), (TODAY + 28, 0.2)]


# --- epochs -----------------------------------------------------------------------------------------------


def test_each_pull_begins_an_epoch_that_lasts_until_the_day_before_the_next() -> None:
    epochs = carry_out(OLD, TODAY, TAKES, GROWTH)
    assert epochs.starts == (TODAY, TODAY + 14, TODAY + 28)
    assert epochs.pulls[0] is None
    assert [pulled.taken for pulled in epochs.pulls[1:]] == pytest.approx([0.3, 0.2])
    first, second, third = epochs.coats
    for day, stands in ((0, first), (13, first), (14, second), (27, second), (28, third), (400, third)):
        assert epochs.at(TODAY + day) is stands
    assert second == pull(OLD, TODAY + 14, 0.3, GROWTH).coat


def test_the_morning_of_a_pull_is_the_coat_before_it() -> None:
    epochs = carry_out(OLD, TODAY, [(TODAY, 0.1), *TAKES], GROWTH)
    assert epochs.before(TODAY + 14) is epochs.at(TODAY + 13) is epochs.coats[1]
    assert epochs.before(TODAY + 20) is epochs.at(TODAY + 20)
    assert epochs.before(TODAY) is OLD
    assert measures.cover(epochs.at(TODAY), TODAY, GROWTH) == pytest.approx(0.9)
    following = carry_out(OLD, TODAY, [(TODAY + 1, 0.1), (TODAY + 2, 0.1), (TODAY + 3, 0.1)], GROWTH)
    assert [following.before(TODAY + k) for k in (1, 2, 3)] == list(following.coats[:3])


def test_a_day_before_the_first_known_coat_has_no_coat() -> None:
    with pytest.raises(OutOfRange, match=r"before the first known coat\. Ask for a later day\."):
        carry_out(OLD, TODAY, TAKES, GROWTH).at(TODAY - 1)


def test_the_last_pull_is_the_latest_on_or_before_a_day() -> None:
    epochs = carry_out(OLD, TODAY, TAKES, GROWTH)
    assert epochs.last_pull(TODAY + 13) is None
    assert epochs.last_pull(TODAY + 14) == TODAY + 14
    assert epochs.last_pull(TODAY + 27) == TODAY + 14
    assert epochs.last_pull(TODAY + 300) == TODAY + 28


def test_an_epoch_that_only_shed_hair_is_no_pull() -> None:
    """The blown coat loses 2 % a day; on a day with a take of 0 what fell out is born again."""
    losing = GROWTH.with_(loss=0.02)
    epochs = carry_out(OLD, TODAY, [(TODAY + 10, 0.0), (TODAY + 20, 0.1)], losing)
    assert epochs.starts == (TODAY, TODAY + 10, TODAY + 20)
    assert epochs.pulls[1] is None
    assert epochs.coats[1].layers[-1] == Layer(TODAY + 10, pytest.approx(1 - 0.98**10))
    assert epochs.last_pull(TODAY + 15) is None
    assert epochs.last_pull(TODAY + 20) == TODAY + 20


def test_a_take_of_nothing_changes_nothing_where_nothing_is_lost() -> None:
    epochs = carry_out(OLD, TODAY, [(TODAY + 7, 0.0), (TODAY + 14, 0.0)], GROWTH)
    assert epochs == Epochs((TODAY,), (OLD,), (None,))


def test_broken_hair_is_carried_on() -> None:
    epochs = carry_out(OLD, TODAY, [(TODAY, 0.4)], GROWTH, broken=0.5)
    assert measures.cut_share(epochs.at(TODAY)) == pytest.approx(0.2)
    assert measures.cover(epochs.at(TODAY), TODAY, GROWTH) == pytest.approx(0.8)


@pytest.mark.parametrize(
    "takes",
    [
        [(TODAY - 1, 0.1)],
        [(TODAY + 14, 0.1), (TODAY + 7, 0.1)],
        [(TODAY + 14, 0.1), (TODAY + 14, 0.1)],
        [(TODAY, 0.1), (TODAY, 0.1)],
    ],
)
def test_takes_out_of_order_are_refused(takes: list[tuple[int, float]]) -> None:
    with pytest.raises(OutOfOrder, match="in the order of their days, one a day"):
        carry_out(OLD, TODAY, takes, GROWTH)


def test_more_than_stands_is_refused_here_too() -> None:
    with pytest.raises(OutOfRange, match="only 30 % of the zone's hairs stand"):
        carry_out(OLD, TODAY, [(TODAY, 0.7), (TODAY + 7, 0.5)], GROWTH)


@settings(max_examples=100, deadline=None)
@given(coats(), GROWTHS, st.lists(st.tuples(st.integers(1, 40), st.floats(0, 1)), max_size=8))
def test_carrying_out_is_shedding_and_pulling_visit_by_visit(
    coat: ZoneCoat, growth: Growth, visits: list[tuple[int, float]]
) -> None:
    by_hand, day, takes = coat, TODAY, []
    for later, part in visits:
        by_hand = shed(by_hand, day, day + later, growth)
        day += later
        share = part_of(measures.cover(by_hand, day, growth), part)
        takes.append((day, share))
        by_hand = pull(by_hand, day, share, growth).coat
    end = carry_out(coat, TODAY, takes, growth).at(day)
    assert np.array_equal(end.born, by_hand.born)
    assert end.shares == pytest.approx(by_hand.shares, abs=1e-9)
    assert end.removed == pytest.approx(by_hand.removed)


# --- draws ------------------------------------------------------------------------------------------------


def test_one_certain_draw_is_the_growths_themselves() -> None:
    growths = [GROWTH, Growth(lag=20.0, rate=0.4, end=30.0, season=1.5)]
    draws = Draws.certain(growths)
    assert len(draws) == 1
    assert draws.lag.tolist() == [[28.0, 20.0]]
    assert draws.speed == pytest.approx(np.array([[0.5, 0.6]]))
    assert draws.end.tolist() == [[60.0, 30.0]]


def test_prior_draws_have_the_spreads_asked_and_move_all_zones_of_a_dog_together() -> None:
    growths = [GROWTH, GROWTH.with_(lag=20.0, rate=0.25)]
    draws = Draws.prior(
        growths, 40_000, np.random.default_rng(3), lag_sd=4.0, rate_log_sd=0.3, end_log_sd=0.2
    )
    assert draws.lag.shape == draws.speed.shape == draws.end.shape == (40_000, 2)
    # standard error of a mean of 40,000 is a two-hundredth of the spread; of a spread, a 283rd of it
    assert draws.lag.mean(axis=0) == pytest.approx([28.0, 20.0], abs=4 * 4.0 / 200)
    assert draws.lag.std(axis=0) == pytest.approx([4.0, 4.0], rel=4 / 283)
    assert np.log(draws.speed).mean(axis=0) == pytest.approx(np.log([0.5, 0.25]), abs=4 * 0.3 / 200)
    assert np.log(draws.speed).std(axis=0) == pytest.approx([0.3, 0.3], rel=4 / 283)
    assert np.log(draws.end).mean(axis=0) == pytest.approx(np.log([60.0, 60.0]), abs=4 * 0.2 / 200)
    assert np.log(draws.end).std(axis=0) == pytest.approx([0.2, 0.2], rel=4 / 283)
    assert draws.speed[:, 0] / draws.speed[:, 1] == pytest.approx(np.full(40_000, 2.0))
    assert draws.lag[:, 0] - draws.lag[:, 1] == pytest.approx(np.full(40_000, 8.0))
    # the three are drawn apart
    together = np.corrcoef([draws.lag[:, 0], np.log(draws.speed[:, 0]), np.log(draws.end[:, 0])])
    assert np.abs(together[np.triu_indices(3, 1)]).max() < 4 / 200


def test_the_same_generator_gives_the_same_draws_and_no_lag_is_shorter_than_a_day() -> None:
    one, two = (Draws.prior([GROWTH], 200, np.random.default_rng(8), lag_sd=30.0) for _ in range(2))
    assert np.array_equal(one.lag, two.lag)
    assert np.array_equal(one.speed, two.speed)
    assert np.array_equal(one.end, two.end)
    assert one.lag.min() == 1.0


# --- forecasts --------------------------------------------------------------------------------------------


def test_a_forecast_has_a_value_for_every_draw_zone_and_day() -> None:
    epochs = [carry_out(OLD, TODAY, takes, GROWTH) for takes in ([], TAKES, TAKES[:1])]
    draws = Draws.prior([GROWTH] * 3, 7, np.random.default_rng(1))
    told = forecast(epochs, [GROWTH] * 3, TODAY + 5, 40, draws=draws)
    assert told.cover.shape == told.outline.shape == told.ready.shape == (7, 3, 40)
    assert told.days == range(TODAY + 5, TODAY + 45)
    assert told.chance().shape == (3, 40)
    assert told.dog_chance().shape == (40,)
    assert told.ready.all()  # nothing is asked of these zones


@pytest.mark.parametrize("count", [1, 2, 3, 5, 13])
def test_every_draw_is_worked_on_however_many_there_are(count: int) -> None:
    """Draws are shared out between processors: none is left out or worked on as another."""
    epochs = [carry_out(OLD, TODAY, TAKES[:1], GROWTH)]
    lag = np.linspace(10.0, 40.0, count)[:, None]
    draws = Draws(lag, np.full((count, 1), 0.5), np.full((count, 1), 60.0))
    told = forecast(epochs, [GROWTH], TODAY, 80, draws=draws)
    hidden = (told.cover[:, 0] < 0.9).sum(axis=1)  # a day for each day of the lag, begun or whole
    assert hidden.tolist() == np.ceil(lag[:, 0]).astype(int).tolist()


def test_what_cannot_be_forecast_is_refused() -> None:
    epochs = [carry_out(OLD, TODAY, TAKES, GROWTH)]
    with pytest.raises(OutOfRange, match=r"A forecast of 0 days was asked for\. Ask for at least one day\."):
        forecast(epochs, [GROWTH], TODAY, 0)
    late = [*epochs, carry_out(OLD, TODAY + 1, [], GROWTH)]
    with pytest.raises(OutOfRange, match=r"starts before the first known coat\. Start it later\."):
        forecast(late, [GROWTH] * 2, TODAY, 10)
    assert forecast(late, [GROWTH] * 2, TODAY + 1, 1).cover.shape == (1, 2, 1)


def told_by(ready: list[list[list[bool]]]) -> Forecast:
    """A forecast in which only readiness matters; ``ready`` by draw, zone and day."""
    flags = np.array(ready)
    values = np.arange(flags.size, dtype=np.float32).reshape(flags.shape)
    return Forecast(TODAY, values, 10 * values, flags)


def test_chances_are_shares_of_draws_zone_by_zone_and_of_the_whole_dog() -> None:
    told = told_by(
        [
            [[True, False], [True, True]],
            [[True, True], [False, True]],
            [[False, True], [True, True]],
            [[True, True], [True, True]],
        ]
    )
    assert told.chance() == pytest.approx(np.array([[0.75, 0.75], [0.75, 1.0]]))
    assert told.dog_chance() == pytest.approx([0.5, 0.75])
    assert told.dog_chance([0]) == pytest.approx([0.75, 0.75])
    assert told.dog_chance([1]) == pytest.approx([0.75, 1.0])
    assert told.dog_chance([]) == pytest.approx([1.0, 1.0])


def test_a_band_is_made_of_quantiles_over_the_draws() -> None:
    """Cover of the first zone and day is 0, 4, 8, ..., 40 over eleven draws; the outline ten times that."""
    told = told_by([[[True, True], [True, True]]] * 11)
    lower, middle, upper = told.band("cover")
    assert lower.shape == middle.shape == upper.shape == (2, 2)
    assert (lower[0, 0], middle[0, 0], upper[0, 0]) == pytest.approx((4.0, 20.0, 36.0))
    assert (lower[1, 1], middle[1, 1], upper[1, 1]) == pytest.approx((7.0, 23.0, 39.0))
    wider = told.band("outline", 0.0, 1.0)
    assert [float(part[0, 0]) for part in wider] == pytest.approx([0.0, 200.0, 400.0])


def test_the_slack_is_what_readiness_forgives() -> None:
    aim = Aim(5.0, 59.0, cover=0.75, top=0.1, over=0.05, quiet=0)
    coat = ZoneCoat.of([Layer(TODAY - 80, 0.74), Layer(TODAY - 5, 0.26)])
    epochs = [carry_out(coat, TODAY, [], GROWTH)]
    for slack, expected in ((1e-6, False), (0.009, False), (0.011, True)):
        told = forecast(epochs, [GROWTH], TODAY, 1, aims=[aim], slack=slack)
        assert bool(told.ready[0, 0, 0]) is expected


def near_call(coat: ZoneCoat, day: int, growth: Growth, aim: Aim) -> bool:
    """Whether the last digits decide: a limit just met, or hair without spread as long as the band's end."""
    found = readiness(coat, day, growth, aim)
    gaps = [found.cover - aim.cover, found.in_band - aim.top, found.overdue - aim.over_limit]
    if growth.spread == 0.0:
        lengths = coat.lengths(day, growth)
        gaps += [*(lengths - aim.lo), *(lengths - aim.hi)]
    return bool(np.abs(gaps).min() < 1e-4)


@settings(max_examples=80, deadline=None)
@given(
    coats(),
    GROWTHS,
    st.lists(st.floats(0, 0.5), max_size=5),
    st.floats(0, 30),
    st.floats(1, 30),
    st.floats(0.2, 0.9),
    st.integers(0, 4),
)
def test_a_forecast_is_what_the_measures_say_day_by_day(
    coat: ZoneCoat,
    growth: Growth,
    parts: list[float],
    lo: float,
    width: float,
    cover: float,
    quiet: int,
) -> None:
    """Cut hair, no spread, lost hair and all: cover to 1e-6, the outline to 0.05 mm, readiness but for near calls."""
    aim = Aim(lo, lo + width, cover=cover, top=0.1, quiet=quiet)
    takes, day = [], TODAY
    for part in parts:
        stands = measures.cover(
            shed(carry_out(coat, TODAY, takes, growth).at(day), day - 13, day, growth), day, growth
        )
        takes.append((day, part_of(stands, 0.9 * part)))
        day += 13
    epochs = carry_out(coat, TODAY, takes, growth)
    told = forecast([epochs], [growth], TODAY, 120, aims=[aim])
    for t in range(0, 120, 3):
        day = TODAY + t
        here = epochs.at(day)
        expected = readiness(here, day, growth, aim, last_pull=epochs.last_pull(day))
        assert told.cover[0, 0, t] == pytest.approx(expected.cover, abs=1e-6)
        assert told.outline[0, 0, t] == pytest.approx(expected.outline, abs=0.05)
        assert near_call(here, day, growth, aim) or bool(told.ready[0, 0, t]) is expected.ready


def test_days_after_a_pull_are_quiet_days_and_days_after_shedding_are_not() -> None:
    """Ready but for the two days from each pull on: the first epoch began without one, as did that of lost hair."""
    aim = Aim(5.0, 70.0, cover=0.3, top=0.1, over=1.0, quiet=2)
    losing = GROWTH.with_(loss=0.02)
    coat = ZoneCoat.of([Layer(TODAY - 300, 0.01), Layer(TODAY - 60, 0.99)])
    epochs = carry_out(coat, TODAY, [(TODAY + 5, 0.0), (TODAY + 10, 0.1), (TODAY + 11, 0.1)], losing)
    assert len(epochs.starts) == 4
    told = forecast([epochs], [losing], TODAY, 16, aims=[aim])
    found = [readiness(epochs.at(d), d, losing, aim, last_pull=epochs.last_pull(d)) for d in told.days]
    assert [day - TODAY for day, one in zip(told.days, found, strict=True) if one.misses] == [10, 11, 12]
    assert np.flatnonzero(~told.ready[0, 0]).tolist() == [10, 11, 12]


@pytest.mark.parametrize("spread", [0.05, 0.1, 0.2])
def test_the_outline_of_a_full_strip_stays_true_from_the_first_tenth_of_a_millimetre_on(
    spread: float,
) -> None:
    """One layer alone carries the outline for months: what is read off short hair must hold when it is long."""
    growth = GROWTH.with_(spread=spread, end=100.0)
    epochs = carry_out(OLD, TODAY, [(TODAY, 1.0)], growth)
    draws = Draws.prior([growth], 20, np.random.default_rng(2))
    told = forecast([epochs], [growth], TODAY, 300, draws=draws)
    for d in range(20):
        one = growth.with_(
            lag=float(draws.lag[d, 0]), rate=float(draws.speed[d, 0]), end=float(draws.end[d, 0])
        )
        for t in range(20, 300, 9):
            expected = measures.outline(epochs.at(TODAY + t), TODAY + t, one)
            assert told.outline[d, 0, t] == pytest.approx(expected, abs=0.05)


def test_hair_that_falls_out_after_a_pull_does_not_end_its_quiet_days() -> None:
    """A visit without take a day after a pull: what was lost is born again, and quiet still counts from the pull."""
    growth = Growth(rate=0.5, end=60.0, loss=0.02)
    aim = Aim(5.0, 70.0, 0.3, 0.1, 1.0, quiet=2)
    epochs = carry_out(
        ZoneCoat.of([Layer(-300, 0.01), Layer(-60, 0.99)]), 0, [(10, 0.005), (11, 0.0)], growth
    )
    assert epochs.starts == (0, 10, 11)
    told = forecast([epochs], [growth], 0, 16, aims=[aim]).ready[0, 0]
    judged = [readiness(epochs.at(d), d, growth, aim, last_pull=epochs.last_pull(d)).ready for d in range(16)]
    assert list(told) == judged
    assert not told[11]
