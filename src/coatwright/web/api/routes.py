"""JSON under /api: reads that mirror the pages."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import JSONResponse

from coatwright.errors import InputError, UnfitDog
from coatwright.salon.events import to_json
from coatwright.salon.facts import facts_of
from coatwright.salon.plain import json_ready, to_plain
from coatwright.salon.records import Dog
from coatwright.web.api.shapes import (
    CoatOut,
    DogLine,
    DogOut,
    DogsOut,
    EventOut,
    EventsOut,
    PeopleOut,
    Problem,
    ShowsOut,
    WorkingOut,
    ZoneOut,
)
from coatwright.web.coats import drawn, states
from coatwright.web.desk import Desk
from coatwright.web.documents import document, sheet
from coatwright.web.forms import Fields
from coatwright.web.layout import desk_of
from coatwright.web.pages.dog.view import day_asked, plan_or_none
from coatwright.web.planner import Refused
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

WAIT = 20.0
"""Seconds that a request waits for a plan before it is told to ask again."""
MOST_DRAWS = 2000

NOT_FOUND: dict[int | str, dict[str, Any]] = {
    403: {"model": Problem, "description": "Not asked for by a page of this desk"},
    404: {"model": Problem, "description": "There is no such dog"},
    422: {"model": Problem, "description": "What was asked cannot be"},
    503: {"model": Problem, "description": "The records cannot be read or written now"},
}
PLANNED: dict[int | str, dict[str, Any]] = {
    **NOT_FOUND,
    202: {"model": WorkingOut, "description": "The plan is still being made: ask again"},
    409: {"model": Problem, "description": "The dog is marked unfit: nothing is planned"},
}

router = APIRouter(prefix="/api", tags=["desk"])

DogId = Annotated[str, Path(description="Id of the dog.", max_length=200)]
Day = Annotated[
    str, Query(description="A date, or a number of days from today; today when left out.", max_length=20)
]


@router.get("/dogs", responses={403: NOT_FOUND[403], 503: NOT_FOUND[503]})
def dogs(request: Request) -> DogsOut:
    """All dogs, with the next visit of each that is planned."""
    desk = desk_of(request)
    lines = [_line(desk, dog) for dog in sorted(desk.salon().dogs.values(), key=lambda dog: dog.name)]
    return DogsOut(today=desk.today().isoformat(), dogs=lines)


@router.get("/dogs/{dog}", responses=NOT_FOUND)
def one_dog(request: Request, dog: DogId) -> DogOut:
    """All that is kept of a dog: facts, coat as read, visits, readings, paper tests, takes fixed by hand."""
    record = desk_of(request).dog(dog)
    return DogOut(
        facts=_plain(facts_of(record)),
        assessments=[_plain(each) for each in record.assessments],
        visits=[_plain(each) for each in record.visits],
        readings=[_plain(each) for each in record.readings],
        papers=[_plain(each) for each in record.papers],
        fixed=[
            {"zone": zone, "day": day.isoformat(), "share": share}
            for (zone, day), share in record.fixed.items()
        ],
        unfit=record.unfit,
    )


@router.get("/dogs/{dog}/coat", responses=NOT_FOUND)
def coat(request: Request, dog: DogId, day: Day = "") -> CoatOut:
    """The coat on the evening of a day; after today as the plan makes it, or as it grows without one."""
    desk = desk_of(request)
    record = desk.dog(dog)
    when = day_asked(desk, record, Fields([("day", day)]))
    plan = None
    if record.assessments and not record.unfit:
        plan = plan_or_none(desk.plan(record, wait=WAIT))
    found = states(drawn(record, plan), plan, when, desk.today())
    return CoatOut(
        dog=record.id,
        day=when.isoformat(),
        zones=[
            ZoneOut(
                key=key,
                name=state.zone.name,
                cover=round(state.cover, 4),
                outline_mm=round(state.outline, 2),
                aim_mm=None if state.aim is None else (round(state.aim.lo, 2), round(state.aim.hi, 2)),
                ready=state.ready,
                misses=list(state.misses or ()),
                last_pull=None if state.last_pull is None else state.last_pull.isoformat(),
            )
            for key, state in found.items()
        ],
    )


@router.get("/dogs/{dog}/plan", responses=PLANNED, response_model=dict[str, Any])
def plan(request: Request, dog: DogId) -> Any:
    """The plan of today: the same JSON as ``coatwright plan --json``."""
    from coatwright.salon.results import plan_result

    made = _planned(request, dog)
    return made if isinstance(made, JSONResponse) else plan_result(made, document(made))


@router.get("/dogs/{dog}/forecast", responses=PLANNED, response_model=dict[str, Any])
def forecast(
    request: Request,
    dog: DogId,
    days: Annotated[int, Query(ge=1, le=730, description="Days from today.")] = 182,
    draws: Annotated[int, Query(ge=1, le=MOST_DRAWS, description="Dogs like it, for a band.")] = 1,
    seed: Annotated[int, Query(ge=0, le=2**31 - 1)] = 0,
) -> Any:
    """Cover, outline and readiness of every zone, day by day, with the plan carried out."""
    from coatwright.salon.results import forecast_dog, forecast_result

    made = _planned(request, dog)
    if isinstance(made, JSONResponse):
        return made
    ahead = forecast_dog(made.dog, made.today, plan=made, days=days, draws=draws, seed=seed)
    return forecast_result(ahead)


@router.get("/dogs/{dog}/sheet", responses=PLANNED, response_model=dict[str, Any])
def visit_sheet(request: Request, dog: DogId, day: Day = "") -> Any:
    """The sheet of a planned visit, of the next one without a day."""
    from coatwright.salon.results import sheet_result

    made = _planned(request, dog)
    if isinstance(made, JSONResponse):
        return made
    when = Fields([("day", day)]).day("day", "day")
    if when is None and not made.visits:
        raise InputError(
            "Nothing is to be pulled in this plan.", where=made.dog.name, remedy="Look at the plan."
        )
    return sheet_result(sheet(made, when or made.visits[0], desk_of(request).others()))


@router.get("/people", responses={403: NOT_FOUND[403], 503: NOT_FOUND[503]})
def people(request: Request) -> PeopleOut:
    """Owners, handlers and groomers."""
    return PeopleOut(people=[_plain(each) for each in desk_of(request).salon().people.values()])


@router.get("/shows", responses={403: NOT_FOUND[403], 503: NOT_FOUND[503]})
def shows(request: Request) -> ShowsOut:
    """All shows."""
    ordered = sorted(desk_of(request).salon().shows.values(), key=lambda show: show.day)
    return ShowsOut(shows=[_plain(each) for each in ordered])


@router.get("/events", responses={code: NOT_FOUND[code] for code in (403, 422, 503)})
def events(
    request: Request,
    since: Annotated[int, Query(ge=0, le=2**53, description="The last number already known.")] = 0,
    limit: Annotated[int, Query(ge=1, le=1000)] = 200,
) -> EventsOut:
    """What was kept after a number, oldest first."""
    found = desk_of(request).store.events(since)[:limit]
    shown = [EventOut(number=number, **to_json(event)) for number, event in found]
    return EventsOut(events=shown, last=shown[-1].number if shown else since)


def _planned(request: Request, key: str) -> DogPlan | JSONResponse:
    desk = desk_of(request)
    dog = desk.dog(key)
    if dog.unfit:
        raise UnfitDog(
            f"No plan is made while this dog is marked unfit: {dog.unfit}.",
            where=dog.name,
            remedy="See a vet first; plan again when the dog is marked fit.",
        )
    state = desk.plan(dog, wait=WAIT)
    if isinstance(state, Working):
        return JSONResponse({"working": state.step, "done": state.done, "of": state.of}, status_code=202)
    if isinstance(state, Refused):
        raise state.error
    return state


def _line(desk: Desk, dog: Dog) -> DogLine:
    state = desk.plan(dog, wait=0.0) if dog.assessments and not dog.unfit else None
    made = None if state is None else plan_or_none(state)
    coming = made.visits[0] if made is not None and made.visits else None
    words = (
        "none"
        if state is None
        else "working"
        if isinstance(state, Working)
        else "refused"
        if made is None
        else "ready"
    )
    return DogLine.model_validate(
        {
            "id": dog.id,
            "name": dog.name,
            "pattern": dog.pattern.key,
            "owner": dog.owner.id if dog.owner else None,
            "unfit": dog.unfit,
            "plan": words,
            "next_visit": coming.isoformat() if coming else None,
            "minutes": round(made.minutes(coming), 1) if made is not None and coming else None,
        }
    )


def _plain(record: Any) -> dict[str, Any]:
    plain: dict[str, Any] = json_ready(to_plain(record))
    return plain
