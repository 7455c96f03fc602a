"""The page at the table, by touch alone, on a tablet and on a phone: a whole visit, the network gone in between."""

from __future__ import annotations

import json
import os
import re
import time
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
PARTS = ("tool", "ease", "reaction", "skin", "read", "grams", "how", "zones", "stop", "finish")


@pytest.fixture
def desk(run_desk, tmp_path) -> Iterator[str]:
    with table_desk(run_desk, tmp_path / "salon") as url:
        yield url


@pytest.fixture(scope="module")
def still_desk(run_desk, tmp_path_factory) -> Iterator[str]:
    """One desk for the tests that only look."""
    with table_desk(run_desk, tmp_path_factory.mktemp("table") / "salon") as url:
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


@pytest.mark.parametrize("size", SIZES)
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


@pytest.mark.parametrize("size", SIZES)
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
        dogs_shown(page, desk)  # no network: from what the tablet keeps
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


def test_what_was_pulled_and_dialled_of_a_zone_is_recorded_when_it_is_left_or_the_dog_is_stopped(
    browser, desk
):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-sedge").tap()
        page.locator("#less").tap()
        page.locator("#less").tap()
        expect(page.locator("#dial")).to_have_attribute("aria-valuenow", "10")
        page.locator("#stop").tap()
        expect(page.locator("#recorded")).to_have_text("Recorded of the back 10\u00a0%: as dialled.")
        page.locator("#sign-2").tap()  # a hair needs force
        page.locator("#leave-zone").tap()
        expect(page.locator(".title h1")).to_have_text("Ribs")
        page.locator("#stop").tap()
        expect(page.locator("#recorded")).to_contain_text("0\u00a0%: nothing was dialled. Was some pulled")
        page.locator("#close").tap()
        page.locator("#less").tap()
        page.locator("#stop").tap()
        page.locator("#sign-0").tap()  # the skin turns red, or shows pinpoints of blood
        expect(page.locator("#stop-dog")).to_contain_text("at 15\u00a0%")
        page.locator("#stop-dog").tap()
        expect(page.locator("h1")).to_have_text("Stopped")
        all_sent(page)
    finally:
        context.close()
    takes = visit(desk, "sedge")["takes"]
    assert set(takes) == {"back", "ribs"}
    assert (takes["back"]["share"], takes["back"]["ease"]) == (0.1, "hard")
    assert (takes["ribs"]["share"], takes["ribs"]["skin"]) == (0.15, "red")
    assert "ribs" in get(f"{desk}/api/dogs/sedge")["unfit"]


def test_a_sign_leaves_what_was_said_graver_and_what_another_tablet_logged(browser, desk):
    first, second = tablet(browser), tablet(browser)
    try:
        one, two = first.new_page(), second.new_page()
        for page in (one, two):
            dogs_shown(page, desk)
            page.locator("#dog-bracken").tap()
            page.locator("#log").wait_for()
        one.locator("#less").tap()
        tap_log(one)
        all_sent(one)
        two.evaluate(REFRESH)
        opened(two, "back")
        two.locator("#extra-skin").tap()
        two.locator(".choice", has_text="pinpoints").tap()
        two.locator("#to-stop").tap()
        expect(two.locator("#recorded")).to_contain_text("15\u00a0%: as logged elsewhere")
        two.locator("#sign-0").tap()
        two.locator("#leave-zone").tap()
        expect(two.locator(".title h1")).to_have_text("Ribs")
        all_sent(two)
    finally:
        first.close()
        second.close()
    back = visit(desk, "bracken")["takes"]["back"]
    assert (back["share"], back["skin"]) == (0.15, "pinpoints of blood")


LOG_ALL = """async (dog) => {
  const { act, visitOf } = await import("/table/app.js");
  const { logTake } = await import("/table/visit.js");
  for (const zone of visitOf(dog).order) await act(() => logTake(visitOf(dog).key, zone, 0.2));
}"""


def all_logged(page: Page, url: str) -> None:
    """Every zone of a dog is logged; the end of the visit is shown."""
    dogs_shown(page, url)
    page.locator("#dog-bracken").tap()
    page.locator("#log").wait_for()
    page.evaluate(LOG_ALL, "bracken")
    page.locator("#finish-visit").wait_for()


MIDDLE = """(control) => {
  const box = document.querySelector(control).getBoundingClientRect();
  return [box.x + box.width / 2, box.y + box.height / 2];
}"""


def touch(page: Page, control: str) -> None:
    """Touch a control whatever it says of itself, as a finger does."""
    page.locator(control).wait_for()
    page.touchscreen.tap(*page.evaluate(MIDDLE, control))
    page.clock.run_for(1)  # the page takes up again what it held while the finger was down


def test_a_finger_that_touches_twice_logs_one_zone_and_takes_one_thing_back(browser, desk):
    """The page's clock stands still but for what the test lets pass."""
    context = tablet(browser)
    try:
        page = context.new_page()
        page.clock.install()
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        expect(page.locator("#log")).to_be_enabled()
        page.clock.pause_at(time.time() + 60)
        steps = "import('/table/app.js').then(({ visitOf }) => visitOf('bracken').log.length)"
        for zone in ("Ribs", "Croup"):
            touch(page, "#log")
            expect(page.locator(".title h1")).to_have_text(zone)
            page.clock.run_for(150)
            touch(page, "#log")
            touch(page, "#undo")
            page.evaluate("document.querySelector('#leave').click()")
            page.clock.run_for(140)
            expect(page.locator("#log")).to_be_disabled()
            page.clock.run_for(20)
            expect(page.locator("#log")).to_be_enabled()
            expect(page.locator(".title h1")).to_have_text(zone)
        assert page.evaluate(steps) == 2
        touch(page, "#undo")
        expect(page.locator(".title h1")).to_have_text("Ribs")
        page.clock.run_for(150)
        touch(page, "#undo")
        page.clock.run_for(300)
        assert page.evaluate(steps) == 1
        expect(page.locator(".title h1")).to_have_text("Ribs")
        touch(page, "#undo")
        expect(page.locator(".title h1")).to_have_text("Back")
        page.clock.resume()
        all_sent(page)
    finally:
        context.close()
    assert visit(desk, "bracken") == {}
    assert len([each for each in events(desk) if each["kind"] == "take.logged"]) == 2


def test_a_second_touch_while_the_first_is_being_kept_does_nothing(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        expect(page.locator("#log")).to_be_enabled()
        page.evaluate("() => { for (let k = 0; k < 3; k++) document.querySelector('#log').click(); }")
        expect(page.locator(".title h1")).to_have_text("Ribs")
        all_sent(page)
    finally:
        context.close()
    assert [each["data"]["zone"] for each in events(desk) if each["kind"] == "take.logged"] == ["back"]


def test_a_second_touch_on_the_last_zone_neither_ends_the_visit_nor_ticks_a_chore(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        page.clock.install()
        all_logged(page, desk)
        page.locator("#to-zones").tap()
        page.locator("#zone-croup").tap()
        expect(page.locator("#log")).to_be_enabled()
        page.clock.pause_at(time.time() + 60)
        touch(page, "#log")
        page.locator("#finish-visit").wait_for()
        for control in ("#finish-visit", "#care-nails", "#undo"):
            touch(page, control)
        page.clock.run_for(300)
        expect(page.locator("h1")).to_have_text("Finish")
        expect(page.locator("#care-nails")).to_have_attribute("aria-pressed", "false")
        touch(page, "#care-nails")
        expect(page.locator("#care-nails")).to_have_attribute("aria-pressed", "true")
        touch(page, "#care-pads")  # one chore after the other goes quickly
        expect(page.locator("#care-pads")).to_have_attribute("aria-pressed", "true")
    finally:
        context.close()


REFRESH = "import('/table/app.js').then(({ refresh }) => refresh())"


def test_a_zone_logged_elsewhere_is_not_called_open_and_is_open_again_once_it_was_taken_back_there(
    browser, desk
):
    first, second = tablet(browser), tablet(browser)
    try:
        one, two = first.new_page(), second.new_page()
        for page in (one, two):
            dogs_shown(page, desk)
            page.locator("#dog-bracken").tap()
            page.locator("#log").wait_for()
        tap_log(one)
        all_sent(one)
        two.evaluate(REFRESH)
        two.locator("#finish").tap()
        still_open = two.locator(".end .caution", has_text="Still open")
        expect(still_open).to_contain_text("ribs")
        expect(still_open).not_to_contain_text("back")
        expect(two.locator(".end")).to_contain_text("Logged elsewhere back 20\u00a0%.")
        one.locator("#undo").tap()  # the only thing that anybody said of this visit
        expect(one.locator(".title h1")).to_have_text("Back")
        all_sent(one)
        two.evaluate(REFRESH)
        expect(still_open).to_contain_text("back")
        expect(two.locator(".end")).not_to_contain_text("Logged elsewhere")
    finally:
        first.close()
        second.close()


def test_after_the_last_zone_each_is_still_one_tap_away_also_once_the_visit_was_finished(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        all_logged(page, desk)
        page.locator("#to-zones").tap()
        page.locator("#zone-croup").tap()
        expect(page.locator(".title")).to_contain_text("Logged 20")
        page.locator("#less").tap()
        page.locator("#log").tap()
        expect(page.locator("#bar .last")).to_contain_text("Croup 15 %")
        page.locator("#finish-visit").tap()
        expect(page.locator("h1")).to_have_text("Finished")
        page.locator("#reopen").tap()
        page.locator("#to-zones").tap()
        page.locator("#close").tap()
        expect(page.locator("h1")).to_have_text("Finish")
        page.locator("#to-zones").tap()
        page.locator("#zone-ribs").tap()
        page.locator("#more").tap()
        page.locator("#log").tap()
        expect(page.locator("#bar .last")).to_contain_text("Ribs 25 %")
        all_sent(page)
    finally:
        context.close()
    takes = visit(desk, "bracken")["takes"]
    assert (takes["croup"]["share"], takes["ribs"]["share"], takes["back"]["share"]) == (0.15, 0.25, 0.2)


def test_after_the_last_zone_the_dog_can_still_be_stopped(browser, desk):
    context = tablet(browser, SIZES[1])
    try:
        page = context.new_page()
        all_logged(page, desk)
        last = page.evaluate("import('/table/app.js').then(({ visitOf }) => visitOf('bracken').order.at(-1))")
        page.locator("#stop").tap()
        expect(page.locator("#recorded")).to_contain_text("20\u00a0%: as logged")
        page.locator("#sign-1").tap()
        expect(page.locator("#leave-zone")).to_be_visible()
        page.locator("#stop-dog").tap()
        expect(page.locator("h1")).to_have_text("Stopped")
        all_sent(page)
    finally:
        context.close()
    assert "flinches" in get(f"{desk}/api/dogs/bracken")["unfit"]
    take = visit(desk, "bracken")["takes"][last]
    assert (take["share"], take["reaction"]) == (0.2, "flinched")


def test_a_dog_of_which_no_zone_is_in_hand_nor_logged_can_be_stopped(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        page.locator("#log").wait_for()
        page.evaluate(
            "async () => { const { act, visitOf } = await import('/table/app.js');"
            "const { goTo } = await import('/table/visit.js');"
            "await act(() => goTo(visitOf('bracken').key, '')); }"
        )
        page.locator("#stop").tap()
        page.locator("#sign-1").tap()
        expect(page.locator("#stop-dog")).to_be_visible()
        expect(page.locator("#leave-zone, #recorded")).to_have_count(0)
        page.locator("#stop-dog").tap()
        expect(page.locator("h1")).to_have_text("Stopped")
        all_sent(page)
    finally:
        context.close()
    assert "flinches" in get(f"{desk}/api/dogs/bracken")["unfit"]


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
        expect(page.locator(".mast time")).to_have_text("3:00")
        page.locator("#back").tap()
        expect(page.locator("#dog-bracken .state")).to_contain_text("resting 3:0")
        expect(page.locator("#dog-sedge .state")).to_contain_text("on the table 3:0")
        page.locator("#dog-bracken").tap()
        page.clock.run_for(60_000)
        expect(page.locator(".mast time")).to_have_text("6:00")
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


def test_a_remark_on_a_zone_that_another_tablet_logged_leaves_its_share(browser, desk):
    """The remark is tapped later, on a tablet that has not heard of the take yet."""
    first, second = tablet(browser), tablet(browser, SIZES[1])
    try:
        one, two = first.new_page(), second.new_page()
        for page in (one, two):
            dogs_shown(page, desk)
            page.locator("#dog-bracken").tap()
            page.locator("#log").wait_for()
        one.locator("#less").tap()
        tap_log(one)
        all_sent(one)
        expect(two.locator(".title h1")).to_have_text("Back")
        two.locator("#extra-reaction").tap()
        two.locator(".choice", has_text="flinched").tap()
        two.locator("#close").tap()
        all_sent(two)
        take = visit(desk, "bracken")["takes"]["back"]
        assert (take["share"], take["reaction"]) == (0.15, "flinched")
        expect(two.locator("#bar")).to_contain_text("(15 %), which counts; your remark of")
        two.evaluate(REFRESH)
        expect(two.locator(".title")).to_contain_text("Logged elsewhere 15")
        two.locator("#log").tap()  # what is logged after all takes its place
        expect(two.locator("#bar .last")).to_contain_text("Back 20 %")
        all_sent(two)
    finally:
        first.close()
        second.close()
    take = visit(desk, "bracken")["takes"]["back"]
    assert (take["share"], take["reaction"]) == (0.2, "flinched")


def set_clock(page: Page, *, ahead_minutes: float) -> None:
    """Set the tablet's clock so far ahead of the desk's."""
    page.clock.set_system_time(time.time() + 60 * ahead_minutes)


def opened(page: Page, zone: str) -> None:
    """A zone from the list of all of them."""
    page.locator("#extra-zones").tap()
    page.locator(f"#zone-{zone}").tap()
    expect(page.locator(".zone-list")).to_have_count(0)


def test_what_is_put_right_counts_also_when_the_clock_was_set_back_and_the_page_started_anew(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        page.clock.install()
        set_clock(page, ahead_minutes=50)
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        tap_log(page)
        all_sent(page)
        page.reload()
        ready(page)
        set_clock(page, ahead_minutes=0)
        opened(page, "back")
        page.locator("#more").tap()
        page.locator("#more").tap()
        expect(page.locator("#dial")).to_have_attribute("aria-valuenow", "30")
        page.locator("#log").tap()
        expect(page.locator("#bar .last")).to_contain_text("Back 30 %")
        all_sent(page)
        expect(page.locator("#banner")).not_to_contain_text("Refused")
    finally:
        context.close()
    assert visit(desk, "bracken")["takes"]["back"]["share"] == 0.3


def test_a_clock_far_ahead_is_refused_and_once_it_is_set_right_taps_are_kept_again(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        page.clock.install()
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        page.locator("#log").wait_for()
        set_clock(page, ahead_minutes=120)
        tap_log(page)
        expect(page.locator("#banner")).to_contain_text("Refused 1", timeout=30_000)
        set_clock(page, ahead_minutes=0)
        tap_log(page)
        all_sent(page)
        expect(page.locator("#banner")).to_contain_text("Refused 1")
    finally:
        context.close()
    assert set(visit(desk, "bracken")["takes"]) == {"ribs"}


def test_readings_of_one_zone_on_two_tablets_both_stand(browser, desk):
    first, second = tablet(browser), tablet(browser)
    try:
        for context, mark in ((first, "#longest_mm-3"), (second, "#look-2")):
            page = context.new_page()
            dogs_shown(page, desk)
            page.locator("#dog-bracken").tap()
            page.locator("#extra-read").tap()
            page.locator(mark).tap()
            expect(page.locator(mark)).to_have_attribute("aria-pressed", "true")
            all_sent(page)
    finally:
        first.close()
        second.close()
    readings = get(f"{desk}/api/dogs/bracken")["readings"]
    assert [each["zone"] for each in readings] == ["back", "back"]
    assert [each.get("longest_mm", 0) > 0 for each in readings] == [True, False]
    assert [each.get("look", "") for each in readings] == ["", "open"]


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
            boxes = [page.locator(each).bounding_box() for each in ("#more", "#dial", "#stop", "#back")]
            places[hand] = [box["x"] + box["width"] / 2 for box in boxes]
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
