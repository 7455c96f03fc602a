"""The plan is bent in a browser: by keys in the grid, by moving and dropping visits, and taken back."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from playwright.sync_api import expect

from tests.e2e.conftest import SIZES, plan_of


def a_plan(desk, dogs, number):
    """A dog that is planned, its plan, and a zone and day of which 10 to 80 % is taken."""
    keys = [key for key, dog in dogs.items() if dog["plan"] == "ready" and dog["next_visit"]]
    key = keys[number % len(keys)]
    plan = plan_of(desk.url, key)
    tender = {zone["key"] for zone in plan["zones"] if zone["tender"]}
    for visit in plan["visits"][1:]:
        for zone, take in visit["takes"].items():
            if zone not in tender and 0.1 <= take <= 0.8:
                return key, plan, zone, visit["day"]
    raise AssertionError("every plan of the demo takes something")


@pytest.mark.parametrize("width", SIZES)
def test_a_take_is_changed_by_keys_seen_and_taken_back(page, desk, planned_desk, complaints, settle, width):
    key, _, zone, day = a_plan(desk, planned_desk, 0)
    page.set_viewport_size({"width": width, "height": SIZES[width]})
    page.goto(f"{desk.url}/dogs/{key}/plan")
    cell = page.locator(f"#c-{zone}-{day}")
    before, shot = int(cell.get_attribute("data-take")), page.locator("#plan-shot").get_attribute("src")
    cell.focus()
    page.keyboard.press("-")
    expect(page.locator(f"td.fixed #c-{zone}-{day}")).to_have_attribute("data-take", str(before - 5))
    expect(cell).to_be_focused()
    expect(cell.locator("s")).to_have_text(str(before))
    expect(page.locator(".difference")).to_contain_text("What the last change does")
    assert page.locator("#plan-shot").get_attribute("src") != shot, "the picture is that of the new plan"
    page.keyboard.press("Delete")
    expect(page.locator(f"td.fixed #c-{zone}-{day}")).to_have_count(0)
    page.locator("#undo").click()
    expect(page.locator(f"td.fixed #c-{zone}-{day}")).to_have_attribute("data-take", str(before - 5))
    page.locator(f"#c-{zone}-{day}").click()
    page.get_by_role("button", name="Let the plan choose").click()
    expect(page.locator(f"td.fixed #c-{zone}-{day}")).to_have_count(0)


def test_a_visit_is_moved_made_shorter_dropped_and_brought_back(page, desk, planned_desk, complaints, settle):
    key, plan, _, _ = a_plan(desk, planned_desk, 1)
    day = date.fromisoformat(plan["visits"][2]["day"])
    later = day + timedelta(days=2)
    page.goto(f"{desk.url}/dogs/{key}/plan")
    page.locator(f"#v-{day}").click()
    page.get_by_label("Day", exact=True).fill(later.isoformat())
    page.locator("#minutes").fill("40")
    page.get_by_role("button", name="Set this visit").click()
    expect(page.locator(f"#v-{later}")).to_be_visible()
    expect(page.locator(f"#v-{day}")).to_have_count(0)
    made = plan_of(desk.url, key)
    visit = next((each for each in made["visits"] if each["day"] == later.isoformat()), None)
    assert visit is None or visit["minutes"] <= 40.5
    page.get_by_role("button", name="Drop it").click()
    expect(page.locator(f"#v-{later}")).to_have_count(0)
    page.get_by_role("button", name="Bring it back").click()
    expect(page.locator(f"#v-{day}")).to_be_visible()


def test_two_versions_stand_side_by_side(page, desk, planned_desk, complaints, settle):
    key, _, zone, day = a_plan(desk, planned_desk, 2)
    page.goto(f"{desk.url}/dogs/{key}/plan")
    page.get_by_label("Name", exact=True).fill("Promised")
    page.get_by_role("button", name="Keep this plan as a version").click()
    expect(page.get_by_role("link", name="Promised", exact=True)).to_be_visible()
    cell = page.locator(f"#c-{zone}-{day}")
    before = cell.get_attribute("data-take")
    cell.focus()
    page.keyboard.press("-")
    expect(cell).not_to_have_attribute("data-take", before)
    page.get_by_role("link", name="Set two versions side by side").click()
    expect(page.locator("main s").first).to_be_visible()
    page.goto(f"{desk.url}/dogs/{key}/plan")
    page.get_by_role("link", name="Promised", exact=True).click()
    page.get_by_role("button", name="Work from it again").click()
    expect(page.locator(f"#c-{zone}-{day}")).to_have_attribute("data-take", before)


def test_a_mistake_is_told_in_place(page, desk, planned_desk, settle):
    key, plan, _, _ = a_plan(desk, planned_desk, 1)
    page.goto(f"{desk.url}/dogs/{key}/plan?visit={plan['visits'][1]['day']}")
    page.locator("#minutes").fill("many")
    page.get_by_role("button", name="Set this visit").click()
    expect(page.get_by_role("alert")).to_contain_text("minutes")
    expect(page.locator(".grid table")).to_be_visible()


def test_pressing_twice_before_the_answer_counts_twice(page, desk, planned_desk, settle):
    key, _, zone, day = a_plan(desk, planned_desk, 0)
    page.goto(f"{desk.url}/dogs/{key}/plan")
    cell = page.locator(f"#c-{zone}-{day}")
    before = int(cell.get_attribute("data-take"))
    cell.focus()
    page.keyboard.press("-")
    page.keyboard.press("-")
    expect(page.locator(f"td.fixed #c-{zone}-{day}")).to_have_attribute("data-take", str(max(before - 10, 0)))
