"""Photos on their way in: the form, the progress of the reading, what was refused and what to change; hand counts."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from coatwright.errors import CoatwrightError, OutOfRange
from coatwright.salon.papers import draft, hand_count, read_photo
from coatwright.salon.printers import printers_known
from coatwright.web.failures import NoSuchPage
from coatwright.web.forms import Fields, asked, posted
from coatwright.web.layout import desk_of, go, is_part, page, words_of
from coatwright.web.pages.paper.form import (
    PURPOSE_WORDS,
    SentFile,
    dogs_of,
    groomer_names,
    head_of,
    phone_names,
    tool_names,
    usual,
    with_photos,
    zone_choices,
)
from coatwright.web.pages.paper.pictures import change_picture
from coatwright.web.pages.paper.reader import MOST_PHOTOS, Batch, Tell

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
Photos = Annotated[tuple[Fields, list[SentFile]], Depends(with_photos)]
HEAD = ("dog", "zone", "tool", "groomer", "day", "purpose", "printer", "phone")


@router.get("/paper/new", response_class=HTMLResponse)
def new_sheet(request: Request) -> HTMLResponse:
    """The form of a new sheet; ``?dog=`` and its like fill it in."""
    return _form(request, asked(request), "pages/paper/new.html", "New paper test")


@router.get("/paper/count", response_class=HTMLResponse)
def new_count(request: Request) -> HTMLResponse:
    """The form of a count by hand."""
    return _form(request, asked(request), "pages/paper/count.html", "Count by hand")


def _form(
    request: Request,
    given: Fields,
    template: str,
    title: str,
    status: int = 200,
    error: CoatwrightError | None = None,
) -> HTMLResponse:
    desk = desk_of(request)
    salon = desk.salon()
    dogs = dogs_of(salon)
    key = given.first("dog")
    chosen = salon.dogs.get(key) or (dogs[0] if dogs else None)
    values: dict[str, Any] = dict(usual(salon, chosen, desk.today()))
    values |= {name: given.first(name) for name in (*HEAD, "whole", "broken") if name in given}
    return page(
        request,
        template,
        status,
        title=title,
        fields=Fields.of(values),
        dogs=dogs,
        zone_choices=zone_choices(),
        tools=tool_names(salon),
        groomers=groomer_names(salon),
        phones=phone_names(salon),
        printers=printers_known(salon),
        purposes=PURPOSE_WORDS,
        error=error,
    )


@router.post("/paper/new")
def take_photos(request: Request, sent: Photos) -> Response:
    """Begin to read photos; the same ``batch`` sent again adds to it."""
    desk, (fields, files) = desk_of(request), sent
    try:
        head = head_of(fields, desk.salon(), desk.today())
        if not files:
            raise OutOfRange("No photo was sent.", where="photo", remedy="Choose one, or take it now.")
        if len(files) > MOST_PHOTOS:
            raise OutOfRange(
                f"{len(files)} photos were sent at once.",
                where="photo",
                remedy=f"Send at most {MOST_PHOTOS} at a time.",
            )
    except CoatwrightError as error:
        return _form(request, fields, "pages/paper/new.html", "New paper test", 422, error)
    form = {name: fields.first(name) for name in HEAD}
    key = fields.first("batch")
    for each in files:

        def make(tell: Tell, data: bytes = each.data) -> str:
            return read_photo(desk.store, data=data, progress=tell, **head).id

        key = desk.reader.begin(key, "sheet", form, each.name, make).key
    return RedirectResponse(f"/paper/reading/{quote(key)}", status_code=303)


@router.get("/paper/reading/{batch}", response_class=HTMLResponse)
def reading_page(request: Request, batch: str) -> Response:
    """How far the photos of a batch have come; one photo that was read leads on to its sheet."""
    desk = desk_of(request)
    found = desk.reader.batch(batch)
    if found is None:
        raise NoSuchPage(
            "These photos are no longer remembered.", remedy="What was read of them waits at Paper test."
        )
    if found.done and len(found.photos) == 1 and found.photos[0].error is None:
        return _on(request, _place_of(found))
    words = words_of(request)
    salon = desk.salon()
    dog = salon.dogs.get(found.form.get("dog", ""))
    return page(
        request,
        "pages/paper/reading.html",
        title="Reading photos" if not found.done else "Photos read",
        batch=found,
        of=dog,
        day=words.date(desk.today()),
        again=_again(found),
        change_picture=change_picture,
        zone_names=dict(zone_choices()),
    )


def _on(request: Request, place: str) -> Response:
    """On to another page, also from within a part of this one."""
    if is_part(request):
        return Response(status_code=200, headers={"HX-Redirect": place})
    return RedirectResponse(place, status_code=303)


@router.post("/paper/drafts/{id}/second")
def take_second(request: Request, id: str, sent: Photos) -> Response:
    """Begin to read a second photo of the sheet of a draft."""
    from coatwright.salon.paper_pairs import WAYS, add_second

    desk, (fields, files) = desk_of(request), sent
    draft(desk.store, id)
    way = fields.choice("way", "way", WAYS, default=WAYS[0])
    if len(files) != 1:
        raise OutOfRange(
            f"{len(files)} photos were sent.", where="photo", remedy="Send one more of this sheet."
        )
    data = files[0].data

    def make(tell: Tell) -> str:
        add_second(desk.store, id, data, way=way, progress=tell)
        return id

    key = desk.reader.begin("", "second", {"id": id}, files[0].name, make).key
    return RedirectResponse(f"/paper/reading/{quote(key)}", status_code=303)


def _place_of(batch: Batch) -> str:
    if batch.kind == "thread":
        return f"/paper/thread?check={quote(str(batch.photos[0].result))}"
    return f"/paper/drafts/{quote(str(batch.photos[0].result))}"


def _again(batch: Batch) -> str:
    """The address of the form that the photos were sent from, filled in as it was."""
    if batch.kind == "second":
        return f"/paper/drafts/{quote(batch.form['id'])}#second"
    place = "/paper/thread" if batch.kind == "thread" else "/paper/new"
    return f"{place}?{urlencode({key: value for key, value in batch.form.items() if value})}"


@router.post("/paper/count")
def keep_count(request: Request, fields: Posted) -> Response:
    """Keep a count under a lens: of a tool or a hand, since without lengths and photo it can be no measure."""
    desk = desk_of(request)
    try:
        head = head_of(fields, desk.salon(), desk.today())
        whole = fields.whole("whole", "whole hairs", low=0, high=5000, needed=True)
        broken = fields.whole("broken", "broken hairs", low=0, high=5000, needed=True)
        head = {key: head[key] for key in ("dog", "zone", "tool", "groomer", "day")}
        event = hand_count(desk.store, whole=whole or 0, broken=broken or 0, today=desk.today(), **head)
    except CoatwrightError as error:
        return _form(request, fields, "pages/paper/count.html", "Count by hand", 422, error)
    return go(f"/paper/tests/{quote(head['dog'])}/{quote(str(event.data['id']))}", "tested")
