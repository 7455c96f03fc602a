"""What a tablet that sends is told of others: of a correction at the desk, of another tablet on the same zone."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any

from coatwright.salon.events import Event
from coatwright.salon.fold import Fold
from coatwright.salon.history import Visit
from coatwright.salon.streams import Entry
from coatwright.salon.taps import TakeLogged, ZoneCarded

DESK = "\n"
"""What is written at the desk, among the devices: no device is called so."""
Said = tuple[str, str]
"""A kind of tap and a zone."""


class Overlaps:
    """What was said of the zones of dogs' days, looked up once for many events of the same day."""

    def __init__(self, fold: Fold) -> None:
        self._fold = fold
        self._days: dict[tuple[str, date], dict[Said, dict[str, Entry]]] = {}

    def note_of(self, event: Event, made: Any) -> str:
        """What to tell the sender of a tap: that something else was said, and which of the two counts.

        That is a later correction of the visit at the desk, or another device that spoke of the tap's zone; "" where
        there is neither. The latest of the others is named, with its time where the salon is.
        """
        correction = self._fold.correction_after(Entry(event, made))
        if correction is not None:
            at, own = _clock(correction.event), _clock(event)
            return f"The visit was corrected at the desk at {at}, after this tap of {own}: the correction counts."
        if not isinstance(made, TakeLogged | ZoneCarded):
            return ""
        said = self._of(event.stream, made.day).get((type(made).__name__, made.zone), {})
        others = [
            entry
            for device, entry in said.items()
            if device != made.device and entry.event.id != event.id and _differs(entry.made, made)
        ]
        if not others:
            return ""
        other = max(others, key=lambda entry: entry.when)
        told = _told(other.made, made.zone)
        clock, own = _clock(other.event), _clock(event)
        also = f"Also logged {_who(other.event)} at {clock} ({told})"
        if isinstance(made, TakeLogged) and made.so_far:
            return f"{also}, which counts; your remark of {own} is added."
        if (event.at, event.id) > other.when:
            return f"{also}; yours of {own} counts."
        return f"{also}, which counts; yours of {own} is kept beside it."

    def _of(self, stream: str, day: date) -> dict[Said, dict[str, Entry]]:
        """The latest of each device, by kind and zone."""
        if (stream, day) not in self._days:
            found: dict[Said, dict[str, Entry]] = defaultdict(dict)
            for entry in self._fold.said_of(stream, day):
                made = entry.made
                if isinstance(made, Visit):
                    for zone in made.takes:
                        found["TakeLogged", zone][DESK] = entry
                elif isinstance(made, ZoneCarded) or (isinstance(made, TakeLogged) and not made.so_far):
                    found[type(made).__name__, made.zone][made.device] = entry
            self._days[stream, day] = found
        return self._days[stream, day]


def _clock(event: Event) -> str:
    return event.at.astimezone().strftime("%H:%M")


def _differs(other: Any, mine: TakeLogged | ZoneCarded) -> bool:
    """Two tablets that both carded a zone, or both did not, need no word."""
    return not (isinstance(mine, ZoneCarded) and mine.carded == other.carded)


def _told(made: Any, zone: str) -> str:
    if isinstance(made, ZoneCarded):
        return "carded" if made.carded else "not carded"
    take = made.takes[zone] if isinstance(made, Visit) else made.take
    return f"{100 * take.share:.0f} %"


def _who(event: Event) -> str:
    if event.kind in ("visit.logged", "visit.corrected"):
        return "at the desk"
    return f"by {event.by}'s tablet" if event.by else "on another tablet"
