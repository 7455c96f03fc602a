"""The model against single hairs: 40,000 of them per zone, each with its own birth and length, pulled one by one."""

import numpy as np
import pytest

from coatwright.coat import measures
from coatwright.coat.aims import Aim
from coatwright.coat.forecast import Draws, carry_out, forecast
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat

HAIRS = 40_000
BLOWN = 400


class Hairs:
    """Single hairs of one zone: birth day, and how long each is relative to the mean of its age."""

    def __init__(self, coat: ZoneCoat, growth: Growth, rng: np.random.Generator) -> None:
        counts = rng.multinomial(HAIRS, coat.shares)
        self.born = np.repeat(coat.born, counts)
        self.growth, self.rng = growth, rng
        self.factor = self._factors(HAIRS)

    def _factors(self, count: int) -> np.ndarray:
        return np.maximum(1.0 + self.growth.spread * self.rng.standard_normal(count), 0.0)

    def lengths(self, day: int) -> np.ndarray:
        g = self.growth
        return self.factor * np.clip(g.rate * (day - self.born - g.lag), 0.0, g.end)

    def visible(self, day: int) -> np.ndarray:
        return day - self.born >= self.growth.lag

    def pull(self, day: int, share: float) -> None:
        """The oldest visible hairs, whatever their single length: the layer is what the hand finds."""
        tie = self.rng.random(HAIRS)
        order = np.lexsort((tie, self.born + 1e9 * ~self.visible(day)))
        chosen = order[: round(share * HAIRS)]
        self.born[chosen] = day
        self.factor[chosen] = self._factors(len(chosen))


@pytest.mark.parametrize("seed", range(4))
def test_forecast_agrees_with_single_hairs(seed: int) -> None:
    """Cover, outline, share in the band and share over it, within four standard errors on every day looked at."""
    rng = np.random.default_rng(seed)
    growth = Growth(lag=float(rng.integers(22, 34)), rate=float(rng.uniform(0.3, 0.7)), end=60.0)
    coat = ZoneCoat.of([Layer(-BLOWN, 0.5), Layer(-90, 0.3), Layer(-40, 0.2)])
    takes = [(14 * k, float(rng.choice([0.1, 0.2, 0.25]))) for k in range(8)]
    aim = Aim(10.0, 24.0, 0.5, 0.1)
    epochs = carry_out(coat, 0, takes, growth)
    hairs = Hairs(coat, growth, rng)
    told = forecast([epochs], [growth], 0, 140, aims=[aim])
    error = 4.0 * np.sqrt(0.25 / HAIRS)
    due = dict(takes)
    for day in range(140):
        if day in due:
            hairs.pull(day, due[day])
        if day % 5:
            continue
        seen, long = hairs.visible(day), hairs.lengths(day)
        here = epochs.at(day)
        assert measures.cover(here, day, growth) == pytest.approx(seen.mean(), abs=error)
        assert told.cover[0, 0, day] == pytest.approx(seen.mean(), abs=error)
        in_band = (seen & (long >= aim.lo) & (long <= aim.hi)).mean()
        assert measures.in_band(here, day, growth, aim) == pytest.approx(in_band, abs=error)
        assert measures.overdue(here, day, growth, aim) == pytest.approx(
            (seen & ((long > aim.hi) | (day - hairs.born >= growth.blown_age))).mean(), abs=error
        )
        beyond = (long[seen] > told.outline[0, 0, day]).mean()
        assert beyond == pytest.approx(0.05, abs=4.0 * np.sqrt(0.05 * 0.95 / seen.sum()))


def test_many_draws_agree_with_one_at_a_time() -> None:
    """The vectorised forecast is the single one, draw by draw."""
    rng = np.random.default_rng(5)
    growths = [Growth(), Growth(lag=25.0, rate=0.6, end=40.0)]
    coat = ZoneCoat.of([Layer(-300, 0.7), Layer(-70, 0.3, removed=8.0)])
    epochs = [carry_out(coat, 0, [(14 * k, 0.15) for k in range(6)], g) for g in growths]
    aims = [Aim(12, 24, 0.5, 0.1), Aim(5, 15, 0.4, 0.2)]
    draws = Draws.prior(growths, 50, rng)
    many = forecast(epochs, growths, 0, 120, aims=aims, draws=draws)
    for d in range(0, 50, 7):
        for z in range(2):
            one = growths[z].with_(
                lag=float(draws.lag[d, z]), rate=float(draws.speed[d, z]), end=float(draws.end[d, z])
            )
            for day in range(0, 120, 11):
                here = epochs[z].at(day)
                assert many.cover[d, z, day] == pytest.approx(measures.cover(here, day, one), abs=1e-6)
                assert many.outline[d, z, day] == pytest.approx(measures.outline(here, day, one), abs=0.02)
                top = measures.in_band(here, day, one, aims[z])
                over = measures.overdue(here, day, one, aims[z])
                near = min(abs(top - aims[z].top), abs(over - aims[z].over_limit)) < 1e-4
                quiet = day - (epochs[z].last_pull(day) or -99) >= aims[z].quiet
                ready = (
                    measures.cover(here, day, one) >= aims[z].cover - 1e-6
                    and top >= aims[z].top
                    and over <= aims[z].over_limit
                    and quiet
                )
                assert near or many.ready[d, z, day] == ready
