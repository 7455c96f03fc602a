"""The page at the table, by touch alone, on a tablet and on a phone: a whole visit, the network gone in between."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.conftest import FLAGS
from tests.e2e.test_looks import CONTRAST
from tests.faults.table_salon import ZONES, events, get, kill_browser, table_desk, visit
from tools.starting.browsers import find_chromium

SIZES = ((820, 1180), (390, 844))
SMALL = """() => [...document.querySelectorAll(
  'button, a, summary, label.extra, [role=slider], input:not(.hidden)')]
  .filter(e => e.checkVisibility())
  .map(e => [e, e.getBoundingClientRect()])
  .filter(([e, r]) => r.width < 63.5 || r.height < 63.5)
  .map(([e, r]) => `${e.tagName} ${e.id} ${Math.round(r.width)} x ${Math.round(r.height)} ${e.textContent}`)"""
WAITS_TOLD = """window.told = new Set();
new MutationObserver(() => told.add(document.querySelector('#waits span')?.textContent))
  .observe(document, { childList: true, subtree: true, characterData: true });"""
CENTRES = """() => ['more', 'dial', 'stop', 'back'].map((id) => document.getElementById(id).getBoundingClientRect())
  .map((box) => box.x + box.width / 2)"""
PARTS = ("tool", "ease", "reaction", "skin", "read", "grams", "how", "zones", "stop", "finish")


@pytest.fixture
def desk(table_planner, tmp_path) -> Iterator[str]:
    with table_desk(table_planner, tmp_path / "salon") as url:
        yield url


@pytest.fixture(scope="module")
def still_desk(table_planner, tmp_path_factory) -> Iterator[str]:
    """One desk for the tests that only look."""
    with table_desk(table_planner, tmp_path_factory.mktemp("table") / "salon") as url:
        yield url


def tablet(browser, size=(820, 1180), **options) -> BrowserContext:
    width, height = size
    return browser.new_context(
        viewport={"width": width, "height": height}, has_touch=True, locale="en-GB", **options
    )


def ready(page: Page) -> None:
    """The page shows what it has."""
    page.locator("html[data-ready]").wait_for(timeout=30_000)


def dogs_shown(page: Page, url: str) -> None:
    page.goto(f"{url}/table")
    ready(page)
    page.locator("button.dog").first.wait_for()


def all_sent(page: Page) -> None:
    expect(page.locator("#waits")).to_contain_text("all sent", timeout=30_000)


def installed(page: Page) -> None:
    """The worker holds every file of the page."""
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")


# ---- a whole visit -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [SIZES[0], pytest.param(SIZES[1], marks=pytest.mark.full)])
def test_a_visit_of_eighteen_zones_takes_twenty_taps_and_nothing_is_typed(browser, desk, size):
    context = tablet(browser, size)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        expect(page.locator("#groomer-0")).to_have_attribute("aria-pressed", "true")
        page.evaluate(
            "() => { window.said = { taps: 0, keys: 0 };"
            "addEventListener('click', () => window.said.taps++, true);"
            "addEventListener('keydown', () => window.said.keys++, true); }"
        )
        page.locator("#dog-bracken").tap()
        for number in range(1, len(ZONES) + 1):
            expect(page.locator(".place")).to_contain_text(f"Zone {number} of {len(ZONES)}")
            page.locator("#log").tap()
        page.locator("#finish-visit").tap()
        expect(page.locator("h1")).to_have_text("Finished")
        all_sent(page)
        assert page.evaluate("window.said") == {"taps": 20, "keys": 0}
    finally:
        context.close()
    kept = visit(desk, "bracken")
    planned = {zone["key"]: zone["planned"] for zone in get(f"{desk}/table/today.json")["dogs"][0]["zones"]}
    assert set(kept["takes"]) == set(ZONES)
    assert {key: take["share"] for key, take in kept["takes"].items()} == pytest.approx(planned)
    assert kept["groomer"] == "Ivo Teaselby"
    assert len([each for each in events(desk) if each["kind"] == "take.logged"]) == len(ZONES)


def launched(browser, profile: Path, size, *flags: str) -> BrowserContext:
    """A browser of its own with a profile that outlives it."""
    root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    return browser.browser_type.launch_persistent_context(
        str(profile),
        executable_path=find_chromium(),
        args=[*FLAGS, *root, *flags],
        viewport={"width": size[0], "height": size[1]},
        has_touch=True,
        locale="en-GB",
    )


@pytest.mark.parametrize("size", [SIZES[0], pytest.param(SIZES[1], marks=pytest.mark.full)])
def test_airplane_mode_and_a_killed_browser_in_the_middle_lose_nothing(browser, desk, tmp_path, size):
    profile = tmp_path / "profile"
    context = launched(browser, profile, size)
    page = context.pages[0]
    dogs_shown(page, desk)
    installed(page)
    page.locator("#dog-bracken").tap()
    for _ in range(6):
        tap_log(page)
    all_sent(page)
    context.set_offline(True)
    for _ in range(6):
        tap_log(page)
    expect(page.locator("#waits")).to_contain_text("6 wait")
    assert kill_browser(profile) > 0
    context = launched(browser, profile, size)
    try:
        context.set_offline(True)
        page = context.pages[0]
        page.add_init_script(WAITS_TOLD)
        dogs_shown(page, desk)  # no network: from what the tablet keeps
        assert page.evaluate("[...told].filter(Boolean)") == ["6 wait"]  # never "all sent", not even at first
        expect(page.locator("#dog-bracken")).to_contain_text("12 of 18 zones")
        expect(page.locator("#waits")).to_contain_text("6 wait")
        page.locator("#dog-bracken").tap()
        for _ in range(6):
            tap_log(page)
        page.locator("#finish-visit").tap()
        expect(page.locator("#waits")).to_contain_text("13 wait")
        assert len(visit(desk, "bracken")["takes"]) == 6
        context.set_offline(False)
        all_sent(page)
    finally:
        context.close()
    kept = visit(desk, "bracken")
    assert set(kept["takes"]) == set(ZONES)
    told = [each for each in events(desk) if each["kind"] == "take.logged"]
    assert sorted(each["data"]["zone"] for each in told) == sorted(ZONES)


def tap_log(page: Page) -> None:
    """Log the zone in hand, and wait until that is on the disk."""
    before = page.locator(".title h1").text_content()
    page.locator("#log").tap()
    expect(page.locator("#bar .last b")).to_have_text(re.compile(rf"{before} \d+ %"))


# ---- what else is tapped -----------------------------------------------------------------------------------------


def test_another_share_a_remark_a_reading_and_undo_reach_the_desk(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-sedge").tap()
        name = page.locator(".title h1").text_content()
        assert name == "Back"
        page.locator("#more").tap()
        expect(page.locator("#dial")).to_have_attribute("aria-valuenow", "25")
        expect(page.locator("#bar .warning")).to_contain_text("More than planned")
        page.locator("#extra-tool").tap()
        page.locator("#tool-2").tap()
        page.locator("#extra-skin").tap()
        page.locator("#skin-1").tap()
        page.locator("#close").tap()
        page.locator("#extra-read").tap()
        page.locator("#longest_mm-3").tap()
        page.locator("#look-2").tap()
        page.locator("#close").tap()
        page.locator("#log").tap()
        expect(page.locator(".title h1")).to_have_text("Ribs")
        page.locator("#log").tap()
        expect(page.locator(".title h1")).to_have_text("Croup")
        page.locator("#undo").tap()
        expect(page.locator(".title h1")).to_have_text("Ribs")
        all_sent(page)
    finally:
        context.close()
    kept = visit(desk, "sedge")
    back = kept["takes"]["back"]
    assert (back["share"], back["planned"], back["tool"], back["skin"]) == (0.25, 0.2, "stone", "flaky")
    assert "ribs" not in kept["takes"]
    reading = get(f"{desk}/api/dogs/sedge")["readings"][-1]
    assert (reading["zone"], reading["look"], reading.get("at_visit", "before")) == ("back", "open", "before")
    assert reading["longest_mm"] > 0


def test_stopping_marks_the_dog_unfit_with_the_sign_and_can_be_taken_back(browser, desk):
    context = tablet(browser, SIZES[1])
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-sedge").tap()
        page.locator("#stop").tap()
        page.locator("#sign-1").tap()
        page.locator("#stop-dog").tap()
        expect(page.locator("h1")).to_have_text("Stopped")
        all_sent(page)
        assert "flinches" in get(f"{desk}/api/dogs/sedge")["unfit"]
        page.locator("#undo").tap()
        expect(page.locator(".title h1")).to_have_text("Back")
        all_sent(page)
        assert get(f"{desk}/api/dogs/sedge")["unfit"] == ""
    finally:
        context.close()


def test_one_dog_rests_while_another_is_worked_and_each_keeps_its_own_time(browser, still_desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        page.clock.install()
        dogs_shown(page, still_desk)
        page.locator("#dog-bracken").tap()
        page.locator(".mast").wait_for()
        page.clock.run_for(5 * 60_000)
        page.locator("#back").tap()
        page.locator("#dog-sedge").tap()
        page.locator(".mast").wait_for()
        page.clock.run_for(3 * 60_000)
        expect(page.locator(".mast time")).to_have_text(re.compile(r"^3:0\d$"))  # real time goes on besides
        page.locator("#back").tap()
        expect(page.locator("#dog-bracken .state")).to_contain_text("resting 3:0")
        expect(page.locator("#dog-sedge .state")).to_contain_text("on the table 3:0")
        page.locator("#dog-bracken").tap()
        page.locator(".mast").wait_for()
        page.clock.run_for(60_000)
        expect(page.locator(".mast time")).to_have_text(re.compile(r"^6:0\d$"))
    finally:
        context.close()


def test_a_refused_entry_is_shown_with_the_reason_and_blocks_no_other(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        page.locator("#log").wait_for()
        context.set_offline(True)
        tap_log(page)
        page.evaluate(SPOIL)
        tap_log(page)
        context.set_offline(False)
        expect(page.locator("#banner")).to_contain_text("Refused", timeout=30_000)
        page.locator("#to-refused").tap()
        expect(page.locator(".refused li")).to_have_count(1)
        expect(page.locator(".refused .stop")).to_contain_text("140 %")
        assert set(visit(desk, "bracken")["takes"]) == {"ribs"}
        page.locator("#give-0").tap()
        page.locator("#sure-0").tap()
        expect(page.locator(".refused")).to_have_count(0)
    finally:
        context.close()


SPOIL = """async () => {
  const { write } = await import("/table/store.js");
  await write("waiting", async ({ waiting }) => {
    const [row] = await waiting.all();
    row.event.data.take.share = 1.4;
    await waiting.put(row);
  });
}"""


def test_a_tap_that_the_tablet_could_not_keep_is_said_to_be_lost_at_once(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        page.locator("#log").wait_for()
        page.evaluate(
            "() => { window.put = IDBObjectStore.prototype.put;"
            "IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"
        )
        page.locator("#log").tap()
        expect(page.locator("[role=alert]")).to_contain_text("This tap was not kept: full")
        expect(page.locator(".title h1")).to_have_text("Back")
        page.evaluate("() => { IDBObjectStore.prototype.put = window.put; }")
        tap_log(page)
        expect(page.locator("[role=alert]")).to_have_count(0)
        all_sent(page)
    finally:
        context.close()
    assert set(visit(desk, "bracken")["takes"]) == {"back"}


def test_the_waiting_list_is_saved_as_a_file(browser, desk, tmp_path):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        page.locator("#log").wait_for()
        context.set_offline(True)
        tap_log(page)
        page.locator("#waits").tap()
        expect(page.locator("#waiting-told")).to_contain_text("1 entry waits")
        with page.expect_download() as downloading:
            page.locator("#save").tap()
        downloading.value.save_as(tmp_path / "list.json")
        assert downloading.value.suggested_filename.startswith("coatwright-waiting-tablet-")
    finally:
        context.close()
    saved = json.loads((tmp_path / "list.json").read_text(encoding="utf-8"))
    assert (saved["coatwright"], saved["version"]) == ("waiting", 1)
    assert [each["kind"] for each in saved["events"]] == ["take.logged"]


def test_the_order_last_used_is_proposed_the_next_time(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        expect(page.locator("#groomer-0")).to_have_attribute("aria-pressed", "true")
        page.locator("#dog-bracken").tap()
        page.locator("#extra-zones").tap()
        page.locator("#up-croup").tap()
        expect(page.locator("#up-croup")).to_be_enabled()
        page.locator("#up-croup").tap()
        expect(page.locator("#up-croup")).to_be_disabled()
        order = page.evaluate(
            "async () => { const { orderFor } = await import('/table/visit.js');"
            "const { app } = await import('/table/app.js');"
            "return orderFor(app.bundle.dogs.find(dog => dog.id === 'bracken'), 'Ivo Teaselby'); }"
        )
        assert order[:3] == ["croup", "back", "ribs"]
        assert sorted(order) == sorted(ZONES)
    finally:
        context.close()


# ---- how it looks and is hit -------------------------------------------------------------------------------------


def walked(page: Page, url: str) -> Iterator[str]:
    """Every view of the page, by its name."""
    dogs_shown(page, url)
    yield "day"
    page.locator("#dog-bracken").tap()
    page.locator("#log").wait_for()
    yield "zone"
    page.locator("#more").tap()
    yield "more"
    for part in PARTS:
        page.evaluate("part => location.hash = `#dog/bracken/${part}`", part)
        page.locator(".end" if part == "finish" else f".panel.{part}").wait_for()
        if part == "stop":
            page.locator("#sign-0").tap()
            page.locator("#stop-dog").wait_for()
        yield part
    page.evaluate("location.hash = '#tablet'")
    page.locator("#waiting-told").wait_for()
    yield "tablet"
    page.evaluate("location.hash = '#who/ivo'")
    page.locator("#digit-7").tap()
    yield "pin"


LIGHTS = {"light": {}, "dark": {"color_scheme": "dark"}, "sun": {}}


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("size", SIZES)
def test_axe_finds_nothing_no_target_is_small_and_nothing_is_cut_off(browser, axe, still_desk, size, light):
    folder = os.environ.get("COATWRIGHT_SHOTS")
    context = tablet(browser, size, **LIGHTS[light])
    found: dict[str, object] = {}
    try:
        page = context.new_page()
        if light == "sun":
            prefer(page, still_desk, "sun")
        for name in walked(page, still_desk):
            objections = [(each["id"], each["nodes"][0]["html"][:200]) for each in axe(page)]
            small = page.evaluate(SMALL)
            across = page.evaluate("document.documentElement.scrollWidth")
            if objections or small or across > size[0]:
                found[name] = (objections, small, across)
            if folder:
                page.screenshot(path=Path(folder, f"table-{name}-{size[0]}-{light}.png"), full_page=True)
    finally:
        context.close()
    assert found == {}


def prefer(page: Page, url: str, which: str) -> None:
    page.goto(f"{url}/table#tablet")
    ready(page)
    page.locator(f"#{which}").tap()
    expect(page.locator(f"#{which}")).to_have_attribute("aria-pressed", "true")


def test_in_the_sun_every_colour_of_text_keeps_seven_to_one(browser, still_desk):
    """WCAG 2.2, 1.4.6 Contrast (Enhanced)."""
    for scheme in ("light", "dark"):
        context = tablet(browser, color_scheme=scheme)
        try:
            page = context.new_page()
            prefer(page, still_desk, "sun")
            ratios = page.evaluate(CONTRAST)
            assert min(ratios.values()) >= 7.0, ratios
        finally:
            context.close()


def test_for_the_left_hand_what_is_tapped_most_lies_on_the_left(browser, still_desk):
    context = tablet(browser, SIZES[1])
    try:
        page = context.new_page()
        dogs_shown(page, still_desk)
        page.locator("#dog-bracken").tap()
        page.locator("#log").wait_for()
        places = {}
        for hand in ("right", "left"):
            prefer(page, still_desk, f"hand-{hand}")
            page.evaluate("location.hash = '#dog/bracken'")
            page.locator("#dial").wait_for()
            places[hand] = page.evaluate(CENTRES)
        more, dial, stop, back = places["right"]
        assert (more > dial, stop > back) == (True, True)
        more, dial, stop, back = places["left"]
        assert (more < dial, stop < back) == (True, True)
    finally:
        context.close()


def test_the_browser_has_nothing_to_complain_about(browser, still_desk):
    said: list[str] = []
    context = tablet(browser)
    context.on("console", lambda line: said.append(line.text) if line.type in ("error", "warning") else None)
    context.on("weberror", lambda error: said.append(str(error.error)))
    try:
        page = context.new_page()
        for _ in walked(page, still_desk):
            pass
    finally:
        context.close()
    assert said == []
