"""The paper test in a browser: a photo sent, hairs picked and put right, the word, and what the dog knows of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import cv2
import pytest
from playwright.sync_api import Page, expect

from tests.e2e.conftest import SIZES, get
from tests.paper.rendering import FIGURES, Photo, render

SLOW_MS = 60_000
"""The first verdict waits until its loops are compiled."""
READ_MS = 240_000
"""The first photo waits until the tracing is compiled."""


@pytest.fixture(scope="module")
def photo() -> Photo:
    """A good photo with eighty hairs, some crossing where it is not clear which is which."""
    return render(FIGURES, 51, hairs=80, coat="black", quality="good", broken=0.2)


@pytest.fixture(scope="module")
def files(photo: Photo, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A good photo, the same saved anew, so that it is another file, and one taken from too far off."""
    folder = tmp_path_factory.mktemp("photos")
    small = cv2.resize(photo.image, None, fx=0.4, fy=0.4, interpolation=cv2.INTER_AREA)
    (folder / "sheet.jpg").write_bytes(photo.jpeg)
    (folder / "far.jpg").write_bytes(cv2.imencode(".jpg", small)[1].tobytes())
    saved = cv2.imencode(".jpg", photo.image, [cv2.IMWRITE_JPEG_QUALITY, 90])[1]
    (folder / "other.jpg").write_bytes(saved.tobytes())
    return {"good": folder / "sheet.jpg", "other": folder / "other.jpg", "far": folder / "far.jpg"}


@pytest.fixture(scope="module")
def dog(desk) -> str:
    """A dog that can be pulled; its plan is not waited for."""
    return next(dog["id"] for dog in get(f"{desk.url}/api/dogs")["dogs"] if not dog["unfit"])


def send(page: Page, desk_url: str, dog: str, file: Path, tool: str = "fine knife 3", day: str = "") -> None:
    """Fill in the form and send a photo, of today where no ``day`` is given; wait until it was read."""
    page.goto(f"{desk_url}/paper/new?dog={dog}" + (f"&day={day}" if day else ""))
    page.locator("#zone").select_option("back")
    page.locator("#tool").fill(tool)
    page.locator("#photo").set_input_files(file)
    page.get_by_role("button", name="Read the photos").click()
    expect(page.locator("h1")).not_to_contain_text("Reading", timeout=READ_MS)
    page.wait_for_load_state("networkidle")


@pytest.fixture(scope="module")
def draft(browser, desk, dog, files) -> Iterator[str]:
    """The address of a sheet that waits to be accepted, for tests that change nothing of it."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, locale="en-GB")
    page = context.new_page()
    send(page, desk.url, dog, files["other"], "coarse knife 7")
    assert "/paper/drafts/" in page.url
    yield page.url
    context.close()


def clear_hair(page: Page) -> tuple[int, float, float]:
    """The hair whose middle lies farthest from every other line: its number, and where that is on the screen."""
    number, x, y = page.evaluate(
        """() => {
        const lines = [...document.querySelectorAll("#lines a[data-hair]")].map((link) => {
            const line = link.querySelector(".over"), long = line.getTotalLength();
            const at = Array.from({ length: 41 }, (_, k) => line.getPointAtLength((long * k) / 40));
            return { number: Number(link.dataset.hair), at, by: line.getScreenCTM() };
        });
        let best = [-1];
        for (const one of lines) {
            const { x, y } = one.at[20];
            const rest = lines.filter((other) => other !== one).flatMap((other) => other.at);
            const off = Math.min(...rest.map((point) => Math.hypot(point.x - x, point.y - y)));
            if (off > best[0]) best = [off, one.number, x * one.by.a + one.by.e, y * one.by.d + one.by.f];
        }
        return best.slice(1); }"""
    )
    return int(number), float(x), float(y)


def middle(page: Page, number: int) -> tuple[float, float]:
    """Where the middle of a hair's line lies on the screen."""
    x, y = page.evaluate(
        """number => { const line = document.querySelector(`#t${number} .over`);
        const at = line.getPointAtLength(line.getTotalLength() / 2), by = line.getScreenCTM();
        return [at.x * by.a + by.e, at.y * by.d + by.f]; }""",
        number,
    )
    return x, y


def count(page: Page, word: str) -> int:
    found = re.search(rf"{word} (\d+)", page.locator("#legend").inner_text())
    return int(found[1]) if found else 0


def test_from_a_photo_to_what_the_dog_knows(desk, dog, page, files, complaints) -> None:
    pulled = [
        each["day"] for each in get(f"{desk.url}/api/dogs/{dog}")["visits"] if "back" in each.get("takes", ())
    ]
    send(page, desk.url, dog, files["good"], day=pulled[-1])  # lengths are learnt from where a take is logged
    expect(page).to_have_url(re.compile("/paper/drafts/"))
    lines = page.locator("#lines a[data-hair]")
    assert 76 <= lines.count() <= 84

    # a tap picks the line that it is nearest to
    page.locator(".pane").scroll_into_view_if_needed()
    number, x, y = clear_hair(page)
    page.mouse.click(x + 2, y + 1)
    expect(page.locator("#picked-head")).to_contain_text(f"Hair {number + 1} ")
    expect(page.locator("#picked .closeup")).to_have_count(2)
    assert f"hair={number}" in page.url

    # marked by hand, told apart from what was read, and taken back
    page.locator(".hairs summary").click()
    chosen = page.locator("#list-of h3", has_text="Whole").locator("+ ul a").first
    name = chosen.inner_text().split()[0]
    chosen.click()
    expect(page.locator("#picked-head")).to_contain_text(f"Hair {name} ", timeout=SLOW_MS)
    whole, broken = count(page, "whole"), count(page, "broken")
    page.get_by_role("button", name="broken", exact=True).click()
    expect(page.locator("#changes")).to_contain_text("read as whole", timeout=SLOW_MS)
    assert (count(page, "whole"), count(page, "broken")) == (whole - 1, broken + 1)
    page.locator("#changes button").first.click()
    expect(page.locator("#changes")).to_be_hidden(timeout=SLOW_MS)
    assert (count(page, "whole"), count(page, "broken")) == (whole, broken)

    # a doubtful join: one tap, listed, and still there after the page is loaded anew
    doubts = page.locator("#doubts li").count()
    assert doubts > 0
    page.locator("#doubts li button").first.click()
    expect(page.locator("#changes li")).to_have_count(1, timeout=SLOW_MS)
    page.reload()
    expect(page.locator("#changes li")).to_have_count(1)

    verdict = page.locator("#verdict .verdict").inner_text()
    assert re.search(r"Of 100 hairs about [\d.]+ break \([\d.]+ to [\d.]+\), from \d+ judged hairs", verdict)
    expect(page.locator(".chart-wide .cw-lengths")).to_be_visible()

    before = len(get(f"{desk.url}/api/dogs/{dog}").get("papers", ()))
    page.get_by_role("button", name="Accept").click()
    expect(page.locator("#end-head")).to_have_text("Where it went")
    assert len(get(f"{desk.url}/api/dogs/{dog}").get("papers", ())) == before + 1
    page.get_by_role("link", name="what is known of").click()
    expect(page.locator("#facts-head + ul")).to_contain_text("paper test", timeout=READ_MS)


def test_a_refused_photo_says_and_draws_what_to_change(desk, dog, page, files, complaints) -> None:
    send(page, desk.url, dog, files["far"])
    expect(page.locator("h1")).to_have_text("This photo cannot be used")
    expect(page.locator(".refusal .stop")).to_contain_text("Go nearer, until the sheet fills the picture.")
    expect(page.locator(".refusal .cw-change")).to_be_visible()
    page.get_by_role("link", name="Take another photo").click()
    expect(page.locator("#tool")).to_have_value("fine knife 3")
    expect(page.locator("#dog")).to_have_value(dog)


def test_photos_can_be_dropped(desk, dog, page, files) -> None:
    page.goto(f"{desk.url}/paper/new?dog={dog}")
    data = page.evaluate_handle(
        """() => { const all = new DataTransfer();
        for (const name of ["one.jpg", "two.jpg"]) all.items.add(new File(["none"], name, { type: "image/jpeg" }));
        return all; }"""
    )
    page.dispatch_event(".drop", "drop", {"dataTransfer": data})
    expect(page.locator(".chosen-files li")).to_have_count(2)
    page.get_by_role("button", name="Read the photos").click()
    expect(page.locator(".refusal")).to_have_count(2, timeout=READ_MS)


def test_photos_that_were_taken_are_no_longer_in_the_form_when_a_later_one_fails(desk, dog, page) -> None:
    page.goto(f"{desk.url}/paper/new?dog={dog}")
    page.locator("#zone").select_option("back")
    photos = [{"name": f"{k}.jpg", "mimeType": "image/jpeg", "buffer": b"none %d" % k} for k in range(26)]
    sent: list[str] = []

    def fail_the_third(route) -> None:
        sent.append(route.request.url)
        route.abort() if len(sent) == 3 else route.continue_()

    page.route("**/paper/new", fail_the_third)
    page.locator("#photo").set_input_files(photos)
    page.get_by_role("button", name="Read the photos").click()
    expect(page.locator(".sending")).to_contain_text("2.jpg was not taken. The 2 before it were")
    expect(page.locator(".chosen-files li")).to_have_count(24)
    page.unroute("**/paper/new")
    # one photo fewer than one request takes goes with the rest of its batch all the same
    page.get_by_role("button", name="Read the photos").click()
    expect(page.locator(".refusal")).to_have_count(26, timeout=READ_MS)


def test_the_photo_is_enlarged_by_buttons_keys_and_wheel_and_moves_by_scrolling(page, draft) -> None:
    page.goto(draft)
    page.wait_for_load_state("networkidle")
    pane = page.locator(".pane")
    width = "document.querySelector('.ground').clientWidth"
    fit = page.evaluate(width)
    page.get_by_role("button", name="Larger").click()
    assert page.evaluate(width) == pytest.approx(1.5 * fit, abs=2)
    pane.focus()
    page.keyboard.press("+")
    assert page.evaluate(width) == pytest.approx(2.25 * fit, abs=2)
    page.keyboard.press("0")
    assert page.evaluate(width) == pytest.approx(fit, abs=1)
    pane.hover(position={"x": 200, "y": 150})
    x = page.evaluate("document.querySelector('.pane').getBoundingClientRect().left + 200")
    at = """([x]) => { const box = document.querySelector(".ground").getBoundingClientRect();
        return (x - box.left) / box.width; }"""
    held = page.evaluate(at, [x])
    page.keyboard.down("Control")
    page.mouse.wheel(0, -300)
    page.keyboard.up("Control")
    page.wait_for_function(f"fit => {width} > 1.5 * fit", arg=fit)
    page.wait_for_function(f"([x, held]) => Math.abs(({at})([x]) - held) < 0.005", arg=[x, held])
    before = pane.evaluate("e => e.scrollLeft")
    page.keyboard.press("ArrowRight")
    page.wait_for_function("before => document.querySelector('.pane').scrollLeft > before", arg=before)
    page.get_by_role("button", name="Lines").click()
    expect(page.locator("#lines .over").first).to_be_hidden()


def test_a_hair_chosen_in_the_list_is_brought_into_view(page, draft) -> None:
    page.goto(draft)
    page.locator("#hair-open").click()
    expect(page.locator("#picked .state")).to_contain_text("Unjudged")
    number = re.search(r"hair=(\d+)", page.url)
    assert number is not None
    x, y = middle(page, int(number[1]))
    box = page.locator(".pane").bounding_box()
    assert box is not None
    assert box["x"] < x < box["x"] + box["width"]
    assert box["y"] < y < box["y"] + box["height"]
    focused = page.evaluate("document.activeElement.id")
    assert focused == "hair-open"


def test_a_hair_is_cut_where_it_is_tapped_and_the_cut_taken_back(page, draft) -> None:
    page.goto(draft)
    page.wait_for_load_state("networkidle")
    page.locator(".pane").scroll_into_view_if_needed()
    number, x, y = clear_hair(page)
    page.mouse.click(x, y)
    expect(page.locator("#picked-head")).to_contain_text(f"Hair {number + 1} ", timeout=SLOW_MS)
    page.locator(".mending summary").click()
    page.get_by_role("button", name="Cut where I tap").click()
    expect(page.locator(".tapping [role=status]")).to_contain_text("Tap the hair")
    page.locator(".pane").scroll_into_view_if_needed()
    _, x, y = clear_hair(page)
    page.mouse.click(x, y)
    expect(page.locator("#changes")).to_contain_text(f"Hair {number + 1} was split", timeout=SLOW_MS)
    page.locator("#changes button").first.click()
    expect(page.locator("#changes")).to_be_hidden(timeout=SLOW_MS)


def test_it_works_without_script(browser, draft) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 844})
    try:
        page = context.new_page()
        page.goto(draft)
        page.locator(".hairs summary").click()
        page.locator("#list-of a").first.click()
        expect(page.locator("#picked .closeup")).to_have_count(2)
        state = page.locator("#picked [aria-pressed=true]").inner_text()
        other = "whole" if state == "broken" else "broken"
        page.get_by_role("button", name=other, exact=True).click()
        expect(page.locator("#changes")).to_contain_text(f"read as {state}")
        page.locator("#changes button").first.click()
        expect(page.locator("#changes li")).to_have_count(0)
    finally:
        context.close()


@pytest.mark.parametrize(
    ("width", "scheme"),
    [(390, "light"), (820, "dark"), (1440, "light"), pytest.param(1440, "dark", marks=pytest.mark.full)],
)
def test_axe_finds_nothing_and_nothing_is_wider_than_the_screen(
    browser, axe: Callable[..., list[dict[str, Any]]], desk, dog, files, draft, width, scheme
) -> None:
    context = browser.new_context(
        viewport={"width": width, "height": SIZES[width]}, color_scheme=scheme, locale="en-GB"
    )
    try:
        page = context.new_page()
        for address in (draft, f"{draft}?hair=4", f"{draft}?doubt=0"):
            page.goto(address)
            page.wait_for_load_state("networkidle")
            page.evaluate("document.querySelectorAll('details').forEach(e => e.open = true)")
            assert [(each["id"], each["nodes"][0]["html"][:200]) for each in axe(page)] == [], address
            assert page.evaluate("document.documentElement.scrollWidth") <= width
        send(page, desk.url, dog, files["far"])
        assert [(each["id"], each["nodes"][0]["html"][:200]) for each in axe(page)] == []
    finally:
        context.close()


def test_targets_are_large_enough_on_a_tablet(browser, draft) -> None:
    # At least 12 mm for what is tapped again and again, which is 62.4 CSS px where 132 of them make an inch.
    context = browser.new_context(viewport={"width": 820, "height": 1180}, has_touch=True, is_mobile=True)
    try:
        page = context.new_page()
        page.goto(f"{draft}?hair=4")
        page.wait_for_load_state("networkidle")
        small = page.evaluate(
            """() => [...document.querySelectorAll(
                ".marks-of button, .zoomer .tools button, .joins button, .steps a")]
            .filter(e => e.checkVisibility()).map(e => [e.textContent.trim(), e.getBoundingClientRect()])
            .filter(([, r]) => r.width < 63.5 || r.height < 63.5).map(([text]) => text)"""
        )
        assert small == []
        page.get_by_role("button", name="Fit").tap()
        page.locator(".pane").scroll_into_view_if_needed()
        number, x, y = clear_hair(page)
        page.touchscreen.tap(x, y)
        expect(page.locator("#picked-head")).to_contain_text(f"Hair {number + 1} ")
    finally:
        context.close()
