"""One visit a day: what the desk wrote and what tablets tapped of a dog's day, put together zone by zone.

Of two that speak of one zone the later one counts, by the time of the device and then by the event's id, so
that any order of arrival gives the same visit. A corrected visit takes the place of all that was said before
it. Minutes are the longest that a device told, notes those of every device one after the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from coatwright.salon.history import Photo, Take, Visit
from coatwright.salon.taps import CareDone, PhotoTaken, TakeLogged, VisitTold, ZoneCarded

if TYPE_CHECKING:
    from coatwright.salon.events import Event

MOST_NOTE = 4000
DESK = ""
"""The device of what is written at the desk."""


@dataclass(slots=True)
class _Day:
    """A day while it is put together, the earlier first."""

    ids: list[str] = field(default_factory=list)
    tapped: list[str] = field(default_factory=list)
    takes: dict[str, Take] = field(default_factory=dict)
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
            self.takes.pop(zone, None)
            self.takes[zone] = take
        self.carded.update(dict.fromkeys(visit.carded, True))
        self.care.update(dict.fromkeys(visit.care, True))
        self.photos.update({(each.zone, each.photo): each for each in visit.photos})
        self._tell(visit.groomer, visit.minutes, visit.note, DESK)

    def tap(self, made: Any) -> None:
        """One tap."""
        self.tapped.append(made.visit)
        match made:
            case TakeLogged():
                self.takes.pop(made.zone, None)
                self.takes[made.zone] = made.take
                self.groomer = made.groomer or self.groomer
            case ZoneCarded():
                self.carded[made.zone] = made.carded
            case CareDone():
                self.care[made.what] = made.done
            case PhotoTaken():
                self.photos[made.zone, made.photo] = made.kept()
            case VisitTold():
                self._tell(made.groomer, made.minutes, made.note, made.device)

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
            takes=self.takes,
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
