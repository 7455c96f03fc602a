"""Nothing foreign gets in, and every answer carries its headers."""

from __future__ import annotations

import re

import pytest

from coatwright.web.app import STATIC
from coatwright.web.security import API_BYTES, FORM_BYTES, HEADERS, POLICY
from tests.web.conftest import BASE, TODAY, TestClient

PAGES = ("/", "/dogs", "/dogs/new", "/shows", "/people", "/static/desk.css", "/api/dogs", "/api/openapi.json")
DOG_PAGES = (
    "/dogs/bramble",
    "/dogs/bramble/plan",
    "/dogs/bramble/plan/compare",
    "/dogs/bramble/visit",
    "/dogs/bramble/assess",
    "/dogs/bramble/edit",
    "/dogs/bramble/sheet",
    "/dogs/bramble/coat.svg",
)
SETTINGS = {"unit": "in", "back": "/dogs"}


def directives(policy: str) -> dict[str, list[str]]:
    return {words[0]: words[1:] for words in (part.split() for part in policy.split(";"))}


# Content Security Policy Level 3 (W3C): what the desk promises, directive by directive.
@pytest.mark.parametrize("address", [*PAGES, *DOG_PAGES, "/nowhere", "/dogs/nobody", "/api/dogs/nobody"])
def test_every_answer_has_the_strict_policy_and_its_kin(reader, address):
    answer = reader.get(address)
    found = directives(answer.headers["content-security-policy"])
    assert found["default-src"] == found["frame-ancestors"] == found["base-uri"] == ["'none'"]
    assert (
        found["script-src"]
        == found["style-src"]
        == found["connect-src"]
        == found["form-action"]
        == ["'self'"]
    )
    assert found["img-src"] == ["'self'", "data:"]
    assert "unsafe" not in POLICY
    assert {name: answer.headers[name] for name in HEADERS} == HEADERS
    assert "server" not in answer.headers


@pytest.mark.parametrize(
    "address", ["/", "/dogs", "/dogs/new", "/shows", "/people", "/nowhere", *DOG_PAGES[:-1]]
)
def test_no_page_has_script_or_style_of_its_own(reader, address):
    text = reader.get(address).text
    assert not re.search(r"\sstyle\s*=", text)
    assert not re.search(r"<style|\son[a-z]+\s*=|javascript:", text)
    for script in re.findall(r"<script\b[^>]*>(.*?)</script>", text, re.DOTALL):
        assert script.strip() == ""


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1.evil.example",
        "localhost.evil.example:8000",
        "0.0.0.0:8000",
        "192.168.1.7",
        "",
    ],
)
def test_a_foreign_name_for_this_machine_is_not_answered(reader, host):
    answer = reader.get("/dogs/bramble", headers={"host": host})
    assert answer.status_code == 403
    assert "Bramble" not in answer.text
    assert "does not answer" in answer.text


@pytest.mark.parametrize(
    "host", ["127.0.0.1:8000", "127.0.0.1", "localhost:9", "LOCALHOST", "[::1]:8000", "[::1]"]
)
def test_names_of_this_machine_are_answered(reader, host):
    assert reader.get("/dogs", headers={"host": host}).status_code == 200


FORGED = (
    {"origin": "https://evil.example"},
    {"origin": "null"},
    {"origin": "http://127.0.0.1:9999"},
    {"origin": "http://127.0.0.1:8000.evil.example"},
    {"origin": "https://evil.example", "sec-fetch-site": "same-origin"},
    {"origin": "", "sec-fetch-site": "same-origin"},
)


@pytest.mark.parametrize("headers", FORGED)
def test_a_forged_change_is_refused_and_nothing_is_saved(client, store, headers):
    before = len(store.events())
    for address, form in (
        ("/settings", SETTINGS),
        ("/people", {"name": "Mallory"}),
        ("/dogs/bramble/unfit", {"reason": "made up"}),
    ):
        answer = client.post(address, data=form, headers=headers)
        assert answer.status_code == 403
        assert "Nothing was changed" in answer.text
    assert client.post("/api/events", json={"events": []}, headers=headers).json()["error"] == "ForgedRequest"
    assert len(store.events()) == before


@pytest.mark.parametrize(
    ("headers", "kind", "allowed"),
    [
        ({"sec-fetch-site": "same-origin"}, "form", True),
        ({"sec-fetch-site": "none"}, "form", True),
        ({"sec-fetch-site": "cross-site"}, "form", False),
        ({"sec-fetch-site": "same-site"}, "form", False),
        ({}, "form", False),
        ({}, "json", True),
        ({"sec-fetch-site": "cross-site"}, "json", False),
    ],
)
def test_without_an_origin_the_fetch_metadata_decide(app, headers, kind, allowed):
    with TestClient(app, base_url=BASE, follow_redirects=False) as bare:
        if kind == "form":
            answer = bare.post("/settings", data=SETTINGS, headers=headers)
        else:
            answer = bare.post("/api/events", json={"events": []}, headers=headers)
    assert (answer.status_code != 403) is allowed


def test_a_form_beyond_the_limit_is_refused_before_it_is_read(client, store):
    before = len(store.events())
    answer = client.post("/people", data={"name": "x", "note": "y" * FORM_BYTES})
    assert answer.status_code == 413
    assert "Nothing was saved" in answer.text
    assert len(store.events()) == before


@pytest.mark.parametrize("address", ["/people", "/api/events"])
def test_a_body_that_does_not_say_its_length_is_counted_as_it_comes(client, store, address):
    before = len(store.events())
    limit = API_BYTES if address.startswith("/api") else FORM_BYTES

    def pieces():
        for _ in range(limit // 50_000 + 2):
            yield b"a=" + b"b" * 49_998

    kind = "application/json" if address.startswith("/api") else "application/x-www-form-urlencoded"
    answer = client.post(address, content=pieces(), headers={"content-type": kind})
    assert answer.status_code == 413
    assert len(store.events()) == before


def test_an_upload_where_none_is_asked_for_is_refused(reader):
    answer = reader.post("/people", files={"name": ("x.txt", b"x")})
    assert 400 <= answer.status_code < 500


def test_html_in_a_name_stays_text(client, store):
    name = "<script>alert(1)</script>"
    assert client.post("/people", data={"name": name, "role": "owner"}).status_code == 303
    text = client.get("/people").text
    assert name not in text
    assert "&lt;script&gt;" in text


@pytest.mark.parametrize(
    "back", ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)"]
)
def test_a_form_leads_back_to_this_desk_alone(reader, back):
    answer = reader.post("/settings", data={"unit": "mm", "back": back})
    assert answer.headers["location"] == "/"


def test_the_cookie_of_the_unit_is_out_of_reach_for_scripts_and_other_sites(client):
    cookie = client.post("/settings", data=SETTINGS).headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def test_pages_with_people_in_them_are_not_stored(reader):
    assert reader.get("/people").headers["cache-control"] == "no-store"
    assert reader.get("/static/desk.css").headers["cache-control"] == "no-cache"


@pytest.mark.parametrize(
    "address", ["/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/static/"]
)
def test_no_file_outside_the_static_folder_is_served(reader, address):
    assert reader.get(address).status_code == 404


def test_htmx_is_told_to_write_no_style_and_run_no_text(reader):
    text = reader.get("/").text
    assert '"includeIndicatorStyles": false' in text
    assert '"allowEval": false' in text
    assert '"allowScriptTags": false' in text


def test_the_pages_ask_for_nothing_from_elsewhere(reader):
    for address in ("/", *DOG_PAGES[:-1]):
        text = reader.get(address).text
        links = re.findall(r"(?:src|srcset|action|hx-get|hx-post)=\"([^\"]*)\"", text)
        assert all(link.startswith("/") and not link.startswith("//") for link in links), links
    assert "url(" not in (STATIC / "desk.css").read_text(encoding="utf-8")
    assert TODAY.isoformat() in reader.get("/dogs/bramble/visit").text
