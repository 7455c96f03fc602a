"""One visit a day: what the desk wrote and what tablets tapped of a dog's day, put together zone by zone.

Of two that speak of one zone the later one counts, by the time of the device and then by the event's id, so
that any order of arrival gives the same visit. What was remarked of a zone before its take (``so_far``) stands
beside what another device took, and gives way to what its own device takes. A corrected visit takes the place of
all that was said before it. Minutes are the longest that a device told, notes those of every device one after the
other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from coatwright.salon.history import Photo, Take, Visit
from coatwright.salon.taps import CareDone, PhotoTaken, TakeLogged, VisitTold, ZoneCarded

if TYPE_CHECKING:
    from coatwright.salon.events import Event

MOST_NOTE = 4000
DESK = ""
"""The device of what is written at the desk."""
REMARKS = ("reaction", "skin", "ease")
"""What a remark so far adds to a take."""


@dataclass(slots=True)
class _Zone:
    """What was said of one zone: its take, and by device what was remarked so far; the earlier first."""

    take: Take | None = None
    said: dict[str | None, Take] = field(default_factory=dict)

    def log(self, take: Take, device: str) -> None:
        """A take: of its own device it says all, of the others what they remarked stays."""
        self.take = take
        self._say(None, take)
        self.said.pop(device, None)

    def remark(self, take: Take, device: str) -> None:
        """A remark before the take of its device: it replaces that device's remark before."""
        self._say(device, take)

    def _say(self, key: str | None, take: Take) -> None:
        self.said.pop(key, None)
        self.said[key] = take

    def merged(self) -> Take:
        """The take, or where there is none what was remarked last; of each remark the latest that says something."""
        latest = self.take if self.take is not None else next(reversed(self.said.values()))
        words: dict[str, Any] = {}
        for take in self.said.values():
            words |= {key: word for key in REMARKS if (word := getattr(take, key))}
        return replace(latest, so_far=self.take is None, **words)


@dataclass(slots=True)
class _Day:
    """A day while it is put together, the earlier first."""

    ids: list[str] = field(default_factory=list)
    tapped: list[str] = field(default_factory=list)
    zones: dict[str, _Zone] = field(default_factory=dict)
    carded: dict[str, bool] = field(default_factory=dict)
    care: dict[str, bool] = field(default_factory=dict)
    photos: dict[tuple[str, str], Photo] = field(default_factory=dict)
    minutes: dict[str, float] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)
    groomer: str = ""

    def write(self, visit: Visit) -> None:
        """A whole visit, as the desk writes it."""
        self.ids.append(visit.id)
        for zone, take in visit.takes.items():
            self._zone(zone).log(take, DESK)
        self.carded.update(dict.fromkeys(visit.carded, True))
        self.care.update(dict.fromkeys(visit.care, True))
        self.photos.update({(each.zone, each.photo): each for each in visit.photos})
        self._tell(visit.groomer, visit.minutes, visit.note, DESK)

    def tap(self, made: Any) -> None:
        """One tap."""
        self.tapped.append(made.visit)
        match made:
            case TakeLogged(so_far=True):
                self._zone(made.zone).remark(made.take, made.device)
                self.groomer = self.groomer or made.groomer
            case TakeLogged():
                self._zone(made.zone).log(made.take, made.device)
                self.groomer = made.groomer or self.groomer
            case ZoneCarded():
                self.carded[made.zone] = made.carded
            case CareDone():
                self.care[made.what] = made.done
            case PhotoTaken():
                self.photos[made.zone, made.photo] = made.kept()
            case VisitTold():
                self._tell(made.groomer, made.minutes, made.note, made.device)

    def _zone(self, key: str) -> _Zone:
        """A zone, the last of those that something was said of."""
        self.zones[key] = zone = self.zones.pop(key, None) or _Zone()
        return zone

    def _tell(self, groomer: str, minutes: float | None, note: str, device: str) -> None:
        self.groomer = groomer or self.groomer
        if minutes is not None:
            self.minutes[device] = minutes
        if note:
            self.notes.pop(device, None)
            self.notes[device] = note

    def visit(self, day: date) -> Visit | None:
        """The visit, or none where nothing is left of it and nobody wrote it down as a whole."""
        made = Visit(
            id=self.ids[0] if self.ids else min(self.tapped, default="-"),
            day=day,
            takes={key: zone.merged() for key, zone in self.zones.items()},
            carded=tuple(zone for zone, done in self.carded.items() if done),
            minutes=max(self.minutes.values(), default=None),
            note="\n".join(dict.fromkeys(self.notes.values()))[:MOST_NOTE],
            groomer=self.groomer,
            care=tuple(what for what, done in self.care.items() if done),
            photos=tuple(self.photos.values()),
        )
        said = made.takes or made.carded or made.care or made.photos or made.note or made.minutes is not None
        return made if self.ids or said else None


def merge_day(
    day: date, said: Iterable[tuple[Event, Any]], corrected: Mapping[str, tuple[datetime, str]]
) -> Visit | None:
    """The visit of a day, or none where nothing is left of it.

    ``said`` are the events of the day, in any order, with their records: visits written down as such, each id once,
    and taps of :data:`~coatwright.salon.taps.TAPS`. ``corrected`` tells by a visit's id when it was corrected,
    whichever day that put it on: what was tapped of it before no longer counts.
    """
    made = _Day()
    for event, record in sorted(said, key=lambda item: (item[0].at, item[0].id)):
        if isinstance(record, Visit):
            if event.kind == "visit.corrected":
                made = _Day()
            made.write(record)
        elif record.visit not in corrected or (event.at, event.id) > corrected[record.visit]:
            made.tap(record)
    return made.visit(day)
