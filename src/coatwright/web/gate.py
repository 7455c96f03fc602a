"""The gate between this machine and the others: only paired devices come in, and each only where it may.

This machine itself, by its loopback address, is asked nothing. At the doors for others the pages that pair a tablet
are open, and everything else is for devices that show their token; one paired for the table reaches the page at the
table and what it sends, not the desk's pages, and none reaches the page on which devices are paired.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from coatwright.errors import CoatwrightError, InputError
from coatwright.salon.devices import Device, NotPaired
from coatwright.web.failures import failure
from coatwright.web.reach import COOKIE, Reach

TRUST = ("/pair/trust", "/pair/authority.crt")
"""How a tablet is told to trust the salon's certificate: open on the plain port too."""
OPEN = ("/pair", "/pair/pair.js", *TRUST)
"""What a tablet needs before it is paired."""


class NotForThisDevice(InputError):  # noqa: N818 - reads as what it is
    """A paired device asks for what is not for it."""


class Gate:
    """Inside the guard, before any page."""

    def __init__(self, app: ASGIApp, reach: Callable[[], Reach]) -> None:
        self.app = app
        self.reach = reach

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            here = is_loopback(scope) and not self._at_their_door(scope)
            if not here:
                refused = self._refused(scope)
                if refused is not None:
                    await refused(scope, receive, send)
                    return
        await self.app(scope, receive, send)

    def _at_their_door(self, scope: Scope) -> bool:
        """Whether it comes by a door for other machines: there even this machine has to be paired."""
        reach, server = self.reach(), scope.get("server")
        return reach.open and server is not None and server[1] in (reach.secure_port, reach.plain_port)

    def _refused(self, scope: Scope) -> Response | None:
        """The answer to a device that may not come in; None when it may."""
        request, reach, path = Request(scope), self.reach(), scope["path"]
        token = request.cookies.get(COOKIE, "")
        device = reach.devices.known(token) if token and reach.open else None
        if scope["scheme"] == "http" and not reach.plain:
            if path in TRUST or path.startswith("/static/"):
                return None
            return _told(request, 403, _unsecured(reach), "/pair/trust")
        if path in OPEN or path.startswith("/static/"):
            scope["device"] = device if device is not None and device.good else None
            return None
        if device is None or not device.good:
            return _told(request, 401, _unpaired(device), "/pair?gone" if device else "/pair")
        if not may(device, scope["method"], path):
            return _told(request, 403, _not_for(device), "/table" if device.kind == "table" else "")
        scope["device"] = device
        return None


def is_loopback(scope: Scope) -> bool:
    """Whether a request comes from this machine: by its address, or from no network at all."""
    client = scope.get("client")
    if not client:
        return True
    try:
        address = ipaddress.ip_address(client[0])
    except ValueError:
        return True
    mapped = getattr(address, "ipv4_mapped", None)
    return address.is_loopback or (mapped is not None and mapped.is_loopback)


def may(device: Device, method: str, path: str) -> bool:
    """Whether a paired device may ask for a path."""
    if path == "/tablets" or path.startswith("/tablets/"):
        return False
    if device.kind == "desk":
        return True
    if path == "/table" or path.startswith(("/table/", "/api/photos/", "/photos/")):
        return True
    return path == "/api/events" and method == "POST"


def _told(request: Request, status: int, error: CoatwrightError, instead: str) -> Response:
    """A reader is led on to where it goes on; a program is told in JSON."""
    reads = request.method in ("GET", "HEAD") and "text/html" in request.headers.get("accept", "")
    if reads and instead:
        return RedirectResponse(instead, 303)
    if request.url.path.startswith("/table"):
        return JSONResponse(error.as_json(), status_code=status)
    return failure(request, status, error)


def _unsecured(reach: Reach) -> CoatwrightError:
    return NotForThisDevice(
        "This desk speaks to other machines over a secure connection only.",
        where="address",
        remedy=f"Open {reach.secure('/table')} there." if reach.open else "Open it on the salon's computer.",
    )


def _unpaired(device: Device | None) -> CoatwrightError:
    if device is not None:
        return NotPaired(
            f"{device.name} was taken off the list of tablets.",
            where="tablet",
            remedy="Pair this tablet again at the salon's computer; what waits on it is sent then.",
        )
    return NotPaired(
        "This tablet is not paired with this desk.",
        where="tablet",
        remedy="Pair it: at the salon's computer, on the page Tablets.",
    )


def _not_for(device: Device) -> CoatwrightError:
    return NotForThisDevice(
        f"{device.name} is paired for the table.",
        where="address",
        remedy="Open the page at the table, or pair this device as a desk at the salon's computer.",
    )
