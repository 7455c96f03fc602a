"""Every page in every size, by day and by night: nothing that axe objects to, nothing cut off, targets large enough.

Pictures go to the folder that ``COATWRIGHT_SHOTS`` names, where it does, to be looked at. Every size is tried by day
or by night, and the other way round by ``pytest -m full``.
"""

from __future__ import annotations

import os
import re
import urllib.parse
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.responses import HTMLResponse
from playwright.sync_api import BrowserContext, Page

from coatwright.web.app import routers
from tests.e2e.conftest import SIZES, get

HEAVIEST = 200_000
"""Bytes that a page with all it loads may weigh, compressed."""
PAGES = {
    "today": "/",
    "dogs": "/dogs",
    "found": "/dogs?q=zzz",
    "new": "/dogs/new",
    "paper": "/paper",
    "paper new": "/paper/new",
    "paper count": "/paper/count",
    "paper thread": "/paper/thread",
    "paper tool": "/paper/tool?name=coarse+knife",
    "paper test": "{test}",
    "shows": "/shows",
    "people": "/people",
    "dog": "/dogs/{dog}",
    "shaded": "/dogs/{dog}?day=28&by=cover",
    "plan": "/dogs/{dog}/plan",
    "cell": "/dogs/{dog}/plan?cell={zone}.{day}&visit={day}",
    "compare": "/dogs/{dog}/plan/compare",
    "visit": "/dogs/{dog}/visit",
    "past": "/dogs/{dog}/visits/{visit}",
    "readings": "/dogs/{dog}/readings",
    "known": "/dogs/{dog}/known",
    "reading": "/dogs/{dog}/readings?zone={zone}",
    "assess": "/dogs/{dog}/assess?start=rolling",
    "edit": "/dogs/{dog}/edit",
    "sheet": "/dogs/{dog}/sheet",
    "unfit": "/dogs/{unfit}",
    "versions": "/dogs/{dog}/plan/versions",
    "version": "/dogs/{dog}/plan/versions/{version}",
    "settings": "/settings",
    "tablets": "/tablets",
    "pair": "/pair",
    "keys": "/keys",
    "error": "/dogs/nobody",
    "wrong": "/dogs/{dog}?day=never",
}
TARGETS = """() => {
  for (const e of document.querySelectorAll("main *")) {  // what is only laid out when scrolled to
    if (getComputedStyle(e).contentVisibility === "auto") e.style.contentVisibility = "visible";
  }
  return [...document.querySelectorAll(
    'button, input:not([type=hidden]):not([type=checkbox]), select, textarea, summary, nav a, a.do, a.big, .grid a,'
    + ' .ticks label'
  )].filter(e => e.checkVisibility()).map(e => [e, e.getBoundingClientRect()])
  .filter(([e, r]) => r.height < 43.5 || r.width < 43.5)
  .map(([e, r]) => `${e.tagName} ${e.className} ${Math.round(r.width)} x ${Math.round(r.height)} `
    + e.textContent.trim().slice(0, 30));
}"""

CONTRAST = """() => {
  const style = getComputedStyle(document.documentElement);
  const light = name => {
    const hex = style.getPropertyValue(name).trim();
    const [r, g, b] = [1, 3, 5].map(k => parseInt(hex.slice(k, k + 2), 16) / 255)
      .map(c => c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = light("--chalk");
  return Object.fromEntries(["--ink", "--grizzle", "--fox", "--ochre", "--brick"].map(name => {
    const [a, b] = [light(name), ground].sort((x, y) => y - x);
    return [name, (a + 0.05) / (b + 0.05)];
  }));
}"""
"""Contrast of each colour of text with the ground: relative luminance as in WCAG 2.2."""


@pytest.fixture(scope="module")
def places(desk, planned_desk) -> dict[str, str]:
    """Addresses of every page, on a demo dog with visits behind and before it, and a version of its plan."""
    key = next(key for key, dog in planned_desk.items() if dog["plan"] == "ready" and dog["next_visit"])
    visit = get(f"{desk.url}/api/dogs/{key}/plan")["visits"][1]
    version = urllib.request.Request(
        f"{desk.url}/dogs/{key}/plan/versions", b"name=As+promised", {"origin": desk.url}
    )
    with urllib.request.urlopen(version, timeout=60):
        pass
    with urllib.request.urlopen(f"{desk.url}/dogs/{key}/plan/versions", timeout=60) as answer:
        kept = re.findall(r'<option value="([^"]+)"', answer.read().decode())
    unfit = next(key for key, dog in planned_desk.items() if dog["unfit"])
    values = {
        "dog": key,
        "test": hand_count(desk.url, unfit),
        "zone": next(iter(visit["takes"])),
        "day": visit["day"],
        "visit": get(f"{desk.url}/api/dogs/{key}")["visits"][-1]["id"],
        "unfit": unfit,
        "version": kept[0],
    }
    return {name: path.format(**values) for name, path in PAGES.items()}


def hand_count(url: str, dog: str) -> str:
    """Keep a paper test of a dog, counted by hand; the address of its page."""
    form = f"dog={dog}&zone=back&tool=coarse+knife&purpose=tool&whole=70&broken=9".encode()
    asked = urllib.request.Request(f"{url}/paper/count", form, {"origin": url})
    with urllib.request.urlopen(asked, timeout=60) as answer:
        return str(urllib.parse.urlsplit(answer.url).path)


def shown(browser: Any, width: int, scheme: str, **options: Any) -> Any:
    return browser.new_context(
        viewport={"width": width, "height": SIZES.get(width, 900)},
        color_scheme=scheme,
        locale="en-GB",
        **options,
    )


PARTS = {"/dogs/{dog}/charts"}
"""Addresses of parts, which a page fetches by itself."""
WITH_TABLETS = {"/pair/trust"}
"""There only where the desk serves tablets."""
WITH_PHOTO = {"/paper/drafts/{id}", "/paper/reading/{batch}"}
"""Pages that take a photo to be there: looked at in tests/e2e/test_paper.py."""


def test_every_page_of_the_desk_is_looked_at():
    asked = [urllib.parse.urlsplit(path).path for path in PAGES.values()] + ["/paper/tests/dog/test"]
    for router in routers():
        for route in router.routes:
            if getattr(route, "response_class", None) is not HTMLResponse or route.path in (
                PARTS | WITH_PHOTO | WITH_TABLETS
            ):
                continue
            if "GET" in route.methods:
                shape = re.compile(re.sub(r"\{\w+\}", "[^/]+", route.path))
                assert any(shape.fullmatch(path) for path in asked), route.path


@pytest.mark.parametrize(
    ("width", "scheme", "contrast"),
    [
        (1440, "light", ""),
        (390, "dark", ""),
        (820, "dark", "high"),
        pytest.param(1440, "dark", "", marks=pytest.mark.full),
        pytest.param(390, "light", "", marks=pytest.mark.full),
        pytest.param(820, "light", "high", marks=pytest.mark.full),
    ],
)
def test_axe_finds_nothing_no_page_is_wider_than_the_screen_and_every_target_can_be_hit(
    browser, axe, desk, places, settle, width, scheme, contrast
):
    folder = os.environ.get("COATWRIGHT_SHOTS")
    found, wide, small = {}, {}, {}
    context = shown(browser, width, scheme)
    if contrast:
        context.add_cookies([{"name": "contrast", "value": contrast, "url": desk.url}])
    try:
        page = context.new_page()
        for name, place in places.items():
            page.goto(desk.url + place)
            settle(page)
            if objections := told(axe(page)):
                found[name] = objections
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
    assert found == {}
    assert wide == {}
    assert small == {}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_what_opens(browser, axe, desk, places, settle, scheme):
    """The list of keys, what the search finds, an opened cell and visit."""
    found = {}
    context = shown(browser, 1440, scheme)
    try:
        page = context.new_page()
        for name, open_it in opened(places):
            page.goto(desk.url + places[name])
            settle(page)
            open_it(page)
            if objections := told(axe(page)):
                found[name] = objections
    finally:
        context.close()
    assert found == {}


def opened(places: dict[str, str]) -> Iterator[tuple[str, Callable[[Page], Any]]]:
    """Pages, and what is opened on each."""

    def keys(page: Page) -> None:
        page.keyboard.press("?")
        page.get_by_role("dialog").wait_for()

    def search(page: Page) -> None:
        page.locator("#find").click()
        page.keyboard.type("t")
        page.locator("#find-list [role=option]").first.wait_for()
        page.keyboard.press("ArrowDown")

    def details(page: Page) -> None:
        page.evaluate("document.querySelectorAll('details').forEach(e => e.open = true)")

    yield "today", keys
    yield "dogs", search
    yield "dog", keys
    yield "dog", details
    yield "visit", details


def told(violations: list[dict[str, Any]]) -> list[tuple[str, list[str]]]:
    """What axe objects to, in few words."""
    return [
        (each["id"], [f"{node['html'][:200]} | {node['failureSummary'][:200]}" for node in each["nodes"][:3]])
        for each in violations
    ]


def test_high_contrast_is_higher(browser, desk, places, settle):
    """WCAG 2.2, 1.4.6 Contrast (Enhanced): 7 : 1 for text. By the setting and by the system's wish."""
    ways = {"setting": {}, "system": {"contrast": "more"}}
    for name, options in ways.items():
        for scheme in ("light", "dark"):
            context = shown(browser, 1440, scheme, **options)
            if name == "setting":
                context.add_cookies([{"name": "contrast", "value": "high", "url": desk.url}])
            try:
                page = context.new_page()
                page.goto(desk.url + places["today"])
                settle(page)
                ratios = page.evaluate(CONTRAST)
                assert min(ratios.values()) >= 7.0, (name, scheme, ratios)
            finally:
                context.close()


def test_print_is_black_on_white_whatever_the_screen(browser, desk, places, settle):
    for scheme in ("light", "dark"):
        context = shown(browser, 820, scheme)
        context.add_cookies([{"name": "contrast", "value": "high", "url": desk.url}])
        try:
            page = context.new_page()
            page.emulate_media(media="print", color_scheme=scheme)
            for name in ("today", "dog", "plan", "edit", "assess", "sheet"):
                page.goto(desk.url + places[name])
                settle(page)
                ink, ground = page.evaluate(
                    "() => [getComputedStyle(document.body).color, "
                    "getComputedStyle(document.documentElement).backgroundColor]"
                )
                assert (ink, ground) == ("rgb(0, 0, 0)", "rgb(255, 255, 255)"), name
                assert page.locator("button:visible, nav:visible").count() == 0, name
        finally:
            context.close()


def test_pages_hold_at_twice_the_size_of_letters(browser, desk, places, settle):
    """WCAG 2.2, 1.4.10 Reflow: 1280 px at 400 % is 320 px wide; 1.4.4: twice the size of text."""
    context = shown(browser, 320, "light")
    try:
        page = context.new_page()
        for name in ("today", "dogs", "dog", "plan", "visit", "sheet", "assess", "reading"):
            page.goto(desk.url + places[name])
            settle(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= 320, name
    finally:
        context.close()


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


def weighed_tab(context: BrowserContext) -> tuple[Page, list[float]]:
    """A page with nothing in the browser's cache, and the bytes of what arrives there, headers included."""
    page = context.new_page()
    arrived: list[float] = []
    wire = context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.send("Network.setCacheDisabled", {"cacheDisabled": True})
    wire.on("Network.loadingFinished", lambda event: arrived.append(event["encodedDataLength"]))
    return page, arrived


def test_no_page_weighs_more_than_it_may_and_the_browser_complains_of_none(
    context, desk, places, settle, complaints
):
    """Bytes over the wire; no page has photos yet. Eight tabs at a time wait until nothing more arrives."""
    weights = {}
    complained_of = ("error", "wrong")  # and rightly
    sound = [name for name in places if name not in complained_of]
    for first in range(0, len(sound), 8):
        tabs = {name: weighed_tab(context) for name in sound[first : first + 8]}
        for name, (page, _) in tabs.items():
            page.goto(desk.url + places[name])
        for name, (page, arrived) in tabs.items():
            settle(page)
            page.wait_for_load_state("networkidle")
            weights[name] = sum(arrived)
            page.close()
    assert {name: weight for name, weight in weights.items() if not 5_000 < weight < HEAVIEST} == {}
