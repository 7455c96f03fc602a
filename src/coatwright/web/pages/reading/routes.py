"""The page on which a coat is read at the table: a zone, then a value; each tap is kept at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError, OutOfOrder, OutOfRange, UnknownName
from coatwright.patterns.zones import Zone, zones
from coatwright.salon.coats import coat_of, growth_of
from coatwright.salon.history import LONGEST_MM, LOOKS, MOMENTS, Reading
from coatwright.salon.readings import note_reading, reading_at
from coatwright.salon.records import Dog
from coatwright.units import MM_PER_INCH, Millimetres
from coatwright.web.desk import Desk
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.history import last_change
from coatwright.web.layout import desk_of, go, is_part, page, words_of
from coatwright.web.pages.reading.scale import LOOK_WORDS, Scales, scales_of
from coatwright.web.words import UNITS

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
LENGTHS = {"longest": "longest hair", "shortest": "shortest hair that shows", "step": "layer"}
"""Lengths that can be said of a zone, as the form names them and as a reader does."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the page stands: a day, before or after its pulling, who reads, and the open zone ("" for none)."""

    day: date
    at: str
    groomer: str
    zone: str

    def query(self, zone: str = "", at: str = "") -> str:
        """The address of another zone or moment of it, after its question mark."""
        kept = {"day": self.day.isoformat(), "at": at or self.at, "by": self.groomer, "zone": zone}
        return urlencode({key: value for key, value in kept.items() if value})


@dataclass(frozen=True, slots=True)
class Line:
    """A zone in the list: what was said of it on the day; of the open one its scales and what was said before."""

    zone: Zone
    reading: Reading | None
    scales: Scales | None = None
    earlier: Reading | None = None


@router.get("/dogs/{dog}/readings", response_class=HTMLResponse)
def readings_page(request: Request, dog: str) -> HTMLResponse:
    """Every zone with what was read of it on ``?day=``, ``?at=`` before or after the pulling; ``?zone=`` is open."""
    return _shown(request, dog, asked(request))


def _shown(
    request: Request, key: str, fields: Fields, status: int = 200, error: CoatwrightError | None = None
) -> HTMLResponse:
    desk, words = desk_of(request), words_of(request)
    dog = desk.dog(key)
    place = _place(desk, dog, fields)
    lines = _lines(dog, place, words.unit) if dog.assessments else ()
    return page(
        request,
        "pages/reading/_readings.html" if is_part(request) else "pages/reading/readings.html",
        status,
        title=f"Comb and ruler on {dog.name}",
        dog=dog,
        place=place,
        lines=lines,
        following=_following(lines, place.zone),
        error=error,
        fields=fields,
        looks=LOOK_WORDS,
        lengths=LENGTHS,
        visited=any(visit.day == place.day for visit in dog.visits),
        groomers=[each.name for each in desk.salon().people.values() if each.role == "groomer"],
        change=_last_reading(desk, dog, request),
    )


@router.post("/dogs/{dog}/readings/tap")
def tap(request: Request, dog: str, fields: Posted) -> Response:
    """Keep one thing said of a zone, or take it back when it is sent empty. The same tap sent twice counts once."""
    desk = desk_of(request)
    record = desk.dog(dog)
    try:
        place = _place(desk, record, fields)
        if not place.zone:
            raise OutOfRange("No zone is chosen.", where="zone", remedy="Choose one from the list.")
        if not record.assessments or place.zone not in coat_of(record, place.day):
            raise OutOfOrder(
                f"The coat of {record.name} has not been read there yet.",
                where=zones()[place.zone].name.lower(),
                remedy="Read the coat first: comb and ruler say how far it has come since.",
            )
        note_reading(
            desk.store,
            record.id,
            place.zone,
            day=place.day,
            at_visit=place.at,
            groomer=place.groomer,
            today=desk.today(),
            **_said(fields),
        )
    except CoatwrightError as error:
        safe = Fields.of({name: fields.first(name) for name in ("day", "at", "by", "zone") if name in fields})
        try:
            return _shown(request, dog, safe, 422, error)
        except CoatwrightError:
            return _shown(request, dog, Fields(), 422, error)
    return go(f"/dogs/{quote(record.id)}/readings?{place.query(place.zone)}#z-{place.zone}", "read")


def _said(fields: Fields) -> dict[str, Any]:
    """What a tap says, as :func:`~coatwright.salon.readings.note_reading` takes it."""
    if "which" in fields:  # a length typed in, in the reader's unit
        which = fields.choice("which", "which length", LENGTHS)
        unit = fields.choice("unit", "unit", UNITS, default="mm")
        factor = 1.0 if unit == "mm" else MM_PER_INCH
        typed = fields.number(
            "length", LENGTHS[which], low=0, high=LONGEST_MM / factor, unit=unit, needed=True
        )
        return _length(which, None if typed is None else typed * factor)
    for which in ("longest", "shortest", "step"):
        if which in fields:
            return _length(which, _millimetres(fields, which))
    if "step_off" in fields:
        gone = _millimetres(fields, "step_off")
        return {"drop_steps": () if gone is None else (gone,)}
    if "look" in fields:
        return {"said": {"look": fields.choice("look", "cover by eye", LOOKS)}}
    raise OutOfRange("The tap says nothing.", where="reading", remedy="Choose a length or a word.")


def _length(which: str, mm: Millimetres | None) -> dict[str, Any]:
    if which == "step":
        return {"add_steps": () if mm is None else (mm,)}
    return {"said": {f"{which}_mm": mm}}


def _millimetres(fields: Fields, key: str) -> Millimetres | None:
    return fields.number(key, LENGTHS.get(key, "layer"), low=0, high=LONGEST_MM, unit="mm")


def _place(desk: Desk, dog: Dog, fields: Fields) -> Place:
    """Where a form or an address stands. Without a moment: after the pulling once the day's visit is logged."""
    today = desk.today()
    day = fields.day("day", "day") or today
    if day > today:
        raise OutOfOrder(
            f"{day} is still to come.",
            where="day",
            remedy="Read the coat on the day itself, and keep it then.",
        )
    if dog.assessments and day < dog.assessments[0].day:
        raise OutOfOrder(
            f"The coat of {dog.name} is not known on {day}.",
            where="day",
            remedy=f"Choose a day from {dog.assessments[0].day} on.",
        )
    visited = any(visit.day == day for visit in dog.visits)
    at = fields.choice("at", "moment", MOMENTS, default="after" if visited else "before")
    zone = fields.text("zone", "zone")
    if zone and zone not in zones():
        raise UnknownName.of("zone", zone[:60], zones(), where="zone")
    groomer = fields.text("by", "who reads") if "by" in fields else _usual_groomer(dog)
    if len(groomer) > 200:
        raise OutOfRange("The name is too long.", where="who reads", remedy="Keep it to 200 characters.")
    return Place(day, at, groomer, zone)


def _usual_groomer(dog: Dog) -> str:
    """Who read or pulled the dog last."""
    named = [(visit.day, visit.groomer) for visit in dog.visits if visit.groomer]
    named += [(reading.day, reading.groomer) for reading in dog.readings if reading.groomer]
    return max(named, key=lambda each: each[0])[1] if named else ""


def _lines(dog: Dog, place: Place, unit: str) -> tuple[Line, ...]:
    """The zones whose coat is known on the day, in working order."""
    coats = coat_of(dog, place.day, before=place.at == "before")
    found = []
    for key, zone in zones().items():
        if key not in coats:
            continue
        reading = reading_at(dog, key, place.day, place.at)
        if key != place.zone:
            found.append(Line(zone, reading))
            continue
        scales = scales_of(coats[key], place.day, growth_of(dog, key), reading, unit)
        found.append(Line(zone, reading, scales, _earlier(dog, key, place)))
    return tuple(found)


def _earlier(dog: Dog, zone: str, place: Place) -> Reading | None:
    """The last reading of a zone before the one at hand."""
    when = (place.day, MOMENTS.index(place.at))
    found = [
        each for each in dog.readings if each.zone == zone and (each.day, MOMENTS.index(each.at_visit)) < when
    ]
    return max(found, key=lambda each: (each.day, MOMENTS.index(each.at_visit)), default=None)


def _following(lines: tuple[Line, ...], zone: str) -> Zone | None:
    """The zone after the open one in working order."""
    keys = [line.zone.key for line in lines]
    if zone not in keys or zone == keys[-1]:
        return None
    return lines[keys.index(zone) + 1].zone


def _last_reading(desk: Desk, dog: Dog, request: Request) -> Any:
    """What was done to the dog last, when that was a reading."""
    change = last_change(desk, dog.id, words_of(request))
    return change if change is not None and change.what.startswith("reading of ") else None
