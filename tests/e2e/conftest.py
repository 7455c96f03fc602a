"""What the walks through the desk share."""

from __future__ import annotations

import json
import time
import urllib.request
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from coatwright.web.planner import Planner

READY_S = 180.0
expect.set_options(timeout=30_000)
"""Plans and pages take long where loops are still being compiled."""
SIZES = {390: 844, 820: 1180, 1440: 900}


def get(address: str) -> Any:
    """JSON from the desk."""
    with urllib.request.urlopen(address, timeout=60) as answer:
        return json.load(answer)


@pytest.fixture(scope="session")
def planned_desk(desk) -> dict[str, dict[str, Any]]:
    """The demo's dogs by id, once every one of them is planned."""
    until = time.monotonic() + READY_S
    while True:
        dogs = get(f"{desk.url}/api/dogs")["dogs"]
        if all(dog["plan"] != "working" for dog in dogs):
            return {dog["id"]: dog for dog in dogs}
        assert time.monotonic() < until, "the demo's plans are not made in time"
        time.sleep(0.3)


@pytest.fixture(scope="session")
def table_planner() -> Iterator[Planner]:
    """Makes the plans of every desk for the table in a process: the two dogs of one are those of the next."""
    made = Planner()
    yield made
    made.close()


@pytest.fixture
def complaints(context: BrowserContext) -> Iterator[list[str]]:
    """What the browser complains about in any page: errors of scripts, refusals of the policy, lost files."""
    said: list[str] = []
    context.on(
        "console", lambda message: said.append(message.text) if message.type in ("error", "warning") else None
    )
    context.on("weberror", lambda error: said.append(str(error.error)))
    yield said
    assert said == []


@pytest.fixture
def settle() -> Callable[[Page], None]:
    """``settle(page)`` waits until no plan is being made on the page and htmx is done."""

    def wait(page: Page) -> None:
        until = time.monotonic() + READY_S
        while page.locator(".working, .htmx-request").count():
            assert time.monotonic() < until
            page.wait_for_timeout(50)

    return wait


def plan_of(desk_url: str, key: str) -> dict[str, Any]:
    """A dog's plan, waited for: the desk answers how far it has come until it is made."""
    until = time.monotonic() + READY_S
    while "working" in (plan := get(f"{desk_url}/api/dogs/{key}/plan")):
        assert time.monotonic() < until, plan
    return dict(plan)


def zone_planned(
    desk_url: str, dogs: dict[str, dict[str, Any]], today: str, share: float
) -> tuple[str, str] | None:
    """A dog that is due today, and a zone of it of which just ``share`` is planned."""
    for key, dog in dogs.items():
        if dog["next_visit"] != today:
            continue
        plan = plan_of(desk_url, key)
        tender = {zone["key"] for zone in plan["zones"] if zone["tender"]}
        for zone, take in plan["visits"][0]["takes"].items():
            if abs(take - share) < 1e-6 and zone not in tender:
                return key, zone
    return None
