"""What to measure next, and when a coat does not do what it could."""

from __future__ import annotations

import numpy as np
import pytest

from coatwright.coat.growth import Growth
from coatwright.learning.advice import worth
from coatwright.learning.alarm import nothing_came, placed, slow_dog, slow_zones
from coatwright.learning.evidence import DogEvidence, Look, PullRecord, Start, StartLayer, ZoneEvidence
from coatwright.learning.outlook import Coats, stand
from coatwright.learning.priors import RATE, RULER_SD, centre_of
from coatwright.learning.update import learn
from tests.learning.simulated import FIRST, rolled

STRIPPED = FIRST
SEEN = FIRST + 56


def stripped(zones: int = 3) -> DogEvidence:
    """A dog whose zones were all pulled out on one day; nothing is measured yet."""
    records = (Start(STRIPPED, (StartLayer(1.0, resting=True),)), PullRecord(STRIPPED, 1.0))
    made = [ZoneEvidence(f"zone {n}", centre_of(Growth()), records) for n in range(zones)]
    return DogEvidence(tuple(made))


@pytest.fixture(scope="module")
def coats() -> Coats:
    dog = stripped()
    return stand(dog, learn(dog, draws=4000), SEEN - 1, 4000)


def test_of_one_normal_number_a_reading_is_worth_what_regression_says(coats: Coats) -> None:
    """For a normal answer with correlation rho to the reading, a reading takes away rho squared (by textbook)."""
    seen = coats.seen(SEEN)[:, 0, 0]
    noisy = seen + RULER_SD * np.random.default_rng(3).standard_normal(len(seen))
    found = worth(coats, SEEN, seen, np.random.default_rng(1))
    best = next(each for each in found if each.zone == 0 and each.reading == "longest")
    assert best.share == pytest.approx(np.corrcoef(seen, noisy)[0, 1] ** 2, abs=0.05)
    assert found[0].share == max(each.share for each in found)


def test_a_layer_told_apart_is_worth_what_regression_says(coats: Coats) -> None:
    """As above, for the only layer of a stripped zone, of which any hair may be chosen."""
    layer, sd = np.moveaxis(coats.told_apart(SEEN, np.random.default_rng(2))[:, 0], -1, 0)
    noisy = layer + np.hypot(RULER_SD, sd) * np.random.default_rng(3).standard_normal(len(layer))
    found = worth(coats, SEEN, layer, np.random.default_rng(1))
    step = next(each for each in found if each.zone == 0 and each.reading == "step")
    assert step.share == pytest.approx(np.corrcoef(layer, noisy)[0, 1] ** 2, abs=0.05)


def test_layers_are_told_apart_in_proportion_to_their_hair() -> None:
    """Of three tenths of 20 days more and seven tenths of 20 days less than 80 d, both well above the skin."""
    records = (Start(STRIPPED, (StartLayer(0.3, age=100), StartLayer(0.7, age=60))),)
    dog = DogEvidence((ZoneEvidence("back", centre_of(Growth()), records),))
    found = stand(dog, learn(dog, draws=2000), STRIPPED, 2000)
    told = found.told_apart(STRIPPED, np.random.default_rng(4))[:, 0, 0]
    longest, shortest = found.seen(STRIPPED)[:, 0, 0], found.seen(STRIPPED)[:, 0, 1]
    assert np.mean(told > (longest + shortest) / 2) == pytest.approx(0.3, abs=0.06)


def test_in_a_rolling_coat_a_layer_tells_more_of_growth_than_the_shortest_hair() -> None:
    """Whose shortest visible hair is always just through the skin."""
    dog = rolled(np.random.default_rng(11), 3, 6).evidence()
    day = FIRST + 14 * 6
    found = stand(dog, learn(dog, draws=2000), day - 1, 2000)
    shares: dict[str, float] = {}
    for each in worth(found, day, found.traits[:, :, RATE].mean(axis=1), np.random.default_rng(1)):
        shares[each.reading] = max(shares.get(each.reading, 0.0), each.share)
    assert shares["step"] > shares["shortest"]


def test_of_a_certain_answer_nothing_is_to_be_learnt(coats: Coats) -> None:
    assert all(
        each.share == 0.0 for each in worth(coats, SEEN, np.ones(len(coats)), np.random.default_rng(1))
    )


def test_an_answer_that_has_nothing_to_do_with_the_coat_is_told_by_no_reading(coats: Coats) -> None:
    answer = np.random.default_rng(8).standard_normal(len(coats))
    assert max(each.share for each in worth(coats, SEEN, answer, np.random.default_rng(1))) < 0.02


def test_growth_is_asked_of_a_length_and_not_of_a_bare_word(coats: Coats) -> None:
    answer = coats.traits[:, :, RATE].mean(axis=1)
    first = worth(coats, SEEN, answer, np.random.default_rng(1))[0]
    assert first.reading in ("longest", "shortest", "step")


def test_a_reading_lies_among_what_was_possible_as_often_as_its_place_says(coats: Coats) -> None:
    rng = np.random.default_rng(5)
    places = []
    for draw in range(400):
        true = coats.seen(SEEN)[draw, 0, 0] + RULER_SD * rng.standard_normal()
        places += [p.below for p in placed(coats, 0, Look(SEEN, longest=max(true, 0.0)), rng)]
    assert np.mean(np.array(places) < 0.1) == pytest.approx(0.1, abs=0.04)
    assert np.mean(places) == pytest.approx(0.5, abs=0.05)


def test_hair_that_hardly_grew_is_slow_and_usual_hair_is_not(coats: Coats) -> None:
    rng = np.random.default_rng(6)
    middle = float(np.median(coats.seen(SEEN)[:, 0, 0]))
    assert not slow_zones(placed(coats, 0, Look(SEEN, longest=middle), rng), 1)
    read = Look(SEEN, longest=middle, shortest=0.8 * middle)
    dog = DogEvidence(
        tuple(ZoneEvidence(each.key, each.centre, (*each.records, read)) for each in stripped().zones)
    )
    known = stand(dog, learn(dog, draws=2000), SEEN + 20)
    assert slow_zones(placed(known, 0, Look(SEEN + 21, longest=middle - 4.0), rng), 1)
    looks = [(zone, Look(SEEN + 21, shortest=max(middle - 8.0, 0.5))) for zone in range(3)]
    assert slow_dog(known, looks, rng) < 0.025


def test_where_nothing_is_compared_a_dog_is_not_slow(coats: Coats) -> None:
    assert slow_dog(coats, [(0, Look(SEEN, look="close"))], np.random.default_rng(1)) == 0.5


@pytest.mark.parametrize(
    ("days", "look", "alarm"),
    [
        (98, {"look": "bare"}, True),
        (98, {"longest": 0.0}, True),
        (98, {"cover": 0.05}, True),
        (97, {"look": "bare"}, False),
        (98, {"look": "thin"}, False),
        (200, {"longest": 12.0}, False),
    ],
)
def test_a_zone_that_is_bare_fourteen_weeks_after_it_was_pulled_raises_the_alarm(
    days: int, look: dict[str, object], alarm: bool
) -> None:
    """Three to four months: Univ. of Minnesota, Small Animal Dermatology, ch. 1.13."""
    dog = stripped()
    before = stand(dog, learn(dog, draws=200), STRIPPED + days - 1, 200)
    assert nothing_came(before, 0, Look(STRIPPED + days, **look)) is alarm  # type: ignore[arg-type]
