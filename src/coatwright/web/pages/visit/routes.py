"""Pages of a visit: the sheet to work from, the form to log it, and what the plan makes of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError, OutOfOrder, UnfitDog
from coatwright.patterns.zones import zones
from coatwright.salon.records import Dog, Visit
from coatwright.salon.salon import log_visit
from coatwright.web import pictures
from coatwright.web.changes import change, missed
from coatwright.web.coats import first_day
from coatwright.web.desk import PATIENCE, Desk, takes_of
from coatwright.web.documents import reasons, sheet
from coatwright.web.failures import NoSuchPage
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.history import last_change
from coatwright.web.layout import desk_of, go, page, words_of
from coatwright.web.pages.dog.view import plan_or_none
from coatwright.web.pages.known.view import hand_told, takes_told
from coatwright.web.pages.visit.form import EASE_WORDS, REACTIONS, TOOLS, filled, lines_of, read
from coatwright.web.planner import Refused, cells_of
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
LONG = 30.0
"""Seconds that a picture or a PDF waits for its plan."""


@router.get("/dogs/{dog}/visit", response_class=HTMLResponse)
def visit_form(request: Request, dog: str) -> HTMLResponse:
    """The form to log a visit, filled in with what is planned for its day (``?day=``, today without it)."""
    desk, fields = desk_of(request), asked(request)
    record = desk.dog(dog)
    day = fields.day("day", "day") or desk.today()
    return _form(request, desk, record, day, None)


def _form(
    request: Request,
    desk: Desk,
    dog: Dog,
    day: date,
    fields: Fields | None,
    status: int = 200,
    error: CoatwrightError | None = None,
) -> HTMLResponse:
    from coatwright.salon.cautions import AFTER_STOP, STOP_LIST, tool_cautions

    state = desk.plan(dog, wait=2 * PATIENCE) if dog.assessments and not dog.unfit else None
    plan = plan_or_none(state) if state is not None else None
    planned = plan is not None and day in plan.visits
    known = min(max(day, first_day(dog) or day), desk.today())
    lines = lines_of(dog, plan, known) if dog.assessments else ()
    if plan is not None and not planned and day == desk.today() and plan.visits and fields is None:
        nearest = plan.visits[0]
    else:
        nearest = None
    return page(
        request,
        "pages/visit/log.html",
        status,
        title=f"Log a visit of {dog.name}",
        dog=dog,
        day=day,
        state=state,
        planned=planned,
        nearest=nearest,
        lines=lines,
        fields=fields if fields is not None else filled(dog, lines, plan, day),
        error=error,
        reactions=REACTIONS,
        eases=EASE_WORDS,
        tools=TOOLS,
        groomers=[each.name for each in desk.salon().people.values() if each.role == "groomer"],
        stops=STOP_LIST,
        after_stop=AFTER_STOP,
        tool_cautions=tool_cautions(dog, desk.today(), others=desk.others()),
    )


@router.post("/dogs/{dog}/visit")
def log(request: Request, dog: str, fields: Posted) -> Response:
    """Keep a visit, then show what it changed. The same form sent twice counts once."""
    desk = desk_of(request)
    record = desk.dog(dog)
    day = desk.today()
    try:
        day = fields.day("day", "day of the visit", needed=True) or day
        visit = read(fields, desk.today())
        here = f"/dogs/{quote(record.id)}/visits/{quote(visit.id, safe='')}"
        if any(each.id == visit.id for each in record.visits):
            return go(here, "logged")
        if not record.assessments:
            raise OutOfOrder(
                f"The coat of {record.name} has not been read yet.",
                where=record.name,
                remedy="Read the coat first, as it was before this visit.",
            )
        if record.unfit:
            raise UnfitDog(
                f"{record.name} is marked unfit: {record.unfit.rstrip('.')}.",
                remedy="If the visit was before that, mark the dog fit, log the visit, and mark it unfit again.",
            )
        log_visit(desk.store, record.id, visit, today=desk.today())
    except CoatwrightError as error:
        return _form(request, desk, record, min(day, desk.today()), fields, 422, error)
    return go(here)


@router.get("/dogs/{dog}/visits/{visit}", response_class=HTMLResponse)
def visit_page(request: Request, dog: str, visit: str) -> HTMLResponse:
    """One visit as it was, and what the plan made after it changes of the plan before."""
    desk, words = desk_of(request), words_of(request)
    record = desk.dog(dog)
    found = next((each for each in record.visits if each.id == visit), None)
    if found is None:
        raise NoSuchPage("There is no such visit.", remedy=f"Choose one from the page of {record.name}.")
    latest = record.visits[-1].id == found.id
    context: dict[str, Any] = {
        "title": f"Visit of {record.name}",
        "dog": record,
        "visit": found,
        "latest": latest,
        "zone_names": {key: zone.name for key, zone in zones().items()},
        "missed": missed(found),
        "eases": EASE_WORDS,
        "change": last_change(desk, record.id, words),
        "state": None,
        "difference": None,
        "trouble": None,
    }
    known = desk.known(record, wait=2 * PATIENCE) if record.assessments else None
    told = known if known is not None and not isinstance(known, Working | Refused) else None
    context["believed"] = {} if told is None else takes_told(told.takes.get(found.id, ()), words)
    context["hand"] = (
        "" if told is None or not told.facts.some else hand_told(told.habits, found.groomer, words)
    )
    if latest and not record.unfit:
        before = _before(desk, record, found)
        after = _after(desk, record, before) if not isinstance(before, Working) else before
        if isinstance(before, Working) or isinstance(after, Working):
            context["state"] = after if isinstance(after, Working) else before
        elif isinstance(after, Refused):
            context["trouble"] = after.error
        elif not isinstance(before, Refused):
            context["difference"] = change(before, after, found.day)
        if not isinstance(after, Working | Refused):
            context["coming"] = after.visits[0] if after.visits else None
            context["coming_takes"] = after.takes(after.visits[0]) if after.visits else {}
            context["coming_minutes"] = after.minutes(after.visits[0]) if after.visits else 0.0
            context["answers"] = len(after.answers)
    return page(request, "pages/visit/visit.html", **context)


def _before(desk: Desk, dog: Dog, visit: Visit) -> DogPlan | Working | Refused:
    """The plan as it stood before the last visit, made from the coat of that morning."""
    earlier = replace(dog, visits=dog.visits[:-1], readings=_up_to(dog, visit.day))
    speed = desk.speed(dog, visit.day)
    return desk.planner.plan(
        earlier, visit.day, speed=speed, others=desk.others(), remember=False, wait=2 * PATIENCE
    )


def _up_to(dog: Dog, day: date) -> tuple[Any, ...]:
    return tuple(reading for reading in dog.readings if reading.day <= day)


def _after(desk: Desk, dog: Dog, before: DogPlan | Refused) -> DogPlan | Working | Refused:
    """The plan of today, kept near to the one before where that costs little."""
    previous = None if isinstance(before, Refused) else cells_of(before)
    if desk.in_force(dog.id) is None:
        today = desk.today()
        return desk.planner.plan(
            dog,
            today,
            previous=previous,
            speed=desk.speed(dog, today),
            others=desk.others(),
            wait=2 * PATIENCE,
        )
    return desk.plan(dog, wait=2 * PATIENCE)


@router.get("/dogs/{dog}/sheet", response_class=HTMLResponse)
def sheet_page(request: Request, dog: str) -> HTMLResponse:
    """The sheet of a visit, set for the screen and for paper."""
    from coatwright.printing.sheet_view import sheet_view

    desk, fields, words = desk_of(request), asked(request), words_of(request)
    record = desk.dog(dog)
    state = desk.plan(record, wait=2 * PATIENCE) if record.assessments and not record.unfit else None
    context: dict[str, Any] = {"title": f"Visit sheet of {record.name}", "dog": record, "state": state}
    if state is None or isinstance(state, Working | Refused):
        return page(request, "pages/visit/no_sheet.html", zone_names={}, **context)
    day = _sheet_day(fields, state)
    if day is None:
        return page(request, "pages/visit/no_sheet.html", **context)
    return page(
        request,
        "pages/visit/sheet.html",
        day=day,
        visits=state.visits,
        sheet=sheet_view(sheet(state, day, desk.others()), words.unit),
        reasons=reasons(state, day, words),
        mark=desk.planner.fingerprint(record)[:10],
        size=pictures.size_of(record, 96),
        **context,
    )


@router.get("/dogs/{dog}/sheet.svg")
def sheet_picture(request: Request, dog: str) -> Response:
    """The dog with each zone shaded by what the visit takes from it."""
    from coatwright.salon.pictures import take_picture

    desk, fields = desk_of(request), asked(request)
    theme = fields.choice("theme", "theme", pictures.THEMES, default="light")
    plan, day = _planned(desk, dog, fields)
    drawn = take_picture(plan, day, theme=theme)
    return Response(pictures.on_its_own(drawn, theme), media_type="image/svg+xml", headers=_kept(fields))


@router.get("/dogs/{dog}/sheet.pdf")
def sheet_file(request: Request, dog: str) -> Response:
    """The sheet of a visit as a PDF, on A4 or, with ``?paper=letter``, on Letter."""
    from coatwright.printing.pdf import sheet_pdf
    from coatwright.salon.pictures import take_picture

    desk, fields, words = desk_of(request), asked(request), words_of(request)
    paper = fields.choice("paper", "paper", ("a4", "letter"), default="letter" if words.month_first else "a4")
    plan, day = _planned(desk, dog, fields)
    made = sheet_pdf(
        sheet(plan, day, desk.others()), paper=paper, unit=words.unit, picture_svg=take_picture(plan, day)
    )
    return _file(made, f"{dog}-{day}.pdf")


@router.get("/dogs/{dog}/plan.pdf")
def plan_file(request: Request, dog: str) -> Response:
    """The whole plan as a PDF."""
    from coatwright.printing.pdf import picture_day, plan_pdf
    from coatwright.salon.charts import printed_ribbons
    from coatwright.salon.pictures import coat_picture_on
    from coatwright.web.documents import document

    desk, fields, words = desk_of(request), asked(request), words_of(request)
    paper = fields.choice("paper", "paper", ("a4", "letter"), default="letter" if words.month_first else "a4")
    plan, _ = _planned(desk, dog, fields, visit=False)
    told = document(plan)
    made = plan_pdf(
        told,
        paper=paper,
        unit=words.unit,
        picture_svg=coat_picture_on(plan, picture_day(told)),
        ribbons_svg=printed_ribbons(told),
    )
    return _file(made, f"{dog}-plan.pdf")


@router.get("/dogs/{dog}/plan.ics")
def plan_calendar(request: Request, dog: str) -> Response:
    """The visits and shows of the plan for a calendar program."""
    from coatwright.printing.ical import calendar_ics
    from coatwright.web.documents import document

    desk = desk_of(request)
    plan, _ = _planned(desk, dog, Fields(), visit=False)
    made = calendar_ics(document(plan), stamp=desk.store.clock(), dropped=_once_planned(desk, plan))
    return _file(made.encode(), f"{dog}.ics", "text/calendar; charset=utf-8")


def _once_planned(desk: Desk, plan: DogPlan) -> set[date]:
    """Days to come of visits in plans before this one, which a calendar may still hold."""
    versions = desk.salon().plans.get(plan.dog.id, ())
    days = {day for version in versions for _, day in takes_of(version)}
    before = desk.planner.before(plan.dog)
    days |= set() if before is None else set(before.visits)
    return {day for day in days if day >= plan.today}


def _planned(desk: Desk, dog: str, fields: Fields, *, visit: bool = True) -> tuple[DogPlan, date]:
    """A dog's plan, waited for, and the visit asked for; raises why there is none."""
    record = desk.dog(dog)
    state = desk.plan(record, wait=LONG)
    if isinstance(state, Refused):
        raise state.error
    if isinstance(state, Working):
        raise OutOfOrder("The plan is still being made.", where=record.name, remedy="Ask again in a moment.")
    day = _sheet_day(fields, state)
    if day is None:
        if visit:
            raise NoSuchPage("Nothing is to be pulled in this plan.", remedy="Look at the plan.")
        day = desk.today()
    return state, day


def _sheet_day(fields: Fields, plan: DogPlan) -> date | None:
    """The visit asked for, the next one without a day; a day without a visit is told by the sheet itself."""
    return fields.day("day", "day") or (plan.visits[0] if plan.visits else None)


def _kept(fields: Fields) -> dict[str, str]:
    return {"cache-control": "private, max-age=600" if "v" in fields else "no-store"}


def _file(made: bytes, name: str, kind: str = "application/pdf") -> Response:
    plain = "".join(
        letter if letter.isascii() and (letter.isalnum() or letter in "-_.") else "_" for letter in name
    )
    return Response(made, media_type=kind, headers={"content-disposition": f'inline; filename="{plain}"'})
