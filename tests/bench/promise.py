"""Does a plan keep what it promises? Simulated dogs are planned, worked by an uneven hand, measured and replanned.

Each dog has an old full coat and growth of its own that nobody knows. Our plans are made anew at every visit from
what was measured until then; the same dog is also worked by two rules of the trade, by a hand as uneven:

    equal takes     20 % of every zone every two weeks, from the first visit on (common practice)
    club's table    each zone pulled right down once, so many weeks before the show: jacket 9, rear 6, front 4.5,
                    head 4 (staging methods of the United States Lakeland Terrier Club)

Half of the dogs are wished a staged coat for one show, half a rolling one with a show in it. Staged coats are also
planned without a price on overdue hair, so that no zone is pulled twice without need; and so that the dog comes three
times at the most, once less than by the club's table, and no zone is pulled down twice.

    python -m tests.bench.promise [dogs of each half] [wider dogs of each half]
"""

from __future__ import annotations

import copy
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from coatwright.coat import measures
from coatwright.coat.aims import Aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import ZoneCoat
from coatwright.coat.readiness import readiness
from coatwright.learning.outlook import Coats, ahead, stand
from coatwright.learning.priors import DOG_SD, JUDGED_SD, KIND_SD, RATE
from coatwright.learning.update import learn
from coatwright.planning.approach import Case, ZoneCase, aim_for
from coatwright.planning.cadence import Calendar
from coatwright.planning.compare import Option, best_cadence
from coatwright.planning.plan import Plan
from coatwright.planning.problem import SLIGHT, Costs
from coatwright.planning.solve import PlanSession
from coatwright.planning.surest import surest
from coatwright.units import Day, Minutes, Share
from tests.learning.simulated import FIRST, TrueDog, TrueZone, dog_of

DOGS, WIDER_DOGS, DRAWS = 150, 50, 500
SETUP: Minutes = 20.0
KNOWN = 0.6
"""Plans are made surer once the spread of the rate is this part of what it was, as in the program."""
SPREAD = (KIND_SD[RATE], DOG_SD[RATE])
SURER = True
SPARING = Costs(overdue=0.0)
FEW = 3
"""Visits of the dog that comes seldom: one less than by the club's table."""
DOWN = 0.9
"""A zone of which so much was pulled counts as pulled down."""


@dataclass(frozen=True)
class Part:
    """A zone of the experiment: band (mm), minutes for all of it, weeks before the show in the club's table."""

    key: str
    lo: float
    hi: float
    minutes: Minutes
    weeks: float


PARTS = (
    Part("back", 13, 25, 25, 9),
    Part("ribs", 13, 25, 30, 9),
    Part("croup", 13, 25, 15, 9),
    Part("thighs", 5, 10, 20, 6),
    Part("rear", 5, 10, 15, 6),
    Part("forechest", 1, 4, 15, 4.5),
    Part("throat", 1, 4, 15, 4.5),
    Part("skull", 0, 3, 15, 4),
)


@dataclass(frozen=True)
class Season:
    """What is wished: a staged coat for a show in week 18, or a rolling one from week 16 with a show in week 20."""

    name: str
    approach: str
    show: Day
    every_from: Day | None
    step: int

    def visits(self, day: Day) -> tuple[Day, ...]:
        """Days on which the dog can come: every step, and twice a week in the seven weeks before a staged show."""
        days = set(range(FIRST, self.show - 1, self.step))
        if self.every_from is None:
            days |= {self.show - back for back in range(5, 50) if back % 7 in (0, 3)}
        return tuple(sorted(each for each in days if day <= each < self.show - 1))

    def aim(self, part: Part) -> Aim | None:
        """What a zone is judged by, for every way of working alike."""
        zone = ZoneCase(part.key, ZoneCoat.even(FIRST, 14, 5), Growth(), (part.lo, part.hi))
        return aim_for(zone, staged=self.every_from is None, look=0.6)


STAGED = Season("staged, show in week 18", "staged", FIRST + 126, None, 7)
ROLLING = Season("rolling, show in week 20", "free", FIRST + 140, FIRST + 112, 14)


@dataclass
class Worked:
    """How one dog fared."""

    ready: bool = False
    zones_ready: int = 0
    thin: float = 0.0
    minutes: Minutes = 0.0
    promises: dict[int, float] = field(default_factory=dict)
    kept: bool = False
    zone_promises: list[tuple[float, bool]] = field(default_factory=list)


@dataclass
class Table:
    """The dog on the table: what it is, and every coat that it had."""

    dog: TrueDog
    coats: list[list[tuple[Day, ZoneCoat]]]
    pulled: list[Day | None]
    minutes: Minutes = 0.0

    @classmethod
    def of(cls, dog: TrueDog) -> Table:
        """A dog of its own, with the same hand."""
        own = copy.deepcopy(dog)
        return cls(own, [[(FIRST, zone.coat)] for zone in own.zones], [None] * len(own.zones))

    def work(self, day: Day, takes: dict[int, Share], *, hand: float = 0.0) -> None:
        """Pull; ``hand`` is the ln strength that the groomer allows for."""
        done: Minutes = 0.0
        for number, share in takes.items():
            zone = self.dog.zones[number]
            judged = 1.0 if share > 0.98 else float(-np.expm1(np.log1p(-share) * np.exp(-hand)))
            real = self.dog.pull(zone, day, judged)
            self.coats[number].append((day, zone.coat))
            self.pulled[number] = day
            done += real * PARTS[number].minutes
        self.minutes += done + SETUP if takes else 0.0

    def result(self, season: Season, aims: list[Aim | None]) -> Worked:
        """How it stands on the day of the show by ``aims``, and how thin it was on the way."""
        ready = [
            aim is None or _ready(zone, season.show, aim, pulled)
            for zone, aim, pulled in zip(self.dog.zones, aims, self.pulled, strict=True)
        ]
        return Worked(all(ready), sum(ready), self._thin(season), self.minutes)

    def _thin(self, season: Season) -> float:
        """Days on which a zone had less cover than a rolling coat is held to, on average over the zones."""
        days = 0
        for part, zone, coats in zip(PARTS, self.dog.zones, self.coats, strict=True):
            aim = ROLLING.aim(part)
            floor = (0.6 if aim is None else min(aim.cover, 0.6)) - SLIGHT
            growth, at = zone.growth, 0
            for day in range(FIRST, season.show + 1):
                while at + 1 < len(coats) and coats[at + 1][0] <= day:
                    at += 1
                days += measures.cover(coats[at][1], day, growth) < floor
        return days / len(self.coats)


def _ready(zone: TrueZone, day: Day, aim: Aim, pulled: Day | None) -> bool:
    return readiness(zone.coat, day, zone.growth, aim, last_pull=pulled, slack=SLIGHT).ready


def ours(
    dog: TrueDog, season: Season, seed: int, costs: Costs | None = None, most: int | None = None
) -> Worked:
    """Planned, worked, measured and replanned with the program.

    With ``most`` the dog is worked no more often than that, and no zone is pulled down twice.
    """
    table = Table.of(dog)
    promises: dict[int, float] = {}
    option: Option | None = None
    base, zone_chance = None, np.ones(len(PARTS))
    worked, spared = 0, set[str]()
    for day in season.visits(FIRST):
        due = option is not None and any(
            when == day and share > 0 for (_, when), share in option.plan.cells().items()
        )
        if (day - FIRST) % 14 and not due:
            continue
        for zone in table.dog.zones:
            table.dog.look(zone, day)
        evidence = table.dog.evidence()
        # what was pulled at the visit before came after that visit's readings, so its day is learnt again with it
        base = learn(evidence, draws=DRAWS, seed=seed, after=base, until=day - 1)
        coats = stand(evidence, learn(evidence, draws=DRAWS, seed=seed, after=base), day, DRAWS)
        plan = partial(_planned, coats, season, day, option, costs or Costs(), spared=spared)
        option = plan(season.visits(day))
        if most is not None and len(_busiest(option)) > (left := most - worked):
            option = plan(_busiest(option, left))
        cells = option.plan.cells()
        takes = {n: cells[p.key, day] for n, p in enumerate(PARTS) if cells.get((p.key, day), 0.0) > 0.0}
        ready = _chances(coats, option.plan, season, day)
        promises[day - FIRST], zone_chance = float(ready.all(axis=1).mean()), ready.mean(axis=0)
        table.work(day, takes, hand=float(np.median(coats.bias)))
        worked += bool(takes)
        if worked == most:
            break
        if most is not None:
            spared |= {PARTS[n].key for n, share in takes.items() if share >= DOWN}
    aims = [task.aim for task in option.plan.problem.zones] if option else []
    found = table.result(season, [season.aim(part) for part in PARTS])
    kept = table.result(season, aims)
    found.promises, found.kept = promises, kept.ready
    last = [
        aim is None or _ready(zone, season.show, aim, pulled)
        for zone, aim, pulled in zip(table.dog.zones, aims, table.pulled, strict=True)
    ]
    found.zone_promises = list(zip(zone_chance.tolist(), last, strict=True))
    return found


def _busiest(option: Option, most: int | None = None) -> tuple[Day, ...]:
    """The days on which a plan pulls, or the ``most`` of them on which it pulls longest."""
    minutes: dict[Day, Minutes] = {}
    for (key, when), share in option.plan.cells().items():
        if share > 0.0:
            part = next(each for each in PARTS if each.key == key)
            minutes[when] = minutes.get(when, 0.0) + share * part.minutes
    return tuple(sorted(sorted(minutes, key=lambda when: -minutes[when])[:most]))


def _planned(
    coats: Coats,
    season: Season,
    day: Day,
    before: Option | None,
    costs: Costs,
    days: tuple[Day, ...],
    *,
    spared: set[str],
) -> Option:
    """Made for the middle of what is known on a day, and surer; ``spared`` zones are left alone."""
    zones = tuple(
        ZoneCase(
            part.key, coats.middle(n), coats.growth(n, Growth()), (part.lo, part.hi), minutes=part.minutes
        )
        for n, part in enumerate(PARTS)
    )
    known = coats.traits[:, :, RATE].mean(axis=1).std() <= KNOWN * np.hypot(*SPREAD)
    case = Case(
        today=day,
        zones=zones,
        calendar=Calendar(first=day, blocked=frozenset((season.show, season.show - 1))),
        shows=(season.show,),
        ready_from=season.every_from,
        horizon=max(season.show - day, 1),
        previous={} if before is None else {c: s for c, s in before.plan.cells().items() if c[1] >= day},
        own_visits=days,
        fixed={(key, when): 0.0 for key in spared for when in days},
        costs=costs,
    )

    def surer(session: PlanSession, plan: Plan, _: int) -> Plan:
        return surest(session, plan, lambda each: _chances(coats, each, season, day).mean(axis=0))[0]

    return best_cadence(
        case, season.approach, cadences=(season.step,), surer=surer if known and SURER else None
    )[0]


def _chances(coats: Coats, plan: Plan, season: Season, day: Day) -> np.ndarray:
    """Whether each zone is ready on the day of the show when the plan is worked by an uneven hand, (draws, zones)."""
    cells = plan.cells()
    takes = [
        sorted((when, share) for (key, when), share in cells.items() if key == part.key and when >= day)
        for part in PARTS
    ]
    aims = [task.aim for task in plan.problem.zones]
    rng = np.random.default_rng(day)
    found = ahead(coats, takes, season.show, 1, aims=aims, slack=SLIGHT, rng=rng, off=JUDGED_SD)
    return found.ready[:, :, 0]


def equal_takes(dog: TrueDog, season: Season) -> Worked:
    """A fifth of every zone every two weeks."""
    table = Table.of(dog)
    for day in range(FIRST, season.show - 2, 14):
        table.work(day, dict.fromkeys(range(len(PARTS)), 0.2))
    return table.result(season, [season.aim(part) for part in PARTS])


def club_table(dog: TrueDog, season: Season) -> Worked:
    """Each zone right down, so many weeks before the show."""
    table = Table.of(dog)
    days: dict[Day, dict[int, Share]] = {}
    for number, part in enumerate(PARTS):
        days.setdefault(season.show - round(7 * part.weeks), {})[number] = 1.0
    for day in sorted(days):
        table.work(day, days[day])
    return table.result(season, [season.aim(part) for part in PARTS])


def one(season: Season, wider: float, seed: int) -> dict[str, Worked]:
    """One dog, worked in every way."""
    dog = dog_of(np.random.default_rng([seed, 5]), len(PARTS), wider=wider)
    ways: dict[str, Callable[[], Worked]] = {
        "our plan": lambda: ours(dog, season, seed + 1),
        "our plan, sparing": lambda: ours(dog, season, seed + 1, SPARING),
        "our plan, three visits": lambda: ours(dog, season, seed + 1, SPARING, FEW),
        "equal takes": lambda: equal_takes(dog, season),
        "club's table": lambda: club_table(dog, season),
    }
    if season.every_from is not None:
        del ways["our plan, sparing"], ways["our plan, three visits"]
    return {name: way() for name, way in ways.items()}


def report(season: Season, wider: float, dogs: int) -> None:
    """Print one season's table."""
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(partial(one, season, wider), range(dogs), chunksize=3))
    truth = "drawn from the prior" if wider == 1.0 else f"{wider:g} times as widely spread as the prior"
    print(f"\n### {season.name}: {dogs} dogs, growth and hand {truth}\n")
    print("| way | ready on the day | zones ready | thin days | minutes |\n| --- | --- | --- | --- | --- |")
    for name in found[0]:
        rows = [each[name] for each in found]
        print(
            f"| {name} | {100 * np.mean([r.ready for r in rows]):.1f} % | "
            f"{np.mean([r.zones_ready for r in rows]):.2f} of {len(PARTS)} | "
            f"{np.mean([r.thin for r in rows]):.1f} | {np.mean([r.minutes for r in rows]):.0f} |"
        )
    mine = [each["our plan"] for each in found]
    kept = 100 * np.mean([r.kept for r in mine])
    print(f"\nReady as planned: {kept:.1f} % of the dogs. Promised, on average:\n")
    print("| told | promised | dogs ready as planned | difference |\n| --- | --- | --- | --- |")
    for weeks in (12, 8, 4):
        told = [r.promises.get(season.show - FIRST - 7 * weeks) for r in mine]
        _told(
            f"{weeks} weeks before", [(p, r.kept) for p, r in zip(told, mine, strict=True) if p is not None]
        )
    _told("at the last visit", [(r.promises[max(r.promises)], r.kept) for r in mine])
    zones = [pair for r in mine for pair in r.zone_promises]
    _told("zone by zone, last visit", zones)
    for low, high in ((0.0, 0.25), (0.25, 0.5), (0.5, 0.75), (0.75, 0.9), (0.9, 1.01)):
        _told(
            f"zones told {100 * low:.0f} to {100 * min(high, 1):.0f} %",
            [z for z in zones if low <= z[0] < high],
        )


def _told(name: str, pairs: list[tuple[float, bool]]) -> None:
    if pairs:
        promised = 100 * np.mean([p for p, _ in pairs])
        kept = 100 * np.mean([k for _, k in pairs])
        print(f"| {name} ({len(pairs)}) | {promised:.1f} % | {kept:.1f} % | {kept - promised:+.1f} |")


def main(dogs: int = DOGS, wider_dogs: int = WIDER_DOGS) -> None:
    """Print all tables."""
    for season in (STAGED, ROLLING):
        report(season, 1.0, dogs)
        if wider_dogs:
            report(season, 1.5, wider_dogs)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:3]))
