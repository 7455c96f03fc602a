"""From events to the salon as it stands.

The state is a function of the *set* of events: any order and any repetition of the same events gives the same
state. Within a stream events are ordered by the time of their device and then by id, and the later one counts
where two speak of the same thing. An event that is undone by an event that counts does not count.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from coatwright.errors import CoatwrightError
from coatwright.salon.events import Event, KeptPlan, payload, to_json
from coatwright.salon.facts import DogFacts, dog_from
from coatwright.salon.gear import Printer, Sharpened, ThreadKept
from coatwright.salon.records import Assessment, Dog, FixedVisit, PaperCount, Person, Reading, Show
from coatwright.salon.taps import TAPS
from coatwright.salon.visits import merge


@dataclass(frozen=True, slots=True)
class SetAside:
    """An event that is kept but cannot be made to count, and why."""

    event: str
    stream: str
    why: str


@dataclass(frozen=True, slots=True)
class Salon:
    """Everybody and everything, by id; kept plans by dog, in the order in which they were kept.

    ``threads`` are the thread checks, ``sharpened`` when tools were sharpened, both in the order of their days.
    """

    people: Mapping[str, Person] = field(default_factory=dict)
    shows: Mapping[str, Show] = field(default_factory=dict)
    dogs: Mapping[str, Dog] = field(default_factory=dict)
    plans: Mapping[str, tuple[KeptPlan, ...]] = field(default_factory=dict)
    set_aside: tuple[SetAside, ...] = ()
    printers: Mapping[str, Printer] = field(default_factory=dict)
    threads: tuple[ThreadKept, ...] = ()
    sharpened: tuple[Sharpened, ...] = ()


@dataclass(frozen=True, slots=True)
class _Entry:
    event: Event
    made: Any
    fault: str


@dataclass(slots=True)
class _Stream:
    """What the events of one stream that count say, the later over the earlier."""

    facts: Any = None
    facts_event: str = ""
    assessments: dict[str, _Entry] = field(default_factory=dict)
    visits: dict[str, _Entry] = field(default_factory=dict)
    taps: list[_Entry] = field(default_factory=list)
    readings: dict[str, _Entry] = field(default_factory=dict)
    papers: dict[str, _Entry] = field(default_factory=dict)
    plans: dict[str, KeptPlan] = field(default_factory=dict)
    fixed: dict[tuple[str, date], float] = field(default_factory=dict)
    fixed_visits: dict[date, FixedVisit] = field(default_factory=dict)
    rhythms: dict[tuple[str, date], int | None] = field(default_factory=dict)
    unfit: str = ""
    gear: dict[str, _Entry] = field(default_factory=dict)
    faults: list[SetAside] = field(default_factory=list)

    def set_rhythm(self, what: tuple[str, date], rhythm: int | None) -> None:
        """Remember the rhythm in which a take (zone, day) or a visit ("", day) was set by hand, the last one last."""
        self.rhythms.pop(what, None)
        self.rhythms[what] = rhythm

    @property
    def rhythm(self) -> int | None:
        """The rhythm in which something was set by hand last, among what still is."""
        return next((rhythm for rhythm in reversed(self.rhythms.values()) if rhythm is not None), None)


def fold(events: Iterable[Event]) -> Salon:
    """The salon after these events, given in any order and any number of times."""
    folding = Fold()
    folding.add(events)
    return folding.state()


class Fold:
    """A fold that can take more events: only the streams that they touch are folded anew."""

    def __init__(self) -> None:
        self._entries: dict[str, dict[str, _Entry]] = {}
        self._streams: dict[str, _Stream] = {}
        self._dogs: dict[str, tuple[Dog | None, tuple[SetAside, ...]]] = {}
        self._state: Salon | None = None

    def copy(self) -> Fold:
        """A fold that can go its own way."""
        other = Fold()
        other._entries = dict(self._entries)
        other._streams = dict(self._streams)
        other._dogs = dict(self._dogs)
        other._state = self._state
        return other

    def add(self, events: Iterable[Event]) -> None:
        """Take in events; the same one again changes nothing."""
        by_stream: dict[str, list[Event]] = defaultdict(list)
        for event in events:
            by_stream[event.stream].append(event)
        for stream, fresh in by_stream.items():
            entries = dict(self._entries.get(stream, {}))
            changed = False
            for event in fresh:
                known = entries.get(event.id)
                if known is None or (not known.event.same(event) and _rank(event) > _rank(known.event)):
                    entries[event.id] = _entry(event)
                    changed = True
            if changed:
                self._entries[stream] = entries
                self._forget(stream)

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
        return id in entries and entries[id] in _counting(entries)

    def history(self, stream: str) -> list[tuple[str, Event]]:
        """All events of a stream with their ids, oldest first."""
        found = [(id, entry.event) for id, entry in self._entries.get(stream, {}).items()]
        return sorted(found, key=lambda item: (item[1].at, item[0]))

    def counting(self, stream: str) -> list[tuple[Event, Any]]:
        """The events of a stream that count, oldest first, each with its record (None where it has none)."""
        return [(entry.event, entry.made) for entry in _counting(self._entries.get(stream, {}))]

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

    def _build(self) -> Salon:
        for stream in self._entries.keys() - self._streams.keys():
            self._streams[stream] = _fold_stream(stream, self._entries[stream])
        order = sorted(self._streams)
        people: dict[str, Person] = {}
        shows: dict[str, Show] = {}
        printers: dict[str, Printer] = {}
        for stream in order:
            facts = self._streams[stream].facts
            if isinstance(facts, Person):
                people[facts.id] = facts
            elif isinstance(facts, Show):
                shows[facts.id] = facts
            elif isinstance(facts, Printer):
                printers[facts.id] = facts
        dogs: dict[str, Dog] = {}
        plans: dict[str, tuple[KeptPlan, ...]] = {}
        aside: list[SetAside] = []
        for stream in order:
            folded = self._streams[stream]
            aside.extend(folded.faults)
            if not stream.startswith("dog:"):
                continue
            if stream not in self._dogs:
                self._dogs[stream] = _dog(stream, folded, people, shows)
            dog, left_out = self._dogs[stream]
            aside.extend(left_out)
            if dog is not None:
                dogs[dog.id] = dog
                plans[dog.id] = tuple(folded.plans.values())
        gear: dict[str, _Entry] = {}
        for stream in order:
            gear.update(self._streams[stream].gear)
        ordered = _by_day(gear)
        threads = tuple(each for each in ordered if isinstance(each, ThreadKept))
        sharpened = tuple(each for each in ordered if isinstance(each, Sharpened))
        return Salon(people, shows, dogs, plans, tuple(aside), printers, threads, sharpened)


def _rank(event: Event) -> str:
    """Which of two events that share an id counts: no more than a rule that does not depend on the order."""
    table = to_json(event)
    table.pop("received", None)
    return json.dumps(table, sort_keys=True, default=str)


def _entry(event: Event) -> _Entry:
    try:
        return _Entry(event, payload(event), "")
    except CoatwrightError as error:
        return _Entry(event, None, error.text)


def _counting(entries: Mapping[str, _Entry]) -> list[_Entry]:
    """The events that count, in order: those that no counting event undoes.

    An undoing names one event, so the undoings form chains; they are settled from the loose ends inwards.
    Undoings that form a ring (they cannot arise but by hand) do not count.
    """
    undoers: dict[str, int] = defaultdict(int)
    target: dict[str, str] = {}
    for id, entry in entries.items():
        if entry.event.kind == "undone" and entry.made is not None:
            target[id] = entry.made.event
            undoers[entry.made.event] += 1
    undone: set[str] = set()
    settled: set[str] = set()
    waiting = [id for id in entries if undoers[id] == 0]
    while waiting:
        id = waiting.pop()
        settled.add(id)
        aim = target.get(id)
        if aim is None or aim not in entries:
            continue
        if id not in undone:
            undone.add(aim)
        undoers[aim] -= 1
        if undoers[aim] == 0:
            waiting.append(aim)
    live = [entry for id, entry in entries.items() if id in settled and id not in undone]
    return sorted(live, key=lambda entry: (entry.event.at, entry.event.id))


def _fold_stream(stream: str, entries: Mapping[str, _Entry]) -> _Stream:
    folded = _Stream()
    for entry in _counting(entries):
        event, made = entry.event, entry.made
        if made is None:
            folded.faults.append(SetAside(event.id, stream, entry.fault))
            continue
        match event.kind:
            case "thread.checked" | "tool.sharpened":
                folded.gear[event.id] = entry
            case "person.set" | "show.set" | "dog.set" | "printer.set":
                folded.facts, folded.facts_event = made, event.id
            case "assessment.set":
                folded.assessments[made.id] = entry
            case "visit.logged" | "visit.corrected":
                folded.visits[made.id] = entry
            case _ if event.kind in TAPS:
                folded.taps.append(entry)
            case "reading.taken":
                folded.readings[made.id] = entry
            case "paper.read":
                folded.papers[made.id] = entry
            case "plan.kept":
                folded.plans[made.id] = made
            case "cell.fixed":
                folded.fixed[made.zone, made.day] = made.share
                folded.set_rhythm((made.zone, made.day), made.rhythm)
            case "cell.freed":
                folded.fixed.pop((made.zone, made.day), None)
                folded.rhythms.pop((made.zone, made.day), None)
            case "visit.fixed":
                folded.fixed_visits[made.visit.day] = made.visit
                folded.set_rhythm(("", made.visit.day), made.rhythm)
            case "visit.freed":
                folded.fixed_visits.pop(made.day, None)
                folded.rhythms.pop(("", made.day), None)
            case "dog.unfit":
                folded.unfit = made.reason
            case "dog.fit":
                folded.unfit = ""
    return folded


def _dog(
    stream: str, folded: _Stream, people: Mapping[str, Person], shows: Mapping[str, Show]
) -> tuple[Dog | None, tuple[SetAside, ...]]:
    if not isinstance(folded.facts, DogFacts):
        return None, ()
    aside: list[SetAside] = []
    assessments: list[Assessment] = _by_day(folded.assessments)
    first = assessments[0].day if assessments else date.max
    for entry in (*folded.visits.values(), *folded.taps):
        if entry.made.day < first:
            why = f"The visit of {entry.made.day} has no assessment of the coat before it."
            aside.append(SetAside(entry.event.id, stream, why))
    visits = merge(_from(folded.visits.values(), first), _from(folded.taps, first))
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


def _from(entries: Iterable[_Entry], first: date) -> list[tuple[Event, Any]]:
    return [(entry.event, entry.made) for entry in entries if entry.made.day >= first]


def _by_day(entries: Mapping[str, _Entry]) -> list[Any]:
    ordered = sorted(entries.values(), key=lambda entry: (entry.made.day, entry.event.at, entry.event.id))
    return [entry.made for entry in ordered]
