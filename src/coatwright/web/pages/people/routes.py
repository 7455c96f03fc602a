"""The people, and the dogs that are theirs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError
from coatwright.salon.records import ROLES, Dog, Person
from coatwright.salon.salon import save_person
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.layout import desk_of, go, page, words_of
from coatwright.web.pages.people.speed import speed_view
from coatwright.web.pages.record.form import free_id

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
HEADS = {"owner": "Owners", "handler": "Handlers", "groomer": "Groomers"}


@router.get("/people", response_class=HTMLResponse)
def people_page(request: Request) -> HTMLResponse:
    """Everybody by role, and the form for a new person (``?edit=`` for one who is there)."""
    edited = desk_of(request).salon().people.get(asked(request).text("edit", "edit"))
    return _shown(request, _fields(edited), edited)


@router.post("/people")
def keep(request: Request, fields: Posted) -> Response:
    """Keep a person, new or changed."""
    desk = desk_of(request)
    known = desk.salon().people
    edited = known.get(fields.text("id", "id"))
    try:
        name = fields.text("name", "name", needed=True)
        person = Person(
            id=edited.id if edited else free_id(name, known),
            name=name,
            role=fields.choice("role", "role", ROLES, default="owner"),
            phone=fields.text("phone", "telephone"),
            email=fields.text("email", "mail"),
            note=fields.text("note", "note", lines=True),
        )
        save_person(desk.store, person)
    except CoatwrightError as error:
        return _shown(request, fields, edited, 422, error)
    return go(f"/people#{person.id}", "saved")


def _shown(
    request: Request,
    fields: Fields,
    edited: Person | None,
    status: int = 200,
    error: CoatwrightError | None = None,
) -> HTMLResponse:
    salon = desk_of(request).salon()
    everybody = sorted(salon.people.values(), key=lambda person: person.name)
    roles = [(HEADS[role], [each for each in everybody if each.role == role]) for role in ROLES]
    dogs: dict[str, list[Dog]] = {}
    for dog in sorted(salon.dogs.values(), key=lambda dog: dog.name):
        for who in dict.fromkeys((dog.owner, dog.handler)):
            if who is not None:
                dogs.setdefault(who.id, []).append(dog)
    return page(
        request,
        "pages/people/people.html",
        status,
        title="People",
        roles=[(head, people) for head, people in roles if people],
        dogs=dogs,
        speed=speed_view(desk_of(request), words_of(request)),
        fields=fields,
        edited=edited,
        error=error,
    )


def _fields(person: Person | None) -> Fields:
    if person is None:
        return Fields.of({"role": "owner"})
    return Fields.of(
        {
            "id": person.id,
            "name": person.name,
            "role": person.role,
            "phone": person.phone,
            "email": person.email,
            "note": person.note,
        }
    )
