"""Simulation-based calibration of the learning (Talts et al. 2018, arXiv 1804.06788; from memory).

Dogs are drawn from the prior, worked and recorded; the place of the truth among the draws must be uniform.

    python -m tests.bench.calibration [dogs]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import chisquare

from coatwright.coat.growth import Floats
from coatwright.learning import priors
from coatwright.learning.outlook import stand
from coatwright.learning.state import State
from coatwright.learning.update import learn
from tests.learning.simulated import FIRST, TrueDog, rolled

DOGS, DRAWS, ZONES, VISITS = 500, 1000, 10, 8
BINS = 20
RATE_AT = tuple(FIRST + 14 * visit for visit in range(VISITS))


@dataclass(frozen=True)
class Found:
    """One dog: places of the truth among the draws (0 to 1), whether the 80 % band holds it, errors of the rate."""

    places: dict[str, float]
    dog_error: Floats
    zone_error: Floats
    known: Floats


def place(state: State, draws: Floats, truth: float, rng: np.random.Generator) -> float:
    """Weight of the draws below the truth; ties are broken at random."""
    below = float(state.weight[draws < truth].sum())
    return below + float(state.weight[draws == truth].sum()) * rng.random()


def one(seed: int) -> Found:
    """Simulate a dog, learn it, and place the truth."""
    rng = np.random.default_rng([seed, 77])
    dog = rolled(rng, ZONES, VISITS, richly=True)
    marks: list[tuple[float, Floats, float]] = []
    true_zone = np.array([zone.traits[priors.RATE] for zone in dog.zones])

    def seen(state: State) -> None:
        zones = state.weight @ state.zones[:, :, priors.RATE]
        mean = state.zones[:, :, priors.RATE].mean(axis=1)
        spread = float(np.sqrt(state.weight @ (mean - state.weight @ mean) ** 2))
        marks.append((float(zones.mean()), zones, spread))

    state = learn(dog.evidence(), draws=DRAWS, seed=seed, seen=seen)
    return Found(
        dict(_places(dog, state, rng)),
        np.array([mean - true_zone.mean() for mean, _, _ in marks]),
        np.array([zones - true_zone for _, zones, _ in marks]),
        np.array([spread for _, _, spread in marks]),
    )


def _places(dog: TrueDog, state: State, rng: np.random.Generator) -> Iterator[tuple[str, float]]:
    for number, trait in enumerate(priors.TRAITS):
        yield f"dog {trait}", place(state, state.dog[:, number], dog.shared[number], rng)
        for zone in (0, 1, 2):
            draws = state.zones[:, zone, number]
            yield f"zone {zone} {trait}", place(state, draws, dog.zones[zone].traits[number], rng)
    yield "habit", place(state, state.bias[:, 0], dog.bias, rng)
    coats = stand(dog.evidence(), state, state.day)
    equal = replace(state, weight=np.full(len(coats), 1.0 / len(coats)))
    for zone in (0, 1, 2):
        _, taken = coats.taken_in(zone)
        for visit in (0, 3, VISITS - 1):
            if visit < len(dog.zones[zone].taken):
                yield (
                    f"zone {zone} take {visit + 1}",
                    place(equal, taken[:, visit], dog.zones[zone].taken[visit], rng),
                )


def main(dogs: int = DOGS) -> None:
    """Print the whole table."""
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(one, range(dogs), chunksize=5))
    print(f"{dogs} dogs, {ZONES} zones, {VISITS} visits every two weeks, {DRAWS} draws\n")
    print("| quantity | chi-square p | inside the 80 % band |\n| --- | --- | --- |")
    worst, held = 1.0, []
    for name in found[0].places:
        places = np.array([each.places[name] for each in found if name in each.places])
        counts = np.histogram(places, bins=BINS, range=(0.0, 1.0))[0]
        p = float(chisquare(counts).pvalue)
        inside = float(((places > 0.1) & (places < 0.9)).mean())
        worst = min(worst, p)
        held.append(inside)
        print(f"| {name} | {p:.3f} | {100 * inside:.1f} % |")
    print(f"\nSmallest p {worst:.4f}; bands hold {100 * min(held):.1f} to {100 * max(held):.1f} %.\n")
    error = np.array([each.dog_error for each in found])
    zones = np.array([each.zone_error for each in found])
    known = np.array([each.known for each in found])
    prior = np.sqrt((error[:, 0] ** 2).mean())
    prior_zone = np.sqrt((zones[:, 0] ** 2).mean())
    print("| week | error of the dog's rate, of the prior's | zone by zone | told spread, of the prior's |")
    print("| --- | --- | --- | --- |")
    for visit in range(VISITS):
        dog = np.sqrt((error[:, visit] ** 2).mean()) / prior
        zone = np.sqrt((zones[:, visit] ** 2).mean()) / prior_zone
        told = known[:, visit].mean() / known[:, 0].mean()
        print(f"| {2 * visit} | {dog:.2f} | {zone:.2f} | {told:.2f} |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else DOGS)
