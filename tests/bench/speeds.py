"""How well minutes per zone are learnt: ``python -m tests.bench.speeds`` prints the figures of learning-speed.md.

Salons are drawn as :func:`tests.learning.test_speed.simulated` does, with the table of all zones, and learnt from
with the usual priors, whatever they were drawn from.
"""

from __future__ import annotations

import time

import numpy as np

from coatwright.learning.speed import Priors, learn
from coatwright.patterns import zones
from tests.learning.test_speed import day, simulated

SALONS = 40
CASES = (
    ("as assumed", Priors()),
    ("neater (take 0.10, pace 0.08, day 0.06)", Priors(take=0.10, pace=0.08, visit=0.06)),
    ("wilder (take 0.40, pace 0.20, day 0.30)", Priors(take=0.40, pace=0.20, visit=0.30)),
)
TABLE = {key: zone.minutes for key, zone in zones().items() if zone.work == "pull"}


def cover(truth_from: Priors, visits: int, timed: float) -> str:
    """One row: how many truths lie in their band of 8 in 10, how far off the belief is, and what it says of that."""
    inside, off, said, before = [], [], [], []
    for seed in range(SALONS):
        rng = np.random.default_rng(seed)
        works, truth, _ = simulated(
            rng, truth_from, groomers=3, dogs=12, visits=visits, timed=timed, table=TABLE
        )
        paces = learn(works)
        for (groomer, zone, dog), pace in truth.items():
            belief = paces.minutes(zone, 1.0, groomer=groomer, kind=f"k{int(dog[1:]) % 2}", dog=dog)
            inside.append(abs(pace - belief.mu) < 1.2816 * belief.sd)
            off.append(pace - belief.mu)
            said.append(belief.sd)
            before.append(pace)
    rms = float(np.sqrt(np.mean(np.square(off))))
    return f"{100 * np.mean(inside):.0f} % | {rms:.2f} | {np.std(before):.2f} | {np.mean(said):.2f}"


def outlier(factor: float, visits: int) -> float:
    """How far a record ``factor`` times too long moves a groomer's minutes at most, as a share."""
    rng = np.random.default_rng(1)
    good = [day(rng, 1.3, dog=f"d{n % 4}") for n in range(visits)]
    first = good[0].pulls[0]
    wrong = first.__class__(first.zone, first.share, first.reference, first.minutes * factor)
    works = [good[0].__class__("ivo", "terrier", "d0", (wrong, *good[0].pulls[1:])), *good[1:]]
    one, two = learn(good), learn(works)
    return max(
        abs(two.minutes(zone, 1.0, groomer="ivo").mean / one.minutes(zone, 1.0, groomer="ivo").mean - 1.0)
        for zone in ("back", "ribs", "neck", "ears", "skull")
    )


def main() -> None:
    """Print the tables."""
    print("| records | visits | timed singly | in the band | error | spread of the truth | sd believed |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, priors in CASES:
        for visits, timed in ((12, 1.0), (60, 1.0), (60, 0.5), (60, 0.0)):
            print(f"| {name} | {visits} | {100 * timed:.0f} % | {cover(priors, visits, timed)} |")
    print()
    for factor in (2.0, 10.0, 60.0):
        print(f"one of 50 records {factor:g} times too long: {100 * outlier(factor, 10):.1f} %")
    rng = np.random.default_rng(1)
    for visits in (100, 1000):
        works, _, _ = simulated(rng, Priors(), groomers=3, dogs=40, visits=visits, timed=0.7, table=TABLE)
        started = time.perf_counter()
        learn(works)
        print(f"{visits} visits of 21 zones: {time.perf_counter() - started:.2f} s")


if __name__ == "__main__":
    main()
