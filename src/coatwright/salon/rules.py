"""What must still hold when one more event is added; the last gate before anything is written."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from typing import Any

from coatwright.errors import InputError, OutOfOrder, OutOfRange, UnknownName
from coatwright.salon.coats import check_coat
from coatwright.salon.events import Event, payload
from coatwright.salon.facts import DogFacts
from coatwright.salon.fold import Fold, Salon
from coatwright.salon.records import Dog
from coatwright.salon.streams import Entry
from coatwright.salon.taps import TAPS

CLOCK_SLACK = timedelta(hours=1)
"""A device's clock may run ahead of the salon's by this much; beyond it its order of events means nothing."""
COAT_KINDS = frozenset(
    {
        *("assessment.set", "visit.logged", "visit.corrected", "dog.set", "undone"),
        *("take.logged", "zone.carded"),
    }
)
"""Events that change the replay of a coat."""
DATED = frozenset({*TAPS, "assessment.set", "visit.logged", "visit.corrected", "reading.taken", "paper.read"})
"""Events of something done on a day, which cannot be a day to come."""


def check_event(event: Event, now: datetime | None) -> Any:
    """An event on its own: its shape, its data and, unless ``now`` is ``None``, its time.

    Its record; raises :class:`InputError`.
    """
    made = payload(event)
    if now is not None and event.at > now + CLOCK_SLACK:
        raise OutOfRange(
            f"It happened at {event.at:%Y-%m-%d %H:%M} UTC, but it is {now:%Y-%m-%d %H:%M} UTC now.",
            where=f"event {event.id}",
            remedy="Set the clock of the device and send it again.",
        )
    if now is not None and event.kind in DATED and made.day > now.date() + timedelta(days=1):
        raise OutOfOrder(
            f"It is of {made.day}, a day to come.",
            where=f"event {event.id}",
            remedy="Set the clock of the device; what is to come is the plan's.",
        )
    if event.kind == "undone" and made.event == event.id:
        raise OutOfRange(
            "An event cannot undo itself.", where=f"event {event.id}", remedy="Name another event."
        )
    return made


def check_added(event: Event, before: Fold, after: Fold) -> None:
    """The salon with the event in it: everything it speaks of is known and every coat can be replayed.

    A coat that could not be replayed before does not stop the event. Raises :class:`InputError`.
    """
    old, new = before.state(), after.state()
    family, _, key = event.stream.partition(":")
    if family == "dog":
        if event.kind == "dog.set":
            _check_ties(event, old)
        elif key not in old.dogs:
            raise UnknownName.of("dog", key, old.dogs, where=f"event {event.id}")
    fresh = [item for item in new.set_aside if item not in old.set_aside]
    if fresh:
        raise OutOfOrder(
            fresh[0].why,
            where=fresh[0].stream,
            remedy="Correct the event, or the one that it rests on.",
        )
    if event.kind == "undone":
        _check_kept(old, new, family, key, after)
    if family == "dog" and event.kind in COAT_KINDS:
        _check_replay(old.dogs.get(key), new.dogs.get(key))


def check_tapped(stream: str, entries: Sequence[Entry], before: Fold, after: Fold) -> None:
    """The dog of a stream with taps and readings in it: it is known, and the coat of their zones can be replayed.

    Raises :class:`InputError`.
    """
    old, aside = before.dog(stream)
    new, fresh = after.dog(stream)
    if old is None:
        key = stream.partition(":")[2]
        raise UnknownName.of("dog", key, before.state().dogs, where=f"event {entries[0].event.id}")
    known = set(aside)
    for item in fresh:
        if item not in known:
            raise OutOfOrder(item.why, where=stream, remedy="Correct the event, or the one that it rests on.")
    zones = {entry.made.zone for entry in entries if entry.event.kind in COAT_KINDS}
    if zones:
        _check_replay(old, new, zones)


def _check_kept(old: Salon, new: Salon, family: str, key: str, after: Fold) -> None:
    """Undoing must not leave others hanging: a dog's history without the dog, a dog without its owner."""
    if family == "dog":
        rest = [event for id, event in after.history(f"dog:{key}") if after.counts(f"dog:{key}", id)]
        rest = [event for event in rest if event.kind not in ("undone", "dog.set")]
        if key in old.dogs and key not in new.dogs and rest:
            raise OutOfOrder(
                f"{old.dogs[key].name} would be gone while its history stays.",
                where=f"dog:{key}",
                remedy="Undo what was kept of the dog since, the newest first.",
            )
        return
    name, gone = (
        ("owner or handler", key in old.people and key not in new.people)
        if family == "person"
        else ("show", key in old.shows and key not in new.shows)
    )
    for dog in old.dogs.values():
        tied = [who.id for who in (dog.owner, dog.handler) if who] if family == "person" else []
        tied += [show.id for show in dog.wish.shows] if family == "show" else []
        if gone and key in tied:
            raise OutOfOrder(
                f"{dog.name} would lose its {name} {key!r}.",
                where=f"{family}:{key}",
                remedy="Give the dog another one first.",
            )


def _check_ties(event: Event, salon: Salon) -> None:
    facts = payload(event)
    assert isinstance(facts, DogFacts)
    for who in (facts.owner, facts.handler):
        if who is not None and who not in salon.people:
            raise UnknownName.of("person", who, salon.people, where=facts.name)
    for show in facts.shows:
        if show not in salon.shows:
            raise UnknownName.of("show", show, salon.shows, where=facts.name)


def _check_replay(before: Dog | None, after: Dog | None, zones: Collection[str] | None = None) -> None:
    """Every coat, or that of some zones; where it could not be replayed before, no event is stopped."""
    if after is None:
        return
    try:
        check_coat(after, zones)
    except InputError:
        if before is not None:
            try:
                check_coat(before, zones)
            except InputError:
                return
        raise
