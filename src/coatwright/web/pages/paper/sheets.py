"""The page of one sheet: a draft to be put right and accepted, or a kept test to be looked at."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import FileResponse, HTMLResponse, Response

from coatwright.errors import CoatwrightError, OutOfRange, UnknownName
from coatwright.paper.repair import doubtful, join
from coatwright.paper.repair_record import Repair
from coatwright.patterns.zones import zones
from coatwright.salon import papers
from coatwright.salon.attachments import Attachments
from coatwright.salon.events import stream_of
from coatwright.salon.evidence import is_taken
from coatwright.salon.history import PURPOSES
from coatwright.salon.paper_drafts import MEASURING, OPEN, PaperDraft, SheetHead, marks_for
from coatwright.salon.paper_pairs import Pair, drop_second, kept_pair, pair_of, record_with
from coatwright.salon.printers import proof_words
from coatwright.salon.records import Dog, PaperCount
from coatwright.web.failures import NoSuchPage
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.layout import desk_of, go, page, words_of
from coatwright.web.pages.paper.form import PURPOSE_WORDS, tool_names, zone_choices
from coatwright.web.pages.paper.pictures import change_picture, lengths_shown, share_strip
from coatwright.web.pages.paper.view import (
    Sheet,
    changes_of,
    doubts_seen,
    draft_place,
    groups_of,
    histogram_of,
    overlay,
    picked,
    repair_key,
    test_place,
)
from coatwright.web.pages.paper.words import trial_told

if TYPE_CHECKING:
    from coatwright.salon.verdicts import Trial
    from coatwright.web.desk import Desk
    from coatwright.web.words import Words

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]


@router.get("/paper/drafts/{id}", response_class=HTMLResponse)
def draft_page(request: Request, id: str) -> HTMLResponse:
    """A sheet that waits to be accepted; ``?hair=`` or ``?doubt=`` is chosen."""
    return _draft_shown(request, _draft(desk_of(request), id), asked(request))


def _draft(desk: Desk, id: str) -> PaperDraft:
    try:
        return papers.draft(desk.store, id)
    except UnknownName as error:
        raise NoSuchPage(error.what, where=error.where, remedy=error.remedy) from error


def _draft_shown(
    request: Request,
    draft: PaperDraft,
    fields: Fields,
    status: int = 200,
    error: CoatwrightError | None = None,
) -> HTMLResponse:
    from coatwright.salon.verdicts import key_of, trial_of

    desk = desk_of(request)
    dog = desk.dog(draft.head.dog)
    sheet = Sheet(draft.head, draft.read, draft.by_hand, draft.photo, draft_place(draft.id), kept=False)
    beside = _beside(desk, draft)
    pair = pair_of(desk.store, draft)
    own = sheet.record if pair is None or sheet.record is None else pair.over(sheet.record)
    records = tuple(each for each in (own, *beside) if each is not None)
    trial = None
    if draft.head.purpose == "tool" and records:
        trial = trial_of(dog, key_of(dog, records[0]), records)
    return _shown(request, dog, sheet, trial, fields, status, error, waiting=len(beside), pair=pair, own=own)


def _beside(desk: Desk, draft: PaperDraft) -> list[PaperCount]:
    """The records of other drafts of the same trial."""
    from coatwright.salon.gear import gear_key

    def key(head: SheetHead) -> tuple[object, ...]:
        return head.dog, head.zone, gear_key(head.tool), gear_key(head.groomer), head.day, head.purpose

    found = []
    for head in papers.drafts(desk.store, draft.head.dog):
        if head.id != draft.id and key(head) == key(draft.head):
            try:
                found.append(record_with(desk.store, papers.draft(desk.store, head.id)))
            except CoatwrightError:  # thrown away meanwhile, or without a hair
                continue
    return found


@router.get("/paper/tests/{dog}/{id}", response_class=HTMLResponse)
def test_page(request: Request, dog: str, id: str) -> HTMLResponse:
    """A kept test; ``?hair=`` is chosen."""
    from coatwright.salon.verdicts import key_of, trial_of

    desk, fields = desk_of(request), asked(request)
    record, paper = _test(desk, dog, id)
    trial = trial_of(record, key_of(record, paper)) if paper.purpose == "tool" else None
    sheet = None
    if paper.traces:
        read, by_hand = papers.traces_of(desk.store, paper)
        head = SheetHead.of(record.id, paper)
        sheet = Sheet(head, read, by_hand, paper.photo, test_place(record.id, paper.id), kept=True)
    pair = kept_pair(desk.store, paper)
    return _shown(request, record, sheet, trial, fields, paper=paper, pair=pair, own=paper)


def _test(desk: Desk, dog: str, id: str) -> tuple[Dog, PaperCount]:
    record = desk.dog(dog)
    for paper in record.papers:
        if paper.id == id:
            return record, paper
    raise NoSuchPage(
        f"{record.name} has no such paper test.", remedy="It may have been taken back; begin at Paper test."
    )


def _shown(
    request: Request,
    dog: Dog,
    sheet: Sheet | None,
    trial: Trial | None,
    fields: Fields,
    status: int = 200,
    error: CoatwrightError | None = None,
    *,
    waiting: int = 0,
    paper: PaperCount | None = None,
    pair: Pair | None = None,
    own: PaperCount | None = None,
) -> HTMLResponse:
    desk, words = desk_of(request), words_of(request)
    of = paper or (sheet.head if sheet is not None else None)
    assert of is not None
    doubts = [] if sheet is None or sheet.kept else doubtful(sheet.hairs)
    doubt = _chosen(fields, "doubt", range(len(doubts)))
    hair = None if sheet is None else _chosen(fields, "hair", sheet.hairs)
    chart = histogram_of(trial, own, dog)
    context: dict[str, Any] = {
        "title": f"Paper test of {dog.name}",
        "of": dog,
        "zone": zones()[of.zone].name,
        "head": of,
        "sheet": sheet,
        "paper": paper,
        "trial": trial,
        "told": None if trial is None else trial_told(trial),
        "share_strip": share_strip,
        "proof": proof_words(desk.salon(), of.phone, of.printer, desk.today(), of.bar_mm)
        if sheet is not None
        else "",
        "waiting": waiting,
        "chart": None if chart is None else lengths_shown(chart, words),
        "purposes": PURPOSE_WORDS,
        "marks": marks_for(of.purpose),
        "measuring": of.purpose in MEASURING,
        "taken": is_taken(dog, of.day, of.zone),
        "error": error,
        "change_picture": change_picture,
        "doubt": doubt,
        "hair": hair,
        "again": _another(of, dog),
        "pair": pair,
        "own": own,
    }
    if sheet is not None:
        context |= {
            "overlay": overlay(sheet, words, hair, doubts, doubt),
            "picked": None if hair is None else picked(sheet, hair, words),
            "groups": groups_of(sheet, words),
            "doubts": doubts_seen(sheet, doubts),
            "changes": changes_of(sheet),
            "next_open": _next_open(sheet, hair),
        }
    if sheet is not None and not sheet.kept:
        values = {key: getattr(sheet.head, key) for key in ("zone", "tool", "groomer", "purpose", "phone")}
        context |= {
            "fields": Fields.of(values | {"day": sheet.head.day.isoformat()}),
            "zone_choices": zone_choices(),
            "tools": tool_names(desk.salon()),
        }
    if paper is not None:
        context["event"] = _event_of(desk, dog, paper)
    return page(request, "pages/paper/sheet.html", status, **context)


def _chosen(fields: Fields, key: str, known: Any) -> int | None:
    """The number in an address where it is one of those known."""
    text = fields.first(key)
    return int(text) if text.isdecimal() and len(text) < 9 and int(text) in known else None


def _next_open(sheet: Sheet, after: int | None) -> int | None:
    """The next hair that is not judged, after the chosen one and round again."""
    waiting = sorted(number for number, state in sheet.states.items() if state == OPEN)
    later = [number for number in waiting if after is None or number > after]
    return next(iter(later or waiting), None)


def _another(of: PaperCount | SheetHead, dog: Dog) -> str:
    """The address of the form for one more sheet like this."""
    kept = {
        "dog": dog.id, "zone": of.zone, "tool": of.tool, "groomer": of.groomer, "day": of.day.isoformat(),
        "purpose": of.purpose, "printer": of.printer, "phone": of.phone,
    }  # fmt: skip
    return f"/paper/new?{urlencode({key: value for key, value in kept.items() if value})}"


def _event_of(desk: Desk, dog: Dog, paper: PaperCount) -> str:
    """The event that keeps a test, to take it back by."""
    from coatwright.salon.salon import history

    found = [
        event.id
        for event, counts in history(desk.store, stream_of("dog", dog.id))
        if counts and event.kind == "paper.read" and event.data.get("id") == paper.id
    ]
    return found[-1] if found else ""


@router.get("/paper/drafts/{id}/photo.jpg")
def draft_photo(request: Request, id: str) -> Response:
    """The photo of a draft."""
    desk = desk_of(request)
    return _photo(desk, _draft(desk, id).photo)


@router.get("/paper/tests/{dog}/{id}/photo.jpg")
def test_photo(request: Request, dog: str, id: str) -> Response:
    """The photo of a kept test."""
    desk = desk_of(request)
    _, paper = _test(desk, dog, id)
    if not paper.photo:
        raise NoSuchPage("This test was counted by hand: it has no photo.")
    return _photo(desk, paper.photo)


def _photo(desk: Desk, name: str) -> Response:
    """A kept photo. Its name tells its content, so that a browser may keep it for good."""
    place = Attachments.of(desk.store).path(name)
    if not place.is_file():
        raise NoSuchPage(
            "The photo is gone from the folder beside the records.", remedy="Restore the last backup."
        )
    return FileResponse(
        place, media_type="image/jpeg", headers={"cache-control": "private, max-age=31536000, immutable"}
    )


# what is put right --------------------------------------------------------------------------------------------


def _changed(
    request: Request, id: str, change: Callable[[Desk], PaperDraft], fields: Fields, at: str
) -> Response:
    """Carry out a change of a draft and show it again; an error is told on the page, and nothing is changed."""
    desk = desk_of(request)
    _draft(desk, id)
    try:
        change(desk)
    except CoatwrightError as error:
        return _draft_shown(request, _draft(desk, id), fields, 422, error)
    return go(f"{draft_place(id)}{at}", "")


@router.post("/paper/drafts/{id}/mark")
def mark_hair(request: Request, id: str, fields: Posted) -> Response:
    """Mark a hair, or leave it as it was read (``word`` empty)."""
    number = fields.whole("hair", "hair", low=0, high=100_000, needed=True) or 0
    word = fields.text("word", "mark")
    return _changed(
        request, id, lambda desk: papers.mark(desk.store, id, number, word), fields, f"?hair={number}#picked"
    )


@router.post("/paper/drafts/{id}/repair")
def repair_join(request: Request, id: str, fields: Posted) -> Response:
    """Carry out the repair of a doubtful join, named by all of it, so that it cannot be another by mistake."""

    def change(desk: Desk) -> PaperDraft:
        found = _draft(desk, id)
        wanted = fields.text("repair", "join")
        for each in papers.doubts(found):
            if repair_key(each.repair) == wanted:
                return papers.repair(desk.store, id, each.repair)
        raise OutOfRange(
            "This join was put right already, or lies differently now.",
            where="join",
            remedy="Look at the list again.",
        )

    return _changed(request, id, change, fields, "#doubts")


@router.post("/paper/drafts/{id}/mend")
def mend_hair(request: Request, id: str, fields: Posted) -> Response:
    """Cut a hair or join it to another where no doubtful join is told of.

    A place is given in pixels of the photo (``x``, ``y``), or as the length from the hair's first end (``along``).
    """
    number = fields.whole("hair", "hair", low=0, high=100_000, needed=True) or 0

    def change(desk: Desk) -> PaperDraft:
        found = _draft(desk, id)
        blur = found.read.place.blur_px
        if fields.choice("kind", "what to do", ("split", "join")) == "split":
            at = _place_on(found, number, fields, words_of(request))
            return papers.repair(desk.store, id, Repair("split", (number,), at))
        other = (fields.whole("other", "other hair", low=1, high=100_000, needed=True) or 1) - 1
        return papers.repair(desk.store, id, join(found.hairs, number, other, blur_px=blur).repair)

    return _changed(request, id, change, fields, f"?hair={number}#picked")


def _place_on(found: PaperDraft, number: int, fields: Fields, words: Words) -> tuple[float, float]:
    """Where a hair is to be cut, mm on the sheet."""
    import numpy as np

    if "x" in fields:
        x, y = (fields.number(key, "place", low=0, high=1e5, needed=True) for key in ("x", "y"))
        mm = found.read.place.to_mm([[x or 0.0, y or 0.0]])[0]
        return float(mm[0]), float(mm[1])
    typed = fields.number("along", "length to the cut", low=0, high=1000, unit=words.unit, needed=True)
    if number not in found.hairs:
        raise OutOfRange(f"There is no hair {number + 1}.", where="hair", remedy="Choose one from the list.")
    points = found.hairs[number].trace.points
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    along = words.millimetres(typed or 0.0)
    return float(np.interp(along, steps, points[:, 0])), float(np.interp(along, steps, points[:, 1]))


@router.post("/paper/drafts/{id}/back")
def take_back(request: Request, id: str, fields: Posted) -> Response:
    """Take back a repair, and what stands on it."""
    which = fields.whole("which", "repair", low=0, high=100_000, needed=True) or 0
    return _changed(request, id, lambda desk: papers.take_back(desk.store, id, which), fields, "#changes")


@router.post("/paper/drafts/{id}/head")
def change_head(request: Request, id: str, fields: Posted) -> Response:
    """Put right what the sheet is of."""

    def change(desk: Desk) -> PaperDraft:
        day = fields.day("day", "day", needed=True)
        assert day is not None
        if day > desk.today():
            raise OutOfRange(f"{day} is still to come.", where="day", remedy="Give the day of the pulling.")
        return papers.set_head(
            desk.store, id,
            zone=fields.choice("zone", "zone", [key for key, _ in zone_choices()]), day=day,
            tool=fields.text("tool", "tool")[:200], groomer=fields.text("groomer", "who pulled")[:200],
            purpose=fields.choice("purpose", "what the sheet holds", PURPOSES),
            phone=fields.text("phone", "phone")[:200],
        )  # fmt: skip

    return _changed(request, id, change, fields, "")


@router.post("/paper/drafts/{id}/alone")
def leave_second_out(request: Request, id: str) -> Response:
    """Leave the second photo of a sheet out again."""
    desk = desk_of(request)
    _draft(desk, id)
    drop_second(desk.store, id)
    return go(f"{draft_place(id)}#second")


@router.post("/paper/drafts/{id}/accept")
def accept(request: Request, id: str) -> Response:
    """Keep the test."""
    desk = desk_of(request)
    found = _draft(desk, id)
    try:
        papers.accept(desk.store, id, today=desk.today())
    except CoatwrightError as error:
        return _draft_shown(request, found, Fields(), 422, error)
    return go(test_place(found.head.dog, id), "tested")


@router.post("/paper/drafts/{id}/throw")
def throw_away(request: Request, id: str) -> Response:
    """Throw the sheet away, with its photo."""
    desk = desk_of(request)
    _draft(desk, id)
    papers.throw_away(desk.store, id)
    return go("/paper", "thrown")


@router.post("/paper/tests/{dog}/{id}/back")
def take_test_back(request: Request, dog: str, id: str) -> Response:
    """Take a kept test back: nothing is learnt from it any more."""
    from coatwright.salon.salon import undo

    desk = desk_of(request)
    record, paper = _test(desk, dog, id)
    event = _event_of(desk, record, paper)
    if event:
        undo(desk.store, stream_of("dog", record.id), event)
    return go("/paper", "undone")
