"""The settings that a browser keeps, and the page that lists the keys."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from coatwright.web.choices import CHOICES, chosen
from coatwright.web.forms import Fields, posted
from coatwright.web.layout import desk_of, go, inside, page, words_of
from coatwright.web.locales import OFFERED, asked_locale, locale_of
from coatwright.web.words import WEEKDAYS, Words

router = APIRouter(include_in_schema=False)

YEAR = timedelta(days=365)
WEEKS = (("monday", "on Monday"), ("saturday", "on Saturday"), ("sunday", "on Sunday"))


@router.get("/settings", response_class=HTMLResponse)
def settings_page(request: Request) -> HTMLResponse:
    """Everything that can be chosen, each with an example."""
    day = desk_of(request).today()
    browser = asked_locale(request.headers.get("accept-language", ""))
    words = words_of(request)
    return page(
        request,
        "pages/settings/settings.html",
        title="Settings",
        fields=Fields.of(chosen(request.cookies)),
        units=[("mm", "millimetres, such as 19 mm"), ("in", "inches in eighths, such as 3/4 in")],
        places=[
            ("", f"as the browser says: {Words(browser).date(day)}"),
            *((tag, f"as in {place}: {Words(locale_of(tag)).date(day)}") for tag, place in OFFERED.items()),
        ],
        weeks=[("", "where the dates say"), *WEEKS],
        week=WEEKDAYS[words.locale.week_start],
    )


@router.post("/settings")
def choose(fields: Annotated[Fields, Depends(posted)]) -> Response:
    """Keep what the form names, leave the rest as it is, and go back to where one was."""
    kept = {name: fields.choice(name, name, options) for name, options in CHOICES.items() if name in fields}
    answer = go(inside(fields.text("back", "back") or "/"))
    for name, value in kept.items():
        answer.set_cookie(name, value, max_age=int(YEAR.total_seconds()), httponly=True, samesite="strict")
    return answer


@router.get("/keys", response_class=HTMLResponse)
def keys_page(request: Request) -> HTMLResponse:
    """The keys, for a reader without script or without a question mark."""
    return page(request, "pages/settings/keys.html", title="Keys")
