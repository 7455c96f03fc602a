"""The page at the table under a hurried finger: twice on one button, stopping in the middle, after the last zone."""

from __future__ import annotations

import time

from playwright.sync_api import Page, expect

from tests.e2e.test_table import SIZES, all_sent, desk, dogs_shown, tablet
from tests.faults.table_salon import events, get, visit

__all__ = ["desk"]


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
        expect(page.locator("#recorded")).to_have_text("Recorded of the back 10\u00a0%, as dialled.")
        page.locator("#sign-2").tap()  # a hair needs force
        page.locator("#leave-zone").tap()
        expect(page.locator(".title h1")).to_have_text("Ribs")
        page.locator("#stop").tap()
        expect(page.locator("#recorded")).to_contain_text(
            "0\u00a0%: nothing was dialled. Some pulled already"
        )
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
        expect(page.locator("#recorded")).to_contain_text("20\u00a0%, as logged")
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


def test_the_next_zone_is_read_from_its_top(browser, desk):
    context = tablet(browser, SIZES[1])
    try:
        page = context.new_page()
        dogs_shown(page, desk)
        page.locator("#dog-bracken").tap()
        first = page.locator(".title h1").text_content() or ""
        page.evaluate("scrollTo(0, 120)")
        assert page.evaluate("scrollY") > 0
        page.locator("#log").tap()
        expect(page.locator(".title h1")).not_to_have_text(first)
        assert page.evaluate("scrollY") == 0
    finally:
        context.close()
