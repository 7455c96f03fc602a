"""Which events are kept: each on its own merits, in the order in which they came.

Taps and readings come many at once. Those of one dog are looked at together first, which costs one look at its coat;
only where they do not all hold is each looked at alone, in their order.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from coatwright.errors import FileFormatError, InputError, OutOfRange
from coatwright.salon.events import Event, payload
from coatwright.salon.fold import Fold
from coatwright.salon.overlaps import Overlaps
from coatwright.salon.rules import check_added, check_event, check_tapped
from coatwright.salon.streams import SOON, Entry
from coatwright.salon.taps import TAPS

MOST_BYTES = 4_000_000
"""Largest event, bytes of JSON."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of one event: ``kept``, ``already`` there, or ``refused`` and ``why``.

    ``note`` tells of another device that spoke of the same zone.
    """

    id: str
    outcome: str
    why: str = ""
    error: InputError | None = None
    note: str = ""


class Judge:
    """Looks at events one after the other; ``fold`` is the salon with those in it that are kept so far.

    ``known`` are events that are kept already, by id; ``now`` the time, or ``None`` for events with the salon's own.
    """

    def __init__(self, fold: Fold, known: Mapping[str, Event], now: datetime | None) -> None:
        self.fold = fold
        self._known = dict(known)
        self._now = now
        self._answers: list[Answer] = []
        self._fresh: list[tuple[int, Event]] = []
        self._waiting: dict[str, list[tuple[int, Entry]]] = {}
        self._noted: list[tuple[int, Event, Any]] = []

    def judge(self, events: Sequence[Event]) -> tuple[list[Answer], list[Event]]:
        """An answer to each, and those to be kept, in order."""
        self._answers = [Answer(event.id, "refused") for event in events]
        for at, given in enumerate(events):
            try:
                self._look(at, given)
            except InputError as error:
                self._refuse(at, error)
        self._settle()
        overlaps = Overlaps(self.fold)
        for at, event, made in self._noted:
            note = overlaps.note_of(event, made)
            if note:
                self._answers[at] = replace(self._answers[at], note=note)
        return self._answers, [event for _, event in sorted(self._fresh, key=lambda item: item[0])]

    def _look(self, at: int, given: Event) -> None:
        event = normal(given)
        if event.id in self._known and self._waits(event.id):
            self._settle()
        if event.id in self._known:
            _check_same(event, self._known[event.id])
            self._answers[at] = Answer(event.id, "already")
            if event.kind in TAPS:
                self._noted.append((at, event, payload(event)))
            return
        entry = Entry(event, check_event(event, self._now))
        if event.kind in SOON:
            self._known[event.id] = event
            self._waiting.setdefault(event.stream, []).append((at, entry))
            return
        self._settle()
        self._alone(at, entry)

    def _waits(self, id: str) -> bool:
        return any(entry.event.id == id for rows in self._waiting.values() for _, entry in rows)

    def _settle(self) -> None:
        """Decide on the taps and readings that wait."""
        waiting, self._waiting = self._waiting, {}
        for stream, rows in waiting.items():
            entries = [entry for _, entry in rows]
            after = self.fold.copy()
            after.add_entries(entries)
            try:
                check_tapped(stream, entries, self.fold, after)
            except InputError as error:
                for at, entry in rows:
                    self._known.pop(entry.event.id)
                    try:
                        if len(rows) == 1:
                            raise error
                        self._alone(at, entry)
                    except InputError as alone:
                        self._refuse(at, alone)
                continue
            self.fold = after
            for at, entry in rows:
                self._keep(at, entry)

    def _alone(self, at: int, entry: Entry) -> None:
        event, after = entry.event, self.fold.copy()
        after.add_entries([entry])
        if event.kind in SOON:
            check_tapped(event.stream, [entry], self.fold, after)
        else:
            check_added(event, self.fold, after)
        self.fold = after
        self._keep(at, entry)

    def _keep(self, at: int, entry: Entry) -> None:
        event = entry.event
        self._known[event.id] = event
        self._fresh.append((at, event))
        self._answers[at] = Answer(event.id, "kept")
        if event.kind in TAPS:
            self._noted.append((at, event, entry.made))

    def _refuse(self, at: int, error: InputError) -> None:
        self._answers[at] = Answer(self._answers[at].id, "refused", error.text, error)


def normal(event: Event) -> Event:
    """The event as it will read back: its time in UTC and its data as JSON."""
    try:
        text = json.dumps(event.data, allow_nan=False, ensure_ascii=False)
        size = len(text.encode())
        f"{event.id}{event.stream}{event.kind}{event.by}".encode()
    except (TypeError, ValueError, RecursionError) as error:
        raise FileFormatError(
            f"Its data are not JSON: {_words(error)}.",
            where=f"event {_words(event.id)}",
            remedy="Give plain values.",
        ) from error
    if size > MOST_BYTES:
        raise OutOfRange(
            f"Its data take {size} bytes.",
            where=f"event {event.id}",
            remedy=f"Keep them below {MOST_BYTES}.",
        )
    if event.at.tzinfo is None:
        raise FileFormatError(
            "Its time has no time zone.", where=f"event {event.id}", remedy="Give the time in UTC."
        )
    return replace(event, at=event.at.astimezone(UTC), data=json.loads(text), received=None)


def _words(of: object) -> str:
    """A text that can be written down, whatever was sent."""
    return str(of).encode(errors="replace").decode()


def _check_same(event: Event, known: Event) -> None:
    if not event.same(known):
        raise OutOfRange(
            "Another event has this id.",
            where=f"event {event.id}",
            remedy="Give each event an id of its own.",
        )
