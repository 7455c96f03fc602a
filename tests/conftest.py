"""Fixtures that several rooms share: the browser, its accessibility check, and a running desk."""

from __future__ import annotations

import contextlib
import json
import os
import socket
import subprocess
import sys
import sysconfig
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tools.starting.browsers import find_chromium
from tools.starting.words import CannotStart, no_chromium
from tools.starting.work import os_release

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""Matrices here are small, and two test processes share the cores: threads that wait for a share of one only spin.
numpy reads it when it is first imported, and so does every program that a test starts in the same environment."""
ROOT = Path(__file__).resolve().parent.parent
AXE = ROOT / "browser" / "node_modules" / "axe-core" / "axe.min.js"
BROWSER_FIXTURES = {"chromium", "browser", "context", "page", "axe"}
FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DESK_READY_S = 120.0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever uses the browser is an end-to-end test, so that ``-m 'not e2e'`` leaves it out.

    What uses the demo's desk comes first: processes take tests over from the end of each other's list, so the demo's
    dogs are planned in one of them only.
    """
    for item in items:
        if BROWSER_FIXTURES & set(getattr(item, "fixturenames", ())):
            item.add_marker(pytest.mark.e2e)
    items.sort(key=lambda item: not uses_the_demo(item))


def uses_the_demo(item: pytest.Item) -> bool:
    """Whether a test uses the desk that all tests of a process share, not one that its file makes itself."""
    return "desk" in getattr(item, "fixturenames", ()) and not hasattr(getattr(item, "module", None), "desk")


# --- the browser ------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the browser; the test fails, saying what to install, where there is none."""
    try:
        found = find_chromium()
    except CannotStart as error:
        pytest.fail(str(error))
    if found is None:
        pytest.fail(no_chromium(sys.platform, os_release()))
    return found


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """One headless browser for all tests of a process."""
    from playwright.sync_api import sync_playwright

    root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=[*FLAGS, *root])
        yield running
        running.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A fresh profile: no cookies, no storage."""
    fresh = browser.new_context(viewport={"width": 1440, "height": 900}, locale="en-GB")
    yield fresh
    fresh.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    """An empty page in a fresh profile."""
    return context.new_page()


@pytest.fixture(scope="session")
def axe() -> Callable[[Page], list[dict[str, Any]]]:
    """``axe(page)`` gives the violations that axe-core finds on the page as it now stands.

    The script goes in over the debugging protocol, which the page's content-security policy does not rule.
    """
    source = AXE.read_text(encoding="utf-8")

    def violations(page: Page, **options: Any) -> list[dict[str, Any]]:
        protocol = page.context.new_cdp_session(page)
        try:
            loaded = protocol.send("Runtime.evaluate", {"expression": f"{source}; typeof axe.run"})
            assert loaded["result"].get("value") == "function", loaded
            asked = json.dumps({"resultTypes": ["violations"], **options})
            check = f"axe.run(document, {asked}).then(r => JSON.stringify(r.violations))"
            answer = protocol.send("Runtime.evaluate", {"expression": check, "awaitPromise": True})
        finally:
            protocol.detach()
        assert "exceptionDetails" not in answer, answer
        found: list[dict[str, Any]] = json.loads(answer["result"]["value"])
        return found

    return violations


# --- the desk ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Desk:
    """A running desk with the demo salon."""

    url: str
    data: Path
    log: Path


def free_port() -> int:
    """A port of the loopback address that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def answers(url: str) -> bool:
    """Whether a server answers there at all, with whatever status."""
    try:
        with urllib.request.urlopen(url, timeout=2):
            return True
    except urllib.error.HTTPError as error:
        error.close()
        return True
    except OSError:
        return False


@contextlib.contextmanager
def running_desk(*options: str) -> Iterator[Desk]:
    """Start the desk on a free port with its own data, wait until it answers; stop it at the end."""
    program = str(Path(sysconfig.get_path("scripts"), "coatwright.exe" if os.name == "nt" else "coatwright"))
    with tempfile.TemporaryDirectory(prefix="coatwright-desk-", ignore_cleanup_errors=True) as folder:
        port, data, log = free_port(), Path(folder, "data"), Path(folder, "desk.log")
        data.mkdir()
        command = [program, "desk", "--port", str(port), "--no-browser", "--data", str(data), *options]
        with log.open("wb") as output:
            process = subprocess.Popen(
                command, cwd=folder, stdin=subprocess.DEVNULL, stdout=output, stderr=subprocess.STDOUT
            )
        try:
            desk = Desk(f"http://127.0.0.1:{port}", data, log)
            until = time.monotonic() + DESK_READY_S
            while not answers(desk.url):
                if process.poll() is not None or time.monotonic() > until:
                    said = log.read_text(encoding="utf-8", errors="replace")
                    pytest.fail(f"The desk did not start:\n{said}")
                time.sleep(0.1)
            yield desk
        finally:
            process.terminate()
            try:
                process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


@pytest.fixture(scope="session")
def run_desk() -> Callable[..., contextlib.AbstractContextManager[Desk]]:
    """``with run_desk("--demo") as desk:`` for a desk of one's own, to be changed or broken."""
    return running_desk


@pytest.fixture(scope="session")
def desk() -> Iterator[Desk]:
    """A desk with the demo salon, one for all tests of a process: tests that change it take their own dog."""
    with running_desk("--demo") as running:
        yield running
