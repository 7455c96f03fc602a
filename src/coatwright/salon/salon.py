"""What people do with the records: one function for each, checked against the salon as it stands.

Each looks at the state under the write lock, raises an :class:`~coatwright.errors.InputError` when something
is wrong, and otherwise keeps all its events or none (:class:`~coatwright.errors.NotKept`). ``by`` names who
did it; ``today`` is the calendar's day unless it is given.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from coatwright.errors import OutOfOrder, OutOfRange, UnknownName
from coatwright.salon.events import (
    Cell,
    Event,
    Fit,
    KeptPlan,
    Undone,
    Unfit,
    VisitSet,
    event_of,
    new_id,
    stream_of,
)
from coatwright.salon.facts import facts_of
from coatwright.salon.fold import Fold, Salon
from coatwright.salon.records import Assessment, Dog, PaperCount, Person, Reading, Show, Visit
from coatwright.salon.store import Store
from coatwright.salon.timely import check_days


def today_of(store: Store) -> date:
    """The calendar's day where the salon is."""
    return store.clock().astimezone().date()


def dog_of(salon: Salon, dog: str) -> Dog:
    """A dog by its id, or :class:`UnknownName` with the nearest ids."""
    if dog not in salon.dogs:
        raise UnknownName.of("dog", dog, salon.dogs)
    return salon.dogs[dog]


def save_person(store: Store, person: Person, *, by: str = "") -> Event:
    """Keep a person, new or changed."""
    return keep(store, "person.set", stream_of("person", person.id), by, lambda _: person)


def save_show(store: Store, show: Show, *, by: str = "", today: date | None = None) -> Event:
    """Keep a show, new or changed; a new one must not lie before today."""
    day = today or today_of(store)

    def made(salon: Salon) -> Show:
        if show.id not in salon.shows:
            _check_ahead(show, day)
        return show

    return keep(store, "show.set", stream_of("show", show.id), by, made)


def save_dog(store: Store, dog: Dog, *, by: str = "", today: date | None = None) -> Event:
    """Keep a dog's facts: pattern, body, owner, limits and wish, but not its history or fitness."""
    day = today or today_of(store)

    def made(salon: Salon) -> Any:
        before = salon.dogs.get(dog.id)
        known = {show.id for show in before.wish.shows} if before else set()
        for show in dog.wish.shows:
            if show.id not in known:
                _check_ahead(show, day)
        if dog.born is not None and dog.born > day:
            check_days(replace(dog, assessments=(), visits=(), readings=(), papers=()), day)
        return facts_of(dog)

    return keep(store, "dog.set", stream_of("dog", dog.id), by, made)


def add_dog(store: Store, dog: Dog, *, by: str = "", today: date | None = None) -> list[Event]:
    """Keep a whole dog, such as one read from a file: its people, shows, facts and history.

    A dog with that id must not be there yet. People and shows that are there already stay as they are, but
    must have the same name.
    """
    day = today or today_of(store)
    events: list[Event] = []

    def make(fold: Fold) -> Sequence[Event]:
        salon = fold.state()
        if dog.id in salon.dogs:
            raise OutOfRange(
                f"There is a dog called {dog.id!r} already.",
                where=dog.name,
                remedy="Give the new one another id.",
            )
        check_days(dog, day)
        at = time_of(store, fold, stream_of("dog", dog.id))
        for event in events_of(dog, at=at, by=by):
            kind, _, key = event.stream.partition(":")
            known: Mapping[str, Any] = {"person": salon.people, "show": salon.shows}.get(kind, {})
            if key in known:
                _check_namesake(event, known[key].name, kind)
            else:
                events.append(event)
        return events

    store.change(make)
    return events


def events_of(dog: Dog, *, at: datetime, by: str = "", ids: Callable[[], str] = new_id) -> list[Event]:
    """The events that fold into this very dog, in order, a microsecond apart from ``at`` on."""
    stream = stream_of("dog", dog.id)
    parts: list[tuple[str, str, Any]] = [
        ("person.set", stream_of("person", person.id), person)
        for person in dict.fromkeys((dog.owner, dog.handler))
        if person is not None
    ]
    parts += [("show.set", stream_of("show", show.id), show) for show in dog.wish.shows]
    parts.append(("dog.set", stream, facts_of(dog)))
    parts += [("assessment.set", stream, each) for each in dog.assessments]
    parts += [("visit.logged", stream, each) for each in dog.visits]
    parts += [("reading.taken", stream, each) for each in dog.readings]
    parts += [("paper.read", stream, each) for each in dog.papers]
    parts += [("visit.fixed", stream, VisitSet(each, dog.rhythm)) for each in dog.fixed_visits]
    parts += [
        ("cell.fixed", stream, Cell(zone, day, share, dog.rhythm)) for (zone, day), share in dog.fixed.items()
    ]
    if dog.unfit:
        parts.append(("dog.unfit", stream, Unfit(dog.unfit)))
    tick = timedelta(microseconds=1)
    return [
        event_of(kind, where, record, at=at + number * tick, by=by, id=ids())
        for number, (kind, where, record) in enumerate(parts)
    ]


def assess(
    store: Store, dog: str, assessment: Assessment, *, by: str = "", today: date | None = None
) -> Event:
    """Keep a reading of the whole coat; one with a known id takes the place of the earlier one."""

    def changed(before: Dog) -> Dog:
        return replace(before, assessments=put_in(before.assessments, assessment))

    return _history(store, dog, "assessment.set", assessment, changed, by, today)


def log_visit(store: Store, dog: str, visit: Visit, *, by: str = "", today: date | None = None) -> Event:
    """Keep a visit. It must not lie before one that is logged already."""

    def changed(before: Dog) -> Dog:
        if any(each.id == visit.id for each in before.visits):
            raise OutOfRange(
                f"The visit {visit.id!r} is logged already.", where=before.name, remedy="Correct it instead."
            )
        later = [each.day for each in before.visits if each.day > visit.day]
        if later:
            raise OutOfOrder(
                f"The visit is of {visit.day}, but one of {later[-1]} is logged already.",
                where=before.name,
                remedy="Correct the date, or undo the later visits and log them again in order.",
            )
        return replace(before, visits=(*before.visits, visit))

    return _history(store, dog, "visit.logged", visit, changed, by, today)


def correct_visit(store: Store, dog: str, visit: Visit, *, by: str = "", today: date | None = None) -> Event:
    """Put a visit in the place of the logged one with the same id."""

    def changed(before: Dog) -> Dog:
        ids = [each.id for each in before.visits]
        if visit.id not in ids:
            raise UnknownName.of("visit", visit.id, ids, where=before.name)
        return replace(before, visits=put_in(before.visits, visit))

    return _history(store, dog, "visit.corrected", visit, changed, by, today)


def take_reading(
    store: Store, dog: str, reading: Reading, *, by: str = "", today: date | None = None
) -> Event:
    """Keep what comb, ruler and eye said of a zone; one with a known id takes the place of the earlier one."""

    def changed(before: Dog) -> Dog:
        return replace(before, readings=put_in(before.readings, reading))

    return _history(store, dog, "reading.taken", reading, changed, by, today)


def keep_paper(
    store: Store, dog: str, paper: PaperCount, *, by: str = "", today: date | None = None
) -> Event:
    """Keep what a paper test of pulled hair found; one with a known id takes the place of the earlier one."""

    def changed(before: Dog) -> Dog:
        return replace(before, papers=put_in(before.papers, paper))

    return _history(store, dog, "paper.read", paper, changed, by, today)


def mark_unfit(store: Store, dog: str, reason: str, *, by: str = "") -> Event:
    """Say that nothing may be planned for a dog, and why: a vet first."""
    return keep(store, "dog.unfit", stream_of("dog", dog), by, lambda _: Unfit(reason))


def mark_fit(store: Store, dog: str, note: str = "", *, by: str = "") -> Event:
    """Say that a dog is fit again."""
    return keep(store, "dog.fit", stream_of("dog", dog), by, lambda _: Fit(note))


def keep_plan(
    store: Store,
    dog: str,
    name: str,
    *,
    problem: Mapping[str, Any],
    takes: Mapping[str, Any],
    note: str = "",
    by: str = "",
    today: date | None = None,
) -> KeptPlan:
    """Keep a version of a plan under a name that the dog has none of yet."""
    plan = KeptPlan(new_id(), name, today or today_of(store), problem, takes, note)

    def made(salon: Salon) -> KeptPlan:
        if any(kept.name == name for kept in salon.plans.get(dog, ())):
            raise OutOfRange(
                f"There is a plan called {name!r} already.", where=dog, remedy="Give this one another name."
            )
        return plan

    keep(store, "plan.kept", stream_of("dog", dog), by, made)
    return plan


def undo(store: Store, stream: str, event: str, *, by: str = "") -> Event:
    """Take an event back; an undoing can be taken back too."""
    kept: list[Event] = []

    def make(fold: Fold) -> Sequence[Event]:
        if fold.event(stream, event) is None:
            known = [id for id, _ in fold.history(stream)]
            raise UnknownName.of("event", event, known, where=stream)
        if not fold.counts(stream, event):
            raise OutOfRange(
                "It is undone already.", where=f"event {event}", remedy="Undo the undoing instead."
            )
        kept.append(event_of("undone", stream, Undone(event), at=time_of(store, fold, stream), by=by))
        return kept

    store.change(make)
    return kept[-1]


def history(store: Store, stream: str) -> list[tuple[Event, bool]]:
    """The events of a stream, oldest first, each with whether it still counts."""
    fold = Fold()
    fold.add(event for _, event in store.events(stream=stream))
    return [(event, fold.counts(stream, id)) for id, event in fold.history(stream)]


def keep(store: Store, kind: str, stream: str, by: str, made: Callable[[Salon], Any]) -> Event:
    """Keep one event whose data ``made`` gets from the salon as it stands under the write lock."""
    kept: list[Event] = []

    def make(fold: Fold) -> Sequence[Event]:
        record = made(fold.state())
        kept.append(event_of(kind, stream, record, at=time_of(store, fold, stream), by=by))
        return kept

    store.change(make)
    return kept[-1]


def _history(
    store: Store,
    dog: str,
    kind: str,
    record: Any,
    changed: Callable[[Dog], Dog],
    by: str,
    today: date | None,
) -> Event:
    """Keep a record of a dog's history once the dog with it has passed every check of its dates."""
    day = today or today_of(store)

    def made(salon: Salon) -> Any:
        after = changed(dog_of(salon, dog))
        check_days(replace(after, wish=replace(after.wish, shows=())), day)
        return record

    return keep(store, kind, stream_of("dog", dog), by, made)


def time_of(store: Store, fold: Fold, stream: str) -> datetime:
    """Now, but after everything that the stream holds: a clock set back must not let an old event win."""
    now = store.clock().astimezone(UTC)
    last = fold.last(stream)
    return now if last is None else max(now, last + timedelta(microseconds=1))


def put_in(records: Iterable[Any], record: Any) -> tuple[Any, ...]:
    """The records with this one in the place of the one that has its id, in the order of their days."""
    others = [each for each in records if each.id != record.id]
    return tuple(sorted([*others, record], key=lambda each: each.day))


def _check_ahead(show: Show, today: date) -> None:
    if show.day < today:
        raise OutOfOrder(
            f"The show {show.name} was on {show.day}, before today, {today}.",
            where="day",
            remedy="Correct the date.",
        )


def _check_namesake(event: Event, name: str, kind: str) -> None:
    if event.data["name"] != name:
        raise OutOfRange(
            f"The {kind} {event.data['id']!r} is {name} here, not {event.data['name']}.",
            where=kind,
            remedy="Give the new one an id of its own.",
        )
