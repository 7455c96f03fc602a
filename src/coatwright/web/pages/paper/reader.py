"""Photos that are read in the background: sent together, read one after the other, asked about by their page."""

from __future__ import annotations

import logging
import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from coatwright.errors import CoatwrightError
from coatwright.paper.photo import PhotoError
from coatwright.salon.events import new_id
from coatwright.web.workshop import Job, Working, Workshop

LOG = logging.getLogger("coatwright.web")
KEPT = 40
"""Batches remembered; the oldest go first."""
KEY = re.compile(r"[0-9a-z-]{8,40}")
MOST_PHOTOS = 24
"""Photos that one request may bring."""
MOST_IN_BATCH = 120
"""Photos of a batch, which may come in several requests."""
Tell = Callable[[str, int, int], None]


@dataclass(slots=True, eq=False)
class Sent:
    """One photo that was sent: its ``name`` and the ``job`` that reads it."""

    name: str
    job: Job

    @property
    def done(self) -> bool:
        """Whether it was read or refused."""
        return self.job.future.done()

    @property
    def working(self) -> Working:
        """How far the reading has come."""
        return self.job.working

    @property
    def result(self) -> Any:
        """What the reading gave; None while it goes on and where it was refused."""
        future = self.job.future
        return None if not future.done() or future.cancelled() or future.exception() else future.result()

    @property
    def error(self) -> CoatwrightError | None:
        """Why it was refused."""
        future = self.job.future
        if not future.done():
            return None
        if future.cancelled():
            return CoatwrightError("The desk was closed before the photo was read.", remedy="Send it again.")
        error = future.exception()
        if error is None or isinstance(error, CoatwrightError):
            return error
        return CoatwrightError(
            "The photo could not be read: something broke in the program.",
            remedy="Send another photo, and tell the makers, with the last lines of the log.",
        )

    @property
    def code(self) -> str:
        """The code of the refusal, "" where there is none."""
        return self.error.code if isinstance(self.error, PhotoError) else ""


@dataclass(slots=True, eq=False)
class Batch:
    """Photos that belong together; ``kind`` is sheet or thread, ``form`` what was filled in beside them."""

    key: str
    kind: str
    form: Mapping[str, str]
    photos: list[Sent] = field(default_factory=list)

    @property
    def done(self) -> bool:
        """Whether all were read or refused."""
        return all(each.done for each in self.photos)


class SheetReader:
    """Reads photos in a thread of its own, which begins with the first. Safe to share between threads."""

    def __init__(self) -> None:
        self._workshop: Workshop | None = None
        self._batches: OrderedDict[str, Batch] = OrderedDict()
        self._lock = threading.Lock()

    def begin(
        self, key: str, kind: str, form: Mapping[str, str], name: str, make: Callable[[Tell], Any]
    ) -> Batch:
        """Put a photo in the queue, into the batch ``key`` where it is one of this reader, else into a new one."""
        with self._lock:
            batch = self._batches.get(key)
            if batch is None or batch.kind != kind or len(batch.photos) >= MOST_IN_BATCH:
                batch = Batch(
                    key if KEY.fullmatch(key) and key not in self._batches else new_id(), kind, form
                )
                self._batches[batch.key] = batch
                self._forget()
            if self._workshop is None:
                self._workshop = Workshop(1)
            job = Job(_logged(make))
            batch.photos.append(Sent(name, job))
            self._workshop.give(job, urgent=True)
        return batch

    def batch(self, key: str) -> Batch | None:
        """The photos sent together under a key; None where they are forgotten."""
        return self._batches.get(key)

    def close(self) -> None:
        """Finish the photo that is being read, and drop the rest."""
        if self._workshop is not None:
            self._workshop.close()

    def _forget(self) -> None:
        for key in list(self._batches)[: max(len(self._batches) - KEPT, 0)]:
            if self._batches[key].done:
                del self._batches[key]


def _logged(make: Callable[[Tell], Any]) -> Callable[[Tell], Any]:
    """The same work, once: what breaks in it is written to the log, and the photo is let go when it is done."""
    held = [make]

    def run(tell: Tell) -> Any:
        try:
            return held.pop()(tell)
        except CoatwrightError:
            raise
        except Exception:
            LOG.exception("A photo could not be read")
            raise

    return run
