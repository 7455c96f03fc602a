"""Hair of people, measured and published, put in as if it were a dog's: rate and lag must come back.

Figures of man try the path from readings to what is learnt; they say nothing about dogs. Each source stands beside
its figures, with whether it was read. What is made up here is said to be: who reads, when, and how surely.
"""

import numpy as np
import pytest

from coatwright.coat import measures
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat, cut, pull
from coatwright.learning import priors
from coatwright.learning.evidence import DogEvidence, Look, PullRecord, Start, StartLayer, ZoneEvidence
from coatwright.learning.priors import LAG, RATE, Prior
from coatwright.learning.update import learn

TODAY = 740_000
LONG = 500.0
"""mm at which hair of the head is taken to rest: far beyond what is measured here."""


def posterior(
    centre: Growth, records: tuple[Start | PullRecord | Look, ...], prior: Prior, trait: int
) -> tuple[float, float]:
    """Mean and standard deviation of a trait of the one zone, centre included."""
    zone = ZoneEvidence("zone", priors.centre_of(centre), records)
    state = learn(DogEvidence((zone,)), prior=prior, draws=3000, seed=1)
    values = state.zones[:, 0, trait] + zone.centre[trait]
    mean = float(state.weight @ values)
    return mean, float(np.sqrt(state.weight @ (values - mean) ** 2))


# --- phototrichogram: shaved, and read as it grows ----------------------------------------------------------


@pytest.mark.parametrize(("mean", "sd"), [(0.280, 0.050), (0.367, 0.056), (0.411, 0.053)])
def test_rates_of_shaved_scalp_hair_come_back(mean: float, sd: float) -> None:
    """Growth of scalp hair in three groups, mm/d: Loussouarn et al. 2005 (read).

    Twelve of a group, evenly over its spread, shaved and read with a ruler every ten days for fifty; the learning
    starts from what it believes of a dog. The group's mean comes back to a quarter of its spread, the spread to a
    quarter of itself and each rate to what the learning says it is sure of.
    """
    rng = np.random.default_rng(int(1000 * mean))
    quantiles = np.sort(np.random.default_rng(1).standard_normal(4000))[166::333]
    rates = mean + sd * (quantiles - quantiles.mean()) / quantiles.std()
    found, off = [], []
    for rate in rates:
        growth = Growth(rate=float(rate), end=LONG)
        born = TODAY - 28 - round(60.0 / rate)
        coat = cut(ZoneCoat.of([Layer(born, 1.0)]), TODAY, 0.0, growth)
        looks = tuple(
            Look(day, longest=max(measures.outline(coat, day, growth) + 1.5 * rng.standard_normal(), 0.0))
            for day in range(TODAY + 10, TODAY + 51, 10)
        )
        start = Start(TODAY, (StartLayer(1.0, length=60.0, cut_to=0.0),))
        known, unsure = posterior(Growth(end=LONG), (start, *looks), Prior.of(), RATE)
        found.append(np.exp(known + 0.5 * unsure**2))
        off.append((known - np.log(rate)) / unsure)
    assert len(found) == 12
    assert np.mean(found) == pytest.approx(mean, abs=0.25 * sd)
    assert np.std(found) == pytest.approx(sd, rel=0.25)
    assert np.abs(off).max() < 3.0
    assert 0.3 < np.mean(np.square(off)) < 2.0


# --- plucked, and seen to come again ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lag", "rate"),
    [
        (129.0, 0.30),  # crown; growth of the scalp
        (121.0, 0.16),  # thigh
        (64.0, 0.14),  # eyebrow
    ],
)
@pytest.mark.parametrize("seed", [1, 2])
def test_days_and_rates_of_plucked_hair_come_back(lag: float, rate: float, seed: int) -> None:
    """Days until 90 % of plucked follicles showed hair, and growth in young adults, mm/d.

    Myers & Hamilton 1951, Ann NY Acad Sci 53:562-568 (read). The model lets all hair break through on one day. Read
    by ruler and eye every two weeks, for fourteen weeks from the last reading without hair; the learning starts from
    100 +- 35 d and 0.25 mm/d, log-sd 0.5: wide enough for man, where its own 28 +- 5 d is meant for dogs.
    """
    rng = np.random.default_rng([int(lag), seed])
    growth = Growth(lag=lag, rate=rate, end=60.0)
    coat = pull(ZoneCoat.of([Layer(TODAY - 900, 1.0)]), TODAY, 1.0, growth).coat
    looks = []
    for day in range(TODAY + 14, TODAY + int(lag) + 99, 14):
        seen = measures.cover(coat, day, growth)
        out = measures.outline(coat, day, growth) if seen > 0.0 else 0.0
        word = priors.LOOKS[
            int(np.searchsorted(priors.LOOK_EDGES, seen + priors.COVER_SD * rng.standard_normal()))
        ]
        longest = max(out + 1.5 * rng.standard_normal(), 0.0) if out > 0.5 else None
        looks.append(Look(day, longest=longest, look=word))
    start = Start(TODAY, (StartLayer(1.0, resting=True),))
    told = (start, PullRecord(TODAY, 1.0), *looks)
    dog = Prior.of()
    wide = np.array(dog.dog_sd)
    wide[LAG], wide[RATE] = 35.0, 0.5
    prior = Prior(dog.mean, wide, dog.zone_sd)
    centre = Growth(lag=100.0, rate=0.25, end=60.0)
    days, unsure = posterior(centre, told, prior, LAG)
    assert unsure < 7.0
    assert days == pytest.approx(lag, abs=2.5 * unsure)
    speed, unsure = posterior(centre, told, prior, RATE)
    assert unsure < 0.15
    assert speed == pytest.approx(np.log(rate), abs=2.5 * unsure)


@pytest.mark.parametrize(("site", "lag"), [("underarm", 123.0), ("chin", 92.0)])
def test_where_only_the_day_is_published_the_day_comes_back(site: str, lag: float) -> None:
    """Underarm and chin: Myers & Hamilton 1951 (read), days until 90 % showed hair; no growth is given there.

    Looked at once a week without a ruler: the day is known to the week between ``bare`` and ``dense``.
    """
    looks = tuple(
        Look(day, look="dense" if day - TODAY >= lag else "bare")
        for day in range(TODAY + 7, TODAY + int(lag) + 22, 7)
    )
    told = (Start(TODAY, (StartLayer(1.0, resting=True),)), PullRecord(TODAY, 1.0), *looks)
    dog = Prior.of()
    wide = np.array(dog.dog_sd)
    wide[LAG] = 35.0
    days, unsure = posterior(Growth(lag=100.0), told, Prior(dog.mean, wide, dog.zone_sd), LAG)
    assert days == pytest.approx(lag, abs=4.0), site
    assert unsure < 3.0
