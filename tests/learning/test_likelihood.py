"""The compiled likelihood and coats against the same worked out in plain Python by :mod:`tests.learning.plain`."""

from __future__ import annotations

import numpy as np
import pytest

from coatwright.coat import measures
from coatwright.coat.aims import Aim
from coatwright.coat.forecast import Draws, carry_out, forecast
from coatwright.coat.growth import Growth, emerged, share_longer
from coatwright.coat.layers import Layer, ZoneCoat, shed
from coatwright.learning import priors
from coatwright.learning.evidence import (
    DogEvidence,
    Look,
    PaperHair,
    PullRecord,
    Record,
    Start,
    StartLayer,
    ZoneEvidence,
    packed,
)
from coatwright.learning.outlook import Coats, ahead, stand
from coatwright.learning.state import State
from coatwright.learning.update import evaluate
from tests.learning import plain

FIRST = 738_000
DRAWS = 11
"""More than are worked at once, and not a multiple of it."""
FORMULA = 2e-5
"""ln units by which words and paper may be missed: the normal distribution comes from a formula (error below 1e-7)
and a word that hardly fits has a probability of 0.006 (three of a hundred slips over five words)."""


# --- random evidence --------------------------------------------------------------------------------------


def start_of(rng: np.random.Generator, day: int) -> Start:
    layers = []
    for _ in range(int(rng.integers(1, 5))):
        told: dict[str, object] = {
            "age": {"age": float(rng.integers(0, 250))},
            "length": {"length": float(rng.uniform(2.0, 90.0))},
            "resting": {"resting": True},
        }[rng.choice(["age", "length", "resting"])]
        if rng.random() < 0.3:
            told |= {"cut_to": float(rng.uniform(5.0, 30.0)), "cut_ago": float(rng.integers(0, 40))}
        layers.append(StartLayer(float(rng.uniform(0.1, 1.0)), **told))  # type: ignore[arg-type]
    return Start(day, tuple(layers))


def look_of(rng: np.random.Generator, day: int, *, lengths: bool, words: bool) -> Look:
    def maybe(value: float) -> float | None:
        return value if rng.random() < 0.6 else None

    return Look(
        day,
        maybe(rng.uniform(0.0, 90.0)) if lengths else None,
        maybe(rng.uniform(0.0, 40.0)),
        tuple(rng.uniform(0.0, 60.0, int(rng.integers(0, 3))).tolist()),
        str(rng.choice(priors.LOOKS)) if words and rng.random() < 0.6 else "",
        maybe(rng.uniform(0.0, 1.0)),
        after=bool(rng.random() < 0.3),
    )


def pull_of(rng: np.random.Generator, day: int, *, words: bool, broken: bool) -> PullRecord:
    told: dict[str, object] = {}
    if rng.random() < 0.5:
        told["grams"] = float(rng.uniform(0.5, 30.0))
    if rng.random() < 0.5:
        told["minutes"] = float(rng.uniform(0.5, 30.0))
    if words and rng.random() < 0.5:
        told["ease"] = str(rng.choice(priors.EASES))
    if words and rng.random() < 0.5:
        told["paper"] = tuple(
            PaperHair(
                float(rng.uniform(1.0, 80.0)),
                float(rng.choice([1.0, 2.0, 5.0])),
                float(rng.integers(1, 8)),
                bool(rng.random() < 0.3),
            )
            for _ in range(int(rng.integers(1, 6)))
        )
    if rng.random() < 0.3:
        told["cut_to"] = float(rng.uniform(3.0, 40.0))
    if rng.random() < 0.4:
        told["selectivity"] = float(rng.uniform(0.0, 1.0))
    if broken and rng.random() < 0.5:
        told["broken"] = float(rng.uniform(0.02, 0.4))
    return PullRecord(day, float(rng.uniform(0.05, 0.9)), groomer=int(rng.integers(2)), **told)  # type: ignore[arg-type]


def zone_of(
    rng: np.random.Generator,
    *,
    lengths: bool = True,
    words: bool = True,
    broken: bool = False,
    loss: bool = False,
    again: bool = False,
) -> ZoneEvidence:
    records: list[Record] = [start_of(rng, FIRST)]
    days = FIRST + np.cumsum(rng.integers(1, 40, int(rng.integers(2, 9))))
    for number, day in enumerate(days.tolist()):
        if again and number == len(days) // 2:
            records.append(start_of(rng, day))
        if rng.random() < 0.8:
            records.append(look_of(rng, day, lengths=lengths, words=words))
        if rng.random() < 0.8:
            records.append(pull_of(rng, day, words=words, broken=broken))
        elif rng.random() < 0.3:
            records.append(PullRecord(day, 0.0, cut_to=float(rng.uniform(3.0, 30.0))))
    growth = Growth(lag=rng.uniform(15.0, 40.0), rate=rng.uniform(0.2, 0.9), end=rng.uniform(30.0, 90.0))
    return ZoneEvidence(
        "zone",
        priors.centre_of(growth),
        tuple(records),
        hold=float(rng.uniform(0.0, 60.0)),
        loss=float(rng.uniform(0.001, 0.05)) if loss else 0.0,
        area_cm2=float(rng.uniform(50.0, 400.0)),
        minutes=float(rng.uniform(4.0, 40.0)),
    )


def state_of(rng: np.random.Generator, dog: DogEvidence, day: int) -> State:
    """Draws as wide as the prior, hands twice as uneven, with equal weights."""
    pack = packed(dog, day)
    count = len(dog.zones)
    zones = priors.TOTAL_SD * rng.standard_normal((DRAWS, count, len(priors.TRAITS)))
    zones[:, :, priors.SPREAD] = np.minimum(zones[:, :, priors.SPREAD], 1.2)
    zones[:, :, priors.LAG] = np.maximum(zones[:, :, priors.LAG], -12.0)
    takes = 0.5 * rng.standard_normal((DRAWS, len(pack.takes)))
    starts = rng.standard_normal((DRAWS, len(pack.start_zone)))
    weight = np.full(DRAWS, 1.0 / DRAWS)
    return State(day, zones[:, 0], np.zeros((DRAWS, 2)), zones, takes, starts, weight)


def in_plain(dog: DogEvidence, state: State) -> list[list[plain.Replayed]]:
    """Every draw and zone worked out in plain Python; takes and misreadings are counted by day, then by zone."""
    pulls = sorted(
        (record.day, z, n)
        for z, zone in enumerate(dog.zones)
        for n, record in enumerate(zone.records)
        if isinstance(record, PullRecord) and record.share > 0.0 and record.day <= state.day
    )
    misreadings = sorted(
        (record.day, z, n, k)
        for z, zone in enumerate(dog.zones)
        for n, record in enumerate(zone.records)
        if isinstance(record, Start) and len(record.layers) > 1 and record.day <= state.day
        for k in range(len(record.layers))
    )
    return [
        [
            plain.replayed(
                zone,
                zone.centre + state.zones[d, z],
                [state.takes[d, at] for at, pull in enumerate(pulls) if pull[1] == z],
                [state.starts[d, at] for at, each in enumerate(misreadings) if each[1] == z],
                state.day,
            )
            for z, zone in enumerate(dog.zones)
        ]
        for d in range(DRAWS)
    ]


def compare(dog: DogEvidence, rng: np.random.Generator, margin: float) -> None:
    last = dog.days()[-1]
    since = int(rng.choice(dog.days()))
    state = state_of(rng, dog, last)
    found = evaluate(packed(dog, last, fresh_from=since), state.zones, state.takes, state.starts)
    for d, zones in enumerate(in_plain(dog, state)):
        for z, run in enumerate(zones):
            old = sum(ln for day, ln in run.told if day < since)
            new = sum(ln for day, ln in run.told if day >= since)
            assert found[d, z] == pytest.approx([old, new], abs=margin + run.margin), (d, z)


# --- likelihood -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(30))
def test_ruler_steps_cover_grams_and_minutes_have_the_density_of_their_definition(seed: int) -> None:
    rng = np.random.default_rng([1, seed])
    dog = DogEvidence((zone_of(rng, lengths=False, words=False), zone_of(rng, lengths=False, words=False)))
    compare(dog, rng, 3e-6)  # the loops leave out layers of less than 1e-9 of the hairs


@pytest.mark.parametrize("seed", range(30))
def test_words_paper_and_the_longest_hair_have_it_within_formula_and_outline(seed: int) -> None:
    rng = np.random.default_rng([2, seed])
    compare(DogEvidence((zone_of(rng), zone_of(rng, again=True))), rng, FORMULA)


@pytest.mark.parametrize("seed", range(30))
def test_broken_and_blown_hair_and_a_second_assessment_change_the_coat_as_the_model_says(seed: int) -> None:
    rng = np.random.default_rng([3, seed])
    zones = (
        zone_of(rng, broken=True),
        zone_of(rng, loss=True),
        zone_of(rng, broken=True, loss=True, again=True),
    )
    compare(DogEvidence(zones), rng, FORMULA)


def test_grams_of_a_zone_where_nothing_can_have_stood_are_a_slip_and_not_the_end() -> None:
    """Pulled on the first day, weighed a day later, when no hair can have broken through."""
    records = (
        Start(FIRST, (StartLayer(1.0, age=0.0),)),
        PullRecord(FIRST + 1, 0.2, grams=5.0, minutes=3.0, ease="easy", paper=(PaperHair(20.0, 2.0, 9.0),)),
    )
    dog = DogEvidence((ZoneEvidence("back", priors.centre_of(Growth()), records),))
    state = state_of(np.random.default_rng(4), dog, FIRST + 1)
    found = evaluate(packed(dog, FIRST + 1), state.zones, state.takes, state.starts)
    assert np.all(np.isfinite(found))
    assert np.all(found[:, 0, 1] < -100.0)


def test_of_equally_old_hair_the_cut_stays_longest() -> None:
    """Half a resting zone has been scissored: the first half to be pulled is the whole hair, as in the model."""
    for halves in ((None, 20.0), (20.0, None)):
        start = Start(FIRST, tuple(StartLayer(0.5, resting=True, cut_to=each) for each in halves))
        zone = ZoneEvidence("back", priors.centre_of(Growth()), (start, PullRecord(FIRST, 0.5)))
        dog = DogEvidence((zone,))
        state = State(
            FIRST,
            np.zeros((1, 7)),
            np.zeros((1, 1)),
            np.zeros((1, 1, 7)),
            np.zeros((1, 1)),
            np.zeros((1, 2)),
            np.ones(1),
        )
        layers = stand(dog, state, FIRST, 1).layers[0, 0]
        left = layers[layers[:, 1] > 0.0]
        assert left[:, 1] == pytest.approx([0.5, 0.5])
        assert sorted(left[:, 2]) == pytest.approx([0.0, 55.0])  # 75 mm full grown, 20 mm left


# --- the coat it leads to ---------------------------------------------------------------------------------


def random_dog(seed: int) -> tuple[np.random.Generator, DogEvidence]:
    rng = np.random.default_rng([5, seed])
    zones = (
        zone_of(rng),
        zone_of(rng, broken=True),
        zone_of(rng, loss=True, again=True),
    )
    return rng, DogEvidence(zones)


def coat_of(coats: Coats, d: int, z: int) -> ZoneCoat:
    """A draw's coat; days that differ in their last digits are one."""
    layers = coats.layers[d, z].tolist()
    return ZoneCoat.of(Layer(round(born, 6), share, removed) for born, share, removed in layers)  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(20))
def test_the_present_coat_is_what_the_pulls_lead_to(seed: int) -> None:
    rng, dog = random_dog(seed)
    day = int(rng.choice(dog.days()))
    if any(zone.records[0].day > day for zone in dog.zones):
        day = max(zone.records[0].day for zone in dog.zones)
    state = state_of(rng, dog, day)
    coats = stand(dog, state, day, DRAWS)
    for d, zones in enumerate(in_plain(dog, state)):
        for z, run in enumerate(zones):
            found = coat_of(coats, d, z)
            solid = [layer for layer in run.coat.layers if layer.share > 1e-8]
            assert len(found.layers) == len(solid)
            for one, other in zip(found.layers, solid, strict=True):
                assert one.born == pytest.approx(other.born, abs=1e-5)
                assert one.share == pytest.approx(other.share, abs=1e-7)
                assert one.removed == pytest.approx(other.removed, abs=1e-5)
            _, taken = coats.taken_in(z)
            assert taken[d] == pytest.approx(run.taken, abs=1e-7)
            growth = plain.growth_of(dog.zones[z], dog.zones[z].centre + state.zones[d, z])
            later = day + int(rng.integers(0, 60))
            seen = coats.seen(later)[d, z]
            out = emerged(later - found.born, growth)
            means, shares = found.lengths(later, growth)[out], found.shares[out]
            order = np.argsort(-means)
            means, shares = means[order], shares[order]
            if len(shares):
                beyond = shares @ share_longer(seen[0], means, growth.spread) / shares.sum()
                off = abs(seen[0] - measures.outline(found, later, growth))
                assert off <= plain.OUTLINE_ERROR or beyond == pytest.approx(0.05, abs=0.005)
            lower = plain.shortest(plain.noticed(means, shares), plain.edges(means, growth))
            assert seen[1] == pytest.approx(lower, abs=1e-4)
            assert seen[2] == pytest.approx(measures.cover(found, later, growth), abs=1e-7)


@pytest.mark.parametrize("seed", range(20))
def test_the_days_ahead_are_those_of_the_forecast(seed: int) -> None:
    """Each draw's layers, carried on by :mod:`coatwright.coat.forecast` with the same takes and aims."""
    rng, dog = random_dog(seed)
    day = dog.days()[-1]
    coats = stand(dog, state_of(rng, dog, day), day, DRAWS)
    takes = [
        [(day + int(gap), float(rng.uniform(0.05, 0.3))) for gap in np.cumsum(rng.integers(7, 40, 4))]
        for _ in dog.zones
    ]
    aims = [Aim(8.0, 30.0, 0.5, 0.2), None, Aim(3.0, 60.0, 0.4, 0.3, quiet=3)]
    told = ahead(coats, takes, day, 160, aims=aims)
    for d in range(DRAWS):
        for z, zone in enumerate(dog.zones):
            growth = plain.growth_of(zone, coats.traits[d, z])
            coat = coat_of(coats, d, z)
            done = []
            for when, share in takes[z]:  # never more than what stands by then
                until = carry_out(coat, day, done, growth)
                stood = shed(until.coats[-1], until.starts[-1], when, growth)
                standing = measures.cover(stood, when, growth)
                done.append((when, plain.thinned(share, standing, 0.0)))
            epochs = carry_out(coat, day, done, growth)
            right = forecast([epochs], [growth], day, 160, aims=[aims[z]], draws=Draws.certain([growth]))
            assert told.cover[d, z] == pytest.approx(right.cover[0, 0], abs=1e-5)
            assert told.outline[d, z] == pytest.approx(right.outline[0, 0], abs=plain.OUTLINE_ERROR)
            quiet = aims[z].quiet if aims[z] else 0
            assert told.ready[d, z, quiet:].tolist() == right.ready[0, 0, quiet:].tolist()
            if 0 <= day - coats.last_pull(z) < quiet:
                assert not told.ready[d, z, 0]
