"""The page at the table, its files, its worker, and the day's list that it carries with it."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import Response

from coatwright import __version__
from coatwright.web.layout import desk_of, templates, words_of
from coatwright.web.reach import COOKIE, device_of, remember
from coatwright.web.table.bundle import bundle_of

router = APIRouter(include_in_schema=False)

HERE = Path(__file__).resolve().parent / "static"
MARK = HERE.parents[1] / "static" / "mark.svg"
KINDS = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".webmanifest": "application/manifest+json",
}
WORKER = "worker.js"
FIRST = "main.js"


def _names() -> list[str]:
    """The files that are given out, by name."""
    found = [path.name for path in HERE.iterdir() if path.suffix in KINDS and path.name != WORKER]
    return sorted([*found, MARK.name])


@dataclass(frozen=True, slots=True)
class Shell:
    """Everything that the page needs to start: its files by name, and the version that names all of them."""

    version: str
    files: dict[str, bytes]
    page: bytes
    worker: bytes


@cache
def shell() -> Shell:
    """The files as they are now; their version changes with any of them."""
    files = {name: (MARK if name == MARK.name else HERE / name).read_bytes() for name in _names()}
    template = templates().get_template("table/table.html")
    modules = [name for name in files if name.endswith(".js") and name != FIRST]
    raw = template.render(version="", modules=modules).encode()
    worker = (HERE / WORKER).read_text(encoding="utf-8")
    mark = hashlib.sha256()
    for part in (__version__.encode(), raw, worker.encode(), *files.values()):
        mark.update(hashlib.sha256(part).digest())
    version = mark.hexdigest()[:12]
    told = ["/table", *(f"/table/{name}" for name in files)]
    head = f"const VERSION = {json.dumps(version)};\nconst FILES = {json.dumps(told)};\n"
    page = template.render(version=version, modules=modules).encode()
    return Shell(version, files, page, (head + worker).encode())


@router.get("/table")
def table_page(request: Request) -> Response:
    """The page itself: the same for everybody, since what it shows lies on the tablet."""
    return _answer(request, shell().page, "text/html; charset=utf-8")


@router.get("/table/today.json")
def today_list(request: Request) -> Response:
    """The day's dogs with all that the page needs to work without the desk; a paired device is remembered anew."""
    found = bundle_of(desk_of(request), words_of(request))
    body = json.dumps(found, separators=(",", ":"), ensure_ascii=False).encode()
    answer = _answer(request, body, "application/json")
    answer.headers["vary"] = "Accept-Language, Cookie"
    if device_of(request) is not None:
        remember(answer, request, request.cookies[COOKIE])
    return answer


@router.get("/table/worker.js")
def worker_file(request: Request) -> Response:
    """The worker that starts the page without a network; it may answer for the page, which lies above it."""
    answer = _answer(request, shell().worker, KINDS[".js"])
    answer.headers["service-worker-allowed"] = "/table"
    return answer


def table_file(request: Request) -> Response:
    """A file of the page."""
    name = request.url.path.rpartition("/")[2]
    return _answer(request, shell().files[name], KINDS[Path(name).suffix])


for _name in _names():
    router.add_api_route(f"/table/{_name}", table_file, methods=["GET"])


def _answer(request: Request, body: bytes, kind: str) -> Response:
    """A file with its mark; one that the browser has already is not sent again."""
    tag = f'"{hashlib.sha256(body).hexdigest()[:24]}"'
    headers = {"etag": tag, "cache-control": "no-cache"}
    known = request.headers.get("if-none-match", "")
    if tag in (each.strip().removeprefix("W/") for each in known.split(",")):
        return Response(status_code=304, headers=headers)
    return Response(body, media_type=kind, headers=headers)
