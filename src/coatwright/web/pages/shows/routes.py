"""The year's shows: which dogs are wished for each, and whether the plans make them ready."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError
from coatwright.printing.sheet import Chance
from coatwright.salon.outlooks import coming_shows
from coatwright.salon.records import STYLES, Dog, Show
from coatwright.salon.salon import save_show
from coatwright.web.changes import unready
from coatwright.web.desk import Desk
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.layout import desk_of, go, page
from coatwright.web.pages.record.form import free_id
from coatwright.web.planner import Refused
from coatwright.web.workshop import Working

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]


@dataclass(frozen=True, slots=True)
class Entry:
    """A dog that is wished for a show: the zones that would not be ready and the chance, or why that is not known."""

    dog: Dog
    missing: tuple[str, ...]
    unknown: str = ""
    chance: Chance | None = None


@router.get("/shows", response_class=HTMLResponse)
def shows_page(request: Request) -> HTMLResponse:
    """All shows, those to come first, and the form for a new one (``?edit=`` for one that is there)."""
    desk = desk_of(request)
    edited = desk.salon().shows.get(asked(request).text("edit", "edit"))
    return _shown(request, _fields(edited), edited)


@router.post("/shows")
def keep(request: Request, fields: Posted) -> Response:
    """Keep a show, new or changed."""
    desk = desk_of(request)
    known = desk.salon().shows
    edited = known.get(fields.text("id", "id"))
    try:
        name = fields.text("name", "name", needed=True)
        show = Show(
            id=edited.id if edited else free_id(name, known),
            name=name,
            day=fields.day("day", "day", needed=True) or desk.today(),
            place=fields.text("place", "place"),
            closing=fields.day("closing", "entries close"),
            aim=fields.choice("aim", "coat", STYLES, default="staged"),
        )
        save_show(desk.store, show, today=desk.today())
    except CoatwrightError as error:
        return _shown(request, fields, edited, 422, error)
    return go(f"/shows#{show.id}", "saved")


def _shown(
    request: Request,
    fields: Fields,
    edited: Show | None,
    status: int = 200,
    error: CoatwrightError | None = None,
) -> HTMLResponse:
    desk = desk_of(request)
    today = desk.today()
    ordered = sorted(desk.salon().shows.values(), key=lambda show: (show.day, show.name))
    coming = [(show, _entries(desk, show)) for show in ordered if show.day >= today]
    return page(
        request,
        "pages/shows/shows.html",
        status,
        title="Shows",
        coming=coming,
        past=[show for show in reversed(ordered) if show.day < today],
        fields=fields,
        edited=edited,
        error=error,
    )


def _entries(desk: Desk, show: Show) -> list[Entry]:
    found = []
    for dog in sorted(desk.salon().dogs.values(), key=lambda dog: dog.name):
        if show.id not in [each.id for each in dog.wish.shows]:
            continue
        if dog.unfit or not dog.assessments:
            found.append(Entry(dog, (), "unfit" if dog.unfit else "coat not read yet"))
            continue
        plan = desk.plan(dog, wait=0.0)
        if isinstance(plan, Working):
            found.append(Entry(dog, (), "being planned"))
        elif isinstance(plan, Refused):
            found.append(Entry(dog, (), "no plan"))
        else:
            chance = next((each.chance for each in coming_shows(plan, show.day) if each.key == show.id), None)
            found.append(Entry(dog, unready(plan, show.day), chance=chance))
    return found


def _fields(show: Show | None) -> Fields:
    if show is None:
        return Fields.of({"aim": "staged"})
    return Fields.of(
        {
            "id": show.id,
            "name": show.name,
            "day": show.day,
            "place": show.place,
            "closing": show.closing,
            "aim": show.aim,
        }
    )
