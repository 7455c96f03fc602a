"""The desk behind the pages: the records, today's date, the plans, and what a page asks of them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING

from coatwright.errors import UnknownName
from coatwright.patterns.zones import zones
from coatwright.salon.events import KeptPlan
from coatwright.salon.fold import Salon
from coatwright.salon.intake import Intake
from coatwright.salon.learnt import shelf_of
from coatwright.salon.records import Dog
from coatwright.salon.salon import dog_of
from coatwright.salon.store import Store
from coatwright.web.pages.paper.reader import SheetReader
from coatwright.web.planner import Planner, Refused, Speed, Takes
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.planning.compare import Option
    from coatwright.salon.known import Known
    from coatwright.salon.plans import DogPlan

PATIENCE = 1.2
"""Seconds that a page waits for a plan before it shows progress instead."""


class Desk:
    """What the pages share."""

    def __init__(self, store: Store, today: Callable[[], date], planner: Planner | None = None) -> None:
        self.store = store
        self.today = today
        self.planner = planner or Planner(shelf=shelf_of(store))
        self.reader = SheetReader()
        self.intake = Intake(store)
        self._own = planner is None

    def close(self) -> None:
        """Write what waits, stop reading photos, and making plans unless the planner was lent."""
        self.reader.close()
        self.intake.close()
        if self._own:
            self.planner.close()

    def salon(self) -> Salon:
        """The salon as it stands."""
        return self.store.state()

    def dog(self, key: str) -> Dog:
        """A dog by its id; an address that names none is told as such."""
        salon = self.salon()
        if key not in salon.dogs:
            from coatwright.web.failures import NoSuchPage

            unknown = UnknownName.of("dog", key[:80], salon.dogs)
            raise NoSuchPage(unknown.what, remedy=unknown.remedy)
        return dog_of(salon, key)

    def in_force(self, key: str) -> KeptPlan | None:
        """The version of a dog's plan that was kept last: what was promised."""
        versions = self.salon().plans.get(key, ())
        return versions[-1] if versions else None

    def plan(self, dog: Dog, *, wait: float = PATIENCE) -> DogPlan | Working | Refused:
        """A dog's plan of today. It keeps near the version that was kept last."""
        version = self.in_force(dog.id)
        kept = takes_of(version) if version is not None else None
        today = self.today()
        return self.planner.plan(
            dog, today, previous=kept, speed=self.speed(dog, today), others=self.others(), wait=wait
        )

    def known(self, dog: Dog, *, wait: float = PATIENCE) -> Known | Working | Refused | None:
        """What is known of a dog's coat; None where it was never read."""
        return self.planner.known(dog, self.today(), self.others(), wait=wait)

    def compare(self, dog: Dog, *, wait: float = PATIENCE) -> list[Option] | Working | Refused:
        """The approaches side by side."""
        today = self.today()
        return self.planner.compare(dog, today, speed=self.speed(dog, today), others=self.others(), wait=wait)

    def others(self) -> tuple[Dog, ...]:
        """The salon's dogs: what was measured of them says what kinds and groomers are like."""
        return tuple(self.salon().dogs.values())

    def speed(self, dog: Dog, day: date) -> Speed:
        """What whole zones of a dog take its groomer, learnt from the salon's visits before a day."""
        from coatwright.salon.speeds import speeds_of

        return speeds_of(self.salon(), day).minutes(dog)

    def plan_all(self) -> None:
        """Begin to plan every dog."""
        for dog in self.salon().dogs.values():
            self.plan(dog, wait=0.0)


def takes_of(version: KeptPlan) -> Takes:
    """The takes of a kept version by zone and date; what cannot be read is left out."""
    found: dict[tuple[str, date], float] = {}
    known = zones()
    for day, row in version.takes.items():
        try:
            when = date.fromisoformat(day)
            found.update({(zone, when): float(share) for zone, share in row.items() if zone in known})
        except (AttributeError, TypeError, ValueError):
            continue
    return {cell: share for cell, share in found.items() if 0.0 <= share <= 1.0}


def takes_plain(takes: Takes) -> dict[str, dict[str, float]]:
    """Takes as a version keeps them: by day, then by zone."""
    found: dict[str, dict[str, float]] = {}
    for (zone, day), share in sorted(takes.items(), key=lambda item: (item[0][1], item[0][0])):
        found.setdefault(day.isoformat(), {})[zone] = round(share, 4)
    return found
