"""One writer for many senders: what waits when the disk is ready goes to it in one transaction.

Putting a transaction on the disk takes the same time for one event as for a thousand. So senders do not queue for a
write of their own: all that wait are written together, and each gets its own answers once they are on the disk.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from concurrent.futures import Future

from coatwright.errors import CoatwrightError, NotKept
from coatwright.salon.events import Event
from coatwright.salon.judging import Answer
from coatwright.salon.store import Store

MOST_TOGETHER = 2000
"""Events of one transaction; more wait for the next."""


class Intake:
    """The writer of a store. Safe to share between threads; it starts with the first batch."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._waiting: list[tuple[Sequence[Event], Future[list[Answer]]]] = []
        self._change = threading.Condition()
        self._writer: threading.Thread | None = None
        self._closed = False

    def submit(self, events: Sequence[Event]) -> Future[list[Answer]]:
        """Hand events to the writer; the future tells the answer to each when they are on the disk, or the error."""
        future: Future[list[Answer]] = Future()
        with self._change:
            if self._closed:
                future.set_exception(
                    NotKept("The desk is closing.", where=self._store.place, remedy="Send it again.")
                )
                return future
            self._waiting.append((events, future))
            if self._writer is None:
                self._writer = threading.Thread(target=self._write, name="coatwright-writer", daemon=True)
                self._writer.start()
            self._change.notify()
        return future

    def close(self) -> None:
        """Write what waits and stop."""
        with self._change:
            self._closed = True
            writer = self._writer
            self._change.notify()
        if writer is not None:
            writer.join()

    def _write(self) -> None:
        while True:
            with self._change:
                while not self._waiting and not self._closed:
                    self._change.wait()
                if not self._waiting:
                    return
                together = self._next()
            self._keep(together)

    def _next(self) -> list[tuple[Sequence[Event], Future[list[Answer]]]]:
        count = size = 0
        for events, _ in self._waiting:
            if count and size + len(events) > MOST_TOGETHER:
                break
            count, size = count + 1, size + len(events)
        together, self._waiting = self._waiting[:count], self._waiting[count:]
        return [each for each in together if each[1].set_running_or_notify_cancel()]

    def _keep(self, together: Sequence[tuple[Sequence[Event], Future[list[Answer]]]]) -> None:
        if not together:
            return
        try:
            answers = self._store.append_all([events for events, _ in together])
        except CoatwrightError as error:
            for _, future in together:
                future.set_exception(error)
        except Exception as error:  # of one sender's making: the others must not suffer for it
            if len(together) == 1:
                together[0][1].set_exception(error)
                return
            for each in together:
                self._keep([each])
        else:
            for (_, future), found in zip(together, answers, strict=True):
                future.set_result(found)
