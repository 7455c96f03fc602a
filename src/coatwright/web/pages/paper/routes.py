"""The first page of the paper test, with sheets to print and tests by tool; a tool over time; two tools compared."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.errors import CoatwrightError, OutOfRange
from coatwright.paper.sheet import BAR_MM, SHEETS
from coatwright.paper.thread import ThreadCheck
from coatwright.patterns.zones import zones
from coatwright.salon.gear import gear_key
from coatwright.salon.papers import drafts
from coatwright.salon.printers import bar_since, set_bar
from coatwright.salon.tools import sharpen, tool_history, tools_tested
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.layout import desk_of, go, page, words_of
from coatwright.web.pages.paper.form import dogs_of
from coatwright.web.pages.paper.pictures import history_shown, share_strip
from coatwright.web.pages.paper.sending import router as sending
from coatwright.web.pages.paper.sheets import router as sheets
from coatwright.web.pages.paper.thread import router as thread
from coatwright.web.pages.paper.view import draft_place, test_place
from coatwright.web.pages.paper.words import LEVELS, of_100

if TYPE_CHECKING:
    from coatwright.salon.fold import Salon
    from coatwright.salon.records import Dog, PaperCount
    from coatwright.salon.tools import ToolHistory
    from coatwright.salon.verdicts import Compared, Trial

router = APIRouter(include_in_schema=False)
router.include_router(sending)
router.include_router(sheets)
router.include_router(thread)

Posted = Annotated[Fields, Depends(posted)]
PAGE_WORDS = (("a4", "A4"), ("letter", "Letter"), ("own", "its own size"))
LATEST = 12


@dataclass(frozen=True)
class Row:
    """A kept sheet in a list."""

    dog: Dog
    paper: PaperCount
    zone: str
    place: str


@router.get("/paper", response_class=HTMLResponse)
def paper_page(request: Request) -> HTMLResponse:
    """Why and how, sheets to print, what waits, and every tool with what its newest test says; ``?dog=`` narrows."""
    return _home(request)


def _home(
    request: Request, status: int = 200, error: CoatwrightError | None = None, fields: Fields | None = None
) -> HTMLResponse:
    desk = desk_of(request)
    salon = desk.salon()
    only = salon.dogs.get(request.query_params.get("dog", ""))
    rows = _rows(salon, only)
    tools = [tool_history(salon, key) for key in tools_tested(salon)]
    if only is not None:
        tools = [each for each in tools if any(trial.key.dog == only.id for trial in each.trials)]
    waiting = [
        (head, salon.dogs[head.dog], zones()[head.zone].name, draft_place(head.id))
        for head in drafts(desk.store, "" if only is None else only.id)
        if head.dog in salon.dogs
    ]
    return page(
        request,
        "pages/paper/paper.html",
        status,
        title="Paper test",
        only=only,
        dogs=dogs_of(salon),
        tools=tools,
        levels=LEVELS,
        of_100=of_100,
        share_strip=share_strip,
        top=_top([each.last for each in tools]),
        rows=rows if request.query_params.get("all") else rows[:LATEST],
        more=len(rows) - LATEST if not request.query_params.get("all") else 0,
        waiting=waiting,
        sheets=SHEETS.values(),
        page_words=PAGE_WORDS,
        printers=sorted(salon.printers.values(), key=lambda each: each.name.casefold()),
        bar=BAR_MM,
        checks=[
            (each, ThreadCheck.from_json(each.check), bar_since(salon, each))
            for each in reversed(salon.threads[-3:])
        ],
        fields=fields or Fields(),
        error=error,
    )


def _rows(salon: Salon, only: Dog | None) -> list[Row]:
    """Every kept sheet, newest first."""
    found = [
        Row(dog, paper, zones()[paper.zone].name, test_place(dog.id, paper.id))
        for dog in (salon.dogs.values() if only is None else (only,))
        for paper in dog.papers
    ]
    return sorted(found, key=lambda row: (row.paper.day, row.paper.id), reverse=True)


def _top(trials: list[Trial | None]) -> float:
    """Upper end of the strips of a list, so that they can be compared."""
    return max(
        [each.belief.interval()[1] for each in trials if each is not None and each.belief is not None],
        default=0.0,
    )


@router.get("/paper/sheet.pdf")
def sheet_pdf(request: Request, kind: str = "a5", on: str = "a4") -> Response:
    """A sheet to print, as PDF to the millimetre."""
    from coatwright.printing.paper_sheet import paper_sheet_pdf

    made = paper_sheet_pdf(kind, made=desk_of(request).today(), page=on)
    name = f"paper-test-{kind}.pdf"
    return Response(
        made, media_type="application/pdf", headers={"content-disposition": f'inline; filename="{name}"'}
    )


@router.post("/paper/bar")
def keep_bar(request: Request, fields: Posted) -> Response:
    """Keep what a ruler says of a printer's bar."""
    desk = desk_of(request)
    try:
        name = fields.text("printer", "printer", needed=True)
        mm = fields.number("bar", "bar", low=50, high=150, unit="mm", needed=True)
        if mm is None or len(name) > 200:
            raise OutOfRange("The name is too long.", where="printer", remedy="Keep it to 200 characters.")
        set_bar(desk.store, name, mm, day=desk.today())
    except CoatwrightError as error:
        return _home(request, 422, error, fields)
    return go("/paper#printers", "bar")


@router.get("/paper/tool", response_class=HTMLResponse)
def tool_page(request: Request) -> HTMLResponse:
    """One tool over time (``?name=``), and beside a second one (``?beside=``)."""
    return _tool(request, asked(request))


def _tool(
    request: Request, fields: Fields, status: int = 200, error: CoatwrightError | None = None
) -> HTMLResponse:
    from coatwright.web.failures import NoSuchPage

    desk, words = desk_of(request), words_of(request)
    salon = desk.salon()
    known = tools_tested(salon)
    name = fields.text("name", "tool")
    if gear_key(name) not in known:
        raise NoSuchPage(f"No tool called {name[:60]!r} was tested.", remedy="Choose one at Paper test.")
    history = tool_history(salon, name)
    others = {key: each for key, each in known.items() if key != history.key}
    beside = fields.text("beside", "second tool")
    return page(
        request,
        "pages/paper/tool.html",
        status,
        title=f"{history.name}, test by test",
        history=history,
        dogs=salon.dogs,
        zone_names={key: zone.name for key, zone in zones().items()},
        chart=history_shown(history, words),
        trend=_trend_told(history),
        levels=LEVELS,
        of_100=of_100,
        others=others,
        beside=gear_key(beside) if gear_key(beside) in others else "",
        compared=_compared(history, tool_history(salon, beside)) if gear_key(beside) in others else None,
        places={trial: test_place(trial.key.dog, trial.papers[-1].id) for trial in history.trials},
        address_of=lambda **values: "/paper/tool?" + urlencode(values),
        fields=fields,
        error=error,
    )


def _trend_told(history: ToolHistory) -> str:
    """The trend in words."""
    trend = history.trend
    if trend is None:
        since = " since it was sharpened" if history.sharpened else ""
        return f"A trend takes tests of two different days{since}; three say more."
    return trend.text


def _compared(history: ToolHistory, other: ToolHistory) -> Compared | None:
    from coatwright.salon.verdicts import compared

    return compared(history.trials, other.trials, history.name, other.name)


@router.post("/paper/tool/sharpened")
def keep_sharpened(request: Request, fields: Posted) -> Response:
    """Keep that a tool was sharpened."""
    desk = desk_of(request)
    name = fields.text("name", "tool")
    try:
        day: Any = fields.day("day", "day", needed=True)
        sharpen(desk.store, name, day=day)
    except CoatwrightError as error:
        return _tool(request, fields, 422, error)
    return go(f"/paper/tool?{urlencode({'name': name})}", "sharpened")
