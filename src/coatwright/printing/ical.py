"""A plan's visits and shows as an iCalendar file (RFC 5545) that any calendar reads."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from coatwright.errors import OutOfRange
from coatwright.printing import words
from coatwright.printing.sheet import ComingShow, PlanDocument
from coatwright.printing.sheet_view import show_state

if TYPE_CHECKING:
    from icalendar import Event

SPACE = uuid.UUID("c0af46fb-4edf-413e-a10b-10de943d5990")
"""The name space of the identifiers below, drawn once."""
COUNTED_FROM = datetime(2026, 1, 1, tzinfo=UTC)
"""Files are numbered by the minutes since then."""
MOST = 2**31 - 1
"""The largest INTEGER of RFC 5545, 3.3.8."""
PRODUCER = "-//Coatwright//Visits and shows//EN"


def event_uid(dog_id: str, kind: str, key: str) -> str:
    """Identifier of an event: the same dog, ``kind`` (visit or show) and ``key`` always give the same.

    A name-based UUID (RFC 9562, version 5), as RFC 7986, section 5.3, asks for: nothing about dog or owner can
    be read from it. The key of a visit is the day that its rhythm has it on, so that a visit moved by hand stays
    the same event, while another rhythm has other events; the key of a show is its id.
    """
    return str(uuid.uuid5(SPACE, f"{dog_id}\n{kind}\n{key}"))


def sequence_of(stamp: datetime) -> int:
    """A number that is larger for every later file: whole minutes since :data:`COUNTED_FROM`.

    RFC 5545, 3.8.7.4, asks that SEQUENCE grow with every change; nothing is kept here of what was sent before.
    """
    return min(max(int((stamp - COUNTED_FROM).total_seconds() // 60), 0), MOST)


def calendar_ics(
    document: PlanDocument, *, stamp: datetime, sequence: int | None = None, dropped: Iterable[date] = ()
) -> str:
    """Every visit and show as an event of a whole day: the hour of a visit is not known here.

    ``stamp``     when this file is made, with a time zone (DTSTAMP)
    ``sequence``  larger each time that the plan is sent again; :func:`sequence_of` the stamp without it
    ``dropped``   days of visits sent before that no longer stand: they go out as cancelled

    A day keeps no other appointment out (TRANSP); a show's does.
    """
    from icalendar import Calendar

    if stamp.tzinfo is None:
        raise OutOfRange("The time stamp has no time zone.", remedy="Give it in UTC.")
    number_of_file = sequence_of(stamp) if sequence is None else sequence
    if not 0 <= number_of_file <= MOST:
        raise OutOfRange(f"The sequence is {sequence}.", remedy=f"Give 0 to {MOST}.")
    calendar = Calendar()
    calendar.add("prodid", PRODUCER)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", words.plain_line(f"{document.dog}: visits and shows"))

    def event(kind: str, key: str, day: date, summary: str) -> Event:
        return _event(event_uid(document.dog_id, kind, key), day, summary, stamp, number_of_file)

    planned = {key for visit in document.visits for key in (visit.day, visit.slot)}
    for day in sorted(day for day in set(dropped) if day not in planned):
        gone = event("visit", day.isoformat(), day, f"{document.dog}: visit")
        gone.add("status", "CANCELLED")
        gone.add("transp", "TRANSPARENT")
        calendar.add_component(gone)
    for number, visit in enumerate(document.visits):
        key = (visit.slot or visit.day).isoformat()
        found = event("visit", key, visit.day, f"{document.dog}: visit, {_minutes(visit.minutes)}")
        found.add("description", _takes_text(document, number))
        found.add("status", "TENTATIVE")
        found.add("transp", "TRANSPARENT")
        calendar.add_component(found)
    for outlook in document.shows:
        show = outlook.show
        found = event("show", show.key, show.day, f"{document.dog}: {show.name}")
        found.add("description", _show_text(show, document.made))
        if show.place:
            found.add("location", words.plain_line(show.place))
        found.add("status", "CONFIRMED")
        found.add("transp", "OPAQUE")
        calendar.add_component(found)
    return str(calendar.to_ical().decode("utf-8"))


def _event(uid: str, day: date, summary: str, stamp: datetime, sequence: int) -> Event:
    from icalendar import Event

    found = Event()
    found.add("uid", uid)
    found.add("dtstamp", stamp)
    found.add("sequence", sequence)
    found.add("dtstart", day)
    found.add("dtend", day + timedelta(days=1))
    found.add("summary", words.plain_line(summary))
    return found


def _takes_text(document: PlanDocument, number: int) -> str:
    takes = [
        f"{zone.name} {round(100 * zone.takes[number])} %"
        for zone in document.zones
        if zone.takes[number] > 0.0
    ]
    carded = [zone.name.lower() for zone in document.zones if zone.carded[number]]
    lines = ["Longest hair first, of each zone's hairs:", *takes]
    if carded:
        lines.append(f"Card: {words.listed(carded)}.")
    lines.append(f"As planned on {words.day_text(document.made)}; the coat of the day decides.")
    return "\n".join(lines)


def _show_text(show: ComingShow, near: date) -> str:
    text = f"As planned: {show_state(show)}."
    return f"{text}\nEntries close {words.day_text(show.closing)}." if show.closing else text


def _minutes(value: float) -> str:
    return words.minutes(value).replace(words.THIN, " ")
