"""A few threads that work off jobs: what somebody waits for first, then the rest in the order in which it came."""

from __future__ import annotations

import itertools
import queue
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any

from coatwright.web.memory import give_back

URGENT, SOMETIME, CLOSING = 0, 1, 2
GIVE_BACK_S = 5.0


@dataclass(frozen=True, slots=True)
class Working:
    """Work that is going on: what is worked on, and how much of it is done."""

    step: str
    done: int
    of: int


WAITING = Working("waiting for its turn", 0, 1)


@dataclass(slots=True, eq=False)
class Job:
    """One piece of work. ``make`` is called with a function that it may tell its progress to."""

    make: Callable[[Callable[[str, int, int], None]], Any]
    future: Future[Any] = field(default_factory=Future)
    working: Working = WAITING
    urgent: bool = False

    def tell(self, step: str, done: int, of: int) -> None:
        """How far the work has come."""
        self.working = Working(step, done, of)


class Workshop:
    """The threads and what waits for them. Safe to share between threads.

    The first thread works off everything, the others only what somebody waits for: so nobody stands behind work that
    nobody waits for, unless there is but one thread, and such work takes the memory of one plan at a time (two at
    once were a sixth faster: the threads share the interpreter).
    """

    def __init__(self, workers: int) -> None:
        self._waiting: queue.PriorityQueue[tuple[int, int, Job | None]] = queue.PriorityQueue()
        self._hurried: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        self._number = itertools.count()
        self._closed = threading.Event()
        self._given_back = 0.0
        self._lock = threading.Lock()
        self._threads = [
            threading.Thread(target=self._work, args=(take,), name=f"plan-{number}", daemon=True)
            for number, take in enumerate([self._next, *[self._hurried.get] * (workers - 1)])
        ]
        for thread in self._threads:
            thread.start()

    def give(self, job: Job, *, urgent: bool) -> None:
        """Put a job in the queue; one that waits there already moves to the front when it becomes urgent."""
        if self._closed.is_set():
            job.future.cancel()
            return
        job.urgent = job.urgent or urgent
        self._waiting.put((URGENT if urgent else SOMETIME, next(self._number), job))
        if urgent and len(self._threads) > 1:
            self._hurried.put(job)

    def hurry(self, job: Job) -> None:
        """Somebody waits for a job now."""
        if not job.urgent and job.working is WAITING:
            self.give(job, urgent=True)

    def close(self) -> None:
        """Finish what is being worked on, and drop the rest."""
        self._closed.set()
        self._waiting.put((CLOSING, next(self._number), None))
        for _ in self._threads[1:]:
            self._hurried.put(None)
        for thread in self._threads:
            thread.join()

    def _next(self) -> Job | None:
        return self._waiting.get()[2]

    def _work(self, take: Callable[[], Job | None]) -> None:
        while True:
            job = take()
            if job is None:
                return
            if self._closed.is_set():
                job.future.cancel()
            elif self._begin(job):
                self._do(job)

    def _begin(self, job: Job) -> bool:
        """Whether this thread is the one to do the job: a hurried one stands in both queues, or in one twice."""
        with self._lock:
            if job.future.running() or job.future.done():
                return False
            return job.future.set_running_or_notify_cancel()

    def _do(self, job: Job) -> None:
        job.tell("looking at the coat", 0, 1)
        try:
            job.future.set_result(job.make(job.tell))
        except Exception as error:
            job.future.set_exception(error)
        self._give_back()

    def _give_back(self) -> None:
        """Hand free memory back now and then: a plan takes far more while it is made than it keeps."""
        now = time.monotonic()
        if now - self._given_back >= GIVE_BACK_S:
            self._given_back = now
            give_back()
