"""A dog as it is believed to be: its growth as learnt, and what was really pulled at every visit.

The record of what was said stays as it is; this is the dog that plans, pictures and forecasts are made from.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from coatwright.salon.coats import growth_of
from coatwright.salon.records import Dog, Take, Visit
from coatwright.units import Day, Share, day_of

if TYPE_CHECKING:
    from coatwright.salon.learnt import Learnt

GROWTH = ("lag", "rate", "end", "ripe", "spread")
"""Values of a zone's growth that are learnt."""
BAND = (0.1, 0.9)
"""Every band told holds eight of ten draws."""
STEP: Share = 0.05
"""Takes are judged in steps of this share."""


@dataclass(frozen=True, slots=True)
class BelievedTake:
    """A take as planned, as recorded, and as believed: the middle of the draws and the band of eight in ten."""

    zone: str
    planned: Share | None
    recorded: Share
    middle: Share
    low: Share
    high: Share


@dataclass(frozen=True, slots=True)
class Habit:
    """How a groomer's takes compare with what is judged: factors; ``known`` where the band leaves out 1."""

    groomer: str
    middle: float
    low: float
    high: float

    @property
    def known(self) -> bool:
        """Whether it is clear that more, or less, is pulled than judged."""
        return not self.low <= 1.0 <= self.high


def believed(learnt: Learnt) -> Dog:
    """The dog with growth at the middle of what is known, and takes as they are believed to have been."""
    dog, coats = learnt.dog, learnt.coats
    growth: dict[str, Mapping[str, float]] = dict(dog.zone_growth)
    shares: dict[tuple[Day, str], Share] = {}
    for number, zone in enumerate(learnt.zones):
        known = coats.growth(number, growth_of(dog, zone))
        values = {name: round(getattr(known, name), 4) for name in GROWTH}
        growth[zone] = {**dog.zone_growth.get(zone, {}), **values, "season": 1.0}
        days, taken = coats.taken_in(number)
        shares.update({(day, zone): float(np.median(taken[:, n])) for n, day in enumerate(days)})
    visits = tuple(_believed_visit(visit, shares) for visit in dog.visits)
    return _held(replace(dog, zone_growth=growth, visits=visits))


def takes_of(learnt: Learnt, visit: Visit) -> tuple[BelievedTake, ...]:
    """What was planned, recorded and is believed of a visit, zone by zone in working order."""
    found = []
    for number, zone in enumerate(learnt.zones):
        take = visit.takes.get(zone)
        if take is None or take.share <= 0.0:
            continue
        days, taken = learnt.coats.taken_in(number)
        if day_of(visit.day) not in days:
            continue
        drawn = taken[:, days.index(day_of(visit.day))]
        low, middle, high = (float(q) for q in np.quantile(drawn, [BAND[0], 0.5, BAND[1]]))
        found.append(BelievedTake(zone, take.planned, take.share, middle, low, high))
    return tuple(found)


def habits_of(learnt: Learnt) -> tuple[Habit, ...]:
    """Habits of everybody who worked on the dog, from all that is known of them."""
    return tuple(
        Habit(name, *(float(q) for q in np.exp(np.quantile(drawn, [0.5, *BAND]))))
        for name, drawn in zip(learnt.groomers, learnt.coats.bias.T, strict=True)
    )


def judged_for(share: Share, standing: Share, habit: Habit) -> Share | None:
    """What a groomer of this habit should judge so that ``share`` of ``standing`` is pulled, in steps of 5 %.

    The inverse of :func:`coatwright.learning.priors.really`. None where it is the share itself, to the step; never
    less than one step.
    """
    from coatwright.learning.priors import ALL

    if standing <= 0.0 or share / standing >= ALL:
        return None
    aimed = standing * -np.expm1(np.log1p(-share / standing) / habit.middle)
    judged = max(round(round(float(aimed) / STEP) * STEP, 2), STEP)
    return None if abs(judged - share) < STEP / 2 else judged


def _believed_visit(visit: Visit, shares: Mapping[tuple[Day, str], Share]) -> Visit:
    takes: dict[str, Take] = {}
    for zone, take in visit.takes.items():
        share = shares.get((day_of(visit.day), zone))
        takes[zone] = take if share is None else replace(take, share=min(max(share, 0.0), 1.0))
    return replace(visit, takes=takes)


def _held(dog: Dog) -> Dog:
    """The dog with no take larger than what stands at the middle growth: draws differ on a layer that just shows."""
    from coatwright.coat.measures import cover
    from coatwright.salon.coats import coat_of

    for number, visit in enumerate(dog.visits):
        coats = coat_of(replace(dog, visits=dog.visits[:number]), visit.day)
        takes = {
            zone: replace(
                take, share=min(take.share, cover(coats[zone], day_of(visit.day), growth_of(dog, zone)))
            )
            if zone in coats and take.share > 0.0
            else take
            for zone, take in visit.takes.items()
        }
        if takes != visit.takes:
            visits = (*dog.visits[:number], replace(visit, takes=takes), *dog.visits[number + 1 :])
            dog = replace(dog, visits=visits)
    return dog
