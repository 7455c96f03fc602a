"""What one plan changes of another: the takes that differ, and whether what was wished still holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from coatwright.patterns.zones import zones
from coatwright.salon.records import Show, Visit
from coatwright.units import Minutes, Share, day_of
from coatwright.web.planner import Takes, cells_of

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

SLACK: Share = 0.025
"""Half a step of 5 %: less is no difference."""


@dataclass(frozen=True, slots=True)
class Missed:
    """A zone of which another share was taken than planned."""

    zone: str
    name: str
    planned: Share
    taken: Share

    @property
    def over(self) -> bool:
        """Whether more was taken than planned."""
        return self.taken > self.planned


@dataclass(frozen=True, slots=True)
class ChangedTake:
    """A take that differs between two plans."""

    day: date
    before: Share
    after: Share

    @property
    def less(self) -> bool:
        """Whether less is taken now."""
        return self.after < self.before


@dataclass(frozen=True, slots=True)
class ChangedZone:
    """A zone whose takes to come differ, in the order of their days."""

    zone: str
    name: str
    takes: tuple[ChangedTake, ...]

    @property
    def balance(self) -> Share:
        """How much more (or, below 0, less) is now taken in all."""
        return sum(take.after - take.before for take in self.takes)


@dataclass(frozen=True, slots=True)
class ShowVerdict:
    """A show, and the zones that would not be ready on its day, by name: in the plan before and in the new one."""

    show: Show
    before: tuple[str, ...]
    after: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether the dog will be ready."""
        return not self.after


@dataclass(frozen=True, slots=True)
class Change:
    """From one plan to another."""

    zones: tuple[ChangedZone, ...]
    shows: tuple[ShowVerdict, ...]
    minutes_before: Minutes
    minutes_after: Minutes
    visits_before: int
    visits_after: int
    ready_before: int
    ready_after: int

    @property
    def nothing(self) -> bool:
        """Whether the takes to come are the same."""
        return not self.zones


def change(before: DogPlan, after: DogPlan, since: date) -> Change:
    """What ``after`` changes of ``before`` from the day after ``since`` on, as far as both are shown."""
    until = min(before.option.shown_until, after.option.shown_until)
    old = _coming(cells_of(before), since, until)
    new = _coming(cells_of(after), since, until)
    found = []
    for key, zone in zones().items():
        days = sorted({day for where, day in (*old, *new) if where == key})
        takes = tuple(
            ChangedTake(day, old.get((key, day), 0.0), new.get((key, day), 0.0))
            for day in days
            if abs(old.get((key, day), 0.0) - new.get((key, day), 0.0)) > SLACK
        )
        if takes:
            found.append(ChangedZone(key, zone.name, takes))
    return Change(
        zones=tuple(found),
        shows=tuple(
            ShowVerdict(show, unready(before, show.day), unready(after, show.day))
            for show in after.dog.wish.shows
            if show.day >= since
        ),
        minutes_before=sum(before.minutes(day) for day in before.visits if day > since),
        minutes_after=sum(after.minutes(day) for day in after.visits if day > since),
        visits_before=sum(day > since for day in before.visits),
        visits_after=sum(day > since for day in after.visits),
        ready_before=before.option.ready_days,
        ready_after=after.option.ready_days,
    )


def unready(plan: DogPlan, day: date) -> tuple[str, ...]:
    """Names of the judged zones that are not ready on a day, in working order."""
    judged = plan.option.plan.judged(day_of(day))
    return tuple(zones()[key].name for key in zones() if key in judged and not judged[key].ready)


def missed(visit: Visit) -> tuple[Missed, ...]:
    """Zones of which a visit took more or less than planned."""
    return tuple(
        Missed(key, zones()[key].name, take.planned, take.share)
        for key, take in visit.takes.items()
        if not take.so_far and take.planned is not None and abs(take.share - take.planned) > SLACK
    )


def _coming(cells: Takes, since: date, until: int) -> dict[tuple[str, date], Share]:
    return {cell: share for cell, share in cells.items() if cell[1] > since and day_of(cell[1]) <= until}
