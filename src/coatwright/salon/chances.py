"""How surely a plan makes a dog ready, what to measure next, and what a coat should have done but did not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from coatwright.planning.problem import SLIGHT
from coatwright.salon.learnt import SEED, SHELF, Learnt, Shelf, learn_dog
from coatwright.units import Day, Millimetres, Share, day_of

if TYPE_CHECKING:
    from coatwright.coat.forecast import Forecast
    from coatwright.coat.growth import Floats
    from coatwright.planning.compare import Surer
    from coatwright.planning.plan import Plan
    from coatwright.planning.solve import PlanSession
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog

TELLING: Share = 0.02
"""A reading that takes away less of the doubt is not worth being asked for."""
SAMPLED, STEP_DAYS = 84, 13
"""Days of a rolling wish by which a plan is judged: of its first twelve weeks every thirteenth, so that all days of a
fortnight come in turn."""


@dataclass(frozen=True, slots=True)
class ShowChance:
    """How surely a dog is ready on a show's day: all judged zones together, and each."""

    show: str
    name: str
    day: date
    chance: Share
    zones: Mapping[str, Share]


@dataclass(frozen=True, slots=True)
class Advice:
    """A reading worth taking: ``share`` of the doubt about ``what`` that it takes away on average."""

    zone: str
    reading: str
    share: Share
    what: str


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something that a coat should have done. ``kind``: ``slow``, ``slow dog``, ``nothing`` or ``thin``."""

    kind: str
    day: date
    zone: str = ""
    read: Millimetres | None = None
    expected: Millimetres | None = None
    chance: Share | None = None


def ahead_of(learnt: Learnt, plan: Plan, first: Day, days: int, *, missed: bool = True) -> Forecast:
    """The coat on ``days`` days from ``first`` under a plan, for every draw; zones in the order of the plan's.

    With ``missed`` takes are pulled as a hand pulls them, a quarter more or less.
    """
    from coatwright.coat.forecast import Forecast
    from coatwright.learning.outlook import ahead

    tasks = {task.key: task for task in plan.problem.zones}
    cells = plan.cells()
    coats, today = learnt.coats, learnt.coats.day
    if any(day == today for _, day in cells):  # a visit of today is still to come: it is pulled this evening
        coats = replace(coats, day=today - 1)
    after = coats.day
    takes = [
        sorted((day, share) for (zone, day), share in cells.items() if zone == key and day > after)
        for key in learnt.zones
    ]
    found = ahead(
        coats,
        takes,
        max(first, today),
        days,
        aims=[tasks[key].aim if key in tasks else None for key in learnt.zones],
        slack=SLIGHT,
        rng=np.random.default_rng(SEED) if missed else None,
    )
    order = [learnt.zones.index(task.key) for task in plan.problem.zones]
    return Forecast(found.first, found.cover[:, order], found.outline[:, order], found.ready[:, order])


def ready_draws(learnt: Learnt, plan: Plan, day: Day) -> Floats:
    """Whether each zone of the plan is ready on a day, (draws, zones) of 0 and 1; zones without aim always are."""
    found: Floats = ahead_of(learnt, plan, day, 1).ready[:, :, 0].astype(float)
    return found


def surer_of(learnt: Learnt) -> Surer:
    """Makes plans surer by what is known of a dog. The margins of a dog, once found, are kept with what is known."""
    from coatwright.planning.surest import planned_within, surest

    def chances(plan: Plan) -> Floats:
        every = plan.problem.wish.every_from
        days = [day for day in plan.problem.wish.days if day >= learnt.coats.day]
        if every is not None:
            first = max(every, learnt.coats.day)
            days += list(range(first, min(first + SAMPLED, plan.problem.last_day), STEP_DAYS))
        ready = [ready_draws(learnt, plan, day).mean(axis=0) for day in days]
        found: Floats = np.mean(ready, axis=0)
        return found

    def surer(session: PlanSession, plan: Plan, cadence: int) -> Plan:
        wish = session.problem.wish
        key = (cadence, wish.days, wish.every_from)
        margins = learnt.margins.get(key)
        if margins is None:
            plan, learnt.margins[key] = surest(session, plan, chances)
            return plan
        return plan if set(margins.values()) == {1.0} else planned_within(session, margins)

    return surer


def show_chances(learnt: Learnt, plan: DogPlan) -> tuple[ShowChance, ...]:
    """Every show to come."""
    found = []
    for show in plan.dog.wish.shows:
        if show.day < plan.today:
            continue
        ready = ready_draws(learnt, plan.option.plan, day_of(show.day))
        tasks = plan.option.plan.problem.zones
        found.append(
            ShowChance(
                show.id,
                show.name,
                show.day,
                float(ready.all(axis=1).mean()),
                {task.key: float(ready[:, n].mean()) for n, task in enumerate(tasks) if task.aim is not None},
            )
        )
    return tuple(found)


def measure_next(learnt: Learnt, plan: DogPlan, day: date, most: int = 3) -> tuple[Advice, ...]:
    """The readings on ``day`` that would narrow the answer most, best first; none where none is worth it.

    The answer is whether the dog is ready for the next show, else on the last day that the plan shows; where that
    is as good as certain, how many zones are ready, and where that is certain too, how fast the coat grows.
    """
    from coatwright.learning.advice import worth
    from coatwright.learning.priors import RATE

    shows = [show.day for show in plan.dog.wish.shows if show.day >= max(day, plan.today)]
    judged = day_of(min(shows)) if shows else plan.option.shown_until
    ready = ready_draws(learnt, plan.option.plan, judged)
    answer, what = ready.all(axis=1).astype(float), "ready"
    if not 0.02 < answer.mean() < 0.98:
        answer, what = ready.mean(axis=1), "zones"
    if answer.var() < 1e-4:
        answer, what = learnt.coats.traits[:, :, RATE].mean(axis=1), "growth"
    found = worth(learnt.coats, day_of(day), answer, np.random.default_rng(SEED))
    told = [
        Advice(learnt.zones[each.zone], each.reading, each.share, what)
        for each in found
        if each.share >= TELLING
    ]
    return tuple(told[:most])


def alarms(before: Learnt, after: Learnt, day: date) -> tuple[Alarm, ...]:
    """What the readings of ``day`` say that the coat ``before`` them should not have done.

    ``before`` is what was known on the evening before, ``after`` on the evening of the day or later.
    """
    from coatwright.learning.alarm import SLOW, nothing_came, placed, slow_dog, slow_zones
    from coatwright.learning.evidence import Look

    rng = np.random.default_rng([SEED, day_of(day)])
    looks = [
        (before.zones.index(zone.key), record)
        for zone in after.evidence.zones
        for record in zone.records
        if isinstance(record, Look)
        and record.day == day_of(day)
        and not record.after
        and zone.key in before.zones
    ]
    found = [
        Alarm("nothing", day, before.zones[zone])
        for zone, look in looks
        if nothing_came(before.coats, zone, look)
    ]
    told = [each for zone, look in looks for each in placed(before.coats, zone, look, rng)]
    found += [
        Alarm("slow", day, before.zones[each.zone], each.value, each.expected, each.below)
        for each in slow_zones(told, len(told))
    ]
    together = slow_dog(before.coats, looks, rng)
    if together < SLOW:
        found.append(Alarm("slow dog", day, chance=together))
    return tuple(found)


def last_alarms(learnt: Learnt, *, others: Iterable[Dog] = (), shelf: Shelf = SHELF) -> tuple[Alarm, ...]:
    """What the last readings before a pull say that the coat should not have done; none before any.

    ``others`` as in :func:`coatwright.salon.learnt.learn_dog`. An alarm stands until the coat is read again.
    """
    days = [each.day for each in learnt.dog.readings if each.day <= learnt.day and each.at_visit != "after"]
    if not days:
        return ()
    before = learn_dog(learnt.dog, max(days) - timedelta(days=1), others=others, shelf=shelf)
    return () if before is None else alarms(before, learnt, max(days))


def thin_zones(learnt: Learnt, plan: DogPlan, day: date) -> tuple[Alarm, ...]:
    """Zones whose cover on ``day`` is more likely than not below what the plan holds them to."""
    from coatwright.learning.alarm import thinner

    seen = learnt.coats.seen(day_of(day))[:, :, 2]
    found = []
    for task in plan.option.plan.problem.zones:
        floor = max(task.look, task.welfare)
        if floor <= 0.0:
            continue
        chance = thinner(seen[:, learnt.zones.index(task.key)], floor - SLIGHT)
        if chance > 0.5:
            found.append(Alarm("thin", day, task.key, chance=chance))
    return tuple(found)
