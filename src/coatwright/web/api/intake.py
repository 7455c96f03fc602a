"""The intake of events: each is looked at, kept or refused, and answered on its own."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import Any, TypeGuard

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse
from pydantic import ValidationError
from starlette.concurrency import run_in_threadpool

from coatwright.errors import CoatwrightError
from coatwright.salon.events import Event, from_json
from coatwright.salon.intake import Intake
from coatwright.salon.judging import Answer
from coatwright.salon.store import Store
from coatwright.salon.taps import TAPS
from coatwright.web.api.shapes import AnswersOut, EventIn, EventsIn, Problem
from coatwright.web.failures import misshaped
from coatwright.web.gate import NotForThisDevice
from coatwright.web.layout import desk_of
from coatwright.web.reach import device_of

router = APIRouter(prefix="/api", tags=["desk"])

AT_THE_TABLE = frozenset({*TAPS, "reading.taken", "dog.unfit"})
"""What a device that is paired for the table may send, and take back."""


@router.post(
    "/events",
    response_model=AnswersOut,
    responses={
        400: {"model": Problem, "description": "The body cannot be read"},
        401: {"model": Problem, "description": "Asked for by a tablet that is not paired"},
        403: {"model": Problem, "description": "Not asked for by a page of this desk"},
        413: {"model": Problem, "description": "More was sent than is taken at once"},
        422: {"model": Problem, "description": "This is no list of events"},
        503: {"model": Problem, "description": "The records cannot be written now: nothing was kept"},
    },
)
async def keep_events(request: Request, body: EventsIn) -> JSONResponse:
    """Keep events, each on its own merits: ``kept``, ``already`` there, or ``refused`` and why."""
    device = device_of(request)
    read = [read_event(each) for each in body.events]
    if device is not None and device.kind == "table":
        read = await for_table(desk_of(request).store, read)
    answers = await answered(desk_of(request).intake, read)
    return JSONResponse({"answers": [told(answer) for answer in answers]})


async def answered(
    intake: Intake, read: Sequence[Event | Answer], *, at_once: int | None = None
) -> list[Answer]:
    """An answer to each that was read, in order: those that are events are written, ``at_once`` of them together."""
    events = [each for each in read if isinstance(each, Event)]
    step = at_once or max(len(events), 1)
    given: list[Answer] = []
    for start in range(0, len(events), step):
        part: list[Answer] = await asyncio.wrap_future(intake.submit(events[start : start + step]))
        given += part
    kept = iter(given)
    return [each if isinstance(each, Answer) else next(kept) for each in read]


def read_event(each: Any) -> Event | Answer:
    """An event out of what was sent, or the answer that refuses it."""
    try:
        return from_json(dict(EventIn.model_validate(each)))
    except CoatwrightError as error:
        return refused(each, error)
    except ValidationError as error:
        return refused(each, misshaped(list(error.errors())))


async def for_table(store: Store, read: Sequence[Event | Answer]) -> list[Event | Answer]:
    """What a tablet at the table may send; anything else is refused.

    An undoing may name what such a tablet sends, and what has not come yet: nobody else knows its id.
    """
    aims = {
        each.id: str(each.data.get("event", "")).encode(errors="replace").decode()
        for each in read
        if _undoes(each)
    }
    known = await run_in_threadpool(store.known, list(aims.values())) if aims else {}

    def fault(each: Event) -> str:
        if not _undoes(each):
            return "" if each.kind in AT_THE_TABLE else f"send {each.kind[:40]!r}"
        aim = known.get(aims[each.id])
        if not each.stream.startswith("dog:"):
            return "take back what is of no dog"
        return "" if aim is None or aim.kind in AT_THE_TABLE else f"take back {aim.kind!r}"

    return [
        _not_for(each, what) if isinstance(each, Event) and (what := fault(each)) else each for each in read
    ]


def _undoes(each: Event | Answer) -> TypeGuard[Event]:
    return isinstance(each, Event) and each.kind == "undone"


def _not_for(each: Event, what: str) -> Answer:
    error = NotForThisDevice(
        f"A tablet at the table cannot {what}.", where=f"event {each.id}", remedy="Do it at the desk."
    )
    return Answer(each.id, "refused", error.text, error)


def refused(each: Any, error: CoatwrightError) -> Answer:
    """The answer to something that is no event."""
    ident = each.get("id") if isinstance(each, dict) else None
    return Answer(str(ident)[:200] if isinstance(ident, str) else "", "refused", error.text)


def told(answer: Answer) -> dict[str, str]:
    """An answer as it goes out, in letters that can be written down."""
    row = {"id": answer.id, "outcome": answer.outcome, "why": answer.why, "note": answer.note}
    return {key: text.encode(errors="replace").decode() for key, text in row.items()}
