"""Pages and JSON for a tablet that is being paired or is paired."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response

from coatwright import __version__
from coatwright.errors import CoatwrightError, OutOfRange
from coatwright.salon.devices import ShutOut
from coatwright.web.failures import NoSuchPage
from coatwright.web.forms import Fields, posted
from coatwright.web.layout import desk_of, go, templates, words_of
from coatwright.web.reach import device_of, reach_of, remember

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
SCRIPT = Path(__file__).with_name("pair.js").read_bytes()


@router.get("/pair", response_class=HTMLResponse)
def pair_page(request: Request) -> HTMLResponse:
    """The form for the code; the script puts in the one that stands behind # in the address."""
    return _page(request, "pair.html", fields=Fields(), error=None, gone="gone" in request.query_params)


@router.post("/pair")
def pair(request: Request, fields: Posted) -> Response:
    """Take the tablet in, and give it its token as a cookie that no script can read."""
    try:
        device, token = reach_of(request).devices.pair(
            fields.text("code", "code", needed=True), fields.text("name", "name", needed=True)
        )
    except CoatwrightError as error:
        return _page(request, "pair.html", 422, fields=fields, error=error, gone=False)
    answer = go("/table" if device.kind == "table" else "/")
    remember(answer, request, token)
    return answer


@router.get("/pair/pair.js")
def pair_script() -> Response:
    """The script of the form."""
    return Response(
        SCRIPT, media_type="text/javascript; charset=utf-8", headers={"cache-control": "no-cache"}
    )


@router.get("/pair/trust", response_class=HTMLResponse)
def trust_page(request: Request) -> HTMLResponse:
    """How a tablet is told to trust the salon's certificate, in plain words."""
    reach = reach_of(request)
    if reach.authority is None:
        raise NoSuchPage("This desk listens to this machine only.", remedy="Start it with --tablets.")
    return _page(request, "trust.html", reach=reach)


@router.get("/pair/authority.crt")
def certificate(request: Request) -> Response:
    """The certificate of the salon's authority, as tablets take it (RFC 5280, DER)."""
    reach = reach_of(request)
    if reach.authority is None:
        raise NoSuchPage("This desk listens to this machine only.", remedy="Start it with --tablets.")
    return Response(
        reach.authority.der,
        media_type="application/x-x509-ca-cert",
        headers={"content-disposition": f'attachment; filename="{reach.authority.name}.crt"'},
    )


@router.get("/table/who")
def groomers(request: Request) -> JSONResponse:
    """Groomers, whether each has a PIN, who works with this tablet, and the name under which it was paired."""
    devices, device = reach_of(request).devices, device_of(request)
    people = [each for each in desk_of(request).salon().people.values() if each.role == "groomer"]
    return JSONResponse(
        {
            "who": device.who if device else "",
            "tablet": device.name if device else "",
            "people": [
                {"id": each.id, "name": each.name, "pin": devices.has_pin(each.id)}
                for each in sorted(people, key=lambda person: person.name)
            ],
        }
    )


@router.post("/table/who")
def choose(request: Request, body: dict[str, Any]) -> JSONResponse:
    """Say who works with this tablet: ``{"person": id, "pin": "4711"}``."""
    person = desk_of(request).salon().people.get(str(body.get("person", "")))
    if person is None:
        raise OutOfRange("Nobody here is called so.", where="person", remedy="Choose one of the groomers.")
    devices = reach_of(request).devices
    try:
        devices.check_pin(person.id, str(body.get("pin", "")))
    except ShutOut as error:
        return JSONResponse(error.as_json(), status_code=429)
    except OutOfRange as error:
        return JSONResponse(error.as_json(), status_code=403)
    device = device_of(request)
    if device is not None:
        devices.works_with(device.id, person.id)
    return JSONResponse({"who": person.id, "name": person.name})


def _page(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    """A page of its own, without the desk's ways, which are not for a tablet."""
    text = (
        templates()
        .get_template(f"pair/{template}")
        .render({"program": __version__, "words": words_of(request), "reach": reach_of(request), **context})
    )
    return HTMLResponse(text, status)
