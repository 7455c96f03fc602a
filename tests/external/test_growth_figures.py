"""Published figures of growing hair put into the model, or held against what its prior holds for likely.

Each source stands beside its check, with whether it was read or is told from memory. Figures of man try the
arithmetic of pulls and forecasts; they say nothing about dogs.
"""

import numpy as np
import pytest

from coatwright.coat.aims import Aim
from coatwright.coat.forecast import Draws, carry_out, forecast
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat, cut
from coatwright.coat.readiness import windows
from coatwright.patterns import body_surface

TODAY = 740_000
OLD = ZoneCoat.of([Layer(TODAY - 900, 1.0)])


# --- man --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lag", "rate", "first", "last"),
    [
        (129, 0.30, 163, 195),  # crown: 129 + 10 / 0.30 = 162.3 and 129 + 20 / 0.30 = 195.7
        (
            121,
            0.16,
            184,
            245,
        ),  # thigh: 121 + 10 / 0.16 = 183.5 and 121 + 20 / 0.16 = 246 (then half is longer)
        (64, 0.14, 136, 206),  # eyebrow: 64 + 10 / 0.14 = 135.4 and 64 + 20 / 0.14 = 206.9
    ],
)
def test_plucked_human_hair_measures_one_to_two_centimetres_on_the_days_of_its_figures(
    lag: int, rate: float, first: int, last: int
) -> None:
    """Days by hand from re-emergence of 90 % of plucked follicles and growth in young adults, mm/d.

    Myers & Hamilton 1951, Ann NY Acad Sci 53:562-568 (read). The model lets all hair break through on one day,
    here the one by which nine tenths had. Everything is pulled, and the forecast asked for its ready days.
    """
    growth = Growth(lag=lag, rate=rate, end=60.0, spread=0.0)
    epochs = carry_out(OLD, TODAY, [(TODAY, 1.0)], growth)
    told = forecast([epochs], [growth], TODAY, 260, aims=[Aim(10.0, 20.0, 0.9, 0.9, quiet=0)])
    assert windows(range(260), told.ready[0, 0]) == [(first, last)]
    assert told.cover[0, 0, [lag - 1, lag]] == pytest.approx([0.0, 1.0])


@pytest.mark.parametrize(("mean", "sd"), [(0.280, 0.050), (0.367, 0.056), (0.411, 0.053)])
def test_the_prior_is_wider_than_people_differ(mean: float, sd: float) -> None:
    """Growth of scalp hair in three groups, mm/d: Loussouarn et al. 2005 (read).

    Nothing is known of how dogs differ, so the prior must not be surer than people are alike: the middle two
    thirds of its draws round each group's mean reach beyond the group's own mean give or take its sd.
    """
    draws = Draws.prior([Growth(rate=mean)], 20_000, np.random.default_rng(5)).speed[:, 0]
    low, high = np.quantile(draws, [0.1587, 0.8413])
    assert low < mean - sd
    assert high > mean + sd


# --- dogs -------------------------------------------------------------------------------------------------


def test_the_prior_of_the_rate_reaches_as_far_as_textbook_and_practice_and_little_further() -> None:
    """0.34-0.40 mm/d (Muller & Kirk, ch. 1, from memory) and the 0.25-0.9 that show practice implies (club texts).

    The textbook range lies in the middle half of the draws or next to it; practice is their middle 95 %.
    """
    draws = Draws.prior([Growth()], 40_000, np.random.default_rng(6)).speed[:, 0]
    outer, inner = np.quantile(draws, [0.025, 0.975]), np.quantile(draws, [0.15, 0.85])
    assert outer == pytest.approx([0.25, 0.9], rel=0.12)
    assert inner[0] < 0.34
    assert inner[1] > 0.40


DIAZ = {"spring": 5.2, "summer": 6.1, "autumn": 9.5, "winter": 5.3}
"""Resting hairs for each growing one, Labrador thigh (Diaz et al. 2004, Vet Dermatol 15:25-30, read)."""


def test_a_patch_of_growing_and_resting_hair_lengthens_as_slowly_as_was_measured() -> None:
    """0.065 mm/d over all hairs of a patch, 13 dogs: Schuldenfrei & Pieper 2020, doi 10.1111/vde.12836 (read).

    With the growing shares of Diaz et al. and the prior's 0.45 mm/d of a growing hair, the mean length of the
    model's patch rises by nearly as much: the two findings agree, and the small figure is no growing hair's.
    """
    growth = Growth()
    risen = []
    for resting in DIAZ.values():
        growing = 1.0 / (1.0 + resting)
        patch = ZoneCoat.of([Layer(TODAY - 400, 1.0 - growing), Layer(TODAY - 60, growing)])
        clipped = cut(patch, TODAY, 1.0, growth)
        mean = [float(clipped.shares @ clipped.lengths(day, growth)) for day in (TODAY, TODAY + 30)]
        risen.append((mean[1] - mean[0]) / 30)
    assert np.mean(risen) == pytest.approx(0.065, rel=0.15)
    assert max(risen) < 0.2 * growth.rate


def test_hair_that_is_not_back_after_three_months_is_not_what_the_prior_expects() -> None:
    """Failure to regrow in three to four months is abnormal: Univ. of Minnesota, Small Animal Dermatology (read).

    So a healthy dog of the prior must be covered by then, slow coats too: hardly one draw in a thousand is not.
    """
    epochs = carry_out(OLD, TODAY, [(TODAY, 1.0)], Growth())
    draws = Draws.prior([Growth()], 5_000, np.random.default_rng(9))
    told = forecast([epochs], [Growth()], TODAY, 121, draws=draws)
    assert (told.cover[:, 0, 90] > 0.99).mean() >= 0.999
    assert (told.outline[:, 0, 120] > 10.0).mean() >= 0.999


# --- skin -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kg", [2.5, 7.0, 18.0, 45.0])
def test_body_surface_is_that_of_the_formula_in_grams(kg: float) -> None:
    """In its other form: 10.1 x (weight in g)^(2/3) x 10^-4 m2 (veterinary oncology texts, from memory)."""
    assert body_surface(kg) == pytest.approx(10.1 * (1000 * kg) ** (2 / 3) * 1e-4, rel=1e-9)
