"""The page at the table at the desk's door: not let in, without a worker, without groomers, with a slow line."""

from __future__ import annotations

import hashlib
import json
import urllib.request
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.e2e.test_table import all_sent, dogs_shown, tablet, tap_log
from tests.faults.lossy import Faults, Lossy
from tests.faults.table_salon import table_desk, visit

QUIET = Faults(0.0, 0.0, 0.0, 0.0)
HURRY = "import('/table/outbox.js').then(({ hurry }) => hurry())"
REFRESH = "import('/table/app.js').then(({ refresh }) => refresh())"
PEOPLE = "import('/table/app.js').then(({ app }) => app.people.map(({ name }) => name))"
PHOTO = """async ([sha, size]) => {
  const { write } = await import("/table/store.js");
  const bytes = new Uint8Array(size).fill(7);
  await write("photos", ({ photos }) => photos.put({ sha, bytes, type: "image/jpeg", at: 1, why: "" }));
  await import("/table/outbox.js").then(({ count }) => count());
}"""


@pytest.fixture(scope="module")
def desk(table_planner, tmp_path_factory) -> Iterator[str]:
    """One desk for all: every test has a tablet of its own, and none logs a zone of which another speaks."""
    with table_desk(table_planner, tmp_path_factory.mktemp("door") / "salon") as url:
        yield url


@pytest.fixture
def context(browser) -> Iterator[BrowserContext]:
    """A tablet whose browser has no worker, so that each of its questions can be answered otherwise."""
    made = tablet(browser, (390, 844), service_workers="block")
    yield made
    made.close()


def answers(context: BrowserContext, path: str, status: int, body: Any) -> None:
    """Let the desk answer so to what is asked of a path."""
    said = json.dumps(body)
    context.route(
        f"**{path}", lambda it: it.fulfill(status=status, body=said, content_type="application/json")
    )


def sent_by(page: Page, method: str, part: str) -> list[str]:
    """What the page asks from now on, of addresses with ``part`` in them."""
    found: list[str] = []
    page.on(
        "request",
        lambda asked: found.append(asked.url) if asked.method == method and part in asked.url else None,
    )
    return found


def until(page: Page, what: str) -> None:
    """Wait until something holds of the page's ``app``."""
    page.evaluate(
        f"""new Promise((done) => {{
          const look = ({{ app }}) => ({what} ? done() : setTimeout(look, 50, {{ app }}));
          import("/table/app.js").then(look);
        }})"""
    )


def test_a_tablet_that_is_no_longer_paired_is_led_to_where_it_is_paired_again(context, desk):
    page = context.new_page()
    dogs_shown(page, desk)
    answers(context, "/table/today.json", 401, {"what": "This tablet is not paired.", "remedy": "Pair it."})
    page.evaluate(REFRESH)
    expect(page.locator("#banner")).to_contain_text("Pair again")
    page.evaluate(HURRY)  # nothing waits, nothing is asked: that says nothing of the door
    expect(page.locator("#waits")).to_contain_text("all sent")
    expect(page.locator("#banner")).to_contain_text("Pair again")
    page.locator("#to-pair").tap()
    expect(page.locator("h1")).to_have_text("Pair this tablet")
    assert page.url == f"{desk}/pair?gone"


def test_a_desk_that_refuses_says_why_and_what_to_do_and_nothing_is_lost(context, desk):
    """As where a desk was started with --plain and is no more: the plain address answers 403."""
    page = context.new_page()
    dogs_shown(page, desk)
    words = {"what": "Over a secure connection only.", "remedy": "Open https://salon.test there."}
    answers(context, "/api/events", 403, words)
    page.locator("#dog-bracken").tap()
    tap_log(page)
    expect(page.locator("#banner")).to_contain_text("Not let in")
    expect(page.locator("#banner")).to_contain_text("Open https://salon.test there.")
    expect(page.locator("#waits")).to_contain_text("1 waits")
    box = page.locator("#to-save").bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 63.5
    page.locator("#to-save").tap()
    expect(page.locator("#waiting-told")).to_contain_text("1 entry waits")
    expect(page.locator("#waiting-told")).to_contain_text("Over a secure connection only.")
    context.unroute_all()
    page.evaluate(HURRY)
    all_sent(page)
    expect(page.locator("#banner")).not_to_contain_text("Not let in")


def test_where_people_has_no_groomer_the_names_that_logged_visits_can_be_chosen(context, desk):
    answers(context, "/table/who", 200, {"people": [], "who": "", "tablet": "Arm by the window"})
    page = context.new_page()
    told = sent_by(page, "POST", "/table/who")
    dogs_shown(page, desk)
    until(page, "Array.isArray(app.people)")
    page.evaluate("import('/table/app.js').then(({ render }) => render())")
    page.locator("#groomer-0").tap()
    expect(page.locator("#groomer-0")).to_have_attribute("aria-pressed", "true")
    assert told == []
    page.locator("#to-tablet").tap()
    expect(page.locator(".mast")).to_contain_text("Arm by the window")


@pytest.mark.parametrize("how", ["refused", "not installed"])
def test_a_browser_that_keeps_no_worker_says_so_as_long_as_the_page_is_open(browser, desk, how):
    """Where a certificate's warning was clicked away, Chromium refuses the worker with a SecurityError."""
    with Lossy(urlsplit(desk).port or 0, QUIET) as way:
        context = tablet(browser)
        if how == "refused":
            context.add_init_script(
                "ServiceWorkerContainer.prototype.register = () =>"
                "Promise.reject(new DOMException('An SSL certificate error occurred.', 'SecurityError'))"
            )
        else:
            way.rewrite["/table/worker.js"] = lambda body: body.replace(b"cache.addAll", b"cache.noRoom")
        try:
            page = context.new_page()
            dogs_shown(page, way.url)
            expect(page.locator("#banner")).to_contain_text("No restart")
            expect(page.locator("#banner [role=alert]")).to_have_count(0)
            assert page.locator("#to-trust").get_attribute("href") == "/pair/trust"
            page.locator("#dog-sedge").tap()
            page.locator("#log").wait_for()
            expect(page.locator("#banner")).to_contain_text("No restart")
        finally:
            context.close()


def test_who_works_here_is_asked_anew_with_every_new_list(context, desk):
    page = context.new_page()
    dogs_shown(page, desk)
    expect(page.locator("#groomer-0")).to_have_attribute("aria-pressed", "true")
    assert page.evaluate(PEOPLE) == ["Ivo Teaselby"]
    event = {
        **{"id": "mira", "stream": "person:mira", "kind": "person.set", "at": "2026-01-01T10:00:00+00:00"},
        "data": {"id": "mira", "name": "Mira Combewell", "role": "groomer"},
    }
    body, kind = json.dumps({"events": [event]}).encode(), {"content-type": "application/json"}
    with urllib.request.urlopen(
        urllib.request.Request(f"{desk}/api/events", body, kind), timeout=30
    ) as answer:
        assert json.load(answer)["answers"][0]["outcome"] == "kept"
    page.evaluate(REFRESH)
    expect(page.locator("#groomer-1")).to_have_text("Mira Combewell")


def test_a_dog_taken_up_before_it_is_known_who_works_is_the_work_of_who_is_chosen(context, desk):
    held: list[Route] = []
    context.route("**/table/who", lambda it: held.append(it))
    page = context.new_page()
    dogs_shown(page, desk)
    page.locator("#dog-sedge").tap()
    page.locator("#log").wait_for()
    assert len(held) == 1
    known = {"people": [{"id": "ivo", "name": "Ivo Teaselby", "pin": False}], "who": "", "tablet": ""}
    held[0].fulfill(json=known)
    until(page, "app.visits[0].groomer")
    tap_log(page)
    all_sent(page)
    kept = visit(desk, "sedge")
    assert (list(kept["takes"]), kept["groomer"]) == (["back"], "Ivo Teaselby")


def test_a_photo_on_a_slow_line_gets_the_time_that_its_bytes_take(context, desk):
    """900,000 bytes at 30 a millisecond take 30 s beside the 15 that every answer may take."""
    held: list[Route] = []
    context.route("**/api/photos/*", lambda it: held.append(it))
    page = context.new_page()
    failed: list[str] = []
    page.on("requestfailed", lambda asked: failed.append(asked.url) if "/api/photos/" in asked.url else None)
    page.clock.install()
    dogs_shown(page, desk)
    page.evaluate(PHOTO, ["a" * 64, 900_000])
    page.evaluate(f"() => void {HURRY}")
    page.wait_for_timeout(300)
    assert len(held) == 1
    page.clock.run_for(40_000)
    page.wait_for_timeout(300)
    assert failed == []
    page.clock.run_for(6_000)
    page.wait_for_timeout(300)
    assert len(failed) == 1


def test_a_saved_list_holds_the_photos_too_and_can_be_saved_where_only_they_wait(context, desk, tmp_path):
    context.route("**/api/photos/*", lambda it: it.abort())
    page = context.new_page()
    dogs_shown(page, desk)
    data = bytes([7]) * 70_001
    sha = hashlib.sha256(data).hexdigest()
    page.evaluate(PHOTO, [sha, len(data)])
    expect(page.locator("#waits")).to_contain_text("1 photo waits")
    page.evaluate("location.hash = '#tablet'")
    expect(page.locator("#waiting-told")).to_contain_text("and 1 photo")
    with page.expect_download() as downloading:
        page.locator("#save").tap()
    downloading.value.save_as(tmp_path / "list.json")
    saved = json.loads((tmp_path / "list.json").read_text(encoding="utf-8"))
    assert saved["events"] == []
    assert [each["photo"] for each in saved["photos"]] == [sha]
    body = b'--x\r\ncontent-disposition: form-data; name="list"; filename="list.json"\r\n\r\n'
    body += (tmp_path / "list.json").read_bytes() + b"\r\n--x--\r\n"
    kind = {"content-type": "multipart/form-data; boundary=x", "origin": desk}
    with urllib.request.urlopen(
        urllib.request.Request(f"{desk}/tablets/waiting", body, kind), timeout=30
    ) as answer:
        text = answer.read().decode()
    assert f"Photo {sha[:8]}" in text  # whole, as its name says; only no picture
    assert "not those of this name" not in text
    assert "not whole" not in text
