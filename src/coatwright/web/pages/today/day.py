"""What a day asks of the dogs and of the hands: who comes, how long it takes, what to know, what was done already."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from coatwright.patterns import surface_factor
from coatwright.patterns.zones import zones
from coatwright.salon.cautions import TABLE_MINUTES, bare_zones, planned_tool_cautions, young_zones
from coatwright.salon.known import alarms_of
from coatwright.salon.records import Dog, Visit
from coatwright.units import Minutes, Share
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

SHOW_NEAR = 28
"""Days before a show from which it is told beside the dog."""
TOO_MUCH: Share = 0.1
"""A zone is told to rest when at least this much more was taken from it than planned."""
NAMED = 3
"""More zones than this are counted, not named."""
SPECIAL = (("bare after it", bare_zones), ("young hair", young_zones))
"""Cautions that are not the same at every visit: what they are called here, and which zones they are about."""

ALARMS = {
    "nothing": ("stop", "a vet first", "{} not back after fourteen weeks"),
    "slow": ("caution", "slow regrowth", "{}: read again, else a vet"),
    "slow dog": ("caution", "slow regrowth", "{}: read again, else a vet"),
    "thin": ("caution", "thinning", "{}"),
}
"""What a coat should have done but did not: how grave, what it is called here, and in how many words."""

HANDS_TIRE: Minutes = 180.0
HANDS_STOP: Minutes = 300.0
"""Pulling that hands stand in a day: 3 to 5 h (common practice, no published source), min."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to know before a visit: how grave it is, a word for it, and which zones or what."""

    level: str
    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Work:
    """One dog on one day.

    ``minutes``  on the table, set-up included; None where a visit was logged without them
    ``pulling``  of these, min of pulling: what the hands feel
    ``visit``    the visit as it was logged; None while it is planned
    """

    dog: Dog
    day: date
    minutes: Minutes | None
    pulling: Minutes
    zones: int
    remarks: tuple[Remark, ...] = ()
    visit: Visit | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """A dog in the order of a day, with what the hands have pulled before and after it, min."""

    number: int
    work: Work
    before: Minutes
    after: Minutes

    @property
    def state(self) -> str:
        """``""`` up to :data:`HANDS_TIRE`, ``tired`` beyond, ``spent`` beyond :data:`HANDS_STOP`."""
        return hands(self.after)


def hands(pulling: Minutes) -> str:
    """How tired so many minutes of pulling make the hands: ``""``, ``tired`` or ``spent``."""
    return "spent" if pulling > HANDS_STOP + 0.5 else "tired" if pulling > HANDS_TIRE + 0.5 else ""


def in_order(works: Iterable[Work]) -> tuple[Step, ...]:
    """What is done first, then the longest pull first, while the hands are fresh."""
    ordered = sorted(works, key=lambda work: (work.visit is None, -work.pulling, work.dog.name))
    found: list[Step] = []
    for number, work in enumerate(ordered, 1):
        before = found[-1].after if found else 0.0
        found.append(Step(number, work, before, before + work.pulling))
    return tuple(found)


def planned(plan: DogPlan, day: date, words: Words | None = None) -> Work:
    """The visit of a plan on one of its days; with ``words`` also what is special about it."""
    whole = plan.minutes(day)
    return Work(
        plan.dog,
        day,
        whole,
        max(whole - plan.option.plan.problem.setup, 0.0),
        len(plan.takes(day)),
        () if words is None else remarks(plan, day, words),
    )


def logged(dog: Dog, visit: Visit, speed: Mapping[str, Minutes] | None = None) -> Work:
    """A visit that was logged. Zones without minutes count as they are planned for this dog: by ``speed``, what
    whole zones take the groomer, else by its size.
    """
    size = surface_factor(dog.weight_kg or dog.pattern.weight_kg)
    whole = {**(speed or {}), **dog.speed}
    pulled = {key: take for key, take in visit.takes.items() if take.share > 0.0}
    pulling = sum(
        take.share * whole.get(key, zones()[key].minutes * size) if take.minutes is None else take.minutes
        for key, take in pulled.items()
    )
    if visit.minutes is not None:
        pulling = min(pulling, visit.minutes)
    return Work(dog, visit.day, visit.minutes, pulling, len(pulled), visit=visit)


def remarks(plan: DogPlan, day: date, words: Words) -> tuple[Remark, ...]:
    """What is special about a visit: a label that says how grave it is, and a few words."""
    from coatwright.salon.sheets import over_taken

    found: list[Remark] = list(_alarmed(plan, words))
    takes = plan.takes(day)
    rested = [
        key
        for key, over in over_taken(plan.recorded, day).items()
        if takes.get(key, 0.0) < over.planned - 1e-9 and over.taken >= over.planned + TOO_MUCH
    ]
    near = [show for show in plan.dog.wish.shows if day <= show.day <= day + timedelta(days=SHOW_NEAR)]
    found += [Remark("note", "show", f"{show.name} {words.away(show.day, plan.today)}") for show in near]
    if rested:
        found.append(Remark("caution", "rest", _named(rested, words)))
    for label, zones_of in SPECIAL:
        keys = list(zones_of(plan, day))
        if keys:
            found.append(Remark("caution", label, _named(keys, words)))
    tender = [key for key in takes if zones()[key].tender]
    if tender:
        found.append(Remark("caution", "tender", _named(tender, words)))
    for caution in planned_tool_cautions(plan):
        if caution.key == "tool_breaks":
            found.append(Remark("caution", "tool", f"{caution.text.partition(':')[0].lower()} breaks hair"))
    if plan.minutes(day) > TABLE_MINUTES:
        found.append(Remark("caution", "long", "more than 3 h on the table: part it, or take breaks"))
    return tuple(found)


def _alarmed(plan: DogPlan, words: Words) -> Iterable[Remark]:
    """What the coat should have done but did not, in a word or two."""
    kinds: dict[str, list[str]] = {}
    for alarm in alarms_of(plan):
        kinds.setdefault(alarm.kind, []).append(alarm.zone)
    for kind, (level, label, text) in ALARMS.items():
        zones_told = [zone for zone in kinds.get(kind, []) if zone]
        if kind in kinds and not (kind == "slow dog" and "slow" in kinds):
            yield Remark(level, label, text.format(_named(zones_told, words) if zones_told else "the coat"))


def _named(keys: list[str], words: Words) -> str:
    """Zones in working order: by name where they are few, else the first and how many more."""
    names = [zone.name.lower() for key, zone in zones().items() if key in keys]
    if len(names) <= NAMED + 1:
        return words.listed(names)
    return f"{', '.join(names[:NAMED])} and {len(names) - NAMED} more"
