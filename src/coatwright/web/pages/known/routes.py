"""The page of what is known of a dog, how well, and what to measure next."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from coatwright.web.desk import PATIENCE
from coatwright.web.layout import desk_of, page, words_of
from coatwright.web.pages.dog.view import plan_or_none
from coatwright.web.pages.known.view import known_view, readings_told
from coatwright.web.planner import Refused
from coatwright.web.workshop import Working

router = APIRouter(include_in_schema=False)


@router.get("/dogs/{dog}/known", response_class=HTMLResponse)
def known_page(request: Request, dog: str) -> HTMLResponse:
    """What is known of a dog's coat and how well, what to measure next, and what that rests on."""
    from coatwright.salon.cautions import alarm_cautions
    from coatwright.salon.known import advice_of, advised_day, alarms_of

    desk, words = desk_of(request), words_of(request)
    record = desk.dog(dog)
    context: dict[str, Any] = {
        "title": f"What is known of {record.name}",
        "dog": record,
        "state": None,
        "refused": None,
        "known": None,
        "view": None,
        "cautions": (),
        "next_readings": (),
        "next_day": None,
    }
    plan = None
    if record.assessments and not record.unfit:
        state = desk.plan(record, wait=2 * PATIENCE)
        plan = plan_or_none(state)
        context["state"] = state if isinstance(state, Working) else None
    if context["state"] is None:
        found = desk.known(record, wait=2 * PATIENCE)
        if isinstance(found, Working):
            context["state"] = found
        elif isinstance(found, Refused):
            context["refused"] = found
        elif found is not None:
            context["known"] = found
            context["view"] = known_view(found, record.name, desk.today(), words)
            context["cautions"] = alarm_cautions(found.alarms if plan is None else alarms_of(plan))
            if plan is not None:
                context["next_readings"] = readings_told(advice_of(plan))
                context["next_day"] = advised_day(plan)
    return page(request, "pages/known/known.html", **context)
