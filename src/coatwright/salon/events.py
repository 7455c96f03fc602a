"""What happened, one fact at a time: events are only ever added, never changed.

An event has an id made by whoever noticed it first (so that it can be sent twice and count once), the
*stream* it belongs to (``dog:ID``, ``person:ID``, ``show:ID``, ``printer:ID`` or
``tool:ID``), its kind, the time on the device that made
it, who did it, and its data as plain JSON values. Undoing is an event too: it names the event that no longer
counts, and can itself be undone.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from typing import Any

from coatwright.errors import FileFormatError, InputError, OutOfRange, UnknownName, check_share
from coatwright.salon.checks import check_name, check_text, check_zones
from coatwright.salon.facts import DogFacts
from coatwright.salon.gear import Printer, Sharpened, ThreadKept
from coatwright.salon.plain import Misplaced, from_plain, json_ready, to_plain
from coatwright.salon.records import (
    Assessment,
    FixedVisit,
    PaperCount,
    Person,
    Reading,
    Show,
    Visit,
    check_rhythm,
)
from coatwright.salon.taps import TAPS, PhotoKept
from coatwright.units import Share

VERSION = 1
"""Version of the shape of the data in events made by this program."""
FAMILIES = ("dog", "person", "show", "printer", "tool", "photo")
"""What a stream can belong to."""


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened; ``at`` is the device's time, ``received`` the time it was kept (both UTC)."""

    id: str
    stream: str
    kind: str
    at: datetime
    by: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)
    version: int = VERSION
    received: datetime | None = None

    def same(self, other: Event) -> bool:
        """Whether both say the same, whenever each was received."""
        return replace(self, received=None) == replace(other, received=None)


@dataclass(frozen=True, slots=True)
class Cell:
    """A take set by hand: ``share`` of a zone at the visit of ``day`` (``None`` once it is free again).

    ``rhythm`` are the days between the visits of the plan in which it was set.
    """

    zone: str
    day: date
    share: Share | None = None
    rhythm: int | None = None

    def __post_init__(self) -> None:
        check_zones([self.zone], where="zone")
        check_rhythm(self.rhythm)
        if self.share is not None:
            check_share(self.share, "The fixed take", where="share")


@dataclass(frozen=True, slots=True)
class VisitSet:
    """A visit of the plan set by hand, in a plan with ``rhythm`` days between its visits."""

    visit: FixedVisit
    rhythm: int | None = None

    def __post_init__(self) -> None:
        check_rhythm(self.rhythm)


@dataclass(frozen=True, slots=True)
class VisitFreed:
    """The visit that the plan places again: ``day`` as in :class:`~coatwright.salon.records.FixedVisit`."""

    day: date


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A version of a plan under a name: what was asked (``problem``) and what came out (``takes``)."""

    id: str
    name: str
    day: date
    problem: Mapping[str, Any] = field(default_factory=dict)
    takes: Mapping[str, Any] = field(default_factory=dict)
    note: str = ""

    def __post_init__(self) -> None:
        check_name(self.id, "A plan's id")
        check_name(self.name, "A plan's name")
        check_text(self.note, "note")


@dataclass(frozen=True, slots=True)
class Unfit:
    """Why nothing may be planned for a dog."""

    reason: str

    def __post_init__(self) -> None:
        check_text(self.reason, "reason", most=500)
        if not self.reason.strip():
            raise OutOfRange("A dog is unfit for no reason.", where="reason", remedy="Say why, in words.")


@dataclass(frozen=True, slots=True)
class Fit:
    """The dog is fit again; ``note`` says who found so."""

    note: str = ""


@dataclass(frozen=True, slots=True)
class Undone:
    """The event that no longer counts."""

    event: str


KINDS: Mapping[str, tuple[str, Callable[..., Any]]] = {
    "person.set": ("person", Person),
    "show.set": ("show", Show),
    "dog.set": ("dog", DogFacts),
    "assessment.set": ("dog", Assessment),
    "visit.logged": ("dog", Visit),
    "visit.corrected": ("dog", Visit),
    "reading.taken": ("dog", Reading),
    "paper.read": ("dog", PaperCount),
    "plan.kept": ("dog", KeptPlan),
    "cell.fixed": ("dog", Cell),
    "cell.freed": ("dog", Cell),
    "visit.fixed": ("dog", VisitSet),
    "visit.freed": ("dog", VisitFreed),
    "dog.unfit": ("dog", Unfit),
    "dog.fit": ("dog", Fit),
    "printer.set": ("printer", Printer),
    "thread.checked": ("printer", ThreadKept),
    "tool.sharpened": ("tool", Sharpened),
    **{kind: ("dog", record) for kind, record in TAPS.items()},
    "photo.kept": ("photo", PhotoKept),
    "undone": ("", Undone),
}
"""Each kind with the streams it belongs to ("" any) and the record that its data make."""


def new_id() -> str:
    """A fresh id."""
    return str(uuid.uuid4())


def stream_of(kind: str, key: str) -> str:
    """The stream of a person, show or dog: ``stream_of("dog", "bramble")`` is ``"dog:bramble"``."""
    return f"{kind}:{key}"


def event_of(kind: str, stream: str, record: Any, *, at: datetime, by: str = "", id: str = "") -> Event:
    """An event of a kind whose data are a record's."""
    return Event(id or new_id(), stream, kind, at.astimezone(UTC), by, json_ready(to_plain(record)))


def payload(event: Event) -> Any:
    """The record in an event; raises :class:`InputError` when the event is not what its kind should be."""
    place = f"event {event.id}"
    if event.kind not in KINDS:
        raise UnknownName.of("kind of event", event.kind, KINDS, where=place)
    if event.version > VERSION or event.version < 1:
        raise FileFormatError(
            f"It has version {event.version} of its data; this program knows up to {VERSION}.",
            where=place,
            remedy="Update Coatwright on this machine.",
        )
    check_name(event.id, "An event's id")
    if event.at.tzinfo is None:
        raise FileFormatError("Its time has no time zone.", where=place, remedy="Give the time in UTC.")
    family, key = _split(event)
    expected, record = KINDS[event.kind]
    if expected and family != expected:
        raise FileFormatError(
            f"A {event.kind} cannot belong to {event.stream!r}.",
            where=place,
            remedy=f"Use the stream {expected}:ID.",
        )
    try:
        made = from_plain(record, event.data)  # type: ignore[arg-type]
    except Misplaced as misplaced:
        raise misplaced.told().at(place) from misplaced
    except (OverflowError, RecursionError) as error:
        raise FileFormatError(
            "Its data hold a number or a depth beyond all measure.",
            where=place,
            remedy="Send what was measured.",
        ) from error
    _agrees(event, made, key)
    return made


def _split(event: Event) -> tuple[str, str]:
    family, colon, key = event.stream.partition(":")
    if family not in FAMILIES or not colon or not key:
        raise FileFormatError(
            f"Its stream is {event.stream!r}.",
            where=f"event {event.id}",
            remedy=f"Use {', '.join(f'{each}:ID' for each in FAMILIES)}.",
        )
    return family, key


def _agrees(event: Event, made: Any, key: str) -> None:
    """Facts carry the id of their stream, so that a stream cannot speak of another dog."""
    if event.kind.endswith(".set") and event.kind != "assessment.set" and made.id != key:
        raise FileFormatError(
            f"It speaks of {made.id!r} in the stream {event.stream!r}.",
            where=f"event {event.id}",
            remedy="Use the id of the stream.",
        )
    if event.kind == "cell.fixed" and made.share is None:
        raise FileFormatError(
            "A fixed cell has no share.", where=f"event {event.id}, share", remedy="Give a share such as 0.2."
        )


def to_json(event: Event) -> dict[str, Any]:
    """An event as one JSON object, as a device sends it."""
    table = {
        "id": event.id,
        "stream": event.stream,
        "kind": event.kind,
        "at": event.at.astimezone(UTC).isoformat(),
        "by": event.by,
        "data": dict(event.data),
        "version": event.version,
    }
    if event.received is not None:
        table["received"] = event.received.astimezone(UTC).isoformat()
    return table


def from_json(table: object) -> Event:
    """An event from a JSON object; raises :class:`InputError` when it is none."""
    known = ("id", "stream", "kind", "at", "by", "data", "version", "received")
    if not isinstance(table, Mapping) or any(key not in known for key in table):
        raise FileFormatError("An event must be an object.", remedy=f"Use the keys {', '.join(known)}.")
    try:
        return Event(
            id=_text(table, "id"),
            stream=_text(table, "stream"),
            kind=_text(table, "kind"),
            at=_time(table["at"]),
            by=str(table.get("by", "")),
            data=dict(table.get("data", {})),
            version=int(table.get("version", VERSION)),
            received=_time(table["received"]) if table.get("received") else None,
        )
    except InputError:
        raise
    except (KeyError, TypeError, ValueError, OverflowError) as error:
        raise FileFormatError(
            f"The event {table.get('id', '?')!s:.60} is not complete: {error}.",
            remedy="Give id, stream, kind, at and data.",
        ) from error


def _text(table: Mapping[str, Any], key: str) -> str:
    if not isinstance(table[key], str):
        raise TypeError(f"{key} must be a text")
    return str(table[key])


def _time(text: object) -> datetime:
    time = datetime.fromisoformat(str(text))
    if time.tzinfo is None:
        raise ValueError("the time has no time zone")
    return time.astimezone(UTC)
