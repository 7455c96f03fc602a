"""One stream of events folded: what its events that count say, the later over the earlier.

Taps and readings, which come one by one while dogs stand on the table, are put into what is folded already; any
other event folds its stream anew. Both ways give the same.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from coatwright.errors import CoatwrightError
from coatwright.salon.events import Event, KeptPlan, payload, to_json
from coatwright.salon.records import FixedVisit, Visit
from coatwright.salon.taps import TAPS
from coatwright.salon.visits import merge_day

SOON = frozenset({*TAPS, "reading.taken"})
"""Events that can be put into what is folded already, in any order."""


@dataclass(frozen=True, slots=True)
class SetAside:
    """An event that is kept but cannot be made to count, and why."""

    event: str
    stream: str
    why: str


@dataclass(frozen=True, slots=True)
class Entry:
    """An event with its record, or with the fault for which it has none."""

    event: Event
    made: Any
    fault: str = ""

    @property
    def when(self) -> tuple[datetime, str]:
        """What orders the events of a stream: the device's time, then the id."""
        return self.event.at, self.event.id


@dataclass(slots=True)
class Stream:
    """What the events of one stream that count say.

    ``aims`` are the ids that undoings name; ``merged`` the visits by day that were put together so far.
    """

    facts: Any = None
    facts_event: str = ""
    assessments: dict[str, Entry] = field(default_factory=dict)
    visits: dict[str, Entry] = field(default_factory=dict)
    taps: dict[date, tuple[Entry, ...]] = field(default_factory=dict)
    readings: dict[str, Entry] = field(default_factory=dict)
    papers: dict[str, Entry] = field(default_factory=dict)
    plans: dict[str, KeptPlan] = field(default_factory=dict)
    fixed: dict[tuple[str, date], float] = field(default_factory=dict)
    fixed_visits: dict[date, FixedVisit] = field(default_factory=dict)
    rhythms: dict[tuple[str, date], int | None] = field(default_factory=dict)
    unfit: str = ""
    gear: dict[str, Entry] = field(default_factory=dict)
    faults: list[SetAside] = field(default_factory=list)
    aims: frozenset[str] = frozenset()
    merged: dict[date, Visit | None] = field(default_factory=dict)

    def set_rhythm(self, what: tuple[str, date], rhythm: int | None) -> None:
        """Remember the rhythm in which a take (zone, day) or a visit ("", day) was set by hand, the last one last."""
        self.rhythms.pop(what, None)
        self.rhythms[what] = rhythm

    @property
    def rhythm(self) -> int | None:
        """The rhythm in which something was set by hand last, among what still is."""
        return next((rhythm for rhythm in reversed(self.rhythms.values()) if rhythm is not None), None)

    def visits_from(self, first: date) -> list[Visit]:
        """One visit a day, in the order of their days, from a day on."""
        written: dict[date, list[Entry]] = defaultdict(list)
        for entry in self.visits.values():
            written[entry.made.day].append(entry)
        days = sorted(day for day in written.keys() | self.taps.keys() if day >= first)
        missing = [day for day in days if day not in self.merged]
        if missing:
            corrected = {entry.made.id: entry.when for entry in self.corrections()}
            for day in missing:
                said = [*written.get(day, ()), *self.taps.get(day, ())]
                self.merged[day] = merge_day(day, ((each.event, each.made) for each in said), corrected)
        return [visit for day in days if (visit := self.merged[day]) is not None]

    def corrections(self) -> list[Entry]:
        """The visits that were corrected at the desk, as they were corrected last."""
        return [entry for entry in self.visits.values() if entry.event.kind == "visit.corrected"]

    def correction_after(self, tap: Entry) -> Entry | None:
        """The last correction of a tap's visit or day that is later than the tap: it counts in the tap's place."""
        found = [
            entry
            for entry in self.corrections()
            if entry.when > tap.when and (entry.made.id == tap.made.visit or entry.made.day == tap.made.day)
        ]
        return max(found, key=lambda entry: entry.when, default=None)

    def said_of(self, day: date) -> list[Entry]:
        """What was written and tapped of a day, oldest first."""
        written = [entry for entry in self.visits.values() if entry.made.day == day]
        return sorted([*written, *self.taps.get(day, ())], key=lambda entry: entry.when)

    def before(self, first: date) -> list[Entry]:
        """What was written and tapped of days before a day, oldest first."""
        found = [entry for entry in self.visits.values() if entry.made.day < first]
        for day, taps in self.taps.items():
            found += taps if day < first else ()
        return sorted(found, key=lambda entry: entry.when)

    def takes_in(self, entries: Iterable[Entry]) -> bool:
        """Whether these can be put in without folding anew."""
        return all(
            entry.event.kind in SOON and entry.made is not None and entry.event.id not in self.aims
            for entry in entries
        )

    def with_more(self, entries: Iterable[Entry]) -> Stream:
        """The stream with taps and readings put in."""
        more = replace(self, taps=dict(self.taps), readings=dict(self.readings), merged=dict(self.merged))
        for entry in entries:
            if entry.event.kind == "reading.taken":
                known = more.readings.get(entry.made.id)
                if known is None or entry.when > known.when:
                    more.readings[entry.made.id] = entry
            else:
                day = entry.made.day
                more.taps[day] = (*more.taps.get(day, ()), entry)
                more.merged.pop(day, None)
        return more


def rank_of(event: Event) -> str:
    """Which of two events that share an id counts: no more than a rule that does not depend on the order."""
    table = to_json(event)
    table.pop("received", None)
    return json.dumps(table, sort_keys=True, default=str)


def entry_of(event: Event) -> Entry:
    """An event with its record."""
    try:
        return Entry(event, payload(event))
    except CoatwrightError as error:
        return Entry(event, None, error.text)


def counting(entries: Mapping[str, Entry]) -> list[Entry]:
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


def fold_stream(stream: str, entries: Mapping[str, Entry]) -> Stream:
    """The stream that these entries, by id, fold into."""
    folded = Stream(aims=frozenset(_aims(entries.values())))
    for entry in counting(entries):
        event, made = entry.event, entry.made
        if made is None:
            folded.faults.append(SetAside(event.id, stream, entry.fault))
            continue
        match event.kind:
            case "thread.checked" | "tool.sharpened":
                folded.gear[event.id] = entry
            case "person.set" | "show.set" | "dog.set" | "printer.set" | "photo.kept":
                folded.facts, folded.facts_event = made, event.id
            case "assessment.set":
                folded.assessments[made.id] = entry
            case "visit.logged" | "visit.corrected":
                folded.visits[made.id] = entry
            case _ if event.kind in TAPS:
                folded.taps[made.day] = (*folded.taps.get(made.day, ()), entry)
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


def _aims(entries: Iterable[Entry]) -> Iterable[str]:
    return (entry.made.event for entry in entries if entry.event.kind == "undone" and entry.made is not None)
