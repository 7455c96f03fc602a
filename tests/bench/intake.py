"""How many taps the desk keeps a second, and how long one waits for its answer.

python -m tests.bench.intake [--seconds 8] [--connections 50] [--batches 1,20,200]
python -m tests.bench.intake --pace 1 --seconds 600    one tap a second from each tablet, while plans are made

A desk in a process of its own over a salon of invented dogs on this machine's disk; as many connections as tablets,
each with some dogs of its own, each sending its next batch when the last one is answered. Every acknowledged event is
looked for afterwards.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import random
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import psutil

from coatwright.patterns import pattern
from coatwright.patterns.zones import zones
from coatwright.salon.records import Assessment, Dog, LayerReading, ZoneReading
from coatwright.salon.salon import add_dog, today_of
from coatwright.salon.store import Store

ROOT = Path(__file__).parents[2]
DOGS_EACH = 4
BREEDS = ("lakeland", "border", "cairn", "airedale")


@dataclass(frozen=True)
class Figures:
    """Events kept, seconds it took, and the seconds that each request waited."""

    kept: int
    seconds: float
    waits: list[float]
    ids: set[str]

    @property
    def rate(self) -> float:
        """Events a second."""
        return self.kept / self.seconds

    def percentile(self, share: float) -> float:
        """Seconds within which this share of the requests was answered."""
        return sorted(self.waits)[min(int(share * len(self.waits)), len(self.waits) - 1)]


def dog(number: int, today: date) -> Dog:
    """An invented dog whose every pulled zone has been read."""
    layers = tuple(LayerReading(0.2, weeks=age) for age in (0, 3, 6, 9, 12))
    read = {key: ZoneReading(layers) for key, zone in zones().items() if zone.work == "pull"}
    first = today.replace(year=today.year - 1, day=1)
    return Dog(
        f"dog-{number}",
        f"Dog {number}",
        pattern(BREEDS[number % len(BREEDS)]),
        assessments=(Assessment(f"read-{number}", first, read),),
    )


def fill(place: Path, dogs: int) -> None:
    """A salon with so many dogs."""
    with Store.open(place) as store:
        for number in range(dogs):
            add_dog(store, dog(number, today_of(store)))


def taps(tablet: int, count: int, draw: random.Random) -> list[dict[str, object]]:
    """Taps on a tablet's dogs."""
    now, pulled = datetime.now(UTC), [key for key, zone in zones().items() if zone.work == "pull"]
    day = now.astimezone().date().isoformat()
    made = []
    for _ in range(count):
        zone, number = draw.choice(pulled), DOGS_EACH * tablet + draw.randrange(DOGS_EACH)
        take = {
            "share": draw.choice([0.05, 0.1, 0.15]),
            "planned": 0.1,
            "minutes": round(draw.uniform(2, 9), 1),
        }
        data = {"visit": f"table-{day}", "day": day, "zone": zone, "take": take, "device": f"tablet-{tablet}"}
        made.append(
            {
                "id": str(uuid.UUID(int=draw.getrandbits(128), version=4)),
                "stream": f"dog:dog-{number}",
                "kind": "take.logged",
                "at": datetime.now(UTC).isoformat(),
                "by": f"Groomer {tablet}",
                "version": 1,
                "data": data,
            }
        )
    return made


class Line:
    """One connection that stays open."""

    def __init__(self, url: str) -> None:
        host, _, port = url.removeprefix("http://").partition(":")
        self.host, self.port = host, int(port)

    async def __aenter__(self) -> Line:
        self.reader, self.writer = await asyncio.open_connection(self.host, self.port)
        return self

    async def __aexit__(self, *_: object) -> None:
        self.writer.close()

    async def post(self, events: Sequence[dict[str, object]]) -> list[dict[str, str]]:
        """Send events; the answers."""
        body = json.dumps({"events": events}).encode()
        head = (
            f"POST /api/events HTTP/1.1\r\nHost: {self.host}:{self.port}\r\nContent-Type: application/json\r\n"
            f"Content-Length: {len(body)}\r\n\r\n"
        )
        self.writer.write(head.encode() + body)
        await self.writer.drain()
        status = int((await self.reader.readline()).split()[1])
        length = 0
        while (line := await self.reader.readline()) not in (b"\r\n", b""):
            if line.lower().startswith(b"content-length:"):
                length = int(line.split(b":")[1])
        raw = await self.reader.readexactly(length)
        if status != 200:
            raise RuntimeError(f"{status}: {raw[:300]!r}")
        found: list[dict[str, str]] = json.loads(raw)["answers"]
        return found


async def flood(url: str, connections: int, batch: int, seconds: float, pause: float = 0.0) -> Figures:
    """Send batches over every connection for so long; ``pause`` seconds between a batch and the next."""
    waits: list[float] = []
    ids: set[str] = set()
    until = time.perf_counter() + seconds

    async def tablet(number: int) -> None:
        draw = random.Random(f"{number} {batch} {time.time_ns()}")
        async with Line(url) as line:
            if pause:
                await asyncio.sleep(draw.uniform(0.0, pause))
            while time.perf_counter() < until:
                events = taps(number, batch, draw)
                began = time.perf_counter()
                answers = await line.post(events)
                waits.append(time.perf_counter() - began)
                refused = [each for each in answers if each["outcome"] != "kept"]
                if refused:
                    raise RuntimeError(str(refused[0]))
                ids.update(each["id"] for each in answers)
                if pause:
                    await asyncio.sleep(max(0.0, pause - (time.perf_counter() - began)))

    began = time.perf_counter()
    await asyncio.gather(*(tablet(number) for number in range(connections)))
    return Figures(len(ids), time.perf_counter() - began, waits, ids)


def kept_in(place: Path) -> set[str]:
    """The ids of all that is kept."""
    with Store.open(place) as store:
        return {event.id for _, event in store.events()}


@dataclass
class Served:
    """A desk in a process of its own; ``peak`` is the most memory that it was seen to hold, bytes."""

    url: str
    process: subprocess.Popen[str]
    peak: int = 0

    def watch(self, every: float = 0.25) -> threading.Thread:
        """Look at its memory until it ends."""

        def look() -> None:
            with suppress(psutil.Error):
                seen = psutil.Process(self.process.pid)
                while self.process.poll() is None:
                    self.peak = max(self.peak, seen.memory_info().rss)
                    time.sleep(every)

        thread = threading.Thread(target=look, daemon=True)
        thread.start()
        return thread


def start(place: Path, *, plans: bool = False, port: int = 0) -> Served:
    """Start a desk over records, which makes the plans of all dogs or of none."""
    options = ["--serve", str(place), "--port", str(port), *(["--plans"] if plans else [])]
    with place.with_suffix(".log").open("ab") as output:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.intake", *options],
            stdout=subprocess.PIPE,
            stderr=output,
            text=True,
            cwd=ROOT,
        )
    assert process.stdout is not None
    return Served(process.stdout.readline().strip(), process)


@contextmanager
def server(place: Path, *, plans: bool = False) -> Iterator[Served]:
    """The same, stopped at the end."""
    found = start(place, plans=plans)
    try:
        yield found
    finally:
        found.process.terminate()
        found.process.wait()
        if found.process.stdout is not None:
            found.process.stdout.close()


def serve(place: Path, plans: bool, port: int) -> None:
    """Be that desk until stopped."""
    import uvicorn

    from coatwright.web.app import create_app
    from coatwright.web.listening import SWITCH_S, listen

    sys.setswitchinterval(float(os.environ.get("COATWRIGHT_SWITCH_S", SWITCH_S)))
    listener = listen("127.0.0.1", port)
    print(f"http://127.0.0.1:{listener.getsockname()[1]}", flush=True)
    with Store.open(place) as store:
        app = create_app(store, plan_at_start=plans)
        uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False)).run(sockets=[listener])


def paced(connections: int, seconds: float, pace: float) -> tuple[Figures, int, int]:
    """One tap each ``pace`` seconds from each tablet while plans are made: figures, taps lost, most memory, bytes."""
    with tempfile.TemporaryDirectory(prefix="coatwright-bench-") as folder:
        place = Path(folder, "salon.db")
        fill(place, DOGS_EACH * connections)
        with server(place, plans=True) as desk:
            asyncio.run(flood(desk.url, 1, 1, 1.0))
            desk.watch()
            found = asyncio.run(flood(desk.url, connections, 1, seconds, pace))
        return found, len(found.ids - kept_in(place)), desk.peak


def main() -> None:
    """Print a row for each size of batch."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=8.0)
    parser.add_argument("--connections", type=int, default=50)
    parser.add_argument("--batches", default="1,20,200")
    parser.add_argument("--pace", type=float, default=0.0)
    parser.add_argument("--port", type=int, default=0, help=argparse.SUPPRESS)
    parser.add_argument("--serve", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--plans", action="store_true", help=argparse.SUPPRESS)
    told = parser.parse_args()
    if told.serve:
        serve(told.serve, told.plans, told.port)
        return
    if told.pace:
        found, lost, peak = paced(told.connections, told.seconds, told.pace)
        half, most, worst = (1000 * found.percentile(share) for share in (0.5, 0.99, 1.0))
        print(
            f"{told.connections} tablets, a tap each {told.pace:g} s for {told.seconds:g} s, while plans are made"
        )
        print(
            f"{found.kept} kept, {lost} lost; half within {half:.0f} ms, 99 of 100 within {most:.0f} ms,",
            end=" ",
        )
        print(f"the slowest {worst:.0f} ms; at most {peak / 1e6:.0f} MB")
        return
    print(f"{told.connections} connections, {told.seconds:g} s each")
    print("| events at once | kept a second | half within | 99 of 100 within | lost |")
    print("| ---: | ---: | ---: | ---: | ---: |")
    for batch in (int(each) for each in told.batches.split(",")):
        with tempfile.TemporaryDirectory(prefix="coatwright-bench-") as folder:
            place = Path(folder, "salon.db")
            fill(place, DOGS_EACH * told.connections)
            with server(place) as desk:
                asyncio.run(
                    flood(desk.url, 1, 1, 1.0)
                )  # what is loaded with the first request does not count
                found = asyncio.run(flood(desk.url, told.connections, batch, told.seconds))
            lost = found.ids - kept_in(place)
        half, most = (1000 * found.percentile(share) for share in (0.5, 0.99))
        print(f"| {batch} | {found.rate:.0f} | {half:.0f} ms | {most:.0f} ms | {len(lost)} |", flush=True)


if __name__ == "__main__":
    main()
