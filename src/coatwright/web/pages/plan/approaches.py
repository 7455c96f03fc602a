"""The pictures of approaches side by side: what each makes of the coat by the day of the show."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from coatwright.errors import OutOfOrder
from coatwright.web import pictures
from coatwright.web.failures import NoSuchPage
from coatwright.web.forms import asked
from coatwright.web.layout import desk_of, words_of
from coatwright.web.planner import Refused
from coatwright.web.workshop import Working

router = APIRouter(include_in_schema=False)

LONG = 30.0
"""Seconds that a picture waits for the approaches to be worked out."""


@router.get("/dogs/{dog}/plan/compare/{approach}.svg")
def approach_shot(request: Request, dog: str, approach: str) -> Response:
    """The coat of a dog as an approach leaves it on the day of the next show, or on the last day without one."""
    desk, fields, words = desk_of(request), asked(request), words_of(request)
    record = desk.dog(dog)
    theme = fields.choice("theme", "theme", pictures.THEMES, default="light")
    state = desk.compare(record, wait=LONG)
    if isinstance(state, Refused):
        raise state.error
    if isinstance(state, Working):
        raise OutOfOrder(
            "The approaches are still being worked out.", where=record.name, remedy="Ask again in a moment."
        )
    option = next((each for each in state if each.approach == approach), None)
    if option is None:
        raise NoSuchPage("There is no such approach.", remedy=f"Compare the approaches of {record.name}.")
    day, _ = pictures.compared_day(record, state, desk.today())
    drawn = pictures.approach_picture(
        record, option, day, title=f"{record.name}, {words.date(day)}", theme=theme
    )
    kept = "private, max-age=600" if "v" in fields else "no-store"
    return Response(drawn, media_type="image/svg+xml", headers={"cache-control": kept})
