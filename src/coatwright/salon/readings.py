"""Readings noted bit by bit: one zone on one day, each tap merged into what was said before it.

A groomer at the table says one thing after the other, on more than one device perhaps. What is said of a zone
before (or after) the pulling of a day is one reading; each bit is merged into it under the write lock, so that
none is lost, and the same bit sent twice counts once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from coatwright.errors import UnknownName
from coatwright.salon.checks import check_zones
from coatwright.salon.events import Event, Undone, event_of, new_id, payload, stream_of
from coatwright.salon.fold import Fold
from coatwright.salon.history import Reading
from coatwright.salon.records import Dog
from coatwright.salon.salon import dog_of, put_in, time_of, today_of
from coatwright.salon.store import Store
from coatwright.salon.timely import check_days
from coatwright.units import Millimetres

SAYABLE: Mapping[str, Any] = {"longest_mm": None, "shortest_mm": None, "cover": None, "look": ""}
"""What can be said of a zone at once, and the value that takes it back; layers are added and dropped singly."""
SAME_MM: Millimetres = 0.05
"""Two lengths this near are the same tap."""


def reading_at(dog: Dog, zone: str, day: date, at_visit: str = "before") -> Reading | None:
    """What was read of a zone before or after the pulling of a day; of several readings the last one."""
    found = [each for each in dog.readings if (each.zone, each.day, each.at_visit) == (zone, day, at_visit)]
    return found[-1] if found else None


def note_reading(
    store: Store,
    dog: str,
    zone: str,
    *,
    day: date,
    at_visit: str = "before",
    said: Mapping[str, Any] | None = None,
    add_steps: Sequence[Millimetres] = (),
    drop_steps: Sequence[Millimetres] = (),
    groomer: str = "",
    by: str = "",
    today: date | None = None,
) -> Reading | None:
    """Merge what is said now into the reading of that zone, day and moment, and return it as it then stands.

    ``said`` gives values by the names of :data:`SAYABLE`; the value that stands there takes one back.
    ``add_steps`` and ``drop_steps`` are lengths of layers, mm. A reading that is left with nothing to say is
    taken back whole, and None returned. Raises :class:`~coatwright.errors.InputError` and keeps nothing when
    the reading cannot be.
    """
    changes = dict(said or {})
    for key in changes:
        if key not in SAYABLE:
            raise UnknownName.of("part of a reading", key, SAYABLE)
    check_zones([zone], where="zone")
    left: list[Reading | None] = []

    def make(fold: Fold) -> Sequence[Event]:
        record = dog_of(fold.state(), dog)
        before = reading_at(record, zone, day, at_visit)
        steps = () if before is None else before.steps_mm
        kept = [each for each in steps if all(abs(each - gone) > SAME_MM for gone in drop_steps)]
        fresh = [each for each in add_steps if all(abs(each - known) > SAME_MM for known in kept)]
        values: dict[str, Any] = {**changes, "steps_mm": (*kept, *fresh)}
        if groomer:
            values["groomer"] = groomer
        held = SAYABLE if before is None else {key: getattr(before, key) for key in SAYABLE}
        if not values["steps_mm"] and {**held, **changes} == SAYABLE:
            left.append(None)
            return [] if before is None else _taken_back(store, fold, dog, before, by)
        if before is None:
            after = Reading(new_id(), day, zone, at_visit=at_visit, **values)
        else:
            after = replace(before, **values)
        left.append(after)
        if after == before:
            return []
        noted = replace(record, readings=put_in(record.readings, after), wish=replace(record.wish, shows=()))
        check_days(noted, today or today_of(store))
        stream = stream_of("dog", dog)
        return [event_of("reading.taken", stream, after, at=time_of(store, fold, stream), by=by)]

    store.change(make)
    return left[-1]


def _taken_back(store: Store, fold: Fold, dog: str, reading: Reading, by: str) -> list[Event]:
    """Undo every event that made a reading, the latest last, so that bringing that one back brings it back whole."""
    stream = stream_of("dog", dog)
    made = [
        id
        for id, event in fold.history(stream)
        if event.kind == "reading.taken" and fold.counts(stream, id) and payload(event).id == reading.id
    ]
    at = time_of(store, fold, stream)
    return [
        event_of("undone", stream, Undone(id), at=at + number * timedelta(microseconds=1), by=by)
        for number, id in enumerate(made)
    ]
