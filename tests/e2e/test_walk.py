"""The whole job in a browser: look, bend the plan, log an over-take, see what the plan makes of it, print."""

from __future__ import annotations

import io
import re
import time

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.e2e.conftest import SIZES, get, zone_planned

OVER = 0.35
PLANNED = 0.2


@pytest.fixture(scope="module")
def chosen(desk, planned_desk) -> tuple[str, str, str]:
    """A dog due today, a zone of which 20 % is planned, and the dog's name."""
    today = get(f"{desk.url}/api/dogs")["today"]
    found = zone_planned(desk.url, planned_desk, today, PLANNED)
    assert found is not None, "the demo has a dog due today with a zone of which 20 % is planned"
    return found[0], found[1], planned_desk[found[0]]["name"]


@pytest.mark.parametrize(
    ("width", "scheme"), [(390, "dark"), pytest.param(820, "light", marks=pytest.mark.full), (1440, "dark")]
)
def test_a_dog_is_found_looked_at_and_its_plan_is_mended_after_an_over_take(
    page, desk, chosen, complaints, settle, width, scheme
):
    key, zone, name = chosen
    page.set_viewport_size({"width": width, "height": SIZES[width]})
    page.emulate_media(color_scheme=scheme)
    page.goto(desk.url)
    settle(page)
    expect(page.get_by_role("heading", level=2, name=re.compile("dogs? today"))).to_be_visible()
    page.get_by_role("link", name=name, exact=True).first.click()
    expect(page.get_by_role("heading", level=1, name=name)).to_be_visible()

    # move the day: the picture and the zones follow, the page stays
    page.wait_for_function("() => !!document.querySelector('[data-coat]')?.coat")
    cover = page.locator("#zones tbody").inner_text()
    slider = page.get_by_role("slider", name="Day")
    for _ in range(28):
        slider.press("ArrowRight")
    expect(page.locator("#days figcaption").last).to_contain_text("in 4 weeks")
    expect(page.locator("#zones tbody")).not_to_have_text(cover)
    assert slider.evaluate("e => e === document.activeElement"), "the hand stays on the slider"

    # pick a zone on the picture
    picture = page.locator(".living-over").last
    box = picture.bounding_box()
    assert box is not None
    picture.click(position={"x": 0.6 * box["width"], "y": 0.42 * box["height"]})
    expect(page.locator("#zone-name")).to_have_text("Ribs")
    expect(page.locator("#zone svg.cw-layers").first).to_be_attached()

    # fix a cell
    page.get_by_role("navigation", name=name).get_by_role("link", name="Plan").click()
    settle(page)
    visits = get(f"{desk.url}/api/dogs/{key}/plan")["visits"]
    later = visits[2]["day"]
    page.locator(f"#c-ribs-{later}").click()
    expect(page.locator("#cell h2")).to_contain_text("Ribs on")
    page.locator("#cell select").select_option("10")
    page.get_by_role("button", name="Fix this take").click()
    settle(page)
    expect(page.get_by_role("status").filter(has_text="What the last change does")).to_be_visible()
    expect(page.locator(f"td.fixed #c-ribs-{later}")).to_contain_text("10")

    # log a visit in which more was pulled than planned
    page.get_by_role("navigation", name=name).get_by_role("link", name="Log a visit").click()
    settle(page)
    taken = page.locator(f"select[name='take.{zone}']")
    planned = int(page.locator(f"input[name='planned.{zone}']").input_value())
    taken.select_option("35")
    page.get_by_label("Note").fill("It came away by itself.")
    page.get_by_role("button", name="Log this visit").click()
    settle(page)
    assert planned < 35
    expect(page.get_by_role("heading", name="Other than planned")).to_be_visible()
    expect(page.get_by_text("more than planned").first).to_be_visible()
    changed = page.locator(".changed")
    expect(changed).to_contain_text("What the plan makes of it")
    kept = get(f"{desk.url}/api/dogs/{key}")["visits"][-1]
    assert kept["takes"][zone]["share"] == OVER
    after = get(f"{desk.url}/api/dogs/{key}/plan")["visits"]
    old = sum(visit["takes"].get(zone, 0.0) for visit in visits[1:4])
    new = sum(visit["takes"].get(zone, 0.0) for visit in after[:3])
    assert new < old - 0.04, "the zone of which too much was taken is spared"

    # print the sheet of the next visit
    page.get_by_role("link", name="Next visit sheet").click()
    settle(page)
    expect(page.get_by_text("Stop when").first).to_be_visible()
    printed = PdfReader(io.BytesIO(page.pdf(format="A4", print_background=True)))
    text = " ".join(sheet.extract_text() for sheet in printed.pages).upper()
    assert name.upper() in text
    assert "HOW TO HOLD THE SKIN" in text
    assert "FIND A DOG" not in text, "what is for the screen alone is not printed"
    link = page.get_by_role("link", name="Print it (PDF)").get_attribute("href")
    answer = page.request.get(f"{desk.url}{link}")
    assert answer.headers["content-type"] == "application/pdf"
    assert name in PdfReader(io.BytesIO(answer.body())).pages[0].extract_text()

    # take it all back
    page.goto(f"{desk.url}/dogs/{key}")
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    page.goto(f"{desk.url}/dogs/{key}/plan?cell=ribs.{later}")
    settle(page)
    page.get_by_role("button", name="Let the plan choose").click()
    expect(page.locator(f"td.fixed #c-ribs-{later}")).to_have_count(0)


def looked_at(page: Page, address: str) -> None:
    """A page whose plan is made; without script one looks again oneself until it is."""
    page.goto(address)
    again = page.get_by_role("link", name="Look again")
    until = time.monotonic() + 60
    while again.count():
        assert time.monotonic() < until, "the plan is not made in time"
        again.click()


def test_the_same_works_without_script(browser, desk, planned_desk):
    key = next(key for key, dog in planned_desk.items() if dog["plan"] == "ready" and dog["next_visit"])
    quiet = browser.new_context(java_script_enabled=False, locale="en-GB")
    try:
        page = quiet.new_page()
        looked_at(page, f"{desk.url}/dogs/{key}")
        picture = page.locator("#days picture img").get_attribute("src")
        page.get_by_role("slider").press("End")
        page.locator("#days").get_by_role("button", name="Show").click()
        assert page.locator("#days picture img").get_attribute("src") != picture
        page.locator(".hits a[aria-label^='Ribs'] path").click()
        expect(page.locator("#zone-name")).to_have_text("Ribs")
        page.goto(f"{desk.url}/dogs?q={key}")
        expect(page.locator("#found table")).to_be_visible()
        visit = get(f"{desk.url}/api/dogs/{key}/plan")["visits"][1]
        zone = next(iter(visit["takes"]))
        looked_at(page, f"{desk.url}/dogs/{key}/plan")
        page.locator(f"#c-{zone}-{visit['day']}").click()
        page.locator("#cell select").select_option("5")
        page.get_by_role("button", name="Fix this take").click()
        looked_at(page, f"{desk.url}/dogs/{key}/plan")
        expect(page.locator(f"td.fixed #c-{zone}-{visit['day']}")).to_be_visible()
        page.get_by_role("button", name="Take it back").click()
        expect(page.get_by_text("Taken back.")).to_be_visible()
    finally:
        quiet.close()


def test_the_desk_is_worked_by_keyboard_alone(page, desk, planned_desk, complaints, settle):
    page.goto(f"{desk.url}/dogs")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.keyboard.press("Tab")
    expect(page.get_by_label("Name, pattern, owner or show")).to_be_focused()
    page.keyboard.type("tansy" if "tansy" in planned_desk else next(iter(planned_desk)))
    expect(page.locator("#found tbody tr")).to_have_count(1)
    for _ in range(3):
        page.keyboard.press("Tab")
    expect(page.locator("#found a.big")).to_be_focused()
    shown = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert shown == "solid", "where one is can be seen"
    page.keyboard.press("Enter")
    page.wait_for_url("**/dogs/*")
    page.wait_for_function("() => !!document.querySelector('[data-coat]')?.coat")
    seen: set[str] = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        seen.add(
            page.evaluate(
                "[document.activeElement.getAttribute('aria-label'), document.activeElement.innerText,"
                " document.activeElement.type].filter(Boolean)[0] || ''"
            )
        )
    assert {"Zones of the coat", "range", "Next visit", "Under the tail"} <= seen, "the picture can be worked"


def test_who_has_gone_on_to_a_found_dog_stays_there_when_the_list_comes_again(page, desk, complaints):
    page.goto(f"{desk.url}/dogs")
    with page.expect_response("**/dogs?q=tansy"):
        page.get_by_label("Name, pattern, owner or show").fill("tansy")
    dog = page.locator("#found a.big")
    expect(dog).to_have_count(1)
    dog.focus()
    dog.evaluate("(link) => { link.marked = true; }")
    page.evaluate("() => htmx.ajax('GET', '/dogs?q=tansy', '#found')")
    assert dog.evaluate("(link) => link.marked") is None, "the list came anew"
    expect(dog).to_be_focused()


def test_long_work_shows_that_it_is_going_on_and_ends_by_itself(page, desk, planned_desk, complaints, settle):
    key = next(key for key, dog in planned_desk.items() if dog["plan"] == "ready")
    page.goto(f"{desk.url}/dogs/{key}/plan/compare")
    settle(page)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Approaches side by side")
    expect(page.locator("main tbody tr").first).to_be_visible()
