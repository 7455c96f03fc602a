"""A salon for the page at the table: two dogs of 18 zones due today, and the desk over it."""

from __future__ import annotations

import contextlib
import json
import socket
import threading
import time
import urllib.request
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import uvicorn

from coatwright.patterns import pattern
from coatwright.patterns.zones import zones
from coatwright.salon.records import Assessment, Dog, DogLimits, DogWish, LayerReading, Person, ZoneReading
from coatwright.salon.salon import add_dog, save_person
from coatwright.salon.store import Store
from coatwright.web.app import create_app
from coatwright.web.planner import Planner

READY_S = 240.0
ZONES = tuple(zone.key for zone in zones().values() if zone.work == "pull")[:18]
WEEKS = (0, 2, 4, 6, 8)


def today() -> date:
    """The day where the desk runs."""
    return datetime.now().astimezone().date()


def dog(key: str, name: str, day: date) -> Dog:
    """A rolled terrier, 18 zones read a fortnight ago; by hand, a fifth of each goes today."""
    reading = ZoneReading(tuple(LayerReading(1.0 / len(WEEKS), weeks=age) for age in WEEKS))
    return Dog(
        id=key,
        name=name,
        pattern=pattern("lakeland"),
        weight_kg=7.4,
        limits=DogLimits(minutes=180, cadences=(14,)),
        wish=DogWish(ready_from=day, horizon_weeks=8, approach="rolling"),
        assessments=(Assessment("a1", day - timedelta(days=14), dict.fromkeys(ZONES, reading)),),
        fixed={(zone, day): 0.2 for zone in ZONES},
        rhythm=14,
    )


def fill(folder: Path) -> None:
    """Put the salon into a folder."""
    day = today()
    with Store.open(folder) as store:
        save_person(store, Person("ivo", "Ivo Teaselby", "groomer"))
        add_dog(store, dog("bracken", "Bracken", day), today=day)
        add_dog(store, dog("sedge", "Sedge", day), today=day)


@contextlib.contextmanager
def started_desk(run_desk: Callable[..., Any], folder: Path, *options: str) -> Iterator[str]:
    """The address of a desk over such a salon, a program of its own with ``options``, once its dogs are planned."""
    folder.mkdir(parents=True, exist_ok=True)
    fill(folder)
    with run_desk("--data", str(folder), *options) as desk:
        _wait_until_planned(desk.url)
        yield desk.url


@contextlib.contextmanager
def table_desk(planner: Planner, folder: Path) -> Iterator[str]:
    """The same in a thread of the tests, with plans by a planner that remembers them from one desk to the next."""
    folder.mkdir(parents=True, exist_ok=True)
    fill(folder)
    with socket.socket() as door, Store.open(folder) as store:
        door.bind(("127.0.0.1", 0))
        door.listen()
        app = create_app(store, planner=planner)
        server = uvicorn.Server(
            uvicorn.Config(app, log_level="warning", access_log=False, server_header=False)
        )
        serving = threading.Thread(target=server.run, kwargs={"sockets": [door]})
        serving.start()
        try:
            url = f"http://127.0.0.1:{door.getsockname()[1]}"
            _wait_until_planned(url)
            yield url
        finally:
            server.should_exit = True
            serving.join()


def _wait_until_planned(url: str) -> None:
    until = time.monotonic() + READY_S
    while get(f"{url}/table/today.json")["waiting"]:
        assert time.monotonic() < until, "the plans are not made in time"
        time.sleep(0.1)


def get(address: str) -> Any:
    """JSON from the desk."""
    with urllib.request.urlopen(address, timeout=60) as answer:
        return json.load(answer)


def events(url: str) -> list[dict[str, Any]]:
    """All that the desk has kept, oldest first."""
    found: list[dict[str, Any]] = []
    while True:
        page = get(f"{url}/api/events?since={found[-1]['number'] if found else 0}&limit=1000")["events"]
        if not page:
            return found
        found += page


def visit(url: str, key: str) -> dict[str, Any]:
    """Today's visit of a dog as the desk has it; empty when it has none."""
    day = today().isoformat()
    return next((each for each in get(f"{url}/api/dogs/{key}")["visits"] if each["day"] == day), {})


def kill_browser(profile: Path) -> int:
    """Kill every process of the browser that holds a profile, as a tablet that loses its battery; how many."""
    import psutil

    own = f"--user-data-dir={profile}"
    killed = 0
    for process in psutil.process_iter(["cmdline"]):
        if own in (process.info["cmdline"] or ()):
            process.kill()
            killed += 1
    return killed
