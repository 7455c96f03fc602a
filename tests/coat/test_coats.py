"""Growth, layers, what is seen of them, aims and readiness: laws, edges and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat import measures
from coatwright.coat.aims import Aim, rolling_aim, rolling_cover, rolling_shortest, staged_aim
from coatwright.coat.forecast import carry_out, forecast
from coatwright.coat.growth import Growth, blown, emerged, length, share_longer, survival
from coatwright.coat.layers import STUB_MM, Layer, ZoneCoat, card, cut, pull, shed
from coatwright.coat.readiness import dog_ready, readiness, windows
from coatwright.errors import OutOfOrder, OutOfRange

FULL = ZoneCoat.of([Layer(-300, 1.0)])


def layered(seed: int) -> ZoneCoat:
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 7))
    born = -rng.integers(1, 300, count)
    shares = rng.dirichlet(np.ones(count))
    cuts = rng.choice([0.0, 4.0], count)
    return ZoneCoat.of(Layer(int(b), float(s), float(x)) for b, s, x in zip(born, shares, cuts, strict=True))


SEEDS = st.integers(0, 10_000)


def test_a_hair_waits_then_grows_evenly_then_rests() -> None:
    growth = Growth(lag=30, rate=0.5, end=40)
    assert length([0, 29, 30, 40, 110, 500], growth) == pytest.approx([0, 0, 0, 5, 40, 40])
    assert list(emerged([29, 30, 31], growth)) == [False, True, True]
    assert growth.full_age == 110
    assert growth.blown_age == 170
    assert list(blown([169, 170], growth)) == [False, True]


def test_the_season_changes_the_rate_and_nothing_else() -> None:
    slow = Growth(season=0.8)
    assert float(length(128, slow)) == pytest.approx(0.8 * float(length(128, Growth())))
    assert list(emerged([27, 28], slow)) == [False, True]
    assert float(length(900, slow)) == slow.end


def test_lengths_spread_about_the_mean() -> None:
    assert float(share_longer(10.0, 10.0, 0.1)) == pytest.approx(0.5)
    assert float(share_longer(11.0, 10.0, 0.1)) == pytest.approx(0.1587, abs=1e-4)  # one sd of the normal law
    assert float(share_longer(-1.0, 0.0, 0.1)) == 1.0
    assert float(share_longer(0.0, 0.0, 0.1)) == 0.0


def test_blown_hair_is_lost_day_by_day() -> None:
    growth = Growth(loss=0.01)
    start = growth.blown_age
    assert float(survival(start, start + 10, growth)) == pytest.approx(0.99**10)
    assert float(survival(0, start, growth)) == 1.0
    coat = shed(FULL, -80, 0, growth)
    lost = 1.0 - 0.99 ** (300 - max(220.0, growth.blown_age))
    assert coat.layers[-1].born == 0
    assert coat.layers[-1].share == pytest.approx(lost)
    assert shed(FULL, -80, 0, Growth()) is FULL


@pytest.mark.parametrize(
    ("name", "value"), [("lag", -1), ("rate", 0.0), ("end", 0.5), ("spread", 0.9), ("loss", 2.0)]
)
def test_growth_outside_its_limits_is_refused(name: str, value: float) -> None:
    with pytest.raises(OutOfRange, match=f"growth.{name}.*must lie between"):
        Growth(**{name: value})


@pytest.mark.parametrize(
    ("layers", "text"),
    [
        ((), "no hair left"),
        ((Layer(0, 0.5),), "50.0 %"),
        ((Layer(0, 1.4),), "140 %"),
        ((Layer(0, 1.0, -3.0),), "-3 mm"),
    ],
)
def test_a_coat_that_cannot_be_is_refused(layers: tuple, text: str) -> None:
    with pytest.raises(OutOfRange, match=text):
        ZoneCoat(layers)


def test_an_unknown_undercoat_is_refused() -> None:
    with pytest.raises(OutOfRange, match="thick"):
        ZoneCoat((Layer(0, 1.0),), "thick")


@settings(max_examples=150, deadline=None)
@given(SEEDS, st.floats(0, 1), st.floats(0, 1), st.floats(0, 0.5))
def test_a_pull_keeps_every_hair_and_never_lengthens_the_outline(
    seed: int, part: float, selectivity: float, broken: float
) -> None:
    coat, growth = layered(seed), Growth()
    standing = measures.cover(coat, 0, growth)
    done = pull(coat, 0, part * standing, growth, selectivity=selectivity, broken=broken)
    assert done.coat.shares.sum() == pytest.approx(1.0)
    assert done.taken == pytest.approx(part * standing, abs=1e-9)
    assert measures.cover(done.coat, 0, growth) <= standing + 1e-9
    assert 0.0 <= measures.cut_share(done.coat) <= 1.0
    if selectivity == 1.0 and not coat.removed.any():
        assert measures.outline(done.coat, 0, growth) <= measures.outline(coat, 0, growth) + 1e-6


@pytest.mark.parametrize("seed", [84, 171])
def test_all_that_stands_may_be_pulled_whatever_the_last_digit(seed: int) -> None:
    """Five or more shares may add up to a last digit above 1; that cover is still a take that can be given."""
    coat = layered(seed)
    done = pull(coat, 0, measures.cover(coat, 0, Growth()), Growth(), selectivity=0.0)
    assert done.taken == pytest.approx(1.0)
    assert measures.cut_share(coat) <= 1.0


def test_the_oldest_go_first_and_cut_hair_with_its_age() -> None:
    coat = ZoneCoat.of([Layer(-200, 0.3, removed=40.0), Layer(-100, 0.4), Layer(-60, 0.3)])
    after = pull(coat, 0, 0.4, Growth()).coat
    left = {layer.born: layer.share for layer in after.layers}
    assert left == pytest.approx({-100: 0.3, -60: 0.3, 0: 0.4})


def test_broken_hair_keeps_its_age_and_stands_as_a_blunt_stub() -> None:
    growth = Growth()
    done = pull(FULL, 0, 0.5, growth, broken=0.2)
    stub = next(layer for layer in done.coat.layers if layer.cut)
    assert stub.born == -300
    assert stub.share == pytest.approx(0.1)
    assert float(length(300, growth, stub.removed)) == pytest.approx(STUB_MM)
    assert done.broken == pytest.approx(0.1)
    assert done.taken == pytest.approx(0.5)


def test_more_than_stands_is_refused_but_for_one_per_cent() -> None:
    coat = ZoneCoat.of([Layer(-300, 0.8), Layer(-7, 0.2)])
    with pytest.raises(OutOfRange, match=r"85 % but only 80 %.*Take less"):
        pull(coat, 0, 0.85, Growth())
    assert pull(coat, 0, 0.805, Growth()).taken == pytest.approx(0.8)
    with pytest.raises(OutOfRange, match="140 %"):
        pull(coat, 0, 1.4, Growth())
    with pytest.raises(OutOfRange, match="order of their dates"):
        pull(coat, -100, 0.2, Growth())


def test_scissors_keep_the_age_and_blunt_what_they_meet() -> None:
    coat = ZoneCoat.of([Layer(-300, 0.5), Layer(-40, 0.5)])
    growth = Growth()
    after = cut(coat, 0, 15.0, growth)
    assert after.lengths(0, growth) == pytest.approx([15.0, 5.4])
    assert measures.cut_share(after) == pytest.approx(0.5)
    assert after.lengths(20, growth)[1] == pytest.approx(14.4)  # goes on growing as before
    with pytest.raises(OutOfRange, match="-1 mm"):
        cut(coat, 0, -1.0, growth)
    assert card(ZoneCoat(coat.layers, "packed")).undercoat == "some"
    assert card(ZoneCoat(coat.layers, "none")).undercoat == "none"


@settings(max_examples=100, deadline=None)
@given(SEEDS)
def test_five_per_cent_of_the_visible_hairs_exceed_the_outline(seed: int) -> None:
    coat, growth = layered(seed), Growth()
    seen = measures.cover(coat, 0, growth)
    line = measures.outline(coat, 0, growth)
    visible = emerged(-coat.born, growth)
    over = float((coat.shares * visible) @ share_longer(line, coat.lengths(0, growth), growth.spread))
    if line > 1e-6:
        assert over == pytest.approx(0.05 * seen, abs=1e-4)
    assert 0.0 <= seen <= 1.0
    assert measures.effective_layers(coat, 0, growth) <= len(coat.layers) + 1e-9


def test_a_stricter_length_makes_the_cover_thinner() -> None:
    coat, growth = ZoneCoat.of([Layer(-30, 0.5), Layer(-200, 0.5)]), Growth()
    assert measures.cover(coat, 0, growth) == 1.0
    assert measures.cover(coat, 0, growth, stricter_than=5.0) == pytest.approx(0.5, abs=1e-6)


def test_even_layers_count_as_many_as_they_are() -> None:
    coat = ZoneCoat.even(0, 14, 5)
    assert measures.effective_layers(coat, 28, Growth()) == pytest.approx(5.0)
    assert measures.effective_layers(coat, 27, Growth()) == pytest.approx(4.0)


def test_each_limit_that_fails_is_named_with_how_much() -> None:
    growth, aim = Growth(), Aim(13, 25, 0.6, 0.2)
    bare = readiness(ZoneCoat.of([Layer(0, 0.7), Layer(-70, 0.3)]), 5, growth, aim, last_pull=4)
    assert dict(bare.misses) == pytest.approx({"cover": 0.3, "quiet": 1})
    old = readiness(FULL, 0, growth, aim)
    assert {name for name, _ in old.misses} == {"top", "over"}
    assert not old.ready
    good = readiness(ZoneCoat.of([Layer(-70, 1.0)]), 0, growth, aim)
    assert good.ready
    assert 13 <= good.outline <= 25
    assert dog_ready({"back": good})
    assert not dog_ready({"back": good, "ribs": old})


def test_runs_of_ready_days_are_windows() -> None:
    days = range(10, 18)
    flags = [True, True, False, True, False, False, True, True]
    assert windows(days, flags) == [(10, 11), (13, 13), (16, 17)]


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ((25, 13), "from 25 to 13 mm"),
        ((-1, 5), "from -1"),
        ((1, 5, 1.2), "aim.cover"),
        ((1, 5, 0.6, 0.2, 0.03, -1), "quiet"),
    ],
)
def test_an_aim_that_makes_no_sense_is_refused(values: tuple, text: str) -> None:
    with pytest.raises(OutOfRange, match=text):
        Aim(*values)


def test_a_rolled_aim_asks_for_what_can_be_had() -> None:
    """The closed forms of equal takes at every two weeks: four layers keep 12.6 mm hair and leave 6.3 mm."""
    growth = Growth()
    head = rolling_aim(0, 5, growth)
    assert head.hi == pytest.approx(12.6 * 1.104)
    assert head.cover == pytest.approx(0.9 * 0.5)
    jacket = rolling_aim(13, 25, growth)
    assert (jacket.hi, jacket.cover) == (25, 0.6)
    assert jacket.lo == pytest.approx(12.6)
    assert rolling_shortest(growth, 0.25) > rolling_shortest(growth)
    assert rolling_cover(200.0, growth) == 1.0
    assert staged_aim(13, 25).cover == 0.9


def test_epochs_know_the_coat_before_and_after_a_pull() -> None:
    epochs = carry_out(FULL, 0, [(14, 0.2), (28, 0.0), (42, 0.3)], Growth())
    assert epochs.starts == (0, 14, 42)
    assert epochs.before(14) is epochs.at(13)
    assert epochs.at(14).layers[-1] == Layer(14, 0.2)
    assert epochs.last_pull(41) == 14
    assert epochs.last_pull(13) is None
    with pytest.raises(OutOfOrder, match="order of their days"):
        carry_out(FULL, 0, [(14, 0.2), (7, 0.2)], Growth())
    with pytest.raises(OutOfRange, match="before the first known coat"):
        epochs.at(-1)


def test_a_forecast_has_a_day_and_a_first_coat() -> None:
    epochs = [carry_out(FULL, 0, [(14, 0.2)], Growth())]
    told = forecast(epochs, [Growth()], 0, 40)
    assert told.cover.shape == told.outline.shape == told.ready.shape == (1, 1, 40)
    assert told.days == range(40)
    assert told.ready.all()  # without an aim nothing is asked
    assert told.dog_chance() == pytest.approx(np.ones(40))
    low, middle, high = told.band("cover")
    assert low == pytest.approx(high)
    assert middle[0, 20] == pytest.approx(0.8)
    with pytest.raises(OutOfRange, match="at least one day"):
        forecast(epochs, [Growth()], 0, 0)
    with pytest.raises(OutOfRange, match="before the first known coat"):
        forecast(epochs, [Growth()], -5, 10)


def test_without_spread_the_outline_is_the_longest_layer() -> None:
    growth = Growth(spread=0.0)
    told = forecast([carry_out(ZoneCoat.even(0, 14, 5), 0, [], growth)], [growth], 28, 20)
    expected = [float(length(56 + day, growth)) for day in range(28, 48)]
    assert told.outline[0, 0] == pytest.approx(expected, abs=0.05)
