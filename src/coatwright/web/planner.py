"""Plans made in the background: asked for by page after page, worked out once.

A plan depends on the dog as it is kept, on today, and on how fast the groomer is. The three together are its key;
whoever asks again gets what is there, or how far it has come.
"""

from __future__ import annotations

import hashlib
import logging
import os
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from concurrent import futures
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from coatwright.errors import CoatwrightError, SolverError
from coatwright.salon.learnt import Shelf
from coatwright.salon.records import Dog
from coatwright.units import Minutes, Share, date_of
from coatwright.web.workshop import Job, Working, Workshop

if TYPE_CHECKING:
    from coatwright.planning.compare import Option, Progress
    from coatwright.salon.known import Known
    from coatwright.salon.learnt import Learnt
    from coatwright.salon.plans import DogPlan

LOG = logging.getLogger("coatwright.web")
KEPT = 400
"""Plans remembered; the ones that were asked for longest ago go first."""

Takes = Mapping[tuple[str, date], Share]
Speed = Mapping[str, Minutes]
"""Minutes of whole zones, by zone."""


@dataclass(frozen=True, slots=True)
class Refused:
    """Why there is no plan."""

    error: CoatwrightError


class Planner:
    """Makes and remembers plans. Safe to share between threads."""

    def __init__(self, workers: int | None = None, shelf: Shelf | None = None) -> None:
        self._shelf = shelf or Shelf()
        self._workshop = Workshop(workers or min(os.cpu_count() or 1, 4))
        self._jobs: OrderedDict[tuple[object, ...], Job] = OrderedDict()
        self._last: dict[str, tuple[str, DogPlan]] = {}
        self._earlier: dict[str, tuple[str, DogPlan]] = {}
        self._prints: OrderedDict[int, tuple[Dog, str]] = OrderedDict()
        self._lock = threading.Lock()

    def close(self) -> None:
        """Finish no more than what is being worked on."""
        self._workshop.close()

    def plan(
        self,
        dog: Dog,
        today: date,
        *,
        previous: Takes | None = None,
        speed: Speed | None = None,
        others: Iterable[Dog] = (),
        remember: bool = True,
        wait: float = 0.0,
    ) -> DogPlan | Working | Refused:
        """The plan of a dog, waited for at most ``wait`` seconds; whoever waits goes before those who do not.

        ``previous`` are the takes of the plan before, which the new one keeps to where that costs little;
        without them it is the last plan that was made here to be remembered. ``speed`` is what whole zones take
        the groomer, as learnt; where it changes, the plan is another one. ``others`` are the salon's dogs: what was
        measured of them before today says what this dog's kind and groomers are like.
        """
        mark = self.fingerprint(dog)

        def make(progress: Progress) -> DogPlan:
            from coatwright.salon.chances import last_alarms
            from coatwright.salon.known import alarms_of, chances_of
            from coatwright.salon.plans import plan_dog

            learnt = self._learn(dog, today, others, progress)
            made = plan_dog(
                dog,
                today,
                previous=previous if previous is not None else self._before(dog, mark),
                speed=speed,
                learnt=learnt,
                alarms=() if learnt is None else last_alarms(learnt, others=others, shelf=self._shelf),
                progress=progress,
            )
            chances_of(made)  # worked out here, where somebody waits anyhow, and kept
            alarms_of(made)
            return made

        found: DogPlan | Working | Refused = self._ask(("plan", mark, _frozen(speed), today), make, wait)
        if remember and not isinstance(found, Working | Refused):
            self._remember(dog, mark, found)
        return found

    def compare(
        self,
        dog: Dog,
        today: date,
        *,
        speed: Speed | None = None,
        others: Iterable[Dog] = (),
        wait: float = 0.0,
    ) -> list[Option] | Working | Refused:
        """Every approach that the dog's wish allows, side by side."""

        def make(progress: Progress) -> list[Option]:
            from coatwright.salon.plans import compare_approaches

            learnt = self._learn(dog, today, others, progress)
            return compare_approaches(dog, today, speed=speed, learnt=learnt, progress=progress)

        key = ("compare", self.fingerprint(dog), _frozen(speed), today)
        found: list[Option] | Working | Refused = self._ask(key, make, wait)
        return found

    def known(
        self, dog: Dog, today: date, others: Iterable[Dog], *, wait: float = 0.0
    ) -> Known | Working | Refused | None:
        """What is known of a dog, waited for as a plan is; None where its coat was never read."""

        def make(progress: Progress) -> Known | None:
            from coatwright.salon.known import known_of

            learnt = self._learn(dog, today, others, progress)
            return None if learnt is None else known_of(learnt, others=others, shelf=self._shelf)

        key = ("known", self.fingerprint(dog), today)
        found: Known | Working | Refused | None = self._ask(key, make, wait)
        return found

    def before(self, dog: Dog) -> DogPlan | None:
        """The plan that was made of a dog before what was kept of it changed last; None when none is remembered."""
        last, earlier = self._last.get(dog.id), self._earlier.get(dog.id)
        if last is None or earlier is None or last[0] != self.fingerprint(dog):
            return None
        return earlier[1]

    def _learn(self, dog: Dog, today: date, others: Iterable[Dog], progress: Progress) -> Learnt | None:
        from coatwright.salon.learnt import learn_dog

        progress("learning from what was measured", 0, 1)
        return learn_dog(dog, today, others=others, shelf=self._shelf)

    def fingerprint(self, dog: Dog) -> str:
        """A short text that differs whenever anything kept of the dog does."""
        with self._lock:
            known = self._prints.get(id(dog))
            if known is not None and known[0] is dog:
                return known[1]
        mark = hashlib.sha256(repr(dog).encode()).hexdigest()[:24]
        with self._lock:
            self._prints[id(dog)] = (dog, mark)
            while len(self._prints) > KEPT:
                self._prints.popitem(last=False)
        return mark

    def _remember(self, dog: Dog, mark: str, made: DogPlan) -> None:
        with self._lock:
            last = self._last.get(dog.id)
            if last is not None and last[0] != mark:
                self._earlier[dog.id] = last
            self._last[dog.id] = (mark, made)

    def _before(self, dog: Dog, mark: str) -> Takes | None:
        last = self._last.get(dog.id)
        return None if last is None or last[0] == mark else cells_of(last[1])

    def _ask(self, key: tuple[object, ...], make: Callable[[Progress], Any], wait: float) -> Any:
        with self._lock:
            job = self._jobs.get(key)
            if job is None:
                job = Job(make)
                self._jobs[key] = job
                self._workshop.give(job, urgent=wait > 0.0)
                self._forget()
            elif wait > 0.0:
                self._workshop.hurry(job)
            self._jobs.move_to_end(key)
        return self._answer(job, wait)

    def _forget(self) -> None:
        """Let old answers go, never one that is still being made."""
        for key in list(self._jobs)[: max(len(self._jobs) - KEPT, 0)]:
            if self._jobs[key].future.done():
                del self._jobs[key]

    def _answer(self, job: Job, wait: float) -> Any:
        futures.wait([job.future], timeout=wait)
        if not job.future.done() or job.future.cancelled():
            return job.working
        error = job.future.exception()
        if isinstance(error, CoatwrightError):
            return Refused(error)
        if error is not None:
            LOG.error("A plan could not be made", exc_info=error)
            told = SolverError(
                "The plan could not be made: something broke in the program.",
                remedy="Undo the last change of this dog, and tell the makers, with the last lines of the log.",
            )
            return Refused(told)
        return job.future.result()


def _frozen(speed: Speed | None) -> tuple[tuple[str, Minutes], ...]:
    return tuple(sorted((speed or {}).items()))


def cells_of(plan: DogPlan) -> dict[tuple[str, date], Share]:
    """The takes of a plan by zone and date."""
    return {(zone, date_of(day)): share for (zone, day), share in plan.option.plan.cells().items()}
