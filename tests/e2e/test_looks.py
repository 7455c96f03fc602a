"""Every page in every size, by day and by night: nothing that axe objects to, nothing cut off, targets large enough.

Pictures go to the folder that ``COATWRIGHT_SHOTS`` names, where it does, to be looked at.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from tests.e2e.conftest import SIZES, get

PAGES = {
    "today": "/",
    "dogs": "/dogs",
    "found": "/dogs?q=zzz",
    "new": "/dogs/new",
    "shows": "/shows",
    "people": "/people",
    "dog": "/dogs/{dog}",
    "shaded": "/dogs/{dog}?day=28&by=cover",
    "plan": "/dogs/{dog}/plan",
    "cell": "/dogs/{dog}/plan?cell={zone}.{day}&visit={day}",
    "tried": "/dogs/{dog}/plan?own_day={day}&own_minutes=40",
    "compare": "/dogs/{dog}/plan/compare",
    "visit": "/dogs/{dog}/visit",
    "past": "/dogs/{dog}/visits/{visit}",
    "assess": "/dogs/{dog}/assess?start=rolling",
    "edit": "/dogs/{dog}/edit",
    "sheet": "/dogs/{dog}/sheet",
    "unfit": "/dogs/{unfit}",
    "error": "/dogs/nobody",
    "wrong": "/dogs/{dog}?day=never",
}
TARGETS = """() => [...document.querySelectorAll(
    'button, input:not([type=hidden]):not([type=checkbox]), select, textarea, summary, nav a, a.do, a.big, .grid a,'
    + ' .ticks label'
  )].filter(e => e.checkVisibility()).map(e => [e, e.getBoundingClientRect()])
  .filter(([e, r]) => r.height < 43.5 || r.width < 43.5)
  .map(([e, r]) => `${e.tagName} ${e.className} ${Math.round(r.width)} x ${Math.round(r.height)} `
    + e.textContent.trim().slice(0, 30))"""


@pytest.fixture(scope="module")
def places(desk, planned_desk) -> dict[str, str]:
    """Addresses of every page, on a demo dog with visits behind and before it."""
    key = next(key for key, dog in planned_desk.items() if dog["plan"] == "ready" and dog["next_visit"])
    visit = get(f"{desk.url}/api/dogs/{key}/plan")["visits"][1]
    values = {
        "dog": key,
        "zone": next(iter(visit["takes"])),
        "day": visit["day"],
        "visit": get(f"{desk.url}/api/dogs/{key}")["visits"][-1]["id"],
        "unfit": next(key for key, dog in planned_desk.items() if dog["unfit"]),
    }
    return {name: path.format(**values) for name, path in PAGES.items()}


def shown(browser: Any, width: int, scheme: str, **options: Any) -> Any:
    return browser.new_context(
        viewport={"width": width, "height": SIZES.get(width, 900)},
        color_scheme=scheme,
        locale="en-GB",
        **options,
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, 390])
def test_axe_finds_nothing_on_any_page(browser, axe, desk, places, settle, width, scheme):
    found = {}
    context = shown(browser, width, scheme)
    try:
        page = context.new_page()
        for name, place in places.items():
            page.goto(desk.url + place)
            settle(page)
            violations = axe(page)
            if violations:
                found[name] = [
                    (
                        each["id"],
                        [
                            node["html"][:200] + " | " + node["failureSummary"][:200]
                            for node in each["nodes"][:3]
                        ],
                    )
                    for each in violations
                ]
    finally:
        context.close()
    assert found == {}


@pytest.mark.parametrize("width", SIZES)
def test_no_page_is_wider_than_the_screen_and_every_target_can_be_hit(browser, desk, places, settle, width):
    folder = os.environ.get("COATWRIGHT_SHOTS")
    wide, small = {}, {}
    for scheme in ("light", "dark") if folder else ("light",):
        context = shown(browser, width, scheme)
        try:
            page = context.new_page()
            for name, place in places.items():
                page.goto(desk.url + place)
                settle(page)
                across = page.evaluate("document.documentElement.scrollWidth")
                if across > width:
                    wide[name] = across
                if missed := page.evaluate(TARGETS):
                    small[name] = missed[:5]
                if folder:
                    page.wait_for_load_state("networkidle")
                    page.screenshot(path=Path(folder, f"{name}-{width}-{scheme}.png"), full_page=True)
        finally:
            context.close()
    assert wide == {}
    assert small == {}


def test_pages_hold_at_twice_the_size_of_letters(browser, desk, places, settle):
    """WCAG 2.2, 1.4.10 Reflow: 1280 px at 400 % is 320 px wide; 1.4.4: twice the size of text."""
    context = shown(browser, 320, "light")
    try:
        page = context.new_page()
        for name in ("today", "dogs", "dog", "plan", "visit", "sheet", "assess"):
            page.goto(desk.url + places[name])
            settle(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= 320, name
    finally:
        context.close()


def test_the_browser_has_nothing_to_complain_about_on_any_page(page, desk, places, settle, complaints):
    for name, place in places.items():
        if name in ("error", "wrong"):
            continue
        page.goto(desk.url + place)
        settle(page)
        page.wait_for_load_state("networkidle")


def test_with_forced_colours_the_chosen_zone_and_the_fixed_cell_still_show(browser, desk, places, settle):
    context = shown(browser, 1440, "light", forced_colors="active")
    try:
        page = context.new_page()
        page.goto(desk.url + places["dog"])
        settle(page)
        page.wait_for_function("() => !!document.querySelector('[data-coat]')?.coat")
        stroke = page.locator(".living-chosen").last.evaluate("e => getComputedStyle(e).stroke")
        assert stroke not in ("none", "rgba(0, 0, 0, 0)")
    finally:
        context.close()
