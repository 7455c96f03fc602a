"""The plan page and what can be done on it: fix and free takes, give a visit its minutes, mark the dog away,
choose the approach, compare approaches, keep a version."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError, OutOfRange, UnknownName
from coatwright.patterns.zones import zones
from coatwright.salon.records import APPROACHES, Dog
from coatwright.salon.salon import fix_cell, free_cell, keep_plan, save_dog
from coatwright.web import pictures
from coatwright.web.changes import change
from coatwright.web.desk import PATIENCE, Desk, asked_of, problem_of, takes_of, takes_plain
from coatwright.web.documents import document
from coatwright.web.failures import NoSuchPage
from coatwright.web.forms import Fields, asked, day_of_text, posted
from coatwright.web.history import last_change
from coatwright.web.layout import desk_of, go, page, words_of
from coatwright.web.pages.plan.grid import grid_of
from coatwright.web.planner import Refused, Trial, cells_of
from coatwright.web.words import Words
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.planning.explain import Answer
    from coatwright.salon.plans import DogPlan

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
ANSWERS_SHOWN = 6
APPROACH_WORDS = {
    "free": "whatever the wish amounts to",
    "rolling": "rolling coat",
    "staged": "staged coat",
    "strip": "full strip",
}
APPROACH_NAMES = {
    "free": "shows in a rolling coat",
    "rolling": "rolling coat",
    "staged": "staged coat",
    "strip": "full strip",
}


@router.get("/dogs/{dog}/plan", response_class=HTMLResponse)
def plan_page(request: Request, dog: str) -> HTMLResponse:
    """The plan in force; with ``?minutes=`` or ``?approach=``, one that is tried and not kept."""
    return _shown(request, dog, asked(request))


def _shown(
    request: Request, key: str, fields: Fields, status: int = 200, error: CoatwrightError | None = None
) -> HTMLResponse:
    desk, words = desk_of(request), words_of(request)
    dog = desk.dog(key)
    version = desk.in_force(dog.id)
    kept = asked_of(version)
    trial = trial_asked(fields, kept)
    context: dict[str, Any] = {
        "title": f"Plan of {dog.name}",
        "dog": dog,
        "error": error,
        "fields": fields,
        "kept": kept,
        "trial": trial,
        "tried": trial != kept,
        "trial_query": query_of(trial),
        "version": version,
        "versions": desk.salon().plans.get(dog.id, ()),
        "change": last_change(desk, dog.id, words),
        "zone_names": {name: zone.name for name, zone in zones().items()},
        "approach_words": APPROACH_WORDS,
        "approach_names": APPROACH_NAMES,
    }
    if dog.unfit or not dog.assessments:
        return page(request, "pages/plan/none.html", status, **context)
    state = desk.plan(dog, trial, wait=2 * PATIENCE)
    if isinstance(state, Working | Refused):
        return page(request, "pages/plan/none.html", status, state=state, **context)
    base = desk.plan(dog, kept, wait=2 * PATIENCE) if trial != kept else desk.planner.before(dog)
    before = None if base is None or isinstance(base, Working | Refused) else base
    table = document(state)
    grid = grid_of(state, table, dict(trial.minutes), None if before is None else cells_of(before))
    return page(
        request,
        "pages/plan/plan.html",
        status,
        plan=state,
        document=table,
        grid=grid,
        cell=cell_asked(fields, state),
        visit=visit_asked(fields, state),
        difference=None if before is None else change(before, state, desk.today()),
        answers=answers_of(state, words),
        **context,
    )


@router.post("/dogs/{dog}/plan/cells")
def set_cell(request: Request, dog: str, fields: Posted) -> Response:
    """Fix a take by hand, or let the plan choose it again."""
    desk = desk_of(request)
    record = desk.dog(dog)
    zone = fields.text("zone", "zone", needed=True)
    act = fields.choice("act", "act", ("fix", "free"), default="fix")
    try:
        if zone not in zones():
            raise UnknownName.of("zone", zone[:60], zones(), where="zone")
        day = fields.day("day", "day of the visit", needed=True) or desk.today()
        if act == "free":
            free_cell(desk.store, record.id, zone, day)
        else:
            _check_visit(desk, record, day)
            share = fields.share("share", "take", needed=True) or 0.0
            fix_cell(desk.store, record.id, zone, day, share, today=desk.today())
    except CoatwrightError as error:
        return _shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan?cell={zone}.{day}#cell", "freed" if act == "free" else "fixed")


@router.post("/dogs/{dog}/plan/away")
def mark_away(request: Request, dog: str, fields: Posted) -> Response:
    """Mark a span in which the dog cannot come, or take one away again."""
    desk = desk_of(request)
    record = desk.dog(dog)
    try:
        first = fields.day("first", "first day away", needed=True)
        last = fields.day("last", "last day away") or first
        if first is None or last is None:
            raise OutOfRange("No day is given.", where="first day away", remedy="Give a date.")
        span = (first, last)
        spans = [each for each in record.limits.away if each != span]
        if fields.choice("act", "act", ("add", "remove"), default="add") == "add":
            if last < desk.today():
                raise OutOfRange(
                    "This time lies in the past.", where="last day away", remedy="Give a day to come."
                )
            spans.append(span)
        save_dog(
            desk.store, replace(record, limits=replace(record.limits, away=tuple(spans))), today=desk.today()
        )
    except CoatwrightError as error:
        return _shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan", "away")


@router.post("/dogs/{dog}/plan/limits")
def set_limits(request: Request, dog: str, fields: Posted) -> Response:
    """Change what every visit may take, or the approach that the wish fixes."""
    desk = desk_of(request)
    record = desk.dog(dog)
    try:
        minutes = fields.number("limit", "minutes per visit", low=5, high=600, unit="min")
        approach = fields.choice("approach", "approach", APPROACHES, default=record.wish.approach)
        changed = replace(
            record,
            limits=record.limits if minutes is None else replace(record.limits, minutes=minutes),
            wish=replace(record.wish, approach=approach),
        )
        save_dog(desk.store, changed, today=desk.today())
    except CoatwrightError as error:
        return _shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan", "wish")


@router.post("/dogs/{dog}/plan/versions")
def keep_version(request: Request, dog: str, fields: Posted) -> Response:
    """Keep the plan shown as a version: the one that is worked from until another is kept."""
    desk = desk_of(request)
    record = desk.dog(dog)
    try:
        trial = trial_asked(fields, Trial())
        name = fields.text("name", "name of the version", needed=True)
        state = desk.plan(record, trial, wait=30.0)
        if isinstance(state, Refused):
            raise state.error
        if isinstance(state, Working):
            raise OutOfRange(
                "The plan is still being made.", where="plan", remedy="Keep it when it is shown."
            )
        keep_plan(
            desk.store,
            record.id,
            name,
            problem=problem_of(trial),
            takes=takes_plain(_shown_cells(state)),
            note=fields.text("note", "note", lines=True),
            today=desk.today(),
        )
    except CoatwrightError as error:
        return _shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan#versions", "kept")


@router.get("/dogs/{dog}/plan/versions/{version}", response_class=HTMLResponse)
def version_page(request: Request, dog: str, version: str) -> HTMLResponse:
    """One kept version: what was asked, and what was to be pulled when."""
    desk = desk_of(request)
    record = desk.dog(dog)
    found = next((each for each in desk.salon().plans.get(record.id, ()) if each.id == version), None)
    if found is None:
        raise NoSuchPage("There is no such version of this plan.", remedy="Choose one from the plan's page.")
    takes = takes_of(found)
    days = sorted({day for _, day in takes})
    used = [(key, zone.name) for key, zone in zones().items() if any(where == key for where, _ in takes)]
    return page(
        request,
        "pages/plan/version.html",
        title=f"{found.name}, plan of {record.name}",
        dog=record,
        kept_version=found,
        takes=takes,
        days=days,
        used=used,
        asked=asked_of(found),
        approach_words=APPROACH_WORDS,
    )


@router.get("/dogs/{dog}/plan/compare", response_class=HTMLResponse)
def compare_page(request: Request, dog: str) -> HTMLResponse:
    """Rolling, staged, strip and free choice side by side on the coat of today."""
    desk = desk_of(request)
    record = desk.dog(dog)
    state = desk.compare(record, wait=2 * PATIENCE) if record.assessments and not record.unfit else None
    return page(
        request,
        "pages/plan/compare.html",
        title=f"Approaches for {record.name}",
        dog=record,
        state=state if isinstance(state, Working | Refused) else None,
        options=state if isinstance(state, list) else [],
        shots=pictures.shots(record, state, desk.today()) if isinstance(state, list) else {},
        mark=desk.planner.fingerprint(record)[:10],
        approach_names=APPROACH_NAMES,
        zone_names={name: zone.name for name, zone in zones().items()},
    )


def trial_asked(fields: Fields, kept: Trial) -> Trial:
    """What an address or a form asks to try: ``approach`` and ``minutes`` (``2026-12-03:90``), over what is kept."""
    approach = fields.choice("try", "approach", ("", *APPROACHES), default=kept.approach)
    minutes = dict(kept.minutes)
    for row in fields.all("minutes"):
        day, colon, value = row.partition(":")
        given = Fields.of({"value": value}).number(
            "value", f"minutes on {day[:20]}", low=0, high=600, unit="min"
        )
        if not colon or given is None:
            raise OutOfRange(
                f"{row[:40]!r} gives no minutes.", where="minutes", remedy="Write 2026-12-03:90."
            )
        minutes[day_of_text(day, "minutes")] = given
    own_day = fields.day("own_day", "day of the visit")
    if own_day is not None:
        own = fields.number("own_minutes", "minutes of the visit", low=0, high=600, unit="min")
        if own is not None:
            minutes[own_day] = own
        else:
            minutes.pop(own_day, None)
    return Trial(approach, tuple(sorted(minutes.items())))


def query_of(trial: Trial) -> list[tuple[str, str]]:
    """A trial as fields of an address or a form."""
    pairs = [("try", trial.approach)]
    return pairs + [("minutes", f"{day}:{value:g}") for day, value in trial.minutes]


def cell_asked(fields: Fields, plan: DogPlan) -> dict[str, Any] | None:
    """The cell that an address opens: ``?cell=back.2026-12-03``."""
    text = fields.text("cell", "cell")
    if not text:
        return None
    zone, _, when = text.partition(".")
    task = next((task for task in plan.case.zones if task.key == zone), None)
    if task is None:
        raise UnknownName.of("zone", zone[:60], [each.key for each in plan.case.zones], where="cell")
    day = day_of_text(when, "cell")
    return {
        "zone": zone,
        "name": zones()[zone].name,
        "day": day,
        "share": plan.takes(day).get(zone, 0.0),
        "fixed": plan.dog.fixed.get((zone, day)),
        "cap": task.cap,
        "tender": task.tender,
    }


def visit_asked(fields: Fields, plan: DogPlan) -> date | None:
    """The visit whose minutes an address opens: ``?visit=2026-12-03``."""
    day = fields.day("visit", "visit")
    return day if day in plan.visits else None


def answers_of(plan: DogPlan, words: Words) -> dict[str, Any]:
    """What could not be had, the first few in full; remedies that can be had with one click."""
    from coatwright.units import date_of

    def said(answer: Answer) -> str:
        name = zones()[answer.zone].name if answer.zone else ""
        return answer.sentence(name, lambda day: words.date(date_of(day)))

    rows = [(said(answer), answer.remedies, answer) for answer in plan.answers]
    seen: dict[str, None] = {}
    for answer in plan.answers:
        seen.update(dict.fromkeys(answer.remedies))
    return {"shown": rows[:ANSWERS_SHOWN], "more": rows[ANSWERS_SHOWN:], "remedies": tuple(seen)}


def _check_visit(desk: Desk, dog: Dog, day: date) -> None:
    """A take can be fixed on any day on which the dog can come."""
    for first, last in dog.limits.away:
        if first <= day <= last:
            raise OutOfRange(
                f"{dog.name} is away on {day}.", where="day of the visit", remedy="Choose another visit."
            )
    if (day - desk.today()).days > 7 * dog.wish.horizon_weeks + 84:
        raise OutOfRange(
            f"The plan does not reach {day}.", where="day of the visit", remedy="Choose a visit of the plan."
        )


def _shown_cells(plan: DogPlan) -> dict[tuple[str, date], float]:
    shown = set(plan.visits)
    return {cell: share for cell, share in cells_of(plan).items() if cell[1] in shown}
