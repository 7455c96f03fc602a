"""The demo salon as events, and a store filled with them."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from coatwright.demo.past import dog_as_it_is
from coatwright.demo.people import PEOPLE, shows
from coatwright.demo.sketches import sketches
from coatwright.salon.events import Event, event_of, stream_of
from coatwright.salon.records import Dog
from coatwright.salon.salon import events_of
from coatwright.salon.store import Store

SEED = 20270301
BY = "demo"


def demo_dogs(today: date, seed: int = SEED) -> list[Dog]:
    """The dogs of the demo salon as they are on ``today``; the same for the same day and seed."""
    coming = shows(today)
    return [dog_as_it_is(sketch, today, coming, Random(f"{seed}/{sketch.id}")) for sketch in sketches()]


def make_demo(today: date, seed: int = SEED) -> list[Event]:
    """All events of the demo salon: people, shows, and each dog with its past, dated relative to ``today``."""
    rng = Random(seed)

    def next_id() -> str:
        return str(uuid.UUID(int=rng.getrandbits(128), version=4))

    dogs = demo_dogs(today, seed)
    start = min(assessment.day for dog in dogs for assessment in dog.assessments)
    opened = datetime.combine(start - timedelta(days=1), time(9), UTC)
    events = [
        event_of("person.set", stream_of("person", person.id), person, at=opened, by=BY, id=next_id())
        for person in PEOPLE.values()
    ]
    events += [
        event_of("show.set", stream_of("show", show.id), show, at=opened, by=BY, id=next_id())
        for show in shows(today).values()
    ]
    for number, dog in enumerate(dogs):
        at = opened + timedelta(minutes=number)
        own = events_of(dog, at=at, by=BY, ids=next_id)
        events += [_on_its_day(event, today) for event in own if event.stream == stream_of("dog", dog.id)]
    return events


def _on_its_day(event: Event, today: date) -> Event:
    """The event at an hour of the day that it speaks of; what holds now was said yesterday evening."""
    hours = {"assessment.set": 9, "visit.logged": 15, "reading.taken": 16, "dog.unfit": 18}
    if event.kind not in hours:
        return event
    day = date.fromisoformat(event.data["day"]) if "day" in event.data else today - timedelta(days=1)
    at = datetime.combine(day, time(hours[event.kind]), UTC)
    return replace(event, at=at + timedelta(microseconds=event.at.microsecond))


def fill(store: Store, today: date, seed: int = SEED) -> int:
    """Keep the demo salon in a store that has no dogs yet; the number of events kept, 0 when it has some."""
    if store.state().dogs:
        return 0
    events = make_demo(today, seed)
    return sum(answer.outcome == "kept" for answer in store.change(lambda _: events))
