"""The page at the table: how soon it can be used without a network, and what it weighs. Prints both.

``python -m tests.bench.table``; with ``--faults`` it also counts what a losing network and killed browsers cost (some
minutes; ``--entries`` and ``--kills`` say how many), with ``--write`` the figures go to
``docs/reference/table-figures.md``.
"""

from __future__ import annotations

import argparse
import gzip
import os
import platform
import statistics
import tempfile
import time
import urllib.request
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from coatwright.web.table.routes import shell
from tests.conftest import FLAGS, running_desk
from tests.faults.table_salon import get
from tools.starting.browsers import find_chromium

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "table-figures.md"
SLOWER = 6
LOADS = 9
HEADING = "## Nothing lost, nothing twice"
KILOBYTE = 1000.0
USABLE = "() => performance.getEntriesByName('usable')[0].startTime"


def weight(url: str) -> tuple[float, float]:
    """Compressed bytes of all that the page loads before it can be used, icons left out, and of the day's list."""
    found = shell()
    parts = [found.page, found.worker]
    parts += [body for name, body in found.files.items() if not name.endswith(".png")]
    with urllib.request.urlopen(f"{url}/table/today.json", timeout=120) as answer:
        day = answer.read()
    return sum(len(gzip.compress(part, 5)) for part in parts), len(gzip.compress(day, 5))


def usable_offline(url: str, profile: Path) -> list[float]:
    """Seconds from the start of the navigation until everything shown can be tapped, without a network."""
    root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    found = []
    with sync_playwright() as playwright:
        context = playwright.chromium.launch_persistent_context(
            str(profile),
            executable_path=find_chromium(),
            args=[*FLAGS, *root],
            viewport={"width": 820, "height": 1180},
            has_touch=True,
        )
        page = context.pages[0]
        page.goto(f"{url}/table")
        page.locator("button.dog").first.wait_for()
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        page.wait_for_timeout(1500)
        context.set_offline(True)
        wire = context.new_cdp_session(page)
        wire.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        for _ in range(LOADS):
            page.goto(f"{url}/table")
            page.locator("button.dog").first.wait_for()
            found.append(page.evaluate(USABLE) / 1000.0)
        context.close()
    return found


def rows() -> list[str]:
    """A table of the figures."""
    with running_desk("--demo") as desk, tempfile.TemporaryDirectory() as folder:
        while (day := _day(desk.url))["waiting"]:
            time.sleep(0.5)
        page, bundle = weight(desk.url)
        times = usable_offline(desk.url, Path(folder))
    dogs, zones = len(day["dogs"]), sum(len(dog["zones"]) for dog in day["dogs"])
    return [
        "| the page at the table | figure | target |",
        "| --- | ---: | ---: |",
        f"| usable without a network, processor {SLOWER} times slower, median of {LOADS} | "
        f"{statistics.median(times):.2f} s ({min(times):.2f} to {max(times):.2f}) | 1 s |",
        f"| the page with all its files, compressed | {page / KILOBYTE:.1f} kB | |",
        f"| a day of {dogs} dogs with {zones} zones, compressed | {bundle / KILOBYTE:.1f} kB | |",
        f"| both | {(page + bundle) / KILOBYTE:.1f} kB | 150 kB |",
    ]


def faults(entries: int, kills: int) -> list[str]:
    """What came of so many entries and more, in a sentence."""
    from tests.faults.test_table_outbox import hammered

    with sync_playwright() as playwright, tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=[*FLAGS, "--no-sandbox"])
        figure = hammered(
            browser, running_desk, Path(folder), entries=entries, kills=kills, locks=True, seed=2
        )
        browser.close()
    about = (
        "Two tabs tap through a network that drops 30 % of requests and 30 % of answers, sends some twice and "
        "some late, while the browser is killed again and again (more at the desk than told: on the disk when the "
        "browser was killed, before the page could say so)."
    )
    return ["", HEADING, "", about, "", f"{datetime.now(UTC):%Y-%m-%d}: {figure}."]


def kept() -> list[str]:
    """What the page says of lost entries since they were counted last."""
    _, heading, rest = PAGE.read_text("utf-8").partition(HEADING)
    return ["", heading + rest.rstrip()] if heading else []


def _day(url: str) -> dict[str, Any]:
    found: dict[str, Any] = get(f"{url}/table/today.json")
    return found


def main() -> None:
    """Measure, print, and write the page where that is asked for."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--write", action="store_true", help=f"write {PAGE.name}")
    reader.add_argument("--faults", action="store_true", help="count what is lost and doubled, too")
    reader.add_argument("--entries", type=int, default=1000, help="entries with --faults, at least")
    reader.add_argument("--kills", type=int, default=20, help="browsers killed with --faults")
    wanted = reader.parse_args()
    lines = rows()
    lines += faults(wanted.entries, wanted.kills) if wanted.faults else kept()
    print("\n".join(lines))
    if wanted.write:
        about = (
            f"Measured on {datetime.now(UTC):%Y-%m-%d} ({os.cpu_count()} cores, {platform.machine()}, Python "
            f"{platform.python_version()}, load {os.getloadavg()[0]:.0f}) by `python -m tests.bench.table --write`. "
            "Machines differ and are noisy."
        )
        PAGE.write_text("\n".join(["# The page at the table, measured", "", about, "", *lines, ""]), "utf-8")


if __name__ == "__main__":
    main()
