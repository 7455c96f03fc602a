"""A dog's coat on any day, past or to come, as the pages show it: what stands, what is asked, what was done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from coatwright.errors import CoatwrightError
from coatwright.patterns.zones import Zone, zones
from coatwright.salon.coats import aim_of, coat_of, growth_of
from coatwright.salon.pictures import turns_on
from coatwright.salon.records import Dog
from coatwright.units import Millimetres, Share, date_of, day_of

if TYPE_CHECKING:
    from coatwright.coat.aims import Aim
    from coatwright.coat.growth import Growth
    from coatwright.coat.layers import ZoneCoat
    from coatwright.salon.plans import DogPlan

LIMITS = {
    "cover": "too thin",
    "top": "too little in its band",
    "over": "overgrown",
    "quiet": "pulled too lately",
}
"""What a zone misses, in two or three words."""


@dataclass(frozen=True, slots=True)
class ZoneState:
    """One zone on a day: ``misses`` says in words what its aim still lacks, None where nothing is asked.

    ``turn`` is the share of it that is pulled until then.
    """

    zone: Zone
    coat: ZoneCoat
    growth: Growth
    aim: Aim | None
    cover: Share
    outline: Millimetres
    last_pull: date | None
    misses: tuple[str, ...] | None
    turn: Share = 0.0

    @property
    def ready(self) -> bool | None:
        """Whether the zone is what it should be; None where nothing is asked of it."""
        return None if self.misses is None else not self.misses


def drawn(dog: Dog, plan: DogPlan | None) -> Dog:
    """The dog that pictures and charts are made of: as its plan believes it to be, so that both agree."""
    return dog if plan is None else plan.dog


def states(dog: Dog, plan: DogPlan | None, day: date, today: date) -> dict[str, ZoneState]:
    """Every zone whose coat is known, in working order, on the evening of ``day``.

    Up to today it is what was read and pulled; after today what the plan makes of it, and growth alone in
    zones that it does not pull. Raises :class:`~coatwright.errors.OutOfOrder` before the first assessment.
    """
    from coatwright.coat import measures
    from coatwright.coat.readiness import readiness
    from coatwright.planning.plan import TELLING

    coats = coat_of(dog, min(day, today))
    number = day_of(day)
    planned = {} if plan is None else {task.key: k for k, task in enumerate(plan.option.plan.problem.zones)}
    turns = turns_on(dog, plan.option.plan if plan is not None and day > today else None, day)
    found = {}
    for key, zone in zones().items():
        if key not in coats:
            continue
        growth, coat, aim = growth_of(dog, key), coats[key], None
        last = last_pull(dog, key, min(day, today))
        if plan is not None and key in planned:
            aim = plan.option.plan.problem.zones[planned[key]].aim
            epochs = plan.option.plan.epochs[planned[key]]
            if day > today:
                coat = epochs.at(number)
                later = epochs.last_pull(number)
                last = date_of(later) if later is not None else last
        elif zone.aimed:
            aim = aim_of(dog, key, style_of(dog, plan))
        misses = None
        if aim is not None and dog.pattern.aims[key].judged:
            judged = readiness(
                coat, number, growth, aim, last_pull=None if last is None else day_of(last), slack=TELLING
            )
            misses = tuple(LIMITS[name] for name, _ in judged.misses)
        found[key] = ZoneState(
            zone=zone,
            coat=coat,
            growth=growth,
            aim=aim,
            cover=measures.cover(coat, number, growth),
            outline=measures.outline(coat, number, growth),
            last_pull=last,
            misses=misses,
            turn=turns.get(key, 0.0),
        )
    return found


def style_of(dog: Dog, plan: DogPlan | None) -> str:
    """The style of coat that a dog is held to: that of its plan, else of its wish."""
    if plan is not None:
        return "staged" if plan.option.approach in ("staged", "strip") else "rolling"
    return "staged" if dog.wish.approach in ("staged", "strip") else "rolling"


def last_pull(dog: Dog, zone: str, day: date) -> date | None:
    """The last day up to ``day`` on which a zone was pulled, at a visit or before the coat was read."""
    days = [
        visit.day
        for visit in dog.visits
        if visit.day <= day and zone in visit.takes and visit.takes[zone].share > 0.0
    ]
    for assessment in dog.assessments:
        if assessment.day <= day and zone in assessment.zones:
            days += [layer.pulled for layer in assessment.zones[zone].layers if layer.pulled is not None]
    return max(days, default=None)


def first_day(dog: Dog) -> date | None:
    """The first day on which the coat is known."""
    return dog.assessments[0].day if dog.assessments else None


def is_known(dog: Dog, day: date) -> bool:
    """Whether the coat of a day can be told."""
    try:
        coat_of(dog, day)
    except CoatwrightError:
        return False
    return True
