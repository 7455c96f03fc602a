"""The pages on which a dog is written down and its facts and wish are changed."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError
from coatwright.patterns.library import patterns
from coatwright.patterns.model import COLOURS
from coatwright.patterns.shapes import EARS, TAILS
from coatwright.salon.records import APPROACHES, CADENCES, Dog
from coatwright.salon.salon import add_dog, save_dog
from coatwright.web.forms import Fields, posted
from coatwright.web.layout import desk_of, go, page, words_of
from coatwright.web.pages.record.form import OWN, dog_of_fields, fields_of

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
APPROACH_CHOICES = {
    "free": "whatever the wish amounts to",
    "rolling": "rolling coat: a share of each zone at each visit",
    "staged": "staged coat: zone after zone, for a show",
    "strip": "full strip, in a few sessions",
}


@router.get("/dogs/new", response_class=HTMLResponse)
def new_dog(request: Request) -> HTMLResponse:
    """The empty form."""
    return _form(request, None, fields_of(None, words_of(request)))


@router.post("/dogs/new")
def keep_new(request: Request, fields: Posted) -> Response:
    """Keep a new dog, then go on to read its coat."""
    return _keep(request, None, fields)


@router.get("/dogs/{dog}/edit", response_class=HTMLResponse)
def edit_dog(request: Request, dog: str) -> HTMLResponse:
    """The form with what is kept."""
    record = desk_of(request).dog(dog)
    return _form(request, record, fields_of(record, words_of(request)))


@router.post("/dogs/{dog}/edit")
def keep_edited(request: Request, dog: str, fields: Posted) -> Response:
    """Keep the changed facts; the plan is made again."""
    return _keep(request, desk_of(request).dog(dog), fields)


def _keep(request: Request, before: Dog | None, fields: Fields) -> Response:
    desk = desk_of(request)
    try:
        dog = dog_of_fields(fields, before, desk.salon(), words_of(request))
        if before is None:
            add_dog(desk.store, dog, today=desk.today())
        else:
            save_dog(desk.store, dog, today=desk.today())
    except CoatwrightError as error:
        return _form(request, before, fields, 422, error)
    if before is None:
        return go(f"/dogs/{quote(dog.id)}/assess", "saved")
    return go(f"/dogs/{quote(dog.id)}", "wish")


def _form(
    request: Request, dog: Dog | None, fields: Fields, status: int = 200, error: CoatwrightError | None = None
) -> HTMLResponse:
    desk, words = desk_of(request), words_of(request)
    salon = desk.salon()
    people = sorted(salon.people.values(), key=lambda person: person.name)
    shipped = [(key, each.name) for key, each in patterns().items()]
    if dog is not None and dog.pattern.key not in patterns():
        shipped = [(OWN, f"{dog.pattern.name} (its own)"), *shipped]
    shows = sorted(
        (
            show
            for show in salon.shows.values()
            if show.day >= desk.today() or (dog and show in dog.wish.shows)
        ),
        key=lambda show: show.day,
    )
    return page(
        request,
        "pages/record/form.html",
        status,
        title=f"Facts and wish of {dog.name}" if dog else "A new dog",
        dog=dog,
        fields=fields,
        error=error,
        patterns=shipped,
        looks={
            "colour": [("", "as the pattern"), *((key, key.replace("_", " ")) for key in COLOURS)],
            "ears": [("", "as the pattern"), *((key, key) for key in EARS)],
            "tail": [("", "as the pattern"), *((key, key) for key in TAILS)],
            "sex": [("", "not said"), ("dog", "dog"), ("bitch", "bitch")],
            "coat": [
                ("", "as the pattern"),
                ("double", "has an undercoat"),
                ("single", "single coat, no undercoat"),
            ],
        },
        owners=[("", "not said"), *((each.id, each.name) for each in people)],
        handlers=[("", "none"), *((each.id, each.name) for each in people if each.role != "groomer")],
        approaches=[(key, APPROACH_CHOICES[key]) for key in APPROACHES],
        shows=[(show.id, f"{show.name}, {words.date(show.day)}") for show in shows],
        cadences=[(str(days), f"{days} days") for days in CADENCES],
        weekdays=[(str(number), name) for number, name in words.weekdays()],
    )
