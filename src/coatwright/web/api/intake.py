"""The intake of events: each is looked at, kept or refused, and answered on its own."""

from __future__ import annotations

import json
from typing import Any

from fastapi import APIRouter, Request
from pydantic import ValidationError

from coatwright.errors import CoatwrightError, FileFormatError
from coatwright.salon.events import Event, from_json
from coatwright.salon.store import Answer
from coatwright.web.api.shapes import AnswerOut, AnswersOut, EventIn, EventsIn, Problem
from coatwright.web.failures import misshaped
from coatwright.web.layout import desk_of

router = APIRouter(prefix="/api", tags=["desk"])


@router.post(
    "/events",
    responses={
        400: {"model": Problem, "description": "The body cannot be read"},
        403: {"model": Problem, "description": "Not asked for by a page of this desk"},
        413: {"model": Problem, "description": "More was sent than is taken at once"},
        422: {"model": Problem, "description": "This is no list of events"},
        503: {"model": Problem, "description": "The records cannot be written now: nothing was kept"},
    },
)
def keep_events(request: Request, body: EventsIn) -> AnswersOut:
    """Keep events, each on its own merits: ``kept``, ``already`` there, or ``refused`` and why."""
    read = [read_event(each) for each in body.events]
    kept = iter(desk_of(request).store.append([each for each in read if isinstance(each, Event)]))
    return AnswersOut(answers=[each if isinstance(each, AnswerOut) else told(next(kept)) for each in read])


def read_event(each: Any) -> Event | AnswerOut:
    """An event out of what was sent, or the answer that refuses it."""
    try:
        json.dumps(each, ensure_ascii=False).encode()
        return from_json(EventIn.model_validate(each).model_dump())
    except CoatwrightError as error:
        return refused(each, error)
    except ValidationError as error:
        return refused(each, misshaped(list(error.errors())))
    except (UnicodeEncodeError, RecursionError):
        return refused(each, FileFormatError("It is not written in letters.", remedy="Send plain text."))


def refused(each: Any, error: CoatwrightError) -> AnswerOut:
    """The answer to something that is no event."""
    ident = each.get("id") if isinstance(each, dict) else None
    plain = ident.encode(errors="replace").decode() if isinstance(ident, str) else ""
    return AnswerOut(id=plain[:200], outcome="refused", why=error.text)


def told(answer: Answer) -> AnswerOut:
    """The store's answer as it goes out."""
    return AnswerOut.model_validate(
        {"id": answer.id, "outcome": answer.outcome, "why": answer.why, "note": answer.note}
    )
