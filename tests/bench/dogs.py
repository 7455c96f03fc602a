"""Problems of a known size for the benchmarks: an old full coat that is to roll, or to be right on one day."""

from __future__ import annotations

import numpy as np

from coatwright.coat.aims import rolling_aim, staged_aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.planning.approach import Case, ZoneCase
from coatwright.planning.cadence import Calendar
from coatwright.planning.problem import Futures, Problem, Wish, ZoneTask

TODAY = 740_000
BANDS = ((13, 25), (30, 50), (9, 21), (20, 38), (15, 30), (25, 45))


def zones(count: int, *, staged: bool) -> tuple[ZoneTask, ...]:
    """Zones with the bands of a jacket, legs, shoulders and so on; each neighbours the next."""
    coat, growth = ZoneCoat.of([Layer(TODAY - 260, 0.6), Layer(TODAY - 100, 0.4)]), Growth()
    found = []
    for z in range(count):
        lo, hi = BANDS[z % len(BANDS)]
        aim = staged_aim(lo, hi) if staged else rolling_aim(lo, hi, growth)
        look = 0.0 if staged else min(0.6, aim.cover)
        found.append(
            ZoneTask(
                f"zone{z:02d}",
                coat,
                growth,
                aim,
                look=look,
                welfare=0.0,
                minutes=25.0,
                neighbours=(f"zone{z + 1:02d}",),
            )
        )
    return tuple(found)


def rolling(count: int, visits: int, *, every: int = 14) -> Problem:
    """A rolling coat: ready at every visit from week 16 on."""
    days = tuple(TODAY + every * k for k in range(visits))
    return Problem(TODAY, days, (180.0,) * visits, zones(count, staged=False), Wish(every_from=TODAY + 112))


def show(count: int, visits: int, futures: int, *, every: int = 14) -> Problem:
    """A staged coat for one show after 18 weeks, with uncertain growth (lag sd 5 d, rate log-sd 0.1)."""
    days = tuple(TODAY + every * k for k in range(visits))
    rng = np.random.default_rng(7)
    unknown = Futures(
        rng.normal(0.0, 5.0, futures),
        np.exp(rng.normal(0.0, 0.1, futures)),
        np.full(futures, 1.0 / futures),
    )
    return Problem(
        TODAY,
        days,
        (240.0,) * visits,
        zones(count, staged=True),
        Wish(days=(TODAY + 126,)),
        futures=unknown if futures else None,
    )


def case(count: int) -> Case:
    """A whole dog over half a year, for the search of its cadence."""
    return Case(
        today=TODAY,
        zones=tuple(
            ZoneCase(z.key, z.coat, z.growth, BANDS[k % len(BANDS)], minutes=25.0, neighbours=z.neighbours)
            for k, z in enumerate(zones(count, staged=False))
        ),
        calendar=Calendar(TODAY),
        ready_from=TODAY + 112,
    )
