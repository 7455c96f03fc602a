"""The server: always on this machine's loopback address, and beside it for tablets in the private network.

With tablets there are three doors into one application: the loopback address as ever; TLS under the salon's name and
this machine's private addresses; and a plain one that only tells how to trust the certificate, unless it is asked to
serve. The machine is announced by name (multicast DNS, RFC 6762 and 6763), and its certificate is looked after.
"""

from __future__ import annotations

import asyncio
import logging
import socket
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coatwright.errors import OutOfRange
from coatwright.salon.authority import Authority, private_addresses
from coatwright.salon.devices import folder_of
from coatwright.salon.store import Store
from coatwright.web.reach import Reach

if TYPE_CHECKING:
    import uvicorn
    from fastapi import FastAPI

ADDRESS = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
TABLET_PORT = 8740
"""Port for tablets over TLS; the plain one is the next. Fixed, since tablets keep the address."""
LOOKED_AFTER = 60.0
"""Seconds between two looks at addresses and certificate."""
SERVICE = "_coatwright._tcp.local."
SWITCH_S = 0.0005
"""Seconds after which a thread that computes lets another one go on; Python's own 5 ms, waited for at each step of an
intake while plans are made, add up to what a hand at the table notices."""
LOG = logging.getLogger("coatwright.web")


@dataclass(frozen=True, slots=True)
class Tablets:
    """How tablets are served: ``port`` over TLS, ``plain`` without as well."""

    port: int = TABLET_PORT
    plain: bool = False


def listen(address: str, port: int | None) -> socket.socket:
    """A socket on an address: on ``port``, or on a free one. Raises :class:`OutOfRange` when it is taken."""
    # named as TCP, so that asyncio switches Nagle's algorithm off: an answer in parts would wait 40 ms for each
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port or 0))
        listener.listen(128)
    except (OSError, OverflowError) as error:
        listener.close()
        raise OutOfRange(
            f"The desk cannot listen on port {port}: {error}.",
            where="port",
            remedy="Give another port, or none to take a free one.",
        ) from error
    return listener


def open_reach(store: Store, tablets: Tablets | None) -> tuple[Reach, list[socket.socket]]:
    """The reach of a desk and, with tablets, its secure and its plain socket."""
    if tablets is None:
        return Reach(store), []
    secure = listen(EVERYWHERE, tablets.port)
    try:
        plain = listen(EVERYWHERE, tablets.port + 1)
    except OutOfRange:
        secure.close()
        raise
    reach = Reach(
        store,
        Authority(folder_of(store)),
        secure.getsockname()[1],
        plain.getsockname()[1],
        tablets.plain,
        private_addresses(),
    )
    return reach, [secure, plain]


def run(app: FastAPI, local: socket.socket, reach: Reach, others: Sequence[socket.socket]) -> None:
    """Serve until stopped."""
    import uvicorn

    sys.setswitchinterval(SWITCH_S)

    def config(**more: Any) -> uvicorn.Config:
        return uvicorn.Config(
            app,
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=3,
            **more,
        )

    if reach.authority is None:
        uvicorn.Server(config(lifespan="on")).run(sockets=[local])
        return
    served = reach.authority.served(reach.addresses)
    secure = config(lifespan="off", ssl_certfile=served.certificate, ssl_keyfile=served.key)
    beside = [uvicorn.Server(secure), uvicorn.Server(config(lifespan="off"))]
    doors = _Doors(list(zip(beside, others, strict=True)), reach)

    class Desk(uvicorn.Server):
        """The first door; the others open and close with it, before what they lead to is closed."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            await doors.open()

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            await doors.close()
            await super().shutdown(sockets)

    with suppress(KeyboardInterrupt):
        Desk(config(lifespan="on")).run(sockets=[local])


class _Doors:
    """The doors for other machines, and the task that looks after them."""

    def __init__(self, servers: list[tuple[uvicorn.Server, socket.socket]], reach: Reach) -> None:
        self._servers = servers
        self._reach = reach
        self._tasks: list[asyncio.Task[None]] = []

    async def open(self) -> None:
        """Begin to serve."""
        for server, listener in self._servers:
            server.config.load()
            server.lifespan = server.config.lifespan_class(server.config)
            await server.startup(sockets=[listener])
            self._tasks.append(asyncio.create_task(server.main_loop()))
        self._tasks.append(asyncio.create_task(_look_after(self._servers[0][0], self._reach)))

    async def close(self) -> None:
        """Answer what was asked, then serve no more."""
        for server, _ in self._servers:
            server.should_exit = True
        for task in self._tasks[len(self._servers) :]:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        for server, listener in self._servers:
            await server.shutdown(sockets=[listener])


async def _look_after(secure: uvicorn.Server, reach: Reach) -> None:
    """Announce the machine, follow its addresses, renew its certificate; until cancelled."""
    assert reach.authority is not None
    announced = _Announced()
    try:
        await announced.anew(reach)
        loaded, told = _written(reach.authority), ""
        while True:
            await asyncio.sleep(LOOKED_AFTER)
            try:
                loaded = await _look(secure, reach, announced, loaded)
                told = ""
            except (
                Exception
            ) as error:  # such as a full disk: the name stays announced, the next look may succeed
                if str(error) != told:
                    LOG.error("Tablets cannot be looked after now: %s", error)
                told = str(error)
    finally:
        await announced.close()


def _written(authority: Authority) -> int:
    """When the server's certificate was written, in nanoseconds."""
    return authority.folder.joinpath("server.pem").stat().st_mtime_ns


async def _look(secure: uvicorn.Server, reach: Reach, announced: _Announced, loaded: int) -> int:
    """Follow the addresses and renew the certificate, once; when the one that is served now was written."""
    assert reach.authority is not None
    addresses = await asyncio.to_thread(private_addresses)
    if addresses != reach.addresses:
        reach.addresses = addresses
        await announced.anew(reach)
    served = await asyncio.to_thread(reach.authority.served, addresses)
    written = _written(reach.authority)
    if written != loaded and secure.config.ssl is not None:
        secure.config.ssl.load_cert_chain(served.certificate, served.key)
    return written


class _Announced:
    """The machine's name in the private network."""

    def __init__(self) -> None:
        self._zeroconf: Any = None

    async def anew(self, reach: Reach) -> None:
        """Announce the name with the addresses of now. A network without multicast is told of, and no error."""
        from zeroconf import IPVersion, ServiceInfo
        from zeroconf.asyncio import AsyncZeroconf

        await self.close()
        if not reach.addresses or reach.authority is None:
            return
        try:
            info = ServiceInfo(
                SERVICE,
                f"{reach.authority.name}.{SERVICE}",
                parsed_addresses=list(reach.addresses),
                port=reach.secure_port,
                properties={"path": "/table"},
                server=f"{reach.authority.host}.",
            )
            self._zeroconf = AsyncZeroconf(interfaces=list(reach.addresses), ip_version=IPVersion.V4Only)
            await self._zeroconf.async_register_service(info)
        except Exception as error:
            LOG.warning("The name %s cannot be announced: %s", reach.authority.host, error)
            await self.close()

    async def close(self) -> None:
        """Take the name back."""
        found, self._zeroconf = self._zeroconf, None
        if found is not None:
            with suppress(Exception):
                await found.async_unregister_all_services()
                await found.async_close()
