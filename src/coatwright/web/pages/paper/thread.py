"""The thread check: sewing thread cut to 10, 20 and 40 mm proves a phone and a printer together."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from coatwright.errors import CoatwrightError, OutOfRange
from coatwright.paper.thread import CUTS, GOOD_MM, GOOD_SHARE, LEAST_THREADS, ThreadCheck
from coatwright.salon.printers import bar_since, printers_known, thread_check
from coatwright.web.forms import Fields, asked
from coatwright.web.layout import desk_of, page
from coatwright.web.pages.paper.form import SentFile, phone_names, with_photos
from coatwright.web.pages.paper.reader import Tell

router = APIRouter(include_in_schema=False)

Photos = Annotated[tuple[Fields, list[SentFile]], Depends(with_photos)]


@router.get("/paper/thread", response_class=HTMLResponse)
def thread_page(request: Request) -> HTMLResponse:
    """How to check, the form, and every check; ``?check=`` is the one just made."""
    return _shown(request, asked(request))


def _shown(
    request: Request, fields: Fields, status: int = 200, error: CoatwrightError | None = None
) -> HTMLResponse:
    desk = desk_of(request)
    salon = desk.salon()
    checks = [
        (each, ThreadCheck.from_json(each.check), bar_since(salon, each)) for each in reversed(salon.threads)
    ]
    printers = printers_known(salon)
    fresh = next((each for each in checks if each[0].id == fields.first("check")), None)
    filled = {key: fields.first(key) for key in ("printer", "phone")}
    if not filled["printer"] and len(printers) == 1:
        filled["printer"] = printers[0].name
    return page(
        request,
        "pages/paper/thread.html",
        status,
        title="Thread check",
        checks=checks,
        fresh=fresh,
        printers=printers,
        phones=phone_names(salon),
        cuts=CUTS,
        least=LEAST_THREADS,
        good_share=GOOD_SHARE,
        good_mm=GOOD_MM,
        fields=Fields.of(filled),
        error=error,
    )


@router.post("/paper/thread")
def check_thread(request: Request, sent: Photos) -> Response:
    """Begin to read a photo of threads."""
    desk, (fields, files) = desk_of(request), sent
    try:
        printer = fields.text("printer", "printer", needed=True)
        phone = fields.text("phone", "phone")
        if max(len(printer), len(phone)) > 200:
            raise OutOfRange(
                "The name is too long.", where="printer or phone", remedy="Keep it to 200 characters."
            )
        if len(files) != 1:
            raise OutOfRange(
                f"{len(files)} photos were sent.", where="photo", remedy="Send one photo of the threads."
            )
    except CoatwrightError as error:
        return _shown(request, fields, 422, error)
    data, today = files[0].data, desk.today()

    def make(tell: Tell) -> str:
        kept, _ = thread_check(desk.store, phone, printer, data, day=today, progress=tell)
        return kept.id

    form = {"printer": printer, "phone": phone}
    key = desk.reader.begin("", "thread", form, files[0].name, make).key
    return RedirectResponse(f"/paper/reading/{quote(key)}", status_code=303)
