"""The shared fixtures do what tests lean on them for."""

from __future__ import annotations

import threading
import urllib.request
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

# As strict as a policy gets: no script at all, no string may become one (W3C, CSP Level 3; Trusted Types).
POLICY = "default-src 'none'; require-trusted-types-for 'script'"
PAGES = {
    "/good": "<!doctype html><html lang=en><title>Good</title><main><h1>Coat</h1><p>Ripe.</p></main>",
    # WCAG 2.2, 1.1.1 and 3.1.1: a picture without alternative text, a page without its language
    "/bad": "<!doctype html><html><title>Bad</title><main><h1>Coat</h1><img src=x></main>",
}


@pytest.fixture(scope="module")
def served() -> Iterator[str]:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            body = PAGES.get(self.path)
            self.send_response(200 if body else 404)
            self.send_header("Content-Type", "text/html; charset=utf-8")
            self.send_header("Content-Security-Policy", POLICY)
            self.end_headers()
            self.wfile.write((body or "").encode())

        def log_message(self, *_: object) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        thread.join()


def test_axe_finds_nothing_on_a_sound_page_under_a_strict_policy(page, axe, served):
    page.goto(f"{served}/good")
    assert axe(page) == []


def test_axe_finds_what_is_wrong_under_a_strict_policy(page, axe, served):
    page.goto(f"{served}/bad")
    assert {"image-alt", "html-has-lang"} <= {violation["id"] for violation in axe(page)}


def test_axe_leaves_out_the_rules_it_is_told_to(page, axe, served):
    page.goto(f"{served}/bad")
    found = axe(page, rules={"image-alt": {"enabled": False}})
    assert "image-alt" not in {violation["id"] for violation in found}


def test_the_policy_still_holds_after_axe(page, axe, served):
    page.goto(f"{served}/good")
    axe(page)
    write = "() => { try { document.body.innerHTML = 'x'; return 'written' } catch (e) { return e.name } }"
    assert page.evaluate(write) == "TypeError"


def test_a_test_with_the_browser_counts_as_end_to_end(request, page):
    assert request.node.get_closest_marker("e2e")


def test_the_desk_answers_with_a_page_and_keeps_its_own_data(desk):
    with urllib.request.urlopen(desk.url) as answer:
        assert answer.status == 200
        assert "text/html" in answer.headers["content-type"]
    assert any(desk.data.iterdir())


def test_a_desk_that_cannot_start_says_why(run_desk):
    with pytest.raises(pytest.fail.Exception, match="No such option: --unheard-of"), run_desk("--unheard-of"):
        pass
