"""What a tablet says beside another tablet and the desk, and by a clock that is set: whose share stands."""

from __future__ import annotations

import time

from playwright.sync_api import BrowserContext, Page, expect

from tests.e2e.test_table import SIZES, all_sent, desk, dogs_shown, ready, tablet, tap_log
from tests.faults.table_salon import get, visit

__all__ = ["desk"]


REFRESH = "import('/table/app.js').then(({ refresh }) => refresh())"


def opened(page: Page, zone: str) -> None:
    """A zone from the list of all of them."""
    page.locator("#extra-zones").tap()
    page.locator(f"#zone-{zone}").tap()
    expect(page.locator(".zone-list")).to_have_count(0)


def at_bracken(context: BrowserContext, url: str) -> Page:
    """A page of this tablet with Bracken on the table."""
    page = context.new_page()
    dogs_shown(page, url)
    page.locator("#dog-bracken").tap()
    page.locator("#log").wait_for()
    return page


def flinches(page: Page) -> None:
    """Say so of the zone in hand, and wait until that is on the disk."""
    page.locator(".choice", has_text="flinched").tap()
    expect(page.locator("#bar .last")).to_contain_text("Back: flinched")


def test_a_zone_logged_elsewhere_is_not_called_open_and_is_open_again_once_it_was_taken_back_there(
    browser, desk
):
    first, second = tablet(browser), tablet(browser)
    try:
        one, two = at_bracken(first, desk), at_bracken(second, desk)
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


def test_a_visit_that_begins_late_knows_at_once_what_was_logged_elsewhere(browser, desk):
    first, second = tablet(browser), tablet(browser)
    try:
        one = first.new_page()
        dogs_shown(one, desk)
        one.locator("#dog-bracken").tap()
        tap_log(one)
        all_sent(one)
        two = second.new_page()
        dogs_shown(two, desk)
        two.locator("#dog-bracken").tap()
        expect(two.locator(".title h1")).to_have_text("Ribs")
        two.locator("#extra-zones").tap()
        expect(two.locator("#zone-back")).to_contain_text("logged elsewhere 20")
        two.locator("#zone-back").tap()
        expect(two.locator(".title")).to_contain_text("Logged elsewhere 20")
    finally:
        first.close()
        second.close()


def test_a_sign_leaves_what_was_said_graver_and_what_another_tablet_logged(browser, desk):
    first, second = tablet(browser), tablet(browser)
    try:
        one, two = at_bracken(first, desk), at_bracken(second, desk)
        one.locator("#less").tap()
        tap_log(one)
        all_sent(one)
        two.evaluate(REFRESH)
        opened(two, "back")
        two.locator("#extra-skin").tap()
        two.locator(".choice", has_text="pinpoints").tap()
        two.locator("#to-stop").tap()
        expect(two.locator("#recorded")).to_contain_text("15\u00a0%, as logged elsewhere")
        two.locator("#sign-0").tap()
        two.locator("#leave-zone").tap()
        expect(two.locator(".title h1")).to_have_text("Ribs")
        all_sent(two)
    finally:
        first.close()
        second.close()
    back = visit(desk, "bracken")["takes"]["back"]
    assert (back["share"], back["skin"]) == (0.15, "pinpoints of blood")


def test_a_remark_on_a_zone_that_another_tablet_logged_leaves_its_share(browser, desk):
    """The remark is tapped later, on a tablet that has not heard of the take yet."""
    first, second = tablet(browser), tablet(browser, SIZES[1])
    try:
        one, two = at_bracken(first, desk), at_bracken(second, desk)
        one.locator("#less").tap()
        tap_log(one)
        all_sent(one)
        expect(two.locator(".title h1")).to_have_text("Back")
        two.locator("#extra-reaction").tap()
        flinches(two)
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


def test_a_zone_with_nothing_but_a_remark_is_open_on_the_other_tablet(browser, desk):
    first, second = tablet(browser), tablet(browser, SIZES[1])
    try:
        one, two = at_bracken(first, desk), at_bracken(second, desk)
        one.locator("#extra-reaction").tap()
        flinches(one)
        one.locator("#close").tap()
        all_sent(one)
        two.evaluate(REFRESH)
        expect(two.locator(".title h1")).to_have_text("Back")
        expect(two.locator(".title")).not_to_contain_text("Logged elsewhere")
        two.locator("#extra-zones").tap()
        expect(two.locator("#zone-back")).to_contain_text("plan 20")
        one.goto(f"{desk}/dogs/bracken/visits/{visit(desk, 'bracken')['id']}")
        expect(one.locator("#taken + table")).to_contain_text("not logged")
        expect(one.locator("#taken + table")).to_contain_text("flinched")
    finally:
        first.close()
        second.close()


def set_clock(page: Page, *, ahead_minutes: float) -> None:
    """Set the tablet's clock so far ahead of the desk's."""
    page.clock.set_system_time(time.time() + 60 * ahead_minutes)


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
        page.evaluate("import('/table/outbox.js').then(({ hurry }) => hurry())")
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
