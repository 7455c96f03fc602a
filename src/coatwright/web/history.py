"""What was kept of a dog, event by event, in words; and what can be taken back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from coatwright.errors import CoatwrightError
from coatwright.patterns.zones import zones
from coatwright.salon.events import Event, payload, stream_of
from coatwright.salon.records import FixedVisit
from coatwright.salon.salon import history
from coatwright.web.desk import Desk
from coatwright.web.words import Words


@dataclass(frozen=True, slots=True)
class LastChange:
    """The event that can be taken back, or whose undoing can (``redo``), and what it did, in words."""

    event: str
    what: str
    at: datetime
    redo: bool


def last_change(desk: Desk, dog: str, words: Words) -> LastChange | None:
    """What was done to a dog last. The facts that it began with cannot be taken back from its page."""
    events = history(desk.store, stream_of("dog", dog))
    if not events:
        return None
    last, counts = events[-1]
    if last.kind == "undone" and counts:
        target = next((event for event, _ in events if event.id == last.data.get("event")), None)
        what = "" if target is None else told(target, words)
        return LastChange(last.id, what, last.at, redo=True)
    counting = [event for event, counts in events if counts and event.kind != "undone"]
    if not counting or (counting[-1].kind == "dog.set" and len(counting) == 1):
        return None
    return LastChange(counting[-1].id, told(counting[-1], words), counting[-1].at, redo=False)


def told(event: Event, words: Words) -> str:
    """An event in a few words."""
    try:
        made = payload(event)
    except CoatwrightError:
        return event.kind
    match event.kind:
        case "dog.set":
            return "facts and wish"
        case "assessment.set":
            return f"coat read on {words.date(made.day)}"
        case "visit.logged":
            return f"visit of {words.date(made.day)}"
        case "visit.corrected":
            return f"visit of {words.date(made.day)} corrected"
        case "take.logged":
            return f"{100 * made.take.share:.0f} % of {_zone(made.zone)} on {words.date(made.day)}"
        case "zone.carded":
            return f"{_zone(made.zone)} {'' if made.carded else 'not '}carded on {words.date(made.day)}"
        case "care.done":
            return (
                f"{made.what.replace('_', ' ')} {'' if made.done else 'not '}done on {words.date(made.day)}"
            )
        case "visit.told":
            return f"visit of {words.date(made.day)} told from the table"
        case "photo.taken":
            return f"photo of {_zone(made.zone) if made.zone else 'the dog'} on {words.date(made.day)}"
        case "reading.taken":
            return f"reading of {_zone(made.zone)} on {words.date(made.day)}"
        case "paper.read":
            return f"paper test of {_zone(made.zone)} on {words.date(made.day)}"
        case "plan.kept":
            return f"plan kept as {made.name}"
        case "cell.fixed":
            return f"take of {_zone(made.zone)} on {words.date(made.day)} fixed at {100 * (made.share or 0):.0f} %"
        case "cell.freed":
            return f"take of {_zone(made.zone)} on {words.date(made.day)} freed"
        case "visit.fixed":
            return _visit_set(made.visit, words)
        case "visit.freed":
            return f"visit of {words.date(made.day)} left to the plan"
        case "dog.unfit":
            return f"marked unfit: {made.reason}"
        case "dog.fit":
            return "marked fit"
    return event.kind


def _visit_set(visit: FixedVisit, words: Words) -> str:
    if visit.dropped:
        return f"visit of {words.date(visit.day)} dropped"
    if visit.added:
        return f"visit of {words.date(visit.day)} added"
    if visit.on is not None and visit.on != visit.day:
        return f"visit of {words.date(visit.day)} moved to {words.date(visit.on)}"
    return f"minutes of the visit of {words.date(visit.day)}"


def _zone(key: str) -> str:
    return zones()[key].name.lower()
