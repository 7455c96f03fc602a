"""A reading at the table: two taps on a tablet held upright, kept at once, never lost."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.e2e.conftest import SIZES, get


@pytest.fixture
def tablet(browser, desk, planned_desk):
    """A tablet held upright, and a dog that can be read."""
    key = next(key for key, dog in planned_desk.items() if dog["plan"] == "ready")
    context = browser.new_context(
        viewport={"width": 820, "height": SIZES[820]}, locale="en-GB", has_touch=True, is_mobile=True
    )
    page = context.new_page()
    page.goto(f"{desk.url}/dogs/{key}/readings")
    page.wait_for_load_state("networkidle")
    yield key, page
    context.close()


def kept(desk, key):
    """Readings of today before the pulling, by zone."""
    today = get(f"{desk.url}/api/dogs")["today"]
    found = get(f"{desk.url}/api/dogs/{key}")["readings"]
    return {each["zone"]: each for each in found if each["day"] == today and "at_visit" not in each}


def test_a_reading_takes_two_taps_on_a_tablet(desk, tablet):
    key, page = tablet
    page.locator("#z-back > a.zone").tap()
    value = page.locator("#z-back button[name=longest]").nth(8)
    expect(value).to_be_in_viewport(ratio=1.0)
    length = float(value.get_attribute("value"))
    value.tap()
    expect(page.locator("#z-back .said")).to_contain_text("longest")
    assert kept(desk, key)["back"]["longest_mm"] == length
    page.locator("#look-open").tap()
    expect(page.locator("#look-open")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#z-back .said")).to_contain_text("cover open")
    assert kept(desk, key)["back"]["look"] == "open"
    page.locator("#z-back button[name=longest][aria-pressed=true]").tap()
    expect(page.locator("#z-back .said")).not_to_contain_text("longest")
    assert "longest_mm" not in kept(desk, key)["back"]


def test_every_target_is_large_enough_for_a_chalky_finger_and_the_zone_fits_the_screen(tablet):
    # At least 12 mm, which is 62.4 CSS px where 132 of them make an inch, as on many tablets (from memory).
    _, page = tablet
    page.locator("#z-ribs > a.zone").tap()
    expect(page.locator("#z-ribs .next")).to_be_in_viewport()
    small = page.evaluate(
        """() => [...document.querySelectorAll("#readings :is(button, a.zone, a.big, a.do, summary)")]
        .filter(e => e.checkVisibility()).map(e => [e.textContent.trim(), e.getBoundingClientRect()])
        .filter(([, r]) => r.width < 63.5 || r.height < 63.5).map(([text]) => text)"""
    )
    assert small == []


def test_taps_faster_than_the_desk_and_taps_without_a_network_are_all_kept(desk, tablet):
    key, page = tablet
    page.locator("#z-croup > a.zone").tap()
    expect(page.locator("#z-croup .scale").first).to_be_visible()
    page.context.set_offline(True)
    page.evaluate(
        """() => { for (const n of [1, 4, 7]) document.querySelectorAll("#z-croup button[name=step]")[n].click();
        document.querySelector("#look-thin").click(); }"""
    )
    expect(page.locator("#late")).to_contain_text("4 taps are sent again")
    assert "croup" not in kept(desk, key)
    page.context.set_offline(False)
    expect(page.locator("#z-croup .said")).to_contain_text("cover thin", timeout=15_000)
    expect(page.locator("#late")).to_have_count(0)
    reading = kept(desk, key)["croup"]
    assert (len(reading["steps_mm"]), reading["look"]) == (3, "thin")


def test_it_works_without_script(browser, desk, planned_desk):
    key = next(key for key, dog in planned_desk.items() if dog["plan"] == "ready")
    context = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 844})
    try:
        page = context.new_page()
        page.goto(f"{desk.url}/dogs/{key}/readings")
        page.locator("#z-neck > a.zone").click()
        page.locator("#look-close").click()
        expect(page.locator("#z-neck .said")).to_contain_text("cover close")
        page.locator("#look-close").click()
        expect(page.locator("#z-neck .said")).to_have_text("")
    finally:
        context.close()
    assert "neck" not in kept(desk, key)
