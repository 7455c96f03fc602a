"""The salon's records on disk: events in one table, the state folded from them.

One writer at a time: a write transaction locks the database when it begins, looks at the state as it then is,
adds events and commits. What is acknowledged is on the disk; what fails leaves the records as they were.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, delete, insert, select
from sqlalchemy.engine import URL

from coatwright.salon import schema
from coatwright.salon.engines import address, engines, shown, told
from coatwright.salon.events import Event
from coatwright.salon.fold import Fold, Salon
from coatwright.salon.judging import MOST_BYTES, Answer, Judge
from coatwright.salon.migrate import migrate

__all__ = ["MOST_BYTES", "Answer", "Store", "now_utc"]


def now_utc() -> datetime:
    """The time, UTC."""
    return datetime.now(UTC)


class Store:
    """The records at one place. Safe to share between threads; several processes may open the same place."""

    def __init__(self, url: URL, clock: Callable[[], datetime] = now_utc) -> None:
        self.url = url
        self.clock = clock
        self._writer, self._reader = engines(url)
        self._write_lock = threading.Lock()
        self._state_lock = threading.Lock()
        self._fold, self._seq, self._last = Fold(), 0, ""

    @classmethod
    def open(cls, where: str | Path | None = None, *, clock: Callable[[], datetime] = now_utc) -> Store:
        """Open the records at a file, folder or address, and bring their schema up to date.

        Without a place: see :func:`coatwright.salon.engines.address`. Raises
        :class:`~coatwright.errors.StoreError` when they cannot be read, or were made by a newer Coatwright.
        """
        url = address(where)
        with told(url, writing=False):
            if url.get_backend_name() == "sqlite":
                Path(str(url.database)).parent.mkdir(parents=True, exist_ok=True)
            store = cls(url, clock)
            try:
                migrate(store._writer, store._reader, shown(url))
            except BaseException:
                store.close()
                raise
        return store

    @property
    def place(self) -> str:
        """Where the records are, for a reader."""
        return shown(self.url)

    def close(self) -> None:
        """Let go of the database."""
        self._writer.dispose()
        self._reader.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def events(self, since: int = 0, *, stream: str | None = None) -> list[tuple[int, Event]]:
        """Events after number ``since`` with their numbers, in the order in which they were kept."""
        with told(self.url, writing=False), self._reader.begin() as connection:
            return _read(connection, since, stream)

    def state(self) -> Salon:
        """The salon as it stands; only events that are new since the last call are read and folded."""
        with self._state_lock, told(self.url, writing=False), self._reader.begin() as connection:
            self._refresh(connection)
            return self._fold.state()

    def known(self, ids: Sequence[str]) -> dict[str, Event]:
        """Those events that are kept, by their ids."""
        with told(self.url, writing=False), self._reader.begin() as connection:
            return _by_id(connection, ids)

    def append(self, events: Iterable[Event]) -> list[Answer]:
        """Keep events, each on its own merits, and answer each in order.

        An event that is there already is acknowledged again; one that cannot be right is refused and says
        why, and the others are kept. Raises :class:`~coatwright.errors.NotKept` when nothing could be
        written.
        """
        return self.append_all([list(events)])[0]

    def append_all(self, batches: Sequence[Sequence[Event]]) -> list[list[Answer]]:
        """Keep the events of several senders in one transaction, so that one write to the disk serves all.

        As :meth:`append` for one batch after the other; the answers to each.
        """
        answers = iter(self._transact(lambda _: [event for batch in batches for event in batch], whole=False))
        return [[next(answers) for _ in batch] for batch in batches]

    def change(self, make: Callable[[Fold], Sequence[Event]]) -> list[Answer]:
        """Keep all the events that ``make`` derives from the state as it is under the lock, or none.

        Raises the error of the first event that cannot be right, or what ``make`` raises.
        """
        return self._transact(make, whole=True)

    def rows(self) -> list[dict[str, Any]]:
        """All events as the table holds them, in order and at one moment, without their numbers."""
        with told(self.url, writing=False), self._reader.begin() as connection:
            return _rows(connection)

    def replace_all(
        self,
        rows: Sequence[dict[str, Any]],
        *,
        first: Callable[[Sequence[dict[str, Any]]], None] | None = None,
    ) -> None:
        """Put other events in the place of all present ones, in one transaction: for restoring a backup.

        ``first`` is called with the present rows under the write lock; what it raises stops the replacing.
        """
        with self._write_lock, told(self.url, writing=True), self._writer.begin() as connection:
            if first is not None:
                first(_rows(connection))
            with schema.unprotected(connection):
                connection.execute(delete(schema.events))
                if rows:
                    connection.execute(insert(schema.events), list(rows))

    def _transact(self, make: Callable[[Fold], Sequence[Event]], *, whole: bool) -> list[Answer]:
        now = self.clock().astimezone(UTC)
        with self._write_lock, told(self.url, writing=True):
            with self._writer.begin() as connection:
                with self._state_lock:
                    self._refresh(connection)
                    trial = self._fold.copy()
                events = make(trial)
                known = _by_id(connection, [event.id for event in events])
                judge = Judge(trial, known, None if whole else now)
                answers, fresh = judge.judge(events)
                refused = [answer.error for answer in answers if answer.error is not None]
                if whole and refused:
                    raise refused[0]
                if fresh:
                    rows = [_row(replace(event, received=now)) for event in fresh]
                    connection.execute(insert(schema.events), rows)
                last = _last(connection)
            with self._state_lock:
                self._fold, (self._seq, self._last) = judge.fold, last
        return answers

    def _reset(self) -> None:
        self._fold, self._seq, self._last = Fold(), 0, ""

    def _refresh(self, connection: Connection) -> None:
        """Fold what is new; start anew when the last known event is not where it was (after a restore)."""
        fresh = _read(connection, self._seq - 1 if self._seq else 0, None)
        if self._seq:
            if not fresh or (fresh[0][0], fresh[0][1].id) != (self._seq, self._last):
                self._reset()
                fresh = _read(connection, 0, None)
            else:
                fresh = fresh[1:]
        if fresh:
            self._fold.add(event for _, event in fresh)
            self._seq, self._last = fresh[-1][0], fresh[-1][1].id


def _read(connection: Connection, since: int, stream: str | None) -> list[tuple[int, Event]]:
    table = schema.events
    query = select(table).where(table.c.seq > since).order_by(table.c.seq)
    if stream is not None:
        query = query.where(table.c.stream == stream)
    return [(row.seq, _event(row)) for row in connection.execute(query)]


def _last(connection: Connection) -> tuple[int, str]:
    """Number and id of the last event; 0 and "" when there is none."""
    query = select(schema.events.c.seq, schema.events.c.id).order_by(schema.events.c.seq.desc()).limit(1)
    found = connection.execute(query).first()
    return (0, "") if found is None else (found.seq, found.id)


def _rows(connection: Connection) -> list[dict[str, Any]]:
    columns = [column for column in schema.events.c if column.name != "seq"]
    found = connection.execute(select(*columns).order_by(schema.events.c.seq))
    return [dict(row) for row in found.mappings()]


def _by_id(connection: Connection, ids: Sequence[str]) -> dict[str, Event]:
    found: dict[str, Event] = {}
    for start in range(0, len(ids), 500):
        query = select(schema.events).where(schema.events.c.id.in_(ids[start : start + 500]))
        found.update((row.id, _event(row)) for row in connection.execute(query))
    return found


def _row(event: Event) -> dict[str, Any]:
    return {
        "id": event.id,
        "stream": event.stream,
        "kind": event.kind,
        "at": _stamp(event.at),
        "received": _stamp(event.received or event.at),
        "by": event.by,
        "version": event.version,
        "data": json.dumps(dict(event.data), ensure_ascii=False),
    }


def _stamp(time: datetime) -> str:
    return time.astimezone(UTC).isoformat(timespec="microseconds")


def _event(row: Any) -> Event:
    return Event(
        id=row.id,
        stream=row.stream,
        kind=row.kind,
        at=datetime.fromisoformat(row.at),
        by=row.by,
        data=json.loads(row.data),
        version=row.version,
        received=datetime.fromisoformat(row.received),
    )
