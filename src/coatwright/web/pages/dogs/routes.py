"""The list of dogs, and finding one in it."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.salon.records import Dog
from coatwright.web.finding import Sought, index_of, near
from coatwright.web.forms import asked
from coatwright.web.layout import desk_of, is_part, page, words_of
from coatwright.web.planner import Refused
from coatwright.web.workshop import Working

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Row:
    """A dog in the list: its next visit, or what to say in its place."""

    dog: Dog
    visit: date | None
    said: str


@router.get("/dogs", response_class=HTMLResponse)
def dogs_page(request: Request) -> HTMLResponse:
    """All dogs, or those that the search finds; a part of the page for a search while typing."""
    desk, fields = desk_of(request), asked(request)
    query = fields.text("q", "search")[:80]
    dogs = sorted(desk.salon().dogs.values(), key=lambda dog: (dog.name.lower(), dog.id))
    sought = Sought(query)
    rows = []
    for dog in dogs:
        if not sought.finds(dog):
            continue
        if dog.unfit or not dog.assessments:
            rows.append(Row(dog, None, "unfit" if dog.unfit else "coat not read yet"))
            continue
        plan = desk.plan(dog, wait=0.0)
        if isinstance(plan, Working):
            rows.append(Row(dog, None, "being planned"))
        elif isinstance(plan, Refused):
            rows.append(Row(dog, None, "no plan"))
        else:
            rows.append(
                Row(dog, plan.visits[0] if plan.visits else None, "" if plan.visits else "nothing to pull")
            )
    part = is_part(request) and request.headers.get("hx-target") == "found"
    return page(
        request,
        "pages/dogs/_found.html" if part else "pages/dogs/dogs.html",
        title="Dogs",
        rows=rows,
        query=query,
        near=near(query, dogs) if query and not rows else [],
        count=len(dogs),
    )


@router.get("/find.json")
def find_index(request: Request) -> Response:
    """What the search field looks through while one types; sent again only when it has changed."""
    body = json.dumps(index_of(desk_of(request).salon(), words_of(request)), ensure_ascii=False)
    mark = f'"{hashlib.sha256(body.encode()).hexdigest()[:16]}"'
    headers = {"etag": mark, "cache-control": "private, no-cache", "vary": "Accept-Language, Cookie"}
    if request.headers.get("if-none-match", "").removeprefix("W/") == mark:
        return Response(status_code=304, headers=headers)
    return Response(body, media_type="application/json", headers=headers)
