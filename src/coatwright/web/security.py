"""What stands between the desk and the rest of the world, before any page is asked.

- **Host**: only names of this machine (and, with tablets, of the salon) are answered, so that a foreign name that is
  made to point here (DNS rebinding) reaches nothing.
- **Origin**: a request that changes something must come from a page of this desk. ``Origin`` is looked at
  first, since on plain http it is all that browsers send, then ``Sec-Fetch-Site``. A program that sends
  neither may use the JSON interface, which no foreign page can reach without asking first.
- **Size**: a body beyond the limit is refused while it arrives.
- **Headers**: a strict content-security policy and its kin on every answer, errors included.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from coatwright.errors import CoatwrightError, InputError
from coatwright.web.failures import failure

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
SAFE = ("GET", "HEAD", "OPTIONS", "TRACE")
FORM_BYTES = 512_000
"""Largest form, bytes: a visit with every field of every zone filled in takes some 20,000."""
PHOTO_BYTES = 40_000_000
"""Largest form with photos of sheets, bytes: a photo of 50 megapixels takes some 25,000,000 as JPEG."""
PHOTO_FORMS = re.compile(r"/paper/(?:new|thread|drafts/[^/]+/second)")
WAITING_BYTES = 80_000_000
"""Largest waiting list that a tablet saved, bytes: 20,000 entries take some 10,000,000, photos 54,000,000 at most."""
API_BYTES = 4_200_000
"""Largest request to the JSON interface, bytes: one event may hold 4,000,000."""

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), display-capture=(), geolocation=(), microphone=(), payment=(), usb=()",
}
"""On every answer."""


class ForgedRequest(InputError):  # noqa: N818 - reads as what it is
    """A request that did not come from a page of this desk."""


class TooLarge(InputError):  # noqa: N818
    """A request with more in it than is taken."""


class Guard:
    """The outermost layer of the application."""

    def __init__(self, app: ASGIApp, hosts: Callable[[], Iterable[str]] = lambda: LOOPBACK) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        request = Request(scope)
        limit = _limit_of(request.url.path)
        arrived = 0

        async def counted() -> Message:
            nonlocal arrived
            message = await receive()
            arrived += len(message.get("body", b""))
            if arrived > limit:
                raise _too_large(limit)
            return message

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(raw=message["headers"])
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("cache-control", "no-store")
                message["headers"] = headers.raw
            await send(message)

        try:
            self._check(scope, limit)
        except CoatwrightError as error:
            status = 413 if isinstance(error, TooLarge) else 403
            await failure(request, status, error)(scope, receive, guarded)
            return
        await self.app(scope, counted, guarded)

    def _check(self, scope: Scope, limit: int) -> None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if len(headers.getlist("host")) != 1 or host_name(host) not in self.hosts():
            raise ForgedRequest(
                f"This desk does not answer to the name {host[:80]!r}.",
                where="Host",
                remedy="Open it under the address that it printed when it started.",
            )
        if scope["method"] not in SAFE:
            check_origin(headers, host)
        length = headers.get("content-length", "0")
        if length.isdigit() and int(length) > limit:
            raise _too_large(limit)


def _limit_of(path: str) -> int:
    """The most bytes that an address takes."""
    if PHOTO_FORMS.fullmatch(path) or path.startswith("/api/photos/"):
        return PHOTO_BYTES
    if path == "/tablets/waiting":
        return WAITING_BYTES
    return API_BYTES if path.startswith("/api/") else FORM_BYTES


def check_origin(headers: Headers, host: str) -> None:
    """Refuse a change that another site's page asks for; raises :class:`ForgedRequest`."""
    origin = headers.get("origin")
    site = headers.get("sec-fetch-site")
    if origin is not None:
        if origin not in (f"http://{host}", f"https://{host}"):
            raise _forged(f"the page {origin[:80]}", "Origin")
    elif site is not None:
        if site not in ("same-origin", "none"):
            raise _forged("a page of another site", "Sec-Fetch-Site")
    elif headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise _forged("something that does not say what it is", "Origin")


def host_name(host: str) -> str:
    """The name in a Host header, without its port."""
    name, colon, port = host.rpartition(":")
    return (name if colon and (port.isdigit() or not port) else host).lower().rstrip(".")


def _forged(who: str, where: str) -> ForgedRequest:
    return ForgedRequest(
        f"This change was asked for by {who}. Nothing was changed.",
        where=where,
        remedy="Make it from a page of this desk.",
    )


def _too_large(limit: int) -> TooLarge:
    return TooLarge(
        f"More than {limit / 1000:.0f} kB were sent. Nothing was saved.",
        where="request",
        remedy="Send less at once.",
    )
