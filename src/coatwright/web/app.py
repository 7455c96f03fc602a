"""The application: pages and JSON over the salon's records, and the server for this machine alone."""

from __future__ import annotations

import logging
import socket
import sys
import threading
import webbrowser
from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import asynccontextmanager
from datetime import date
from pathlib import Path

from fastapi import APIRouter, FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from coatwright import __version__
from coatwright.errors import CoatwrightError, OutOfRange
from coatwright.salon.salon import today_of
from coatwright.salon.store import Store
from coatwright.web import failures
from coatwright.web.desk import Desk
from coatwright.web.planner import Planner
from coatwright.web.security import LOOPBACK, Guard

STATIC = Path(__file__).resolve().parent / "static"
ADDRESS = "127.0.0.1"


class Static(StaticFiles):
    """Files of the pages; a browser may keep them but asks whether they have changed."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, with how long it may be kept."""
        answer = await super().get_response(path, scope)
        answer.headers["cache-control"] = "no-cache"
        return answer


def create_app(
    store: Store,
    *,
    today: Callable[[], date] | None = None,
    planner: Planner | None = None,
    hosts: Iterable[str] = LOOPBACK,
    plan_at_start: bool = True,
) -> FastAPI:
    """The desk over a store.

    ``today`` gives the calendar's day, by default that of the store's clock; ``hosts`` are the names that
    are answered to; with ``plan_at_start`` every dog is planned in the background when the server starts.
    """
    desk = Desk(store, today or (lambda: today_of(store)), planner)

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        if plan_at_start:
            threading.Thread(target=_plan_all, args=(desk,), daemon=True).start()
        yield
        desk.close()

    app = FastAPI(
        title="Coatwright",
        version=__version__,
        summary="Coats of dogs, their plans and visits, as JSON.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=life,
    )
    app.state.desk = desk
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Guard, hosts=hosts)
    failures.install(app)
    for router in routers():
        app.include_router(router)
    app.mount("/static", Static(directory=STATIC))
    return app


def routers() -> tuple[APIRouter, ...]:
    """The routers of every page and of the JSON interface, in the order in which an address is looked for."""
    from coatwright.web.api.intake import router as intake
    from coatwright.web.api.routes import router as api
    from coatwright.web.pages.assess.routes import router as assess
    from coatwright.web.pages.dog.routes import router as dog
    from coatwright.web.pages.dogs.routes import router as dogs
    from coatwright.web.pages.known.routes import router as known
    from coatwright.web.pages.paper.routes import router as paper
    from coatwright.web.pages.people.routes import router as people
    from coatwright.web.pages.plan.approaches import router as approaches
    from coatwright.web.pages.plan.routes import router as plan
    from coatwright.web.pages.plan.versions import router as versions
    from coatwright.web.pages.reading.routes import router as reading
    from coatwright.web.pages.record.routes import router as record
    from coatwright.web.pages.settings.routes import router as settings
    from coatwright.web.pages.shows.routes import router as shows
    from coatwright.web.pages.today.routes import router as today
    from coatwright.web.pages.visit.routes import router as visit
    from coatwright.web.table.routes import router as table

    return (
        intake,  # first, since tablets ask for it far more often than for anything else
        today,
        dogs,
        record,
        dog,
        plan,
        approaches,
        versions,
        visit,
        reading,
        known,
        assess,
        paper,
        shows,
        people,
        settings,
        table,
        api,
    )


def _plan_all(desk: Desk) -> None:
    try:
        desk.plan_all()
    except CoatwrightError as error:
        logging.getLogger("coatwright.web").error("%s", error.text)


def serve(
    data: Path | str | None = None, demo: bool = False, port: int | None = None, open_browser: bool = True
) -> None:
    """Serve the desk on this machine until it is stopped, and print its address.

    ``data`` is the salon's file, folder or address (see :meth:`coatwright.salon.store.Store.open`); ``demo``
    fills a salon without dogs with invented ones; without ``port`` a free one is taken. Raises
    :class:`~coatwright.errors.StoreError` when the records cannot be opened, and
    :class:`~coatwright.errors.OutOfRange` when the port is taken.
    """
    import uvicorn

    listener = _listen(port)
    try:
        with Store.open(data) as store:
            if demo:
                from coatwright.demo.salon import fill

                fill(store, today_of(store))
            address = f"http://{ADDRESS}:{listener.getsockname()[1]}/"
            print(
                f"The desk is open at {address}\nThe salon is kept in {store.place}\nCtrl+C stops it.",
                flush=True,
            )
            server = uvicorn.Server(
                uvicorn.Config(
                    create_app(store),
                    log_level="warning",
                    access_log=False,
                    server_header=False,
                    lifespan="on",
                )
            )
            if open_browser and _can_open():
                threading.Timer(0.5, webbrowser.open, (address,)).start()
            server.run(sockets=[listener])
    finally:
        listener.close()


def _listen(port: int | None) -> socket.socket:
    """A socket on the loopback address: on ``port``, or on a free one."""
    # named as TCP, so that asyncio switches Nagle's algorithm off: an answer in parts would wait 40 ms for each
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((ADDRESS, port or 0))
        listener.listen(128)
    except (OSError, OverflowError) as error:
        listener.close()
        raise OutOfRange(
            f"The desk cannot listen on port {port}: {error}.",
            where="port",
            remedy="Give another port, or none to take a free one.",
        ) from error
    return listener


def _can_open() -> bool:
    """Whether there is a browser with a screen to open it on."""
    try:
        found = webbrowser.get()
    except webbrowser.Error:
        return False
    text_only = ("lynx", "links", "elinks", "w3m", "www-browser")
    return getattr(found, "name", "") not in text_only
