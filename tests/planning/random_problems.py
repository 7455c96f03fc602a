"""Random dogs for the planner's tests: any coat, any wish, any calendar, from one seed each."""

from __future__ import annotations

import numpy as np

from coatwright.coat.aims import Aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.planning.problem import Futures, Problem, Wish, ZoneTask

TODAY = 740_000


def random_problem(seed: int) -> Problem:
    """A problem with 1 to 6 zones and 3 to 14 visits; loss, broken and cut hair, fixed cells and futures occur."""
    rng = np.random.default_rng(seed)
    zones, visits = int(rng.integers(1, 7)), int(rng.integers(3, 15))
    cadence = int(rng.choice([7, 10, 14, 21]))
    days = tuple(int(TODAY + cadence * k + rng.integers(0, 3)) for k in range(visits))
    names = [f"zone{z}" for z in range(zones)]
    tasks = []
    for z, name in enumerate(names):
        growth = Growth(
            lag=float(rng.uniform(20, 36)),
            rate=float(rng.uniform(0.25, 0.8)),
            end=float(rng.uniform(45, 90)),
            loss=float(rng.choice([0.0, 0.0, 0.01])),
        )
        lo = float(rng.uniform(0, 20))
        aim = (
            None
            if rng.random() < 0.15
            else Aim(lo, lo + float(rng.uniform(4, 20)), float(rng.uniform(0.2, 0.7)))
        )
        tasks.append(
            ZoneTask(
                name,
                random_coat(rng),
                growth,
                aim,
                look=float(rng.choice([0.0, 0.3, 0.5])),
                welfare=float(rng.choice([0.0, 0.3])),
                cap=float(rng.choice([0.25, 1.0])),
                minutes=float(rng.uniform(5, 60)),
                broken=float(rng.choice([0.0, 0.1])),
                neighbours=tuple(names[z + 1 : z + 2]),
            )
        )
    last = days[-1] + 40
    shows = tuple(sorted({int(rng.integers(TODAY + 20, last)) for _ in range(rng.integers(0, 3))}))
    every = int(rng.integers(TODAY + 30, last)) if rng.random() < 0.5 or not shows else None
    futures = Futures.prior(8, rng) if rng.random() < 0.3 and shows else None
    fixed = {}
    if rng.random() < 0.4:
        day = days[int(rng.integers(0, visits))]
        under = day - tasks[0].coat.born < tasks[0].growth.lag
        stands = 1.0 - float(tasks[0].coat.shares[under].sum())
        fixed[names[0], day] = min(float(rng.choice([0.0, 0.1, 0.2])), 0.05 * int(stands / 0.05))
    return Problem(
        TODAY,
        days,
        tuple(float(m) for m in rng.uniform(30, 240, visits)),
        tuple(tasks),
        Wish(shows, every),
        setup=float(rng.choice([0.0, 15.0])),
        fixed=fixed,
        futures=futures,
    )


def random_coat(rng: np.random.Generator) -> ZoneCoat:
    """One to five layers of any age up to a year, some of them cut."""
    count = int(rng.integers(1, 6))
    shares = rng.dirichlet(np.ones(count))
    born = TODAY - rng.integers(1, 360, count)
    removed = rng.choice([0.0, 0.0, 5.0], count)
    return ZoneCoat.of(
        Layer(int(b), float(s), float(x)) for b, s, x in zip(born, shares, removed, strict=True)
    )
