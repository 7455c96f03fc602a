"""How fast the salon's groomers pull: from every visit that was timed to the minutes of a dog's next plan.

What is learnt of a day's work counts from the morrow: a visit that is logged today changes no plan of today.
Minutes that were set by hand for a dog (``Dog.speed``) win, see :func:`coatwright.salon.plans.zone_cases`.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from coatwright.salon.records import Dog, Visit
from coatwright.units import Minutes, Share

if TYPE_CHECKING:
    from coatwright.learning.speed import Belief, Paces, Work
    from coatwright.salon.fold import Salon

WINDOW = timedelta(days=730)
"""Hands change: older visits teach nothing."""
KNOWN: Share = 0.6
"""Minutes are told as known once the spread of their logarithm is at most this part of what it was beforehand."""
LEAST_VISITS = 3
"""And once so many visits speak for them."""


@dataclass(frozen=True, slots=True)
class ZoneSpeed:
    """Minutes of one whole zone of a 10 kg dog: the table's, and what is believed of a groomer.

    ``visits`` of the groomer that pulled the zone and were timed; ``known`` is False where that is not enough.
    """

    zone: str
    name: str
    table: Minutes
    belief: Belief
    visits: int
    known: bool


@dataclass(frozen=True, slots=True)
class GroomerSpeed:
    """A groomer's minutes, on the average of kinds of coat and dogs.

    ``whole`` is of all pulled zones together, ``table`` the same by the table; ``visits`` were timed, of ``dogs``
    dogs. ``set_up`` is what a visit takes besides pulling, None while no visit says so.
    """

    name: str
    visits: int
    dogs: int
    table: Minutes
    whole: Belief
    known: bool
    zones: tuple[ZoneSpeed, ...]
    set_up: Belief | None


@dataclass(frozen=True, slots=True)
class Doubt:
    """A time that is more likely wrong than right, so that it was not learnt from; ``zone`` "" for a whole visit.

    ``dog`` and ``visit`` are ids.
    """

    dog: str
    visit: str
    day: date
    zone: str
    minutes: Minutes
    expected: Minutes


@dataclass(frozen=True)
class Speeds:
    """What the timed visits before a day teach.

    ``works`` in the order of ``visits`` (dog id, visit), ``paces`` what was learnt of them; ``last`` is the groomer
    who worked on each dog last, ``names`` how each groomer is written. Visits without a name are the only groomer's,
    where there is one.
    """

    works: tuple[Work, ...]
    visits: tuple[tuple[str, Visit], ...]
    paces: Paces
    last: Mapping[str, str]
    names: Mapping[str, str]

    def groomer_of(self, dog: str) -> str | None:
        """Whose speed counts for a dog: who worked on it last, else the only groomer, else nobody's."""
        if dog in self.last:
            return self.last[dog]
        return next(iter(self.names)) if len(self.names) == 1 else None

    def minutes(self, dog: Dog) -> dict[str, Minutes]:
        """Expected minutes of every zone that is pulled, whole, for this dog; none while nothing was timed."""
        if not self.works:
            return {}
        groomer = self.groomer_of(dog.id)
        return {
            zone: round(
                self.paces.minutes(zone, table, groomer=groomer, kind=dog.pattern.key, dog=dog.id).mean, 1
            )
            for zone, table in _table(dog).items()
        }

    def groomers(self) -> tuple[GroomerSpeed, ...]:
        """Every groomer with a timed visit, by name; "" is whoever was not named."""
        timed = {work.groomer for work in self.works}
        return tuple(self._groomer(key) for key in sorted(timed, key=lambda key: self.names[key]))

    def doubts(self) -> tuple[Doubt, ...]:
        """Times that were not believed, the latest first."""
        found = []
        for slip in self.paces.slips:
            dog, visit = self.visits[slip.work]
            found.append(Doubt(dog, visit.id, visit.day, slip.zone, slip.minutes, slip.expected))
        return tuple(sorted(found, key=lambda doubt: doubt.day, reverse=True))

    def _groomer(self, key: str) -> GroomerSpeed:
        from coatwright.learning.speed import learn

        own = [work for work in self.works if work.groomer == key]
        table = _table(None)
        zones = tuple(self._zone(key, zone, minutes, own) for zone, minutes in table.items())
        whole = self.paces.together(table, groomer=key)
        before = learn(()).together(table, groomer=key).sd
        return GroomerSpeed(
            name=self.names[key],
            visits=len(own),
            dogs=len({work.dog for work in own}),
            table=sum(table.values()),
            whole=whole,
            known=len(own) >= LEAST_VISITS and whole.sd <= KNOWN * before,
            zones=zones,
            set_up=self.paces.set_up(key) if ("set_up", key) in self.paces.levels else None,
        )

    def _zone(self, key: str, zone: str, minutes: Minutes, own: Iterable[Work]) -> ZoneSpeed:
        from coatwright.patterns import zones

        belief = self.paces.minutes(zone, minutes, groomer=key)
        visits = sum(any(pull.zone == zone and pull.share > 0.0 for pull in work.pulls) for work in own)
        enough = belief.sd <= KNOWN * self.paces.prior(kind=False, dog=False)
        return ZoneSpeed(zone, zones()[zone].name, minutes, belief, visits, visits >= LEAST_VISITS and enough)


def minutes_for(dog: Dog, day: date, others: Iterable[Dog] = ()) -> dict[str, Minutes]:
    """Expected minutes of a dog's whole zones for a plan of ``day``, from its own visits and those of ``others``."""
    dogs = {each.id: each for each in (*others, dog)}
    return _speeds(dogs.values(), day).minutes(dog)


def speeds_of(salon: Salon, day: date) -> Speeds:
    """What the visits of the whole salon before ``day`` teach; worked out once for each state of the salon."""
    return _CACHE.of(salon, day)


class _Cache:
    """The speeds of the salon's last states. What teaches nothing new costs no more than a comparison."""

    KEPT = 8

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._made: dict[tuple[int, date], tuple[Salon, Speeds]] = {}

    def of(self, salon: Salon, day: date) -> Speeds:
        with self._lock:
            found = self._made.get((id(salon), day))
            if found is not None and found[0] is salon:
                return found[1]
            known = [speeds for _, speeds in self._made.values()]
            made = _speeds(salon.dogs.values(), day, known)
            self._made[id(salon), day] = (salon, made)
            while len(self._made) > self.KEPT:
                del self._made[next(iter(self._made))]
            return made


_CACHE = _Cache()


def _speeds(dogs: Iterable[Dog], day: date, known: Iterable[Speeds] = ()) -> Speeds:
    """What visits before a day teach, or the one of ``known`` that was learnt from the same visits."""
    from coatwright.learning.speed import learn

    past = [
        (dog, visit)
        for dog in sorted(dogs, key=lambda each: each.id)
        for visit in dog.visits
        if day - WINDOW <= visit.day < day
    ]
    names = {
        key_of(visit.groomer): " ".join(visit.groomer.split())
        for _, visit in sorted(past, key=lambda each: each[1].day)
    }
    named = [key for key in names if key]
    only = named[0] if len(named) == 1 else ""
    last: dict[str, str] = {}
    works: list[Work] = []
    visits: list[tuple[str, Visit]] = []
    for dog, visit in past:
        last[dog.id] = key_of(visit.groomer) or only
        work = _work(dog, visit, last[dog.id])
        if work is not None:
            works.append(work)
            visits.append((dog.id, visit))
    told = tuple(works), tuple(visits), last, {key: names[key] for key in names if key or not only}
    for speeds in known:
        if told == (speeds.works, speeds.visits, speeds.last, speeds.names):
            return speeds
    return Speeds(told[0], told[1], learn(works), last, told[3])


def _work(dog: Dog, visit: Visit, groomer: str) -> Work | None:
    """What a visit says about speed; None where nothing was timed or pulled."""
    from coatwright.learning.speed import Pull, Work
    from coatwright.patterns import zones

    scale = _scale(dog)
    pulls = tuple(
        Pull(zone, take.share, zones()[zone].minutes * scale, take.minutes or None)
        for zone, take in visit.takes.items()
        if take.share > 0.0
    )
    if not pulls or not (visit.minutes or any(pull.minutes for pull in pulls)):
        return None
    return Work(groomer, dog.pattern.key, dog.id, pulls, visit.minutes or None)


def key_of(groomer: str) -> str:
    """A groomer by what is typed: spaces and capitals do not make another one."""
    return " ".join(groomer.split()).casefold()


def _table(dog: Dog | None) -> dict[str, Minutes]:
    """The table's minutes of the whole zones that are pulled: for a dog, or one of 10 kg."""
    from coatwright.patterns import zones

    scale = 1.0 if dog is None else _scale(dog)
    return {key: zone.minutes * scale for key, zone in zones().items() if zone.work == "pull"}


def _scale(dog: Dog) -> float:
    from coatwright.patterns import surface_factor

    return surface_factor(dog.weight_kg or dog.pattern.weight_kg)
