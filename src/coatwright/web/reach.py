"""How far the desk reaches: this machine alone, or paired tablets in the private network too."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

from fastapi import Request
from fastapi.responses import Response

from coatwright.salon.devices import Device, Devices
from coatwright.salon.store import Store

if TYPE_CHECKING:
    from coatwright.salon.authority import Authority

COOKIE = "coatwright-tablet"
REMEMBERED = timedelta(days=400)
"""The longest that browsers keep a cookie (RFC 6265bis)."""


@dataclass(slots=True)
class Reach:
    """What is open to other machines. ``authority`` is None while the desk listens to this machine only.

    ``secure_port`` serves over TLS; ``plain_port`` tells how to trust the salon's certificate and, where ``plain``,
    serves without. ``addresses`` are this machine's in private networks, as last seen.
    """

    store: Store
    authority: Authority | None = None
    secure_port: int = 0
    plain_port: int = 0
    plain: bool = False
    addresses: tuple[str, ...] = ()
    _devices: Devices | None = field(default=None)

    @property
    def open(self) -> bool:
        """Whether other machines are answered at all."""
        return self.authority is not None

    @property
    def devices(self) -> Devices:
        """The paired devices and PINs, read when first asked for."""
        if self._devices is None:
            self._devices = Devices.of(self.store)
        return self._devices

    @property
    def hosts(self) -> tuple[str, ...]:
        """Names under which other machines may ask."""
        return () if self.authority is None else (self.authority.host.lower(), *self.addresses)

    def secure(self, path: str, host: str = "") -> str:
        """An address on the secure port, under the salon's name or another of its hosts."""
        name = host or (self.authority.host if self.authority else "localhost")
        return f"https://{name}:{self.secure_port}{path}"

    def unsecured(self, path: str, host: str = "") -> str:
        """An address on the plain port."""
        name = host or (self.authority.host if self.authority else "localhost")
        return f"http://{name}:{self.plain_port}{path}"


def reach_of(request: Request) -> Reach:
    """The reach of the desk that the application serves."""
    found: Reach = request.app.state.reach
    return found


def device_of(request: Request) -> Device | None:
    """The paired device that asks; None for this machine itself."""
    found: Device | None = request.scope.get("device")
    return found


def remember(answer: Response, request: Request, token: str) -> None:
    """Give a device its token as a cookie that no script can read, for as long as browsers keep one."""
    answer.set_cookie(
        COOKIE,
        token,
        max_age=int(REMEMBERED.total_seconds()),
        httponly=True,
        samesite="strict",
        secure=request.url.scheme == "https",
    )
