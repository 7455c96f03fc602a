"""The page at the table among others: another tablet, another day, a plain address, a newer version."""

from __future__ import annotations

import io
import json
import urllib.parse
import urllib.request
from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from coatwright.patterns.zones import zones
from coatwright.web.table.care import HEAD
from tests.e2e.test_table import all_sent, dogs_shown, installed, launched, ready, tablet, tap_log
from tests.faults.lossy import Faults, Lossy
from tests.faults.table_salon import events, kill_browser, table_desk, visit

QUIET = Faults(0.0, 0.0, 0.0, 0.0)
NEWER = b"0123456789ab"
REFRESH = "import('/table/app.js').then(({ refresh }) => refresh())"
VERSION = "() => document.documentElement.dataset.version"


@pytest.fixture
def desk(table_planner, tmp_path) -> Iterator[str]:
    with table_desk(table_planner, tmp_path / "salon") as url:
        yield url


@pytest.fixture(scope="module")
def shared(table_planner, tmp_path_factory) -> Iterator[str]:
    """One desk for the tests that leave its dogs and their plans as they were, or speak of what no other does."""
    with table_desk(table_planner, tmp_path_factory.mktemp("tablets") / "salon") as url:
        yield url


def begun(page: Page, url: str, dog: str = "bracken") -> None:
    dogs_shown(page, url)
    expect(page.locator("#groomer-0")).to_have_attribute("aria-pressed", "true")
    page.locator(f"#dog-{dog}").tap()
    page.locator("#log").wait_for()


def test_while_the_dog_is_not_calm_head_and_tender_zones_wait(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        begun(page, desk)
        page.locator("#extra-reaction").tap()
        page.locator("#reaction-1").tap()
        expect(page.locator(".panel")).to_contain_text("head and tender zones wait")
        page.locator("#close").tap()
        worked = []
        names = {zone.name: zone for zone in zones().values()}
        for _ in range(12):
            name = page.locator(".title h1").text_content() or ""
            worked.append(names[name])
            tap_log(page)
            expect(page.locator(".title h1")).not_to_have_text(name)
        assert not any(zone.tender or zone.key in HEAD for zone in worked)
        page.locator("#extra-reaction").tap()
        page.locator("#reaction-0").tap()
        last = page.locator(".title h1").text_content() or ""
        tap_log(page)
        expect(page.locator(".title h1")).not_to_have_text(last)
        after = names[page.locator(".title h1").text_content() or ""]
        assert after.tender or after.key in HEAD
    finally:
        context.close()


def test_two_tablets_on_one_dog_hear_of_each_other_and_the_later_tap_counts(browser, desk):
    first, second = tablet(browser), tablet(browser)
    try:
        one, two = first.new_page(), second.new_page()
        begun(one, desk)
        begun(two, desk)
        tap_log(one)
        tap_log(one)
        all_sent(one)
        for _ in range(3):
            two.locator("#less").tap()
        expect(two.locator("#dial")).to_have_attribute("aria-valuenow", "5")
        tap_log(two)  # the back, which the first has logged as planned
        expect(two.locator("#bar")).to_contain_text("Also logged by Ivo Teaselby's tablet", timeout=20_000)
        two.evaluate(REFRESH)
        two.locator("#extra-zones").tap()
        expect(two.locator("#zone-ribs")).to_contain_text("logged elsewhere 20")
        expect(two.locator("#zone-back")).to_contain_text("logged 5")
        all_sent(two)
        two.evaluate("location.hash = '#tablet'")
        expect(two.locator("#notes")).to_contain_text("Also logged by Ivo Teaselby's tablet")
    finally:
        first.close()
        second.close()
    takes = visit(desk, "bracken")["takes"]
    assert {key: take["share"] for key, take in takes.items()} == {"back": 0.05, "ribs": 0.2}


def test_the_list_of_another_day_is_said_to_be_one(browser, shared):
    context = tablet(browser)
    try:
        page = context.new_page()
        dogs_shown(page, shared)
        expect(page.locator("#banner")).not_to_contain_text("Not today's list")
        installed(page)
        context.set_offline(True)
        page.clock.install()
        page.clock.fast_forward(26 * 3600 * 1000)
        page.goto(f"{shared}/table")
        ready(page)
        expect(page.locator("#banner")).to_contain_text("Not today's list")
        page.locator("#dog-bracken").wait_for()
    finally:
        context.close()


def test_on_plain_http_taps_are_kept_and_sent_and_what_is_missing_stays_said(browser, desk, tmp_path):
    """Another machine's plain address is no secure context: no worker, no locks on the screen, no randomUUID."""
    port = urlsplit(desk).port or 0
    with Lossy(port, QUIET, host=f"127.0.0.1:{port}") as way:
        address = f"http://salon.test:{urlsplit(way.url).port}"
        context = launched(
            browser, tmp_path / "profile", (390, 844), "--host-resolver-rules=MAP salon.test 127.0.0.1"
        )
        try:
            page = context.pages[0]
            begun(page, address)
            assert page.evaluate(
                "[isSecureContext, 'randomUUID' in crypto, 'serviceWorker' in navigator]"
            ) == [
                False,
                False,
                False,
            ]
            tap_log(page)
            expect(page.locator("#banner")).to_contain_text("Plain http")
            tap_log(page)
            all_sent(page)
            expect(page.locator("#banner")).to_contain_text("does not start without a network")
        finally:
            context.close()
    assert set(visit(desk, "bracken")["takes"]) == {"back", "ribs"}


def test_a_new_version_is_taken_only_when_nothing_waits_not_even_after_a_restart(browser, desk, tmp_path):
    port, profile = urlsplit(desk).port or 0, tmp_path / "profile"
    with Lossy(port, Faults(1.0, 0.0, 0.0, 0.0)) as way:
        context = launched(browser, profile, (820, 1180))
        page = context.pages[0]
        begun(page, way.url)
        installed(page)
        old = page.evaluate(VERSION)
        tap_log(page)
        expect(page.locator("#waits")).to_contain_text("1 waits")
        newer(way, old)
        # The newer version has no hands.js any more, and the desk none to give: what imports it names another file.
        way.rewrite["/table/worker.js"] = lambda body: body.replace(old.encode(), NEWER).replace(
            b', "/table/hands.js"', b""
        )
        way.rewrite["/table/hands.js"] = lambda _: b""
        for path in ("/table/list.js", "/table/zone.js"):
            way.rewrite[path] = lambda body: body.replace(b"./hands.js", b"./hands.js?newer")
        page.evaluate("navigator.serviceWorker.ready.then(it => it.update())")
        page.wait_for_timeout(1500)
        assert page.evaluate(VERSION) == old
        kill_browser(profile)
        context = launched(browser, profile, (820, 1180))
        try:
            page = context.pages[0]
            dogs_shown(page, way.url)
            page.wait_for_timeout(1500)
            assert page.evaluate(VERSION) == old
            expect(page.locator("#waits")).to_contain_text("1 waits")
            way.heal()
            expect(page.locator("html")).to_have_attribute("data-version", "0123456789ab", timeout=60_000)
            ready(page)
            all_sent(page)
        finally:
            context.close()
    assert [each["data"]["zone"] for each in events(desk) if each["kind"] == "take.logged"] == ["back"]


def newer(way: Lossy, old: str) -> None:
    """From now on the desk has a newer version of the page."""
    for path in ("/table", "/table/worker.js"):
        way.rewrite[path] = lambda body: body.replace(old.encode(), NEWER)


def test_a_new_version_is_not_taken_while_a_share_is_dialled(browser, shared, tmp_path):
    with Lossy(urlsplit(shared).port or 0, QUIET) as way:
        context = launched(browser, tmp_path / "profile", (820, 1180))
        try:
            page = context.pages[0]
            begun(page, way.url, "sedge")
            installed(page)
            old = page.evaluate(VERSION)
            page.locator("#more").tap()
            expect(page.locator("#dial")).to_have_attribute("aria-valuenow", "25")
            newer(way, old)
            # what is asked for by another tab, and by whatever is sent meanwhile
            page.evaluate(
                "navigator.serviceWorker.ready.then(async (it) => { const one = await it.update();"
                "await new Promise((done) => setTimeout(done, 1500)); one.active.postMessage('take'); })"
            )
            page.evaluate("import('/table/outbox.js').then(({ hurry }) => hurry())")
            page.wait_for_timeout(1500)
            assert page.evaluate(VERSION) == old
            expect(page.locator("#dial")).to_have_attribute("aria-valuenow", "25")
            tap_log(page)
            expect(page.locator("html")).to_have_attribute("data-version", NEWER.decode(), timeout=60_000)
        finally:
            context.close()
    assert visit(shared, "sedge")["takes"]["back"]["share"] == 0.25


# ---- while plans are made anew -----------------------------------------------------------------------------------


def replanned(body: bytes) -> bytes:
    """The day's list while the desk plans Sedge anew."""
    day = json.loads(body)
    day["dogs"] = [dog for dog in day["dogs"] if dog["id"] != "sedge"]
    return json.dumps({**day, "waiting": ["Sedge"], "waiting_ids": ["sedge"]}).encode()


ASKED = "() => performance.getEntriesByType('resource').filter((it) => it.name.endsWith('today.json')).length"


def test_a_dog_that_is_planned_anew_stays_on_the_tablet_and_the_list_is_asked_for_until_it_is(
    browser, shared
):
    with Lossy(urlsplit(shared).port or 0, QUIET) as way:
        context = tablet(browser)
        try:
            page = context.new_page()
            dogs_shown(page, way.url)
            installed(page)
            page.wait_for_timeout(500)
            way.rewrite["/table/today.json"] = replanned
            page.evaluate(
                "import('/table/store.js').then(({ keep, recall }) => recall('bundle')"
                ".then((kept) => keep('bundle', { ...kept, tag: 'older' })))"
            )
            page.evaluate(REFRESH)
            expect(page.locator("[role=status]").first).to_contain_text("Still being planned: Sedge")
            expect(page.locator("#dog-sedge")).to_be_visible()
            del way.rewrite["/table/today.json"]  # the desk now answers that nothing has changed: 304
            before = page.evaluate(ASKED)
            page.wait_for_function(f"(before) => ({ASKED})() >= before + 2", arg=before, timeout=20_000)
            context.set_offline(True)
            page.goto(f"{way.url}/table")
            ready(page)
            page.locator("#dog-sedge").tap()
            page.locator("#log").wait_for()
        finally:
            context.close()


def test_a_dog_that_was_stopped_can_be_reached_though_the_desk_no_longer_lists_it(browser, desk):
    context = tablet(browser)
    try:
        page = context.new_page()
        begun(page, desk)
        page.locator("#stop").tap()
        page.locator("#sign-0").tap()
        page.locator("#stop-dog").tap()
        expect(page.locator("h1")).to_have_text("Stopped")
        all_sent(page)
        page.evaluate(REFRESH)
        page.locator("#back").tap()
        expect(page.locator("#dog-bracken")).to_contain_text("stopped")
        expect(page.locator("#dog-bracken")).to_contain_text("unfit")
        expect(page.locator("details.elsewhere")).to_have_count(0)
        page.locator("#dog-bracken").tap()
        expect(page.locator("h1")).to_have_text("Stopped")
        page.locator("#undo").tap()
        expect(page.locator(".title h1")).to_have_text("Back")
        all_sent(page)
    finally:
        context.close()


def test_a_photo_taken_without_a_network_reaches_the_desk_and_is_seen_at_the_next_look(browser, shared):
    context = tablet(browser)
    try:
        page = context.new_page()
        begun(page, shared)
        context.set_offline(True)
        page.locator("#photo").set_input_files(
            {"name": "back.jpg", "mimeType": "image/jpeg", "buffer": photograph(3000, 2000)}
        )
        expect(page.locator("#bar .last")).to_contain_text("Back: photo")
        context.set_offline(False)
        all_sent(page)
        page.evaluate("import('/table/outbox.js').then(({ hurry }) => hurry())")
        waiting = (
            "import('/table/outbox.js').then(({ count, standing }) => count().then(() => standing.photos))"
        )
        for _ in range(100):
            if page.evaluate(waiting) == 0:
                break
            page.wait_for_timeout(100)
        (photo,) = visit(shared, "bracken")["photos"]
        assert (photo["zone"], photo["width"], photo["height"]) == ("back", 2400, 1600)
        with urllib.request.urlopen(f"{shared}/photos/{photo['photo']}?small", timeout=30) as answer:
            assert Image.open(io.BytesIO(answer.read())).size == (480, 320)
        page.goto(f"{shared}/table")
        ready(page)
        page.evaluate(
            "async () => { const { app, refresh } = await import('/table/app.js'); await refresh();"
            "await (await import('/table/album.js')).bringPhotos(); }"
        )
        assert page.evaluate("import('/table/app.js').then(({ app }) => Object.keys(app.album))") == [
            photo["photo"]
        ]
    finally:
        context.close()


def photograph(width: int, height: int) -> bytes:
    """A JPEG of so many pixels."""
    made = io.BytesIO()
    Image.linear_gradient("L").resize((width, height)).convert("RGB").save(made, "JPEG", quality=80)
    return made.getvalue()


def test_a_groomer_with_a_pin_is_let_in_by_it_and_by_nothing_else(browser, shared):
    set_pin(shared, "4711")
    context = tablet(browser, (390, 844))
    try:
        page = context.new_page()
        dogs_shown(page, shared)
        expect(page.locator("#groomer-0")).to_have_attribute("aria-pressed", "false")
        for _ in range(100):
            if page.evaluate("import('/table/app.js').then(({ app }) => app.people?.[0].pin ?? false)"):
                break
            page.wait_for_timeout(100)
        for pin, name in (("1234", "wrong"), ("4711", "right")):
            page.locator("#groomer-0").tap()
            for digit in pin:
                page.locator(f"#digit-{digit}").tap()
            page.locator("#pin-done").tap()
            if name == "wrong":
                expect(page.locator("[role=alert]")).to_be_visible()
                page.locator("#back").tap()
        expect(page.locator("#groomer-0")).to_have_attribute("aria-pressed", "true")
    finally:
        context.close()
        set_pin(shared, "")


def set_pin(url: str, pin: str) -> None:
    """Give Ivo a PIN at the desk, or none."""
    body = urllib.parse.urlencode({"person": "ivo", "pin": pin}).encode()
    with urllib.request.urlopen(
        urllib.request.Request(f"{url}/tablets/pin", body, {"origin": url}), timeout=30
    ):
        pass


def test_the_dogs_limit_and_the_hands_limit_are_said_when_they_are_reached(browser, shared):
    """The dog's own limit is 180 min; hands tire after 3 h of pulling (common practice, no source)."""
    context = tablet(browser)
    try:
        page = context.new_page()
        page.clock.install()
        begun(page, shared)
        expect(page.locator(".mast")).not_to_contain_text("enough")
        for minutes, dog, hands in ((165, "nearly enough", False), (20, "enough", True)):
            page.clock.fast_forward(minutes * 60_000)
            page.locator("#more").tap()
            expect(page.locator(".mast .time")).to_contain_text(dog)
            if minutes == 165:  # the clock is stopped now and then, as by any tap that is kept
                tap_log(page)
            expect(page.locator(".hands")).to_have_count(1 if hands else 0)
        expect(page.locator(".hands")).to_contain_text("hands tire")
    finally:
        context.close()
