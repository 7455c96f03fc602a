"""Simulation-based calibration of the learning (Talts et al. 2018, arXiv 1804.06788; from memory).

Dogs are drawn from the prior, worked and recorded; the place of the truth among the draws must be uniform. Others,
read in ten zones every two weeks, tell how soon their growth is known.

    python -m tests.bench.calibration [dogs] [dogs for the growth]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np
from scipy.stats import chisquare

from coatwright.coat.growth import Floats
from coatwright.learning import priors
from coatwright.learning.outlook import stand
from coatwright.learning.state import State
from coatwright.learning.update import learn
from tests.learning.simulated import TrueDog, rolled

DRAWS = 1000
DOGS, ZONES, VISITS = 500, 5, 6
GROWTH_DOGS, GROWTH_ZONES, GROWTH_VISITS = 100, 10, 8
BINS = 20


def place(state: State, draws: Floats, truth: float, rng: np.random.Generator) -> float:
    """Weight of the draws below the truth; ties are broken at random."""
    below = float(state.weight[draws < truth].sum())
    return below + float(state.weight[draws == truth].sum()) * rng.random()


def one(seed: int) -> dict[str, float]:
    """Simulate a dog, learn it, and place the truth among its draws."""
    rng = np.random.default_rng([seed, 77])
    dog = rolled(rng, ZONES, VISITS, richly=True)
    return dict(_places(dog, learn(dog.evidence(), draws=DRAWS, seed=seed), rng))


def grown(seed: int, layers: bool) -> tuple[Floats, Floats, Floats]:
    """Errors of ln rate after each visit: of the dog, of each zone, and the spread told.

    ``layers``: with one length that the comb tells apart in each zone, beside the longest, the shortest and the word.
    """
    dog = rolled(np.random.default_rng([seed, 78]), GROWTH_ZONES, GROWTH_VISITS, stepped=layers)
    truth = np.array([zone.traits[priors.RATE] for zone in dog.zones])
    marks: list[tuple[float, Floats, float]] = []

    def seen(state: State) -> None:
        rates = state.zones[:, :, priors.RATE]
        zones, mean = state.weight @ rates, rates.mean(axis=1)
        spread = float(np.sqrt(state.weight @ (mean - state.weight @ mean) ** 2))
        marks.append((float(zones.mean() - truth.mean()), zones - truth, spread))

    learn(dog.evidence(), draws=DRAWS, seed=seed, seen=seen)
    return np.array([m[0] for m in marks]), np.array([m[1] for m in marks]), np.array([m[2] for m in marks])


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


def calibration(dogs: int) -> None:
    """Print where the truth lay."""
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(one, range(dogs), chunksize=5))
    print(f"{dogs} dogs, {ZONES} zones, {VISITS} visits every two weeks, {DRAWS} draws\n")
    print("| quantity | chi-square p | inside the 80 % band |\n| --- | ---: | ---: |")
    lowest, held = 1.0, []
    for name in found[0]:
        places = np.array([each[name] for each in found if name in each])
        counts = np.histogram(places, bins=BINS, range=(0.0, 1.0))[0]
        p = float(chisquare(counts).pvalue)
        inside = float(((places > 0.1) & (places < 0.9)).mean())
        lowest = min(lowest, p)
        held.append(inside)
        print(f"| {name} | {p:.3f} | {100 * inside:.1f} % |")
    print(f"\nSmallest p {lowest:.4f}; the bands hold {100 * min(held):.1f} to {100 * max(held):.1f} %.\n")


def growth(dogs: int, *, layers: bool) -> None:
    """Print how soon the growth is known."""
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(partial(grown, layers=layers), range(dogs), chunksize=2))
    dog, zones, told = (np.array([each[k] for each in found]) for k in range(3))
    print(
        f"{dogs} dogs, {GROWTH_ZONES} zones read every two weeks {'with' if layers else 'without'} a layer each: "
        "error of ln growth, as a part of the prior's\n"
    )
    print("| week | the dog's | zone by zone | spread told |\n| ---: | ---: | ---: | ---: |")
    of_dog, of_zone = np.sqrt((dog**2).mean(axis=0)), np.sqrt((zones**2).mean(axis=(0, 2)))
    for visit in range(GROWTH_VISITS):
        print(
            f"| {2 * visit} | {of_dog[visit] / of_dog[0]:.2f} | {of_zone[visit] / of_zone[0]:.2f} | "
            f"{told[:, visit].mean() / told[:, 0].mean():.2f} |"
        )


def main(dogs: int = DOGS, growth_dogs: int = GROWTH_DOGS) -> None:
    """Print the whole page."""
    calibration(dogs)
    for layers in (False, True):
        growth(growth_dogs, layers=layers)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:3]))
