"""The application: pages and JSON over the salon's records, and the server for this machine and its tablets."""

from __future__ import annotations

import logging
import socket
import threading
import webbrowser
from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import asynccontextmanager, suppress
from datetime import date
from pathlib import Path

from fastapi import APIRouter, FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from coatwright import __version__
from coatwright.errors import CoatwrightError
from coatwright.salon.salon import today_of
from coatwright.salon.store import Store
from coatwright.web import failures
from coatwright.web.desk import Desk
from coatwright.web.gate import Gate
from coatwright.web.listening import ADDRESS, TABLET_PORT, Tablets, listen, open_reach, run
from coatwright.web.planner import Planner
from coatwright.web.reach import Reach
from coatwright.web.security import LOOPBACK, Guard

STATIC = Path(__file__).resolve().parent / "static"


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
    reach: Reach | None = None,
) -> FastAPI:
    """The desk over a store.

    ``today`` gives the calendar's day, by default that of the store's clock; ``hosts`` are the names that
    are answered to, besides those of ``reach``, which tells what is open to other machines (nothing without it);
    with ``plan_at_start`` every dog is planned in the background when the server starts.
    """
    reach = reach or Reach(store)
    names = tuple(hosts)
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
    app.state.reach = reach
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Gate, reach=lambda: reach)
    app.add_middleware(Guard, hosts=lambda: (*names, *reach.hosts))
    failures.install(app)
    for router in routers():
        app.include_router(router)
    app.mount("/static", Static(directory=STATIC))
    return app


def routers() -> tuple[APIRouter, ...]:
    """The routers of every page and of the JSON interface, in the order in which an address is looked for."""
    from coatwright.web.api.intake import router as intake
    from coatwright.web.api.photos import router as photos
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
    from coatwright.web.pages.tablets.routes import router as tablets
    from coatwright.web.pages.today.routes import router as today
    from coatwright.web.pages.visit.routes import router as visit
    from coatwright.web.pair.routes import router as pair
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
        tablets,
        pair,  # before the table, whose addresses end in any name
        table,
        photos,
        api,
    )


def _plan_all(desk: Desk) -> None:
    try:
        desk.plan_all()
    except CoatwrightError as error:
        logging.getLogger("coatwright.web").error("%s", error.text)


def serve(
    data: Path | str | None = None,
    demo: bool = False,
    port: int | None = None,
    open_browser: bool = True,
    tablets: bool = False,
    plain: bool = False,
    tablet_port: int = TABLET_PORT,
) -> None:
    """Serve the desk on this machine until it is stopped, and print its address.

    ``data`` is the salon's file, folder or address (see :meth:`coatwright.salon.store.Store.open`); ``demo``
    fills a salon without dogs with invented ones; without ``port`` a free one is taken. With ``tablets`` paired
    tablets in the private network are served too, over TLS on ``tablet_port``, and with ``plain`` without TLS on the
    next one. Raises :class:`~coatwright.errors.StoreError` when the records cannot be opened, and
    :class:`~coatwright.errors.OutOfRange` when a port is taken.
    """
    local = listen(ADDRESS, port)
    others: list[socket.socket] = []
    try:
        with Store.open(data) as store:
            if demo:
                from coatwright.demo.salon import fill

                fill(store, today_of(store))
            reach, others = open_reach(store, Tablets(tablet_port, plain) if tablets or plain else None)
            address = f"http://{ADDRESS}:{local.getsockname()[1]}/"
            with suppress(KeyboardInterrupt):  # from the first line on, before the server minds it itself
                print(f"The desk is open at {address}\nThe salon is kept in {store.place}")
                if reach.open:
                    print(f"Tablets reach it at {reach.secure('/table')}; pair them at {address}tablets")
                if reach.plain:
                    print(f"Caution: without a secure connection too, at {reach.unsecured('/table')}")
                print("Ctrl+C stops it.", flush=True)
                if open_browser and _can_open():
                    threading.Timer(0.5, webbrowser.open, (address,)).start()
                run(create_app(store, reach=reach), local, reach, others)
    finally:
        for listener in (local, *others):
            listener.close()


def _can_open() -> bool:
    """Whether there is a browser with a screen to open it on."""
    try:
        found = webbrowser.get()
    except webbrowser.Error:
        return False
    text_only = ("lynx", "links", "elinks", "w3m", "www-browser")
    return getattr(found, "name", "") not in text_only
