"""What an update must keep to: the same result again, no knowledge before there is any, and no upset by one slip."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat.growth import Growth
from coatwright.learning import priors
from coatwright.learning.evidence import (
    DogEvidence,
    Look,
    PullRecord,
    Record,
    Start,
    StartLayer,
    ZoneEvidence,
)
from coatwright.learning.outlook import stand
from coatwright.learning.priors import Prior
from coatwright.learning.state import State
from coatwright.learning.update import learn
from tests.learning.simulated import FIRST, dog_of, rolled

LAG, RATE, END = priors.LAG, priors.RATE, priors.END


def same(one: State, other: State) -> bool:
    """Whether two states are the same to the last bit."""
    return one.day == other.day and all(
        np.array_equal(getattr(one, name), getattr(other, name))
        for name in ("dog", "bias", "zones", "takes", "starts", "weight")
    )


def spread(state: State, values: np.ndarray) -> tuple[float, float]:
    """Mean and standard deviation over the draws."""
    mean = float(state.weight @ values)
    return mean, float(np.sqrt(state.weight @ (values - mean) ** 2))


def changed(dog: DogEvidence, zone: int, records: tuple[Record, ...]) -> DogEvidence:
    """The dog with other records of one zone."""
    zones = list(dog.zones)
    zones[zone] = replace(zones[zone], records=records)
    return replace(dog, zones=tuple(zones))


# --- the same again ---------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def dog() -> DogEvidence:
    return rolled(np.random.default_rng(3), 3, 6, richly=True).evidence()


def test_the_same_seed_gives_the_same_draws_whatever_the_number_of_threads(
    dog: DogEvidence, monkeypatch: pytest.MonkeyPatch
) -> None:
    states = []
    for processors in (1, 2, 3):
        monkeypatch.setattr(os, "cpu_count", lambda processors=processors: processors)
        states.append(learn(dog, draws=1024, seed=7))
    assert same(states[0], states[1])
    assert same(states[0], states[2])
    assert not same(states[0], learn(dog, draws=1024, seed=8))


def test_going_on_from_a_kept_state_is_the_same_as_starting_over(dog: DogEvidence) -> None:
    kept: list[State] = []
    whole = learn(dog, draws=500, seed=2, seen=kept.append)
    assert [state.day for state in kept] == dog.days()
    for state in kept:
        before = state.zones.copy()
        assert same(learn(dog, draws=500, seed=2, after=state), whole)
        assert np.array_equal(state.zones, before)  # the kept one is left as it was
    assert same(learn(dog, draws=500, seed=2, until=kept[2].day), kept[2])


# --- what is known, and what not --------------------------------------------------------------------------


def test_before_new_growth_can_be_read_it_knows_no_more_than_the_prior() -> None:
    """Readings of the old, resting coat in the first four weeks say how long it is, not how fast it grew."""
    known = rolled(np.random.default_rng(12), 4, 2).evidence()  # two visits, days 0 and 14
    state = learn(known, draws=4000, seed=1)
    prior = Prior.of()
    for t in (RATE, LAG):
        mean, sd = spread(state, state.dog[:, t])
        assert sd == pytest.approx(prior.dog_sd[t], rel=0.06)
        assert mean == pytest.approx(0.0, abs=0.1 * prior.dog_sd[t])
    _, sd = spread(state, state.dog[:, END])
    assert sd < 0.6 * prior.dog_sd[END]


def test_new_growth_tells_the_rate_and_the_lag() -> None:
    """A zone shaved by a pull, read from week six on."""
    records: list[Record] = [
        Start(FIRST, (StartLayer(1.0, resting=True),)),
        PullRecord(FIRST, 1.0),
        *(Look(FIRST + day, longest=0.6 * (day - 25) * 1.16) for day in range(32, 82, 7)),
    ]
    known = DogEvidence((ZoneEvidence("back", priors.centre_of(Growth()), tuple(records)),))
    state = learn(known, draws=4000, seed=1)
    mean, sd = spread(state, state.zones[:, 0, RATE])
    assert sd < 0.25 * priors.TOTAL_SD[RATE]
    assert mean == pytest.approx(np.log(0.6 / 0.45), abs=2.0 * sd)
    mean, sd = spread(state, state.zones[:, 0, LAG])
    assert sd < 0.5 * priors.TOTAL_SD[LAG]
    assert mean == pytest.approx(-3.0, abs=2.0 * sd)


# --- wrong, missing, late and corrected -------------------------------------------------------------------


def grown_in(*slips: Record) -> DogEvidence:
    """Two zones pulled out and read as they come in at 0.45 mm/d from day 28, with slips added to the first."""
    zones = []
    for key in ("back", "ribs"):
        looks = [Look(FIRST + day, longest=0.45 * (day - 28) * 1.16) for day in (42, 56, 70, 84)]
        records = (Start(FIRST, (StartLayer(1.0, resting=True),)), PullRecord(FIRST, 1.0), *looks)
        zones.append(ZoneEvidence(key, priors.centre_of(Growth()), records))
    zones[0] = replace(zones[0], records=(*zones[0].records, *slips))
    return DogEvidence(tuple(zones))


@pytest.mark.parametrize("day", [49, 53, 86])
def test_one_wrong_reading_hardly_moves_the_rate(day: int) -> None:
    """90 mm on a coat of 10 to 30 mm, before, between and after the others."""
    clean = learn(grown_in(), draws=6000, seed=4)
    slipped = learn(grown_in(Look(FIRST + day, longest=90.0)), draws=6000, seed=4)
    for z in (0, 1):
        right = np.exp(spread(clean, clean.zones[:, z, RATE])[0])
        found = np.exp(spread(slipped, slipped.zones[:, z, RATE])[0])
        assert found == pytest.approx(right, rel=0.03)


def test_a_missing_reading_widens_and_does_not_bend() -> None:
    whole, gap = grown_in(), grown_in()
    for z in (0, 1):
        records = gap.zones[z].records
        gap = changed(gap, z, records[:3] + records[4:])
    one, other = learn(whole, draws=6000, seed=4), learn(gap, draws=6000, seed=4)
    mean, sd = spread(one, one.dog[:, RATE])
    mean_without, sd_without = spread(other, other.dog[:, RATE])
    assert mean_without == pytest.approx(mean, abs=0.5 * sd)
    assert sd_without > 0.97 * sd


def test_a_late_record_counts_from_its_day_as_if_it_had_come_in_time(dog: DogEvidence) -> None:
    """Given in any order; what was learnt before its day stands, what was learnt after is learnt again."""
    late = dog.zones[1].records[5]
    without = changed(dog, 1, tuple(each for each in dog.zones[1].records if each is not late))
    kept: list[State] = []
    learn(without, draws=500, seed=2, seen=kept.append)
    appended = changed(without, 1, (*without.zones[1].records, late))
    right = learn(dog, draws=500, seed=2)
    assert same(learn(appended, draws=500, seed=2), right)
    before = [state for state in kept if state.day < late.day][-1]
    assert same(learn(appended, draws=500, seed=2, after=before), right)


def test_a_corrected_record_gives_what_the_right_one_gives() -> None:
    wrong = grown_in()
    records = list(wrong.zones[0].records)
    right = records[3]
    assert isinstance(right, Look)
    records[3] = replace(right, longest=3.0)
    wrong = changed(wrong, 0, tuple(records))
    kept: list[State] = []
    bad = learn(wrong, draws=500, seed=2, seen=kept.append)
    before = [state for state in kept if state.day < right.day][-1]
    good = learn(grown_in(), draws=500, seed=2)
    assert same(learn(grown_in(), draws=500, seed=2, after=before), good)
    assert not same(bad, good)


# --- a habit ----------------------------------------------------------------------------------------------


def test_a_hand_that_pulls_a_fifth_more_is_found_over_the_visits() -> None:
    """Ten visits to four zones by a hand of strength 1.2, read and weighed; the other hand pulls what it says.

    The truth lies inside the middle 98 % of the draws, and the heavy hand is told from the true one.
    """
    rng = np.random.default_rng(21)
    truth = dog_of(rng, 4)
    for visit in range(10):
        truth.bias = float(np.log(1.2)) if visit % 2 == 0 else 0.0
        for zone in truth.zones:
            truth.look(zone, FIRST + 14 * visit, steps=True)
            truth.pull(zone, FIRST + 14 * visit, 0.2, weighed=True)
            truth.look(zone, FIRST + 14 * visit, after=True)
    told = truth.evidence()
    zones = tuple(
        replace(
            zone,
            records=tuple(
                replace(each, groomer=((each.day - FIRST) // 14) % 2)
                if isinstance(each, PullRecord)
                else each
                for each in zone.records
            ),
        )
        for zone in told.zones
    )
    state = learn(DogEvidence(zones, groomers=2), draws=3000, seed=5)
    heavy, sd = spread(state, state.bias[:, 0])
    fair, fair_sd = spread(state, state.bias[:, 1])
    assert sd < 0.7 * priors.BIAS_SD
    assert heavy == pytest.approx(np.log(1.2), abs=2.33 * sd)
    assert fair == pytest.approx(0.0, abs=2.33 * fair_sd)
    assert heavy > fair
    before = learn(DogEvidence(zones, groomers=2), draws=3000, seed=5, until=FIRST)
    assert spread(before, before.bias[:, 0])[1] > sd


# --- whatever is recorded ---------------------------------------------------------------------------------

lengths = st.floats(0.0, 120.0)
maybe_length = st.none() | lengths


@st.composite
def zones(draw: st.DrawFn) -> ZoneEvidence:
    layers = draw(st.lists(st.tuples(st.floats(0.05, 1.0), st.integers(0, 400)), min_size=1, max_size=3))
    records: list[Record] = [Start(FIRST, tuple(StartLayer(share, age=float(age)) for share, age in layers))]
    for day in sorted(draw(st.sets(st.integers(0, 150), min_size=1, max_size=4))):
        if draw(st.booleans()):
            records.append(
                Look(
                    FIRST + day,
                    draw(maybe_length),
                    draw(maybe_length),
                    tuple(draw(st.lists(lengths, max_size=2))),
                    draw(st.sampled_from(("", *priors.LOOKS))),
                    draw(st.none() | st.floats(0.0, 1.0)),
                )
            )
        if draw(st.booleans()):
            records.append(
                PullRecord(
                    FIRST + day,
                    draw(st.sampled_from((0.05, 0.2, 0.5, 1.0))),
                    broken=draw(st.sampled_from((0.0, 0.3, 1.0))),
                    selectivity=draw(st.sampled_from((1.0, 0.0, 0.6))),
                    cut_to=draw(st.none() | st.floats(0.0, 40.0)),
                    grams=draw(st.none() | st.floats(0.001, 5000.0)),
                    minutes=draw(st.none() | st.floats(0.01, 5000.0)),
                    ease=draw(st.sampled_from(("", *priors.EASES))),
                )
            )
    loss = draw(st.sampled_from((0.0, 0.02)))
    return ZoneEvidence("zone", priors.centre_of(Growth()), tuple(records), loss=loss)


@settings(max_examples=40, deadline=None)
@given(st.lists(zones(), min_size=1, max_size=2))
def test_never_not_a_number_and_shares_and_weights_add_up_to_one(found: list[ZoneEvidence]) -> None:
    dog = DogEvidence(tuple(found))
    state = learn(dog, draws=256, seed=3)
    for name in ("dog", "bias", "zones", "takes", "starts", "weight"):
        assert np.all(np.isfinite(getattr(state, name))), name
    assert state.weight.sum() == pytest.approx(1.0, abs=1e-9)
    assert state.weight.min() >= 0.0
    coats = stand(dog, state, dog.days()[-1], 128)
    assert coats.layers[:, :, :, 1].sum(axis=2) == pytest.approx(1.0, abs=1e-6)
    assert np.all(coats.layers[:, :, :, 1] >= 0.0)
    assert np.all(np.isfinite(coats.seen(state.day + 30)))
    assert np.all((coats.taken >= 0.0) & (coats.taken <= 1.0 + 1e-9))
