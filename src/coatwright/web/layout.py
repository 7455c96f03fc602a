"""Templates and what every page has: the head with its ways, the reader's words, the notice of what was done."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from coatwright import __version__
from coatwright.errors import CoatwrightError
from coatwright.patterns.zones import zones
from coatwright.printing.words import chance, chance_line
from coatwright.web.choices import chosen, words_for
from coatwright.web.keys import KEYS, WAYS
from coatwright.web.words import Words, lighter

if TYPE_CHECKING:
    from coatwright.web.desk import Desk

HERE = Path(__file__).resolve().parent
NOTICES = {
    "saved": "Saved.",
    "told": "The settings are kept in this browser.",
    "fixed": "The take is fixed, and the plan is made again around it.",
    "freed": "The plan chooses this take again.",
    "placed": "The visit is set, and the plan is made again around it.",
    "dropped": "The visit is dropped, and the plan is made again without it.",
    "added": "The visit is added, and the plan is made again with it.",
    "again": "What was set by hand is as in that version again.",
    "undone": "Taken back.",
    "redone": "Done again.",
    "kept": "The plan is kept as a version.",
    "away": "The dog is marked away, and the plan goes around it.",
    "wish": "The wish is changed, and the plan is made again.",
    "fit": "The dog is marked fit, and can be planned again.",
    "unfit": "The dog is marked unfit: nothing is planned until it is fit again.",
    "assessed": "The coat is kept as you read it.",
    "read": "The reading is kept.",
    "revoked": "The tablet is off the list: it is let in no more.",
    "pin": "The PIN is kept.",
    "tested": "The paper test is kept, and the dog's coat is learnt from it.",
    "thrown": "The sheet is thrown away, with its photo.",
    "bar": "The printer's bar is kept: every sheet that it printed is measured by it.",
    "sharpened": "The tool is kept as sharpened: its trend begins anew.",
    "logged": "This visit was kept already; it counts once.",
}
"""What a page says after something was done, by the word in its address."""


@cache
def templates() -> Environment:
    """Every template; names are paths from here, such as ``pages/dog/dog.html``. All output is escaped."""
    made = Environment(
        loader=FileSystemLoader(HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["lighter"] = lighter
    made.filters["chance"] = lambda share: lighter(chance(share))
    made.filters["chance_line"] = lambda found: lighter(chance_line(found))
    made.filters["zone_name"] = lambda key: zones()[key].name.lower()
    return made


def desk_of(request: Request) -> Desk:
    """The desk that the application serves."""
    desk: Desk = request.app.state.desk
    return desk


def words_of(request: Request) -> Words:
    """How this reader wants things told."""
    return words_for(request.headers.get("accept-language", ""), request.cookies)


def is_part(request: Request) -> bool:
    """Whether only a part of the page is asked for, to be put in place of the one that is there."""
    return request.headers.get("hx-request") == "true" and request.headers.get("hx-boosted") != "true"


def page(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    """A page, or a part of one. ``title`` and what the template needs come in ``context``."""
    everywhere = _everywhere(request) | {
        "today": desk_of(request).today(),
        "here": request.url.path,
        "address": _address(request),
        "notice": NOTICES.get(request.query_params.get("done", ""), ""),
        "error": None,
    }
    text = templates().get_template(template).render(everywhere | context)
    answer = HTMLResponse(text, status)
    answer.headers["vary"] = "Accept-Language, Cookie, HX-Request"
    return answer


def error_page(request: Request, status: int, error: CoatwrightError) -> HTMLResponse:
    """The page of an error; it needs no desk, so that it works when nothing else does."""
    told = {
        "error": error,
        "status": status,
        "title": "This did not work" if status != 404 else "Nothing here",
        "here": "",
        "address": "/",
        "notice": "",
    }
    text = templates().get_template("templates/error.html").render(_everywhere(request) | told)
    return HTMLResponse(text, status)


def go(address: str, done: str = "") -> RedirectResponse:
    """On to another page of the desk, which says what was done; a form sent twice lands there twice."""
    if done:
        path, mark, anchor = address.partition("#")
        address = f"{path}{'&' if '?' in path else '?'}done={done}{mark}{anchor}"
    return RedirectResponse(address, status_code=303)


def inside(address: str) -> str:
    """An address as it is when it leads to a page of this desk, else the first page."""
    safe = address.startswith("/") and not address.startswith(("//", "/\\")) and address.isprintable()
    return address if safe and "\\" not in address else "/"


def _everywhere(request: Request) -> dict[str, Any]:
    """What a page shows that needs no records."""
    return {
        "words": words_of(request),
        "choice": chosen(request.cookies),
        "ways": WAYS,
        "keys": KEYS,
        "program": __version__,
        "query": "",
    }


def _address(request: Request) -> str:
    """The address to come back to after a change of the settings, without what was just done."""
    kept = [(key, value) for key, value in request.query_params.multi_items() if key != "done"]
    return request.url.path + (f"?{urlencode(kept)}" if kept else "")
