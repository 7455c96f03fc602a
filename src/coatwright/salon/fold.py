"""From events to the salon as it stands.

The state is a function of the *set* of events: any order and any repetition of the same events gives the same
state. Within a stream events are ordered by the time of their device and then by id, and the later one counts
where two speak of the same thing. An event that is undone by an event that counts does not count.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from coatwright.errors import CoatwrightError
from coatwright.salon.events import Event, KeptPlan
from coatwright.salon.facts import DogFacts, dog_from
from coatwright.salon.gear import Printer, Sharpened, ThreadKept
from coatwright.salon.records import Assessment, Dog, PaperCount, Person, Reading, Show
from coatwright.salon.streams import Entry, SetAside, Stream, counting, entry_of, fold_stream, rank_of
from coatwright.salon.taps import PhotoKept

Ties = tuple[Mapping[str, Person], Mapping[str, Show], Mapping[str, Printer]]


@dataclass(frozen=True, slots=True)
class Salon:
    """Everybody and everything, by id; kept plans by dog, in the order in which they were kept.

    ``threads`` are the thread checks, ``sharpened`` when tools were sharpened, both in the order of their days;
    ``photos`` those whose bytes have come, by the SHA-256 of what was sent.
    """

    people: Mapping[str, Person] = field(default_factory=dict)
    shows: Mapping[str, Show] = field(default_factory=dict)
    dogs: Mapping[str, Dog] = field(default_factory=dict)
    plans: Mapping[str, tuple[KeptPlan, ...]] = field(default_factory=dict)
    set_aside: tuple[SetAside, ...] = ()
    printers: Mapping[str, Printer] = field(default_factory=dict)
    threads: tuple[ThreadKept, ...] = ()
    sharpened: tuple[Sharpened, ...] = ()
    photos: Mapping[str, PhotoKept] = field(default_factory=dict)


def fold(events: Iterable[Event]) -> Salon:
    """The salon after these events, given in any order and any number of times."""
    folding = Fold()
    folding.add(events)
    return folding.state()


class Fold:
    """A fold that can take more events: only the streams that they touch are folded anew."""

    def __init__(self) -> None:
        self._entries: dict[str, dict[str, Entry]] = {}
        self._streams: dict[str, Stream] = {}
        self._dogs: dict[str, tuple[Dog | None, tuple[SetAside, ...]]] = {}
        self._ties: Ties | None = None
        self._state: Salon | None = None

    def copy(self) -> Fold:
        """A fold that can go its own way."""
        other = Fold()
        other._entries = dict(self._entries)
        other._streams = dict(self._streams)
        other._dogs = dict(self._dogs)
        other._ties = self._ties
        other._state = self._state
        return other

    def add(self, events: Iterable[Event]) -> None:
        """Take in events; the same one again changes nothing."""
        self.add_entries(entry_of(event) for event in events)

    def add_entries(self, entries: Iterable[Entry]) -> None:
        """Take in events whose records are made already."""
        by_stream: dict[str, list[Entry]] = defaultdict(list)
        for entry in entries:
            by_stream[entry.event.stream].append(entry)
        for stream, fresh in by_stream.items():
            self._add(stream, fresh)

    def _add(self, stream: str, given: list[Entry]) -> None:
        entries = dict(self._entries.get(stream, {}))
        fresh: dict[str, Entry] = {}
        exchanged = False
        for entry in given:
            id = entry.event.id
            known = entries.get(id)
            if known is None:
                entries[id] = fresh[id] = entry
            elif not known.event.same(entry.event) and rank_of(entry.event) > rank_of(known.event):
                entries[id] = entry
                exchanged = True
        if not fresh and not exchanged:
            return
        self._entries[stream] = entries
        folded = self._streams.get(stream)
        self._forget(stream)
        if folded is not None and not exchanged and folded.takes_in(fresh.values()):
            self._streams[stream] = folded.with_more(fresh.values())

    def state(self) -> Salon:
        """The salon as it stands; the same object until something changes."""
        if self._state is None:
            self._state = self._build()
        return self._state

    def event(self, stream: str, id: str) -> Event | None:
        """An event of a stream by its id."""
        entry = self._entries.get(stream, {}).get(id)
        return None if entry is None else entry.event

    def counts(self, stream: str, id: str) -> bool:
        """Whether an event is there and is not undone."""
        entries = self._entries.get(stream, {})
        return id in entries and entries[id] in counting(entries)

    def history(self, stream: str) -> list[tuple[str, Event]]:
        """All events of a stream with their ids, oldest first."""
        found = [(id, entry.event) for id, entry in self._entries.get(stream, {}).items()]
        return sorted(found, key=lambda item: (item[1].at, item[0]))

    def said_of(self, stream: str, day: date) -> list[Entry]:
        """What was written and tapped of a dog's day and counts, oldest first."""
        return self._folded(stream).said_of(day)

    def correction_after(self, tap: Entry) -> Entry | None:
        """The correction at the desk that counts in a tap's place, if there is one."""
        return self._folded(tap.event.stream).correction_after(tap)

    def dog(self, stream: str) -> tuple[Dog | None, tuple[SetAside, ...]]:
        """The dog of a stream and what is set aside of it, without folding all the others."""
        if stream not in self._dogs:
            people, shows, _ = self._tied()
            self._dogs[stream] = _dog(stream, self._folded(stream), people, shows)
        dog, left_out = self._dogs[stream]
        return dog, (*self._folded(stream).faults, *left_out)

    def _folded(self, stream: str) -> Stream:
        if stream not in self._streams:
            self._streams[stream] = fold_stream(stream, self._entries.get(stream, {}))
        return self._streams[stream]

    def last(self, stream: str) -> datetime | None:
        """The latest time of an event of a stream."""
        return max((entry.event.at for entry in self._entries.get(stream, {}).values()), default=None)

    def _forget(self, stream: str) -> None:
        self._state = None
        self._streams.pop(stream, None)
        if stream.startswith("dog:"):
            self._dogs.pop(stream, None)
        else:
            self._dogs.clear()
            self._ties = None

    def _tied(self) -> Ties:
        """People, shows and printers: what other streams speak of."""
        if self._ties is None:
            people: dict[str, Person] = {}
            shows: dict[str, Show] = {}
            printers: dict[str, Printer] = {}
            for stream in sorted(self._entries):
                facts = None if stream.startswith("dog:") else self._folded(stream).facts
                if isinstance(facts, Person):
                    people[facts.id] = facts
                elif isinstance(facts, Show):
                    shows[facts.id] = facts
                elif isinstance(facts, Printer):
                    printers[facts.id] = facts
            self._ties = people, shows, printers
        return self._ties

    def _build(self) -> Salon:
        people, shows, printers = self._tied()
        dogs: dict[str, Dog] = {}
        plans: dict[str, tuple[KeptPlan, ...]] = {}
        aside: list[SetAside] = []
        gear: dict[str, Entry] = {}
        photos: dict[str, PhotoKept] = {}
        for stream in sorted(self._entries):
            folded = self._folded(stream)
            if not stream.startswith("dog:"):
                aside.extend(folded.faults)
                gear.update(folded.gear)
                if isinstance(folded.facts, PhotoKept):
                    photos[folded.facts.id] = folded.facts
                continue
            dog, left_out = self.dog(stream)
            aside.extend(left_out)
            if dog is not None:
                dogs[dog.id] = dog
                plans[dog.id] = tuple(folded.plans.values())
        ordered = _by_day(gear)
        threads = tuple(each for each in ordered if isinstance(each, ThreadKept))
        sharpened = tuple(each for each in ordered if isinstance(each, Sharpened))
        return Salon(people, shows, dogs, plans, tuple(aside), printers, threads, sharpened, photos)


def _dog(
    stream: str, folded: Stream, people: Mapping[str, Person], shows: Mapping[str, Show]
) -> tuple[Dog | None, tuple[SetAside, ...]]:
    if not isinstance(folded.facts, DogFacts):
        return None, ()
    aside: list[SetAside] = []
    assessments: list[Assessment] = _by_day(folded.assessments)
    first = assessments[0].day if assessments else date.max
    for entry in folded.before(first):
        why = f"The visit of {entry.made.day} has no assessment of the coat before it."
        aside.append(SetAside(entry.event.id, stream, why))
    visits = folded.visits_from(first)
    readings: list[Reading] = _by_day(folded.readings)
    papers: list[PaperCount] = _by_day(folded.papers)
    try:
        dog = dog_from(
            folded.facts,
            people=people,
            shows=shows,
            assessments=tuple(assessments),
            visits=tuple(visits),
            readings=tuple(readings),
            papers=tuple(papers),
            fixed=folded.fixed,
            fixed_visits=tuple(folded.fixed_visits.values()),
            rhythm=folded.rhythm,
            unfit=folded.unfit,
        )
    except CoatwrightError as error:
        return None, (*aside, SetAside(folded.facts_event, stream, error.text))
    return dog, tuple(aside)


def _by_day(entries: Mapping[str, Entry]) -> list[Any]:
    ordered = sorted(entries.values(), key=lambda entry: (entry.made.day, entry.event.at, entry.event.id))
    return [entry.made for entry in ordered]
