"""The desk by keyboard: single keys, the search that is instant, and the grid of a plan.

The search follows the combobox pattern, the grid the grid pattern of the WAI-ARIA Authoring Practices 1.2
(roles, states and keys; from memory); single keys follow WCAG 2.2, 2.1.4 Character Key Shortcuts.
"""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import Page, expect

from coatwright.web.finding import folded
from coatwright.web.keys import KEYS
from tests.e2e.conftest import plan_of

INSTANT_MS = 50.0
"""Longest time from a letter to the dogs under the field."""


@pytest.fixture
def dog(planned_desk) -> str:
    """A dog with a plan and a visit to come."""
    return next(key for key, dog in planned_desk.items() if dog["plan"] == "ready" and dog["next_visit"])


def focus(page: Page, selector: str) -> bool:
    return bool(page.evaluate("s => document.activeElement.matches(s)", selector))


# --- single keys --------------------------------------------------------------------------------------------


def test_a_question_mark_lists_the_keys_and_escape_closes_the_list(page, desk, axe, complaints, planned_desk):
    page.goto(desk.url)
    expect(page.locator("dialog#keys-dialog")).to_be_hidden()
    page.keyboard.press("?")
    expect(page.get_by_role("dialog", name="Keys")).to_be_visible()
    assert axe(page) == []
    shown = page.locator("dialog#keys-dialog tbody tr")
    assert shown.count() == sum(len(rows) for _, rows in KEYS)
    page.keyboard.press("d")
    expect(page.get_by_role("dialog")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("dialog#keys-dialog")).to_be_hidden()


def test_g_and_a_letter_go_to_each_page(page, desk, complaints, planned_desk):
    page.goto(f"{desk.url}/dogs")
    for _, rows in KEYS:
        for key in rows:
            if key.press[0] == "g":
                page.keyboard.press("g")
                page.keyboard.press(key.press[1])
                page.wait_for_url(re.compile(re.escape(desk.url + key.go) + r"$"))


def test_the_keys_of_a_dog_lead_to_its_pages(page, desk, dog, complaints, settle):
    for _, rows in KEYS:
        for key in rows:
            if key.go.startswith("dog"):
                page.goto(f"{desk.url}/dogs/{dog}/edit" if key.press != ("f",) else f"{desk.url}/dogs/{dog}")
                page.keyboard.press(key.press[0])
                page.wait_for_url(f"{desk.url}/dogs/{dog}{key.go[3:]}")
    page.goto(f"{desk.url}/dogs")
    page.keyboard.press("p")
    page.wait_for_timeout(100)
    assert page.url == f"{desk.url}/dogs", "without a dog its keys do nothing"


def test_keys_do_nothing_while_one_types_or_holds_a_modifier(page, desk, dog, complaints):
    page.goto(f"{desk.url}/dogs/{dog}/edit")
    page.locator("#notes").click()
    page.keyboard.type("cphv gd ?")
    assert page.url.endswith("/edit")
    expect(page.locator("#notes")).to_have_value(re.compile(re.escape("cphv gd ?")))
    expect(page.locator("dialog#keys-dialog")).to_be_hidden()
    page.locator("h1").click()
    for held in ("Control", "Alt", "Meta"):
        page.keyboard.press(f"{held}+v")
    page.wait_for_timeout(100)
    assert page.url.endswith("/edit")


def test_keys_can_be_switched_off(page, desk, complaints, planned_desk):
    page.goto(f"{desk.url}/settings")
    page.get_by_label("Single keys").select_option("off")
    page.get_by_role("button", name="Keep these settings").click()
    expect(page.get_by_role("status")).to_contain_text("settings are kept")
    page.locator("h1").click()
    page.keyboard.press("?")
    page.keyboard.press("g")
    page.keyboard.press("d")
    page.wait_for_timeout(150)
    assert page.url.startswith(f"{desk.url}/settings")
    assert page.locator("dialog").count() == 0
    page.goto(f"{desk.url}/keys")
    expect(page.get_by_text("switched off in this browser")).to_be_visible()


def test_the_keys_stand_on_a_page_of_their_own_without_script(browser, desk, planned_desk):
    quiet = browser.new_context(java_script_enabled=False)
    try:
        page = quiet.new_page()
        page.goto(desk.url)
        page.get_by_role("contentinfo").get_by_role("link", name="Keys").click()
        expect(page.locator("main tbody tr")).to_have_count(sum(len(rows) for _, rows in KEYS))
    finally:
        quiet.close()


def test_j_and_k_go_through_the_dogs(page, desk, complaints, planned_desk):
    page.goto(f"{desk.url}/dogs")
    names = page.locator("[data-list] a.big").all_inner_texts()
    page.keyboard.press("j")
    assert page.evaluate("document.activeElement.textContent") == names[0]
    page.keyboard.press("j")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.textContent") == names[2]
    page.keyboard.press("k")
    assert page.evaluate("document.activeElement.textContent") == names[1]
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1, name=names[1])).to_be_visible()


# --- the search ---------------------------------------------------------------------------------------------


def test_a_dog_is_found_while_one_types_and_opened_with_enter(page, desk, axe, complaints, planned_desk):
    key, dog = next(iter(planned_desk.items()))
    page.goto(desk.url)
    page.keyboard.press("/")
    field = page.get_by_role("combobox", name="Find")
    expect(field).to_be_focused()
    page.keyboard.type(dog["name"].upper())
    options = page.get_by_role("listbox", name="Found").get_by_role("option")
    expect(options.first).to_contain_text(dog["name"])
    expect(field).to_have_attribute("aria-expanded", "true")
    assert axe(page) == []
    if options.count() > 1:
        page.keyboard.press("ArrowDown")
    assert field.get_attribute("aria-activedescendant") == options.first.get_attribute("id")
    expect(options.first).to_have_attribute("aria-selected", "true")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{desk.url}/dogs/{key}")


def test_escape_closes_what_was_found_and_enter_without_a_choice_lists_it(
    page, desk, complaints, planned_desk
):
    page.goto(desk.url)
    field = page.locator("#find")
    field.click()
    page.keyboard.type("terrier")
    expect(page.locator("#find-list [role=option]").nth(1)).to_be_visible()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    last = page.locator("#find-list [role=option]").last.get_attribute("id")
    assert field.get_attribute("aria-activedescendant") == last, "the choice goes round"
    page.keyboard.press("Escape")
    expect(page.locator("#find-list")).to_be_hidden()
    expect(field).to_have_value("terrier")
    page.keyboard.press("Enter")
    page.wait_for_url("**/dogs?q=terrier")


def test_nothing_found_is_said(page, desk, complaints, planned_desk):
    page.goto(desk.url)
    page.locator("#find").click()
    page.keyboard.type("zzz")
    expect(page.locator("#find-list")).to_contain_text("Nothing begins with “zzz”")
    page.keyboard.press("Enter")
    expect(page.get_by_text("No dog answers to “zzz”")).to_be_visible()


def many(number: int) -> dict[str, list[list[str]]]:
    """The index of a salon with so many dogs."""
    begin = ("Bram", "Tan", "Hó", "Ör", "Fen", "Wi", "Cor", "Pip", "Sø", "Em")
    end = ("ble", "sy", "b", "lo", "nel", "ck", "rie", "pin", "rrel", "ber", "dock", "wick")
    dogs = [
        [
            f"dog-{k}",
            begin[k % len(begin)] + end[k // len(begin) % len(end)] + f" {k}",
            f"Lakeland Terrier, Owner {k}",
            "",
        ]
        for k in range(number)
    ]
    return {"dogs": dogs, "shows": [], "people": []}


def test_two_thousand_dogs_are_looked_through_at_once(page, desk, complaints, planned_desk):
    page.route("**/find.json", lambda route: route.fulfill(json=many(2000)))
    page.goto(f"{desk.url}/people")
    page.locator("#find").click()
    page.keyboard.type("b")
    expect(page.locator("#find-list [role=option]").first).to_be_visible()
    took = page.evaluate(
        """async () => {
          const field = document.getElementById("find"), times = [];
          for (const text of ["b", "br", "bram", "brambleb", "sor", "sorrel 8", "or", "l t", "owner 1999"]) {
            field.value = text;
            const begun = performance.now();
            field.dispatchEvent(new Event("input", {bubbles: true}));
            document.getElementById("find-list").getBoundingClientRect();
            times.push(performance.now() - begun);
            await new Promise(requestAnimationFrame);
          }
          return times;
        }"""
    )
    assert sorted(took)[len(took) // 2] < INSTANT_MS, took
    expect(page.locator("#find-list [role=option]")).to_have_count(1)
    expect(page.locator("#find-list")).to_contain_text("1999")
    page.locator("#find").fill("SÓRRÈL")
    expect(page.locator("#find-list [role=option]").first).to_contain_text("Sørrel")


def test_the_browser_parts_words_as_the_server_does(page, desk, planned_desk):
    said = [
        *("Tansy", "Jörg Strauß", "Søren Ærø", "O’Neil's", "Łódź-Kraków", "no. 12/b", "  ", "ÉCLAIR"),
        *("İstanbul", "naïve café", "Đorđe", "x²"),
    ]
    page.goto(desk.url)
    found = page.evaluate(
        "async words => { const {folded} = await import('/static/search.js'); return words.map(folded); }",
        said,
    )
    assert found == [folded(text) for text in said], json.dumps(found)


# --- the grid -----------------------------------------------------------------------------------------------


def test_arrows_go_from_cell_to_cell_and_tab_leaves_the_grid(page, desk, dog, complaints, settle):
    visits = [visit["day"] for visit in plan_of(desk.url, dog)["visits"]]
    page.goto(f"{desk.url}/dogs/{dog}/plan")
    settle(page)
    cells = page.locator(".grid tbody tr").first.locator("a")
    count = cells.count()
    assert count >= len(visits[:3])
    assert page.locator(".grid tbody a[tabindex='0']").count() == 1, "one stop for Tab"
    first = cells.first.get_attribute("id")
    cells.first.focus()
    page.keyboard.press("ArrowRight")
    assert focus(page, f"#{cells.nth(1).get_attribute('id')}")
    page.keyboard.press("ArrowDown")
    below = page.locator(".grid tbody tr").nth(1).locator("a").nth(1).get_attribute("id")
    assert focus(page, f"#{below}")
    page.keyboard.press("End")
    last = page.locator(".grid tbody tr").nth(1).locator("a").last.get_attribute("id")
    assert focus(page, f"#{last}")
    page.keyboard.press("ArrowRight")
    assert focus(page, f"#{last}"), "the edge holds"
    page.keyboard.press("Home")
    page.keyboard.press("ArrowUp")
    assert focus(page, f"#{first}")
    page.keyboard.press("Tab")
    assert not focus(page, ".grid td a"), "Tab leaves the grid"
    page.keyboard.press("Shift+Tab")
    assert focus(page, f"#{first}")
    page.keyboard.press("Enter")
    expect(page.locator("#cell h2")).to_be_visible()
