"""Versions of a plan: kept under a name, looked at, set against each other, worked from again."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError
from coatwright.patterns.zones import zones
from coatwright.salon.by_hand import work_from
from coatwright.salon.events import Cell, KeptPlan
from coatwright.salon.plain import Misplaced, from_plain, json_ready, to_plain
from coatwright.salon.records import FixedVisit
from coatwright.salon.salon import keep_plan
from coatwright.units import Minutes
from coatwright.web.changes import SLACK, unready
from coatwright.web.desk import takes_of, takes_plain
from coatwright.web.failures import NoSuchPage
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.layout import desk_of, go, page
from coatwright.web.pages.plan.routes import plan_at_hand, shown
from coatwright.web.planner import Refused, Takes, cells_of
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
NOW = "now"
"""Stands for the plan of today among the versions."""


@dataclass(frozen=True, slots=True)
class Version:
    """One side of a comparison: a kept version, or the plan of today (``key`` is :data:`NOW`)."""

    key: str
    name: str
    kept: date
    takes: Takes
    minutes: Mapping[date, Minutes]
    ready_days: int | None
    shows: tuple[tuple[str, tuple[str, ...]], ...]


@router.post("/dogs/{dog}/plan/versions")
def keep_version(request: Request, dog: str, fields: Posted) -> Response:
    """Keep the plan shown as a version, with all that is set by hand in it."""
    desk = desk_of(request)
    record = desk.dog(dog)
    try:
        name = fields.text("name", "name of the version", needed=True)
        state = plan_at_hand(desk, record)
        keep_plan(
            desk.store,
            record.id,
            name,
            problem=problem_of(state),
            takes=takes_plain(_shown_takes(state)),
            note=fields.text("note", "note", lines=True),
            today=desk.today(),
        )
    except CoatwrightError as error:
        return shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan#versions", "kept")


@router.get("/dogs/{dog}/plan/versions", response_class=HTMLResponse)
def versions_page(request: Request, dog: str) -> HTMLResponse:
    """Two versions set against each other: ``?a=ID&b=now``."""
    desk, fields = desk_of(request), asked(request)
    record = desk.dog(dog)
    kept = desk.salon().plans.get(record.id, ())
    state = desk.plan(record, wait=5.0) if record.assessments and not record.unfit else None
    plan = None if state is None or isinstance(state, Working | Refused) else state
    known = {each.id: _of_kept(each) for each in kept}
    if plan is not None:
        known[NOW] = _of_plan(plan)
    keys = list(known)
    last = NOW if isinstance(state, Working) else keys[-1] if keys else ""
    pair = [fields.first("a") or (keys[0] if keys else ""), fields.first("b") or last]
    awaited = state if NOW in pair and isinstance(state, Working | Refused) else None
    for key in pair:
        if keys and key not in known and not (awaited and key == NOW):
            raise NoSuchPage(
                "There is no such version of this plan.", remedy="Choose one from the plan's page."
            )
    sides = [known[key] for key in pair] if keys and not awaited else []
    days = sorted({day for side in sides for _, day in side.takes})
    used = [
        (key, zone.name)
        for key, zone in zones().items()
        if any(where == key for side in sides for where, _ in side.takes)
    ]
    return page(
        request,
        "pages/plan/versions.html",
        title=f"Versions of the plan of {record.name}",
        dog=record,
        state=awaited,
        versions=list(known.values()),
        sides=sides,
        days=days,
        used=used,
        slack=SLACK,
    )


@router.get("/dogs/{dog}/plan/versions/{version}", response_class=HTMLResponse)
def version_page(request: Request, dog: str, version: str) -> HTMLResponse:
    """One kept version: what was set by hand, and what was to be pulled when."""
    record = desk_of(request).dog(dog)
    found = _version(request, record.id, version)
    takes = takes_of(found)
    visits, fixed, _ = set_by_hand(found)
    return page(
        request,
        "pages/plan/version.html",
        title=f"{found.name}, plan of {record.name}",
        dog=record,
        kept_version=found,
        takes=takes,
        days=sorted({day for _, day in takes}),
        used=[(key, zone.name) for key, zone in zones().items() if any(where == key for where, _ in takes)],
        by_hand=len(visits) + len(fixed),
    )


@router.post("/dogs/{dog}/plan/versions/{version}/again")
def work_again(request: Request, dog: str, version: str) -> Response:
    """Set by hand what the version had set by hand, and nothing else."""
    desk = desk_of(request)
    record = desk.dog(dog)
    visits, fixed, rhythm = set_by_hand(_version(request, record.id, version))
    today = desk.today()
    work_from(
        desk.store,
        record.id,
        [each for each in visits if each.at >= today],
        {cell: share for cell, share in fixed.items() if cell[1] >= today},
        rhythm=rhythm,
    )
    return go(f"/dogs/{quote(record.id)}/plan", "again")


def problem_of(plan: DogPlan) -> dict[str, Any]:
    """What a version keeps beside its takes: what was set by hand, and what came out."""
    dog = plan.dog
    made: dict[str, Any] = json_ready(
        {
            "approach": plan.option.approach,
            "rhythm": plan.option.cadence or None,
            "fixed_visits": [to_plain(each) for each in dog.fixed_visits],
            "fixed": [to_plain(Cell(zone, day, share)) for (zone, day), share in dog.fixed.items()],
            "minutes": {day.isoformat(): round(plan.minutes(day), 1) for day in plan.visits},
            "ready_days": plan.option.ready_days,
            "shows": [[name, list(missing)] for name, missing in _coming_shows(plan)],
        }
    )
    return made


def set_by_hand(version: KeptPlan) -> tuple[list[FixedVisit], dict[tuple[str, date], float], int | None]:
    """Visits and takes that a version has set by hand, and its rhythm; what cannot be read is left out."""
    visits: list[FixedVisit] = []
    fixed: dict[tuple[str, date], float] = {}
    for row in _list(version.problem.get("fixed_visits")):
        with suppress(CoatwrightError, Misplaced):
            visits.append(from_plain(FixedVisit, row))
    for row in _list(version.problem.get("fixed")):
        with suppress(CoatwrightError, Misplaced):
            cell = from_plain(Cell, row)
            fixed[cell.zone, cell.day] = cell.share or 0.0
    rhythm = version.problem.get("rhythm")
    return visits, fixed, rhythm if isinstance(rhythm, int) else None


def _of_plan(plan: DogPlan) -> Version:
    return Version(
        NOW,
        "Plan of today",
        plan.today,
        _shown_takes(plan),
        {day: plan.minutes(day) for day in plan.visits},
        plan.option.ready_days,
        _coming_shows(plan),
    )


def _shown_takes(plan: DogPlan) -> Takes:
    """The takes of the visits that are shown."""
    told = set(plan.visits)
    return {cell: share for cell, share in cells_of(plan).items() if cell[1] in told}


def _coming_shows(plan: DogPlan) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Coming shows by name, each with the zones that would not be ready."""
    return tuple(
        (show.name, unready(plan, show.day)) for show in plan.dog.wish.shows if show.day >= plan.today
    )


def _of_kept(kept: KeptPlan) -> Version:
    minutes: dict[date, Minutes] = {}
    try:
        minutes = {
            date.fromisoformat(day): float(value) for day, value in kept.problem.get("minutes", {}).items()
        }
        shows = tuple(
            (str(name), tuple(map(str, missing))) for name, missing in kept.problem.get("shows", [])
        )
    except (AttributeError, TypeError, ValueError):
        shows = ()
    ready = kept.problem.get("ready_days")
    return Version(
        kept.id,
        kept.name,
        kept.day,
        takes_of(kept),
        minutes,
        ready if isinstance(ready, int) else None,
        shows,
    )


def _version(request: Request, dog: str, version: str) -> KeptPlan:
    found = next((each for each in desk_of(request).salon().plans.get(dog, ()) if each.id == version), None)
    if found is None:
        raise NoSuchPage("There is no such version of this plan.", remedy="Choose one from the plan's page.")
    return found


def _list(value: object) -> list[Any]:
    return list(value) if isinstance(value, list | tuple) else []
