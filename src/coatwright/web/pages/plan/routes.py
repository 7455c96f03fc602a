"""The plan page and what can be done on it: takes and visits set by hand, minutes, times away, approach, remedies."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError, OutOfRange, UnknownName
from coatwright.patterns.zones import zones
from coatwright.salon.by_hand import fix_cell, fix_visit, free_cell, free_visit
from coatwright.salon.records import APPROACHES, Dog, FixedVisit
from coatwright.salon.salon import save_dog
from coatwright.units import date_of, day_of
from coatwright.web import pictures
from coatwright.web.changes import change
from coatwright.web.desk import PATIENCE, Desk
from coatwright.web.documents import document
from coatwright.web.forms import Fields, asked, day_of_text, posted
from coatwright.web.history import last_change
from coatwright.web.layout import desk_of, go, page, words_of
from coatwright.web.pages.plan.grid import grid_of
from coatwright.web.pages.plan.remedies import answers_of, apply_remedy
from coatwright.web.planner import Refused, cells_of
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
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
    """The plan; ``?cell=back.2026-12-03`` and ``?visit=2026-12-03`` open what can be set by hand there."""
    return shown(request, dog, asked(request))


def shown(
    request: Request, key: str, fields: Fields, status: int = 200, error: CoatwrightError | None = None
) -> HTMLResponse:
    """The plan page as it stands, with what was wrong in what was asked of it."""
    desk, words = desk_of(request), words_of(request)
    dog = desk.dog(key)
    context: dict[str, Any] = {
        "title": f"Plan of {dog.name}",
        "dog": dog,
        "error": error,
        "fields": fields,
        "versions": desk.salon().plans.get(dog.id, ()),
        "change": last_change(desk, dog.id, words),
        "zone_names": {name: zone.name for name, zone in zones().items()},
        "approach_words": APPROACH_WORDS,
        "approach_names": APPROACH_NAMES,
    }
    if dog.unfit or not dog.assessments:
        return page(request, "pages/plan/none.html", status, **context)
    state = desk.plan(dog, wait=2 * PATIENCE)
    if isinstance(state, Working | Refused):
        return page(request, "pages/plan/none.html", status, state=state, **context)
    before = desk.planner.before(dog)
    cell, visit = cell_asked(fields, state), visit_asked(fields, state)
    return page(
        request,
        "pages/plan/plan.html",
        status,
        plan=state,
        document=document(state),
        grid=grid_of(state, document(state), None if before is None else cells_of(before)),
        cell=cell,
        visit=visit,
        dropped=[each for each in dog.fixed_visits if each.dropped and each.day >= desk.today()],
        difference=None if before is None else change(before, state, desk.today() - timedelta(days=1)),
        answers=answers_of(state, words),
        shot=_shot_day(state, cell["day"] if cell else visit["day"] if visit else None),
        size=pictures.size_of(dog),
        mark=desk.planner.fingerprint(dog)[:10],
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
        plan, at = plan_at_hand(desk, record), record.rhythm_day(day)
        if act == "free":
            free_cell(desk.store, record.id, zone, at)
        else:
            _check_visit(desk, record, day)
            share = fields.share("share", "take", needed=True) or 0.0
            fix_cell(desk.store, record.id, zone, at, share, rhythm=_rhythm(plan), today=desk.today())
    except CoatwrightError as error:
        return shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan?cell={zone}.{day}#cell", "freed" if act == "free" else "fixed")


@router.post("/dogs/{dog}/plan/visits")
def set_visit(request: Request, dog: str, fields: Posted) -> Response:
    """Move a visit, give it minutes, drop it, add one, or let the plan place it again."""
    desk = desk_of(request)
    record = desk.dog(dog)
    act = fields.choice("act", "act", ("set", "drop", "add", "free"), default="set")
    place = ""
    try:
        day = fields.day("day", "day of the visit", needed=True) or desk.today()
        known, rhythm_day = record.visit_set_on(day), record.rhythm_day(day)
        if act == "free" or (act == "drop" and known is not None and known.added):
            free_visit(desk.store, record.id, rhythm_day)
        else:
            made = _visit_of(act, fields, rhythm_day, known)
            _check_reach(desk, record, made.at)
            rhythm = _rhythm(plan_at_hand(desk, record))
            fix_visit(desk.store, record.id, made, rhythm=rhythm, today=desk.today())
            place = "" if made.dropped else f"?visit={made.at}#visit"
    except CoatwrightError as error:
        return shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan{place}", {"drop": "dropped", "add": "added"}.get(act, "placed"))


def _visit_of(act: str, fields: Fields, day: date, known: FixedVisit | None) -> FixedVisit:
    if act == "drop":
        return FixedVisit(day, dropped=True)
    minutes = fields.number("minutes", "minutes of this visit", low=0, high=600, unit="min")
    if act == "add":
        return FixedVisit(day, added=True, minutes=minutes)
    on = fields.day("on", "day to move to") or (known.at if known else day)
    return FixedVisit(
        day, on=None if on == day else on, added=known is not None and known.added, minutes=minutes
    )


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
        return shown(request, dog, fields, 422, error)
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
        return shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan", "wish")


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


@router.post("/dogs/{dog}/plan/remedies")
def set_remedy(request: Request, dog: str, fields: Posted) -> Response:
    """Make a change that the plan offered where it could not have all that was wished."""
    desk = desk_of(request)
    record = desk.dog(dog)
    try:
        kind, zone = fields.text("kind", "remedy", needed=True), fields.text("zone", "zone")
        offered = [
            remedy
            for answer in plan_at_hand(desk, record).answers
            for remedy in answer.remedies
            if (remedy.kind, remedy.zone) == (kind, zone)
        ]
        if not offered:
            raise OutOfRange(
                "The plan no longer offers this.", where="remedy", remedy="Look at what it offers now."
            )
        apply_remedy(desk, record, offered[0])
    except CoatwrightError as error:
        return shown(request, dog, fields, 422, error)
    return go(f"/dogs/{quote(record.id)}/plan", "wish")


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
        "fixed": plan.case.fixed.get((zone, day_of(day))),
        "cap": task.cap,
        "tender": task.tender,
    }


def visit_asked(fields: Fields, plan: DogPlan) -> dict[str, Any] | None:
    """The visit that an address opens: ``?visit=2026-12-03``; None for a day without one."""
    day = fields.day("visit", "visit")
    problem = plan.option.plan.problem
    if day is None or day_of(day) not in problem.visits:
        return None
    return {"day": day, "hand": plan.dog.visit_set_on(day), "minutes": plan.minutes(day)}


def plan_at_hand(desk: Desk, dog: Dog) -> DogPlan:
    """The plan that is being bent; refused while there is none."""
    state = desk.plan(dog, wait=30.0)
    if isinstance(state, Refused):
        raise state.error
    if isinstance(state, Working):
        raise OutOfRange("The plan is still being made.", where="plan", remedy="Bend it when it is shown.")
    return state


def _rhythm(plan: DogPlan) -> int | None:
    """Days between the visits of a plan, kept while something is set by hand in it; None of a full strip."""
    return plan.option.cadence or None


def _shot_day(plan: DogPlan, chosen: date | None) -> tuple[date, str]:
    """The day whose coat is shown beside the plan, and its show: the chosen visit, the next show, or the last day."""
    if chosen is not None:
        return chosen, ""
    coming = [show for show in plan.dog.wish.shows if show.day >= plan.today]
    return (coming[0].day, coming[0].name) if coming else (date_of(plan.option.shown_until), "")


def _check_visit(desk: Desk, dog: Dog, day: date) -> None:
    """A take can be fixed on any day on which the dog can come."""
    for first, last in dog.limits.away:
        if first <= day <= last:
            raise OutOfRange(
                f"{dog.name} is away on {day}.", where="day of the visit", remedy="Choose another visit."
            )
    _check_reach(desk, dog, day)


def _check_reach(desk: Desk, dog: Dog, day: date) -> None:
    if (day - desk.today()).days > 7 * dog.wish.horizon_weeks + 84:
        raise OutOfRange(
            f"The plan does not reach {day}.", where="day of the visit", remedy="Choose a visit of the plan."
        )
