"""What is known of a dog's coat and how well, gathered once for every page and paper that tells it.

Bands hold eight of ten draws. What was believed beforehand stands beside each, so that nobody takes for known what
was only supposed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from coatwright.salon.believed import BAND, BelievedTake, Habit, habits_of, takes_of
from coatwright.salon.chances import (
    Advice,
    Alarm,
    ShowChance,
    last_alarms,
    measure_next,
    show_chances,
    thin_zones,
)
from coatwright.salon.evidence import is_measured, papers_taught_by
from coatwright.salon.learnt import SHELF, Learnt, Shelf, learn_dog
from coatwright.salon.once import once
from coatwright.units import Share, date_of, day_of

if TYPE_CHECKING:
    from coatwright.coat.growth import Floats
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog, Visit

NO_MORE: Share = 0.85
"""A band that is left with more than this part of its width tells no more than was known: draws tremble by some
hundredths, and what a kind shares moves little."""
WELL: Share = 0.4
"""A band of this part of its width, and less, is called well known; between the two roughly."""
WORDS = {
    "no more": "no more known than for any dog of its kind",
    "roughly": "roughly known",
    "well": "well known",
}
TAIL = NormalDist().inv_cdf(BAND[1])
"""Standard deviations from the middle of a normal distribution to the end of the band."""


@dataclass(frozen=True, slots=True)
class Belief:
    """A value as it was believed beforehand and as it is now: (low, middle, high); ``left`` of the spread.

    ``left`` is the spread now as a part of what it was: 1 is no more known.
    """

    before: tuple[float, float, float]
    now: tuple[float, float, float]
    left: float

    @property
    def how(self) -> str:
        """``no more``, ``roughly`` or ``well``."""
        return "no more" if self.left > NO_MORE else "well" if self.left <= WELL else "roughly"


@dataclass(frozen=True, slots=True)
class ZoneKnown:
    """A zone: ``lag`` days until the hair breaks the skin, ``rate`` of growth in mm/d, ``end`` length in mm."""

    key: str
    lag: Belief
    rate: Belief
    end: Belief


@dataclass(frozen=True, slots=True)
class Sight:
    """When hair that was pulled can first be read again: the zone, its pull, and the day with its band."""

    zone: str
    pulled: date
    low: date
    middle: date
    high: date


@dataclass(frozen=True, slots=True)
class Facts:
    """What was measured: readings by comb and ruler, takes weighed, takes whose ease was noted, paper tests of takes.

    Paper tests of a day and zone of which no take is logged teach nothing, and are not counted.
    """

    readings: int
    weighed: int
    eased: int
    papers: int
    days: tuple[date, ...]

    @property
    def some(self) -> bool:
        """Whether anything was."""
        return bool(self.readings or self.weighed or self.eased or self.papers)


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a dog: zone by zone, of the whole dog, of its groomers' hands.

    ``rate``    growth of the whole dog, mm/d, the zones taken together
    ``since``   the first day on which that was known clearly better than beforehand; None while it is not
    ``alarms``  what the last readings say that the coat should not have done
    ``takes``   of every visit what was planned, recorded and is believed, by the visit's id
    ``sight``   when regrown hair can first be read; None before anything was pulled
    """

    zones: tuple[ZoneKnown, ...]
    rate: Belief
    since: date | None
    sight: Sight | None
    habits: tuple[Habit, ...]
    facts: Facts
    alarms: tuple[Alarm, ...]
    takes: Mapping[str, tuple[BelievedTake, ...]]


def known_of(learnt: Learnt, *, others: Iterable[Dog] = (), shelf: Shelf = SHELF) -> Known:
    """All that a page tells of a dog. ``others`` as in :func:`coatwright.salon.learnt.learn_dog`."""
    salon = tuple(others)
    return Known(
        zones=tuple(_zone(learnt, number) for number in range(len(learnt.zones))),
        rate=_whole(learnt),
        since=_since(learnt, salon, shelf),
        sight=_sight(learnt),
        habits=habits_of(learnt),
        facts=facts_of(learnt.dog, learnt.day),
        takes={visit.id: takes_of(learnt, visit) for visit in learnt.dog.visits if visit.day <= learnt.day},
        alarms=last_alarms(learnt, others=salon, shelf=shelf),
    )


def learn_where_asked(
    dog: Dog, day: date, *, others: Iterable[Dog] = (), shelf: Shelf | None = None
) -> Learnt | None:
    """What is known of a dog where anything was measured or a show is to come, for whose chance that is needed.

    Else None, which spares a command the time to learn nothing.
    """
    asked = any(show.day >= day for show in dog.wish.shows)
    if not asked and not is_measured(dog, day):
        return None
    return learn_dog(dog, day, others=others, shelf=shelf or SHELF)


def chances_of(plan: DogPlan) -> tuple[ShowChance, ...]:
    """How surely the dog is ready for every show to come; none where nothing was learnt."""
    learnt = plan.learnt
    if learnt is None:
        return ()
    found: tuple[ShowChance, ...] = once(plan, ("chances",), lambda: show_chances(learnt, plan))
    return found


def chance_at(plan: DogPlan, show: str) -> ShowChance | None:
    """How surely the dog is ready for one show."""
    return next((each for each in chances_of(plan) if each.show == show), None)


def expected_ready(chance: ShowChance) -> float:
    """How many judged zones are ready on a show's day, on average over the draws."""
    return sum(chance.zones.values())


def is_measured_of(plan: DogPlan) -> bool:
    """Whether chances and bands are of this dog, by what was measured of it, not of what its kind may be."""
    return plan.learnt is not None and plan.learnt.measured


def advice_of(plan: DogPlan, day: date | None = None) -> tuple[Advice, ...]:
    """What to measure on a day, by default at the next visit, else today; at most three readings."""
    learnt = plan.learnt
    if learnt is None:
        return ()
    when = day or advised_day(plan)
    found: tuple[Advice, ...] = once(plan, ("advice", when), lambda: measure_next(learnt, plan, when))
    return found


def advised_day(plan: DogPlan) -> date:
    """The day of the next visit; today where none is planned."""
    return plan.visits[0] if plan.visits else plan.today


def alarms_of(plan: DogPlan) -> tuple[Alarm, ...]:
    """What the coat should have done but did not, by the last readings, and zones that thin beyond the plan."""
    learnt = plan.learnt
    if learnt is None or not learnt.measured:
        return plan.alarms
    thin: tuple[Alarm, ...] = once(plan, ("thin",), lambda: thin_zones(learnt, plan, plan.today))
    return plan.alarms + thin


def habit_of(plan: DogPlan) -> Habit | None:
    """The habit of whoever worked on the dog last, where it is known that it differs from what is judged."""
    learnt = plan.learnt
    if learnt is None or not learnt.dog.visits:
        return None
    last = learnt.dog.visits[-1].groomer
    found: tuple[Habit, ...] = once(plan, ("habits",), lambda: habits_of(learnt))
    return next((each for each in found if each.groomer == last and each.known), None)


def facts_of(dog: Dog, today: date) -> Facts:
    """What was measured of a dog up to a day."""
    readings = [each for each in dog.readings if each.day <= today]
    takes = [(visit.day, take) for visit in dog.visits if visit.day <= today for take in visit.takes.values()]
    papers = [paper for paper in papers_taught_by(dog) if paper.day <= today]
    weighed = [day for day, take in takes if take.grams is not None]
    eased = [day for day, take in takes if take.ease]
    days = {*(each.day for each in readings), *weighed, *eased, *(paper.day for paper in papers)}
    return Facts(len(readings), len(weighed), len(eased), len(papers), tuple(sorted(days)))


def _zone(learnt: Learnt, number: int) -> ZoneKnown:
    from coatwright.learning.priors import END, LAG, RATE

    centre, drawn = learnt.evidence.zones[number].centre, learnt.coats.traits[:, number]
    spread = np.hypot(learnt.prior.dog_sd, learnt.prior.zone_sd)
    mean = centre + learnt.prior.mean

    def told(trait: int, *, log: bool) -> Belief:
        return _belief(
            drawn[:, trait], float(mean[trait]), float(spread[trait]), log=log, measured=learnt.measured
        )

    return ZoneKnown(learnt.zones[number], told(LAG, log=False), told(RATE, log=True), told(END, log=True))


def _whole(learnt: Learnt) -> Belief:
    """Growth of the dog: the geometric mean over its zones."""
    from coatwright.learning.priors import RATE

    count = len(learnt.zones)
    mean = np.mean([zone.centre[RATE] for zone in learnt.evidence.zones]) + learnt.prior.mean[RATE]
    spread = np.hypot(learnt.prior.dog_sd[RATE], learnt.prior.zone_sd[RATE] / np.sqrt(count))
    return _belief(
        learnt.coats.traits[:, :, RATE].mean(axis=1),
        float(mean),
        float(spread),
        log=True,
        measured=learnt.measured,
    )


def _belief(drawn: Floats, mean: float, spread: float, *, log: bool, measured: bool) -> Belief:
    """The band of the draws beside the one beforehand; where nothing was measured, that one twice."""
    low, middle, high = (float(value) for value in np.quantile(drawn, [BAND[0], 0.5, BAND[1]]))
    before, now = (mean - TAIL * spread, mean, mean + TAIL * spread), (low, middle, high)
    if log:
        before, now = _exp(before), _exp(now)
    if not measured:  # draws only tremble about it
        return Belief(before, before, 1.0)
    return Belief(before, now, float(drawn.std()) / spread)


def _exp(values: tuple[float, float, float]) -> tuple[float, float, float]:
    low, middle, high = (float(np.exp(value)) for value in values)
    return low, middle, high


def _since(learnt: Learnt, others: tuple[Dog, ...], shelf: Shelf) -> date | None:
    """The first day of a measurement whose evening knew the growth clearly better; it is sought by halving."""
    if not learnt.tells_growth:
        return None
    days = facts_of(learnt.dog, learnt.day).days
    low, high = 0, len(days) - 1
    while low < high:
        middle = (low + high) // 2
        then = learn_dog(learnt.dog, days[middle], others=others, shelf=shelf)
        if then is not None and then.tells_growth:
            high = middle
        else:
            low = middle + 1
    return days[low]


def _sight(learnt: Learnt) -> Sight | None:
    """The earliest day, since the coat was first read, on which hair of a known pull breaks the skin."""
    from coatwright.learning.priors import LAG

    found = []
    for number, zone in enumerate(learnt.zones):
        pulls = [visit.day for visit in learnt.dog.visits if _took(visit, zone) and visit.day <= learnt.day]
        start = date_of(learnt.evidence.zones[number].records[0].day)
        for assessment in learnt.dog.assessments:
            if zone in assessment.zones:
                for layer in assessment.zones[zone].layers:
                    if layer.pulled is not None:
                        pulls.append(layer.pulled)
                    elif layer.weeks is not None:
                        pulls.append(assessment.day - timedelta(days=round(7.0 * layer.weeks)))
        lag = np.quantile(learnt.coats.traits[:, number, LAG], [BAND[0], 0.5, BAND[1]])
        for pulled in pulls:
            low, middle, high = (date_of(day_of(pulled) + round(float(days))) for days in lag)
            if middle > start:
                found.append(Sight(zone, pulled, low, middle, high))
    order = list(learnt.zones)
    return min(found, key=lambda each: (each.middle, order.index(each.zone)), default=None)


def _took(visit: Visit, zone: str) -> bool:
    take = visit.takes.get(zone)
    return take is not None and take.share > 0.0
