"""Time the learning: one update after a visit, how it grows with visits, and a salon of many dogs.

python -m tests.bench.learning [dogs]
"""

from __future__ import annotations

import os
import platform
import statistics
import sys
import time

import numpy as np

from coatwright.learning.evidence import DogEvidence
from coatwright.learning.outlook import stand
from coatwright.learning.priors import Prior
from coatwright.learning.update import learn, update
from tests.learning.simulated import FIRST, rolled

ZONES, VISITS, DRAWS = 18, 12, 4000


def one_update(draws: int, visits: int, runs: int = 5) -> tuple[float, float, float]:
    """Median, least and most seconds of the update after the last of so many visits."""
    dog = rolled(np.random.default_rng(7), ZONES, visits).evidence()
    last = FIRST + 14 * (visits - 1)
    before = learn(dog, draws=draws, until=last - 1)
    found = []
    for _ in range(runs + 1):
        begun = time.perf_counter()
        update(before, dog, last, prior=Prior.of(), seed=1)
        found.append(time.perf_counter() - begun)
    return statistics.median(found[1:]), min(found[1:]), max(found[1:])


def salon(dogs: int, draws: int = 1000) -> list[float]:
    """Seconds for each dog of a sequence, three visits each: learnt from the beginning, and its coat drawn."""
    made: list[DogEvidence] = [rolled(np.random.default_rng([n, 3]), 6, 3).evidence() for n in range(dogs)]
    found = []
    for number, dog in enumerate(made):
        begun = time.perf_counter()
        state = learn(dog, draws=draws, seed=number + 1)
        stand(dog, state, state.day, 500)
        found.append(time.perf_counter() - begun)
    return found


def main(dogs: int = 1000) -> None:
    """Print both tables."""
    print(f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}\n")
    print("| one update, 18 zones | median | least | most | target |\n| --- | ---: | ---: | ---: | ---: |")
    for draws, visits, goal in ((4000, 12, "1 s"), (1000, 12, ""), (1000, 4, ""), (1000, 24, "")):
        median, least, most = one_update(draws, visits)
        print(f"| {draws} draws, visit {visits} | {median:.2f} s | {least:.2f} s | {most:.2f} s | {goal} |")
    times = salon(dogs)
    print(f"\n| a salon, dog after dog ({dogs}, 6 zones, 3 visits, 1,000 draws) | seconds |\n| --- | ---: |")
    for part in (4, 2, 1):
        print(f"| first {dogs // part} | {sum(times[: dogs // part]):.1f} |")
    halves = sum(times[dogs // 2 :]) / sum(times[: dogs // 2])
    print(f"\nThe second half took {halves:.2f} times as long as the first.")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
