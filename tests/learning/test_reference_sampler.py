"""The update against an existing sampler: emcee (Foreman-Mackey et al. 2013, PASP 125:306-312; from memory).

Both use the compiled likelihood, which :mod:`tests.learning.test_likelihood` holds against plain Python. All else is
apart: the prior is written out here as one normal distribution over all zones and takes, with what zones share and
the habits of hands integrated out, and the ensemble of walkers starts from the prior and sees all records at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import emcee
import numpy as np
import pytest

from coatwright.coat.growth import Floats, Growth
from coatwright.learning import priors
from coatwright.learning.evidence import (
    DogEvidence,
    Look,
    PullRecord,
    Record,
    Start,
    StartLayer,
    ZoneEvidence,
    packed,
)
from coatwright.learning.update import evaluate, learn

FIRST = 738_000
DRAWS = 20_000
WALKERS, STEPS = 300, 3000
MEAN_OFF, SD_OFF = 0.1, 0.10
"""Means may differ by a tenth of the posterior's standard deviation, and that by a tenth of itself."""
OWN_ERROR = 0.02
"""The reference's own error of a mean, in standard deviations, by its autocorrelation time."""


# --- five dogs --------------------------------------------------------------------------------------------


def zone(key: str, *records: Record, **growth: float) -> ZoneEvidence:
    return ZoneEvidence(key, priors.centre_of(Growth(**growth)), records, area_cm2=150.0, minutes=12.0)


def rested(day: int) -> Start:
    return Start(day, (StartLayer(1.0, resting=True),))


def rolling(visits: int, longest: list[float], shortest: list[float | None]) -> list[Record]:
    """A visit every three weeks, a quarter pulled after each reading."""
    records: list[Record] = [rested(FIRST)]
    for visit in range(visits):
        day = FIRST + 21 * visit
        records.append(Look(day, longest=longest[visit], shortest=shortest[visit]))
        records.append(PullRecord(day, 0.25))
    return records


def rolled() -> DogEvidence:
    """One zone, five visits, the ruler."""
    return DogEvidence(
        (zone("back", *rolling(5, [88.0, 87.0, 86.0, 88.0, 85.0], [None, None, 5.0, 6.5, 5.5])),)
    )


def mistaken() -> DogEvidence:
    """Shaved to the skin by a pull and read three times, once in another unit: 90 mm on a coat of 12."""
    looks = [Look(FIRST + day, longest=mm) for day, mm in ((45, 7.5), (59, 90.0), (73, 20.0))]
    return DogEvidence((zone("ribs", rested(FIRST), PullRecord(FIRST, 1.0), *looks),))


def weighed() -> DogEvidence:
    """Two zones, three visits: grams, minutes, ease and a word for the cover."""
    zones = []
    for key, grams, minutes in (("back", (5.5, 4.6, 6.1), (3.1, 2.6, 3.3)), ("ribs", (7.0, 6.4), (4.0, 2.9))):
        records: list[Record] = [rested(FIRST)]
        for visit, (mass, time) in enumerate(zip(grams, minutes, strict=True)):
            day = FIRST + 21 * visit
            records.append(
                PullRecord(day, 0.2, grams=mass, minutes=time, ease=("easy", "easy", "firm")[visit])
            )
            records.append(Look(day, look=("close", "open", "open")[visit], after=True))
        records.append(Look(FIRST + 63, longest=84.0, steps=(15.0, 6.5)))
        zones.append(zone(key, *records))
    return DogEvidence(tuple(zones))


def staged() -> DogEvidence:
    """Three zones pulled out two weeks apart, each read as it comes in."""
    zones = []
    for number, (key, mm) in enumerate((("back", (4.5, 11.0)), ("rear", (3.0, 9.5)), ("head", (6.0,)))):
        out = FIRST + 14 * number
        looks = [Look(out + 42 + 14 * k, longest=value, look="dense") for k, value in enumerate(mm)]
        zones.append(zone(key, rested(FIRST), PullRecord(out, 1.0), *looks))
    return DogEvidence(tuple(zones))


def layered() -> DogEvidence:
    """Two zones read as three layers, two hands, steps by the comb and a judged cover."""
    start = Start(
        FIRST, (StartLayer(0.5, resting=True), StartLayer(0.3, length=30.0), StartLayer(0.2, age=35.0))
    )
    zones = [
        zone(
            key,
            start,
            Look(FIRST, cover=0.95),
            PullRecord(FIRST, 0.3, groomer=0),
            Look(FIRST + 21, cover=low, steps=(first,)),
            PullRecord(FIRST + 21, 0.2, groomer=1),
            Look(FIRST + 50, longest=long, steps=(first + 12.0, second)),
        )
        for key, low, first, long, second in (
            ("neck", 0.62, 41.0, 60.0, 9.0),
            ("croup", 0.7, 37.0, 58.0, 7.5),
        )
    ]
    return DogEvidence(tuple(zones), groomers=2)


DOGS: list[Callable[[], DogEvidence]] = [rolled, mistaken, weighed, staged, layered]


# --- the reference ----------------------------------------------------------------------------------------


@dataclass
class Target:
    """A dog's posterior in standard normal numbers: every one of them is 0 +- 1 before any record."""

    dog: DogEvidence

    def __post_init__(self) -> None:
        self.pack = packed(self.dog, self.dog.days()[-1])
        self.zones = len(self.dog.zones)
        pulls = [each for one in self.dog.zones for each in one.records if isinstance(each, PullRecord)]
        used = {priors.LAG, priors.RATE, priors.END, priors.SPREAD}
        used |= {priors.MASS} if any(each.grams for each in pulls) else set()
        used |= {priors.EFFORT} if any(each.minutes for each in pulls) else set()
        used |= {priors.RIPE} if any(each.ease for each in pulls) else set()
        self.used = sorted(used)
        self.dog_sd = priors.TOTAL_SD * np.sqrt(1.0 / 3.0 + 1.0 / 2.0)  # what the kind and the dog share
        self.zone_sd = priors.TOTAL_SD * np.sqrt(1.0 / 6.0)
        alike = np.ones((self.zones, self.zones))
        self.zone_root = {
            t: np.linalg.cholesky(self.dog_sd[t] ** 2 * alike + self.zone_sd[t] ** 2 * np.eye(self.zones))
            for t in self.used
        }
        hand = self.pack.takes[:, 0]
        same = (hand[:, None] == hand[None, :]).astype(float)
        self.take_root = np.linalg.cholesky(
            priors.BIAS_SD**2 * same + priors.JUDGED_SD**2 * np.eye(len(hand))
        )
        self.width = self.zones * len(self.used) + len(hand) + len(self.pack.start_zone)

    def unpacked(self, white: Floats) -> tuple[Floats, Floats, Floats]:
        """Traits, strengths of the takes and misreadings from standard normal numbers (points, width)."""
        zones = np.zeros((len(white), self.zones, len(priors.TRAITS)))
        for n, t in enumerate(self.used):
            zones[:, :, t] = white[:, n * self.zones : (n + 1) * self.zones] @ self.zone_root[t].T
        at = len(self.used) * self.zones
        pulls = len(self.take_root)
        takes = white[:, at : at + pulls] @ self.take_root.T
        return zones, takes, np.ascontiguousarray(white[:, at + pulls :])

    def __call__(self, white: Floats) -> Floats:
        found: Floats = -0.5 * (white**2).sum(axis=1) + evaluate(self.pack, *self.unpacked(white)).sum((1, 2))
        return found

    def told(self, zones: Floats, takes: Floats) -> tuple[list[str], Floats]:
        """What is compared, (points, quantities): traits of zones, the first and the last take."""
        names, columns = [], []
        for t in (priors.LAG, priors.RATE, priors.END):
            for z in range(self.zones):
                names.append(f"{priors.TRAITS[t]} of {self.dog.zones[z].key}")
                columns.append(zones[:, z, t])
        for at in sorted({0, takes.shape[1] - 1}):
            names.append(f"take {at}")
            columns.append(takes[:, at])
        return names, np.stack(columns, axis=1)

    def shared(self, zones: Floats, takes: Floats) -> tuple[list[str], Floats, Floats]:
        """What zones share and the habits of hands, given zones and takes: mean (points, quantities), variance."""
        names, means, variances = [], [], []
        for t in (priors.LAG, priors.RATE, priors.END):
            precision = 1.0 / self.dog_sd[t] ** 2 + self.zones / self.zone_sd[t] ** 2
            names.append(f"{priors.TRAITS[t]} of the dog")
            means.append(zones[:, :, t].sum(axis=1) / self.zone_sd[t] ** 2 / precision)
            variances.append(1.0 / precision)
        for hand in range(self.dog.groomers):
            mine = self.pack.takes[:, 0] == hand
            precision = 1.0 / priors.BIAS_SD**2 + mine.sum() / priors.JUDGED_SD**2
            names.append(f"habit of hand {hand}")
            means.append(takes[:, mine].sum(axis=1) / priors.JUDGED_SD**2 / precision)
            variances.append(1.0 / precision)
        return names, np.stack(means, axis=1), np.array(variances)


def first_walkers(target: Target, rng: np.random.Generator) -> Floats:
    """Walkers from the prior: the likelier the more, but not so few that they stand in one place."""
    white = rng.standard_normal((200_000, target.width))
    level = evaluate(target.pack, *target.unpacked(white)).sum((1, 2))
    temper = 1.0
    while True:
        weight = np.exp(temper * (level - level.max()))
        weight /= weight.sum()
        if 1.0 / (weight**2).sum() > WALKERS:
            break
        temper *= 0.8
    picked: Floats = white[rng.choice(len(white), WALKERS, p=weight)]
    return picked + 0.1 * rng.standard_normal(picked.shape)


def sampled(target: Target, steps: int, seed: int) -> tuple[list[str], Floats, Floats, Floats]:
    """Names, means, standard deviations and the errors of the means, in standard deviations, by emcee."""
    rng = np.random.default_rng(seed)
    moves = [
        (emcee.moves.DEMove(), 0.6),
        (emcee.moves.DESnookerMove(), 0.1),
        (emcee.moves.StretchMove(), 0.3),
    ]
    sampler = emcee.EnsembleSampler(WALKERS, target.width, target, moves=moves, vectorize=True)
    sampler.random_state = np.random.RandomState(seed).get_state()
    sampler.run_mcmc(first_walkers(target, rng), steps)
    chain = sampler.get_chain(discard=steps // 4)
    kept = len(chain)
    zones, takes, _ = target.unpacked(chain.reshape(-1, target.width))
    names, own = target.told(zones, takes)
    more, means, variances = target.shared(zones, takes)
    every = np.concatenate([own, means], axis=1)
    extra = np.concatenate([np.zeros(own.shape[1]), variances])
    tau = emcee.autocorr.integrated_time(every.reshape(kept, WALKERS, -1), quiet=True)
    error = np.sqrt(tau / (kept * WALKERS)) * every.std(axis=0) / np.sqrt(every.var(axis=0) + extra)
    return [*names, *more], every.mean(axis=0), np.sqrt(every.var(axis=0) + extra), error


def learnt(target: Target) -> tuple[Floats, Floats]:
    """The same means and standard deviations by the update, visit by visit."""
    state = learn(target.dog, draws=DRAWS, seed=11)
    _, own = target.told(state.zones, state.takes)
    shared = state.dog[:, [priors.LAG, priors.RATE, priors.END]]
    every = np.concatenate([own, shared, state.bias], axis=1)
    mean = state.weight @ every
    return mean, np.sqrt(state.weight @ (every - mean) ** 2)


@pytest.mark.parametrize("dog", DOGS, ids=[dog.__name__ for dog in DOGS])
def test_means_and_spreads_are_those_of_the_reference(dog: Callable[[], DogEvidence]) -> None:
    target = Target(dog())
    names, right, sd, error = sampled(target, STEPS, 5)
    mean, spread = learnt(target)
    for n, name in enumerate(names):
        assert error[n] < OWN_ERROR, name
        assert abs(mean[n] - right[n]) < MEAN_OFF * sd[n], (name, (mean[n] - right[n]) / sd[n])
        assert spread[n] == pytest.approx(sd[n], rel=SD_OFF), (name, spread[n] / sd[n])


def test_two_coats_that_fit_are_both_kept() -> None:
    """A short hair of 5 mm after six weeks may be the first pull's or, of a quick coat, the second's.

    Walkers seldom cross from one to the other, so the reference here is two million draws of the prior, weighed.
    """
    records: list[Record] = [rested(FIRST)]
    for visit, short in enumerate((None, None, None, 5.0, 6.5)):
        records.append(Look(FIRST + 14 * visit, longest=86.0, shortest=short))
        records.append(PullRecord(FIRST + 14 * visit, 0.25))
    target = Target(DogEvidence((zone("back", *records),)))
    rng = np.random.default_rng(7)
    levels, quantities = [], []
    for _ in range(20):
        zones, takes, starts = target.unpacked(rng.standard_normal((100_000, target.width)))
        level = evaluate(target.pack, zones, takes, starts).sum((1, 2))
        likely = level > level.max() - 12.0
        names, own = target.told(zones, takes)
        levels.append(level[likely])
        quantities.append(own[likely])
    level, every = np.concatenate(levels), np.concatenate(quantities)
    weight = np.exp(level - level.max())
    weight /= weight.sum()
    assert 1.0 / (weight**2).sum() > 1500.0
    right = weight @ every
    sd = np.sqrt(weight @ (every - right) ** 2)
    mean, spread = learnt(target)
    assert np.all(np.abs(mean[: len(names)] - right) < MEAN_OFF * sd)
    assert spread[: len(names)] == pytest.approx(sd, rel=SD_OFF)
