"""The page of the tablets; it is answered to this machine alone."""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from coatwright.errors import CoatwrightError, FileFormatError
from coatwright.salon.devices import Code, Device
from coatwright.salon.fold import Salon
from coatwright.salon.judging import Answer
from coatwright.salon.photos import keep_photo
from coatwright.salon.store import Store
from coatwright.web.api.intake import answered, for_table, read_event
from coatwright.web.forms import Fields, posted
from coatwright.web.layout import desk_of, go, page
from coatwright.web.reach import Reach, reach_of

router = APIRouter(include_in_schema=False)

Posted = Annotated[Fields, Depends(posted)]
MOST_EVENTS = 20_000
AT_ONCE = 500
"""Entries that are handed to the writer together: between them the taps of other tablets come in."""
TOLD = {"kept": "kept", "already": "was here already", "refused": "refused"}


@dataclass(frozen=True, slots=True)
class Line:
    """One entry of a waiting list, in words, and what became of it."""

    what: str
    outcome: str
    why: str
    note: str


@router.get("/tablets", response_class=HTMLResponse)
def tablets_page(request: Request) -> HTMLResponse:
    """How tablets come in, which are there, PINs, and the form for a waiting list."""
    return _shown(request)


@router.post("/tablets/code")
def make_code(request: Request, fields: Posted) -> HTMLResponse:
    """A one-time code, to be photographed or typed."""
    kind = fields.choice("kind", "kind", ("table", "desk"), default="table")
    return _shown(request, code=reach_of(request).devices.new_code(kind))


@router.post("/tablets/revoke")
def revoke(request: Request, fields: Posted) -> Response:
    """Let a tablet in no more."""
    reach_of(request).devices.revoke(fields.text("device", "tablet", needed=True))
    return go("/tablets#paired", "revoked")


@router.post("/tablets/pin")
def set_pin(request: Request, fields: Posted) -> Response:
    """Give a groomer a PIN, or take it away."""
    person = fields.text("person", "groomer", needed=True)
    try:
        reach_of(request).devices.set_pin(person, fields.text("pin", "PIN"))
    except CoatwrightError as error:
        return _shown(request, status=422, error=error)
    return go("/tablets#pins", "pin")


@router.post("/tablets/waiting", response_class=HTMLResponse)
async def bring_in(request: Request) -> HTMLResponse:
    """Take in the waiting list that a tablet saved as a file, and tell what became of each entry."""
    form = await request.form(max_files=1, max_fields=5)
    upload = form.get("list")
    try:
        if not isinstance(upload, UploadFile) or not upload.filename:
            raise FileFormatError(
                "No file was chosen.", where="file", remedy="Choose the saved waiting list."
            )
        brought = await run_in_threadpool(waiting_list, await upload.read())
    except CoatwrightError as error:
        return _shown(request, status=422, error=error)
    finally:
        await form.close()
    desk = desk_of(request)
    entries = brought.entries
    read = await for_table(desk.store, [read_event(each) for each in entries])
    answers = await answered(desk.intake, read, at_once=AT_ONCE)
    salon = await run_in_threadpool(desk.salon)
    lines = [_line(salon, entry, answer) for entry, answer in zip(entries, answers, strict=True)]
    lines += [await run_in_threadpool(_photo, desk.store, each) for each in brought.photos]
    return _shown(request, brought=lines, device=brought.device)


@dataclass(frozen=True, slots=True)
class WaitingList:
    """What a tablet saved: its entries, photos with their bytes in letters, and the tablet's name."""

    entries: list[Any]
    photos: list[Any]
    device: str


def waiting_list(raw: bytes) -> WaitingList:
    """A saved waiting list; raises :class:`FileFormatError`."""
    try:
        table = json.loads(raw)
    except (ValueError, RecursionError) as error:
        raise FileFormatError(
            "This file is no waiting list: it is not whole, or something else.",
            where="file",
            remedy="Save the list on the tablet again and choose that file.",
        ) from error
    if not isinstance(table, dict) or table.get("coatwright") != "waiting":
        raise FileFormatError(
            "This file is no waiting list.",
            where="file",
            remedy="Choose the file that the tablet saved: its name begins with coatwright-waiting.",
        )
    photos = table.get("photos", [])
    if table.get("version") != 1 or not isinstance(table.get("events"), list) or not isinstance(photos, list):
        raise FileFormatError(
            "This waiting list was saved by another version of the page at the table.",
            where="file",
            remedy="Update Coatwright on this machine, then bring it in.",
        )
    if len(table["events"]) > MOST_EVENTS:
        raise FileFormatError(
            f"This waiting list has {len(table['events'])} entries.",
            where="file",
            remedy=f"At most {MOST_EVENTS} are taken at once.",
        )
    device = str(table.get("device", ""))[:200].encode(errors="replace").decode()
    return WaitingList(table["events"], photos, device)


def _photo(store: Store, each: Any) -> Line:
    """Keep a photo of a waiting list; its name must be the digest of its bytes, as where a tablet sends it."""
    row = each if isinstance(each, dict) else {}
    name = str(row.get("photo", ""))[:200].encode(errors="replace").decode()
    try:
        data = base64.b64decode(str(row.get("bytes", "")), validate=True)
        fresh = keep_photo(store, name, data)
    except (ValueError, CoatwrightError) as error:
        text = (
            error.text
            if isinstance(error, CoatwrightError)
            else "Its bytes are not whole: save the list again."
        )
        return Line(f"Photo {name[:8]}", TOLD["refused"], text, "")
    return Line(f"Photo {name[:8]}", TOLD["kept" if fresh else "already"], "", "")


def _line(salon: Salon, entry: Any, answer: Answer) -> Line:
    from coatwright.patterns.zones import zones

    what = "Something that is no entry"
    if isinstance(entry, dict) and isinstance(entry.get("data"), dict):
        stream, data = str(entry.get("stream", "")), entry["data"]
        dog = salon.dogs.get(stream.partition(":")[2])
        zone = zones().get(str(data.get("zone", "")))
        parts = [dog.name if dog else stream, str(data.get("day", "")), zone.name.lower() if zone else ""]
        parts.append(str(entry.get("kind", "")).replace(".", " "))
        what = ", ".join(part for part in parts if part)[:200].encode(errors="replace").decode()
    why = answer.why.encode(errors="replace").decode()
    return Line(what, TOLD[answer.outcome], why, answer.note)


def _shown(
    request: Request,
    *,
    status: int = 200,
    code: Code | None = None,
    error: CoatwrightError | None = None,
    brought: list[Line] | None = None,
    device: str = "",
) -> HTMLResponse:
    desk, reach = desk_of(request), reach_of(request)
    people = desk.salon().people
    devices = reach.devices.devices()
    return page(
        request,
        "pages/tablets/tablets.html",
        status,
        title="Tablets",
        reach=reach,
        code=code,
        pair_address=reach.secure(f"/pair#{code.text}") if code else "",
        codes=_codes(reach, code) if reach.open else {},
        paired=[
            (each, when(each.paired), when(each.seen), _who(people, each)) for each in devices if each.good
        ],
        gone=[(each, when(each.revoked)) for each in devices if not each.good],
        groomers=[
            (each, reach.devices.has_pin(each.id)) for each in people.values() if each.role == "groomer"
        ],
        brought=brought,
        counts={told: sum(line.outcome == told for line in brought or ()) for told in TOLD.values()},
        device=device,
        error=error,
    )


def when(text: str) -> datetime | None:
    """A time as this machine's clock shows it."""
    return datetime.fromisoformat(text).astimezone() if text else None


def _who(people: Any, device: Device) -> str:
    return people[device.who].name if device.who in people else ""


def _codes(reach: Reach, code: Code | None) -> dict[str, str]:
    """Pictures to photograph, as addresses of images (ISO/IEC 18004, by segno); ``near`` by the first address."""
    import segno

    near = reach.addresses[0] if reach.addresses else ""
    wanted = {"trust": reach.unsecured("/pair/trust")}
    if near:
        wanted["trust_near"] = reach.unsecured("/pair/trust", near)
    if code is not None:
        wanted["pair"] = reach.secure(f"/pair#{code.text}")
        if near:
            wanted["pair_near"] = reach.secure(f"/pair#{code.text}", near)
    return {key: segno.make(text, error="m").svg_data_uri(scale=6, border=3) for key, text in wanted.items()}
