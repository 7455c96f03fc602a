"""The page of one dog, its pictures, and the small changes that are made from it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError
from coatwright.salon.events import new_id, stream_of
from coatwright.salon.records import Reading
from coatwright.salon.salon import mark_fit, mark_unfit, take_reading, undo
from coatwright.web import coat_days, pictures
from coatwright.web.coats import drawn, states
from coatwright.web.desk import PATIENCE
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.layout import desk_of, go, inside, is_part, page, words_of
from coatwright.web.pages.dog.view import charts_view, day_asked, dog_view, plan_or_none, shading
from coatwright.web.words import UNITS

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
PICTURE_SECONDS = 600
"""How long a browser may keep a picture: its address changes with the dog, the day and the plan."""


@router.get("/dogs/{dog}", response_class=HTMLResponse)
def dog_page(request: Request, dog: str) -> HTMLResponse:
    """Everything about a dog on a chosen day (``?day=``, a date or a number of days from today)."""
    return _shown(request, dog, asked(request))


def _shown(
    request: Request, key: str, fields: Fields, status: int = 200, error: CoatwrightError | None = None
) -> HTMLResponse:
    desk = desk_of(request)
    dog = desk.dog(key)
    part = is_part(request) and request.headers.get("hx-target") == "zone-part"
    view = dog_view(desk, dog, fields, words_of(request), whole=not part)
    return page(
        request,
        "pages/dog/_part.html" if part else "pages/dog/dog.html",
        status,
        title=dog.name,
        dog=dog,
        fields=fields,
        error=error,
        **view,
    )


@router.get("/dogs/{dog}/charts", response_class=HTMLResponse)
def dog_charts(request: Request, dog: str) -> HTMLResponse:
    """The charts of the whole dog, for its page to fetch once it is seen."""
    desk, words = desk_of(request), words_of(request)
    record = desk.dog(dog)
    state = desk.plan(record, wait=4 * PATIENCE) if record.assessments and not record.unfit else None
    plan = plan_or_none(state) if state is not None else None
    view = charts_view(desk, record, plan, words)
    return page(request, "pages/dog/_charts.html", title=record.name, dog=record, fetched=True, **view)


@router.get("/dogs/{dog}/coat.svg")
def coat_picture(request: Request, dog: str) -> Response:
    """The coat of a day as a picture. ``?by=`` shades the zones by take, cover, outline or age of the pull."""
    desk, fields = desk_of(request), asked(request)
    record = desk.dog(dog)
    words = words_of(request)
    theme = fields.choice("theme", "theme", pictures.THEMES, default="light")
    day = day_asked(desk, record, fields)
    plan = plan_or_none(desk.plan(record, wait=4 * PATIENCE))
    record = drawn(record, plan)
    found = states(record, plan, day, desk.today())
    by = fields.choice("by", "by", ("", "take", "cover", "outline", "age"))
    values, scale = shading(by, record, plan, found, day, words) if by else (None, None)
    made = pictures.picture(
        record,
        found,
        day,
        title=f"{record.name}, {words.date(day)}",
        theme=theme,
        values=values,
        scale=scale,
        names={key: state.zone.name for key, state in found.items()},
    )
    kept = f"private, max-age={PICTURE_SECONDS}" if "v" in fields else "no-store"
    return Response(made, media_type="image/svg+xml", headers={"cache-control": kept})


@router.get("/dogs/{dog}/coat.json")
def coat_of_every_day(request: Request, dog: str) -> Response:
    """The coat of every day that the page of a dog shows, for the browser that draws it (see ``coat_days``)."""
    desk, words = desk_of(request), words_of(request)
    record = desk.dog(dog)
    plan = plan_or_none(desk.plan(record))
    packed = coat_days.packed(desk, record, plan, words)
    kept = f"private, max-age={PICTURE_SECONDS}" if "v" in asked(request) else "no-store"
    headers = {"cache-control": kept, "vary": "Accept-Language, Cookie"}
    return Response(packed, media_type="application/json", headers=headers)


@router.post("/dogs/{dog}/readings")
def keep_reading(request: Request, dog: str, fields: Posted) -> Response:
    """Keep what comb and ruler say of one zone today."""
    desk, words = desk_of(request), words_of(request)
    record = desk.dog(dog)
    unit = fields.choice("unit", "unit", UNITS, default=words.unit)
    factor = 1.0 if unit == "mm" else 25.4
    most = 500.0 / factor
    try:
        longest = fields.number("longest", "longest hair", low=0, high=most, unit=unit)
        shortest = fields.number("shortest", "shortest visible hair", low=0, high=most, unit=unit)
        reading = Reading(
            id=fields.text("id", "id") or new_id(),
            day=fields.day("on", "day") or desk.today(),
            zone=fields.text("zone", "zone", needed=True),
            longest_mm=None if longest is None else longest * factor,
            shortest_mm=None if shortest is None else shortest * factor,
            cover=fields.share("cover", "cover by eye"),
        )
        take_reading(desk.store, record.id, reading, today=desk.today())
    except CoatwrightError as error:
        return _shown(request, dog, fields, 422, error)
    return go(f"/dogs/{record.id}?zone={reading.zone}#zone", "read")


@router.post("/dogs/{dog}/unfit")
def unfit(request: Request, dog: str, fields: Posted) -> Response:
    """Mark a dog unfit: nothing is planned until a vet has seen it."""
    desk = desk_of(request)
    record = desk.dog(dog)
    mark_unfit(desk.store, record.id, fields.text("reason", "why the dog is unfit", needed=True))
    return go(f"/dogs/{record.id}", "unfit")


@router.post("/dogs/{dog}/fit")
def fit(request: Request, dog: str, fields: Posted) -> Response:
    """Mark a dog fit again."""
    desk = desk_of(request)
    record = desk.dog(dog)
    mark_fit(desk.store, record.id, fields.text("note", "who found so"))
    return go(f"/dogs/{record.id}", "fit")


@router.post("/dogs/{dog}/undo")
def undo_last(request: Request, dog: str, fields: Posted) -> Response:
    """Take back one event of a dog, named so that a form sent twice takes back one."""
    desk = desk_of(request)
    record = desk.dog(dog)
    event = fields.text("event", "event", needed=True)
    kind = fields.choice("as", "as", ("undone", "redone"), default="undone")
    undo(desk.store, stream_of("dog", record.id), event)
    back = inside(fields.text("back", "back") or f"/dogs/{record.id}")
    return go(back if record.id in desk.salon().dogs else "/dogs", kind)
