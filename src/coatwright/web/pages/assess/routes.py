"""The page on which a coat is read."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError
from coatwright.patterns.zones import zones
from coatwright.salon.coats import is_double
from coatwright.salon.records import Dog
from coatwright.salon.salon import assess
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.layout import desk_of, go, page, words_of
from coatwright.web.pages.assess.form import AGES, GROUPS, ROWS, STARTS, read, started

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]


@router.get("/dogs/{dog}/assess", response_class=HTMLResponse)
def assess_form(request: Request, dog: str) -> HTMLResponse:
    """The form; ``?start=`` fills it in with a kind of coat to begin from."""
    desk = desk_of(request)
    start = asked(request).choice("start", "start", ("", *STARTS))
    return _form(request, desk.dog(dog), started(start, desk.today()))


@router.post("/dogs/{dog}/assess")
def keep(request: Request, dog: str, fields: Posted) -> Response:
    """Keep the coat as it was read."""
    desk = desk_of(request)
    record = desk.dog(dog)
    try:
        assess(
            desk.store, record.id, read(fields, record, words_of(request), desk.today()), today=desk.today()
        )
    except CoatwrightError as error:
        return _form(request, record, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}", "assessed")


def _form(
    request: Request, dog: Dog, fields: Fields, status: int = 200, error: CoatwrightError | None = None
) -> HTMLResponse:
    return page(
        request,
        "pages/assess/assess.html",
        status,
        title=f"Read the coat of {dog.name}",
        dog=dog,
        fields=fields,
        error=error,
        rows=range(ROWS),
        ages=list(AGES.items()),
        groups=[(key, name) for key, (name, _) in GROUPS.items()],
        single=[(key, zone.name) for key, zone in zones().items()],
        starts=[(key, name) for key, (name, _) in STARTS.items()],
        double=is_double(dog),
    )
