"""Whatever is sent to any address: an answer that is described, an error that is told, nothing broken.

Addresses come from the OpenAPI description and from the routes of the pages; values are drawn from what is
nearly right, plainly wrong, and hostile. The invariants: no status of 500 and above, JSON errors in the one
shape, statuses that the description names, bodies that fit the described schema, the guard's headers always.
"""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any
from urllib.parse import quote

import jsonschema
import pytest
from fastapi.routing import APIRoute
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coatwright.web.app import routers
from coatwright.web.security import POLICY

DOGS = st.sampled_from(["bramble", "hob", "wick", "nobody", "new"])
WORDS = st.one_of(
    st.text(max_size=30),
    st.sampled_from(
        [
            *(
                "",
                "0",
                "-1",
                "1e308",
                "NaN",
                "٣",
                "2026-12-09",
                "2026-02-30",
                "0001-01-01",
                "9999-12-31",
                "20",
                "35",
            ),
            *("back", "wing", "bramble", "fell", "../../etc/passwd", "%00", "\x00", "<b>&\"'", "' or 1=1 --"),
            *(
                "rolling",
                "staged",
                "free",
                "on",
                "a" * 3000,
                "\ud7ff",
                "😀",
                "back.2026-12-09",
                "2026-12-09:90",
            ),
        ]
    ),
)
RELAXED = settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@cache
def described(reader: Any) -> dict[str, Any]:
    found: dict[str, Any] = reader.get("/api/openapi.json").json()
    return found


def check(answer: Any, address: str) -> None:
    assert answer.status_code < 500, f"{address}: {answer.text[:300]}"
    assert answer.headers["content-security-policy"] == POLICY
    if address.startswith("/api/") and answer.status_code >= 400:
        assert set(answer.json()) == {"error", "what", "where", "remedy"}
    elif answer.status_code >= 400:
        assert 'role="alert"' in answer.text
    if answer.status_code in (301, 302, 303, 307, 308):
        assert re.match(r"/(?![/\\])|http://127\.0\.0\.1:8000/", answer.headers["location"])


def fill(draw: st.DrawFn, path: str) -> str:
    """A route's path with something drawn in each of its places."""
    return re.sub(
        r"\{(\w+)(?::\w+)?\}",
        lambda m: quote(draw(DOGS if m[1] == "dog" else WORDS).encode("utf-8", "replace")),
        path,
    )


@RELAXED
@given(data=st.data())
def test_every_described_address_answers_as_described(reader, data):
    paths = described(reader)["paths"]
    path = data.draw(st.sampled_from(sorted(path for path in paths if "get" in paths[path])))
    operation = paths[path]["get"]
    names = [p["name"] for p in operation.get("parameters", ()) if p["in"] == "query"]
    query = {name: data.draw(WORDS) for name in names if data.draw(st.booleans())}
    address = fill(data.draw, path)
    answer = reader.get(address, params=query)
    check(answer, address)
    matched = address.count("/") == path.count("/")
    if matched:
        assert str(answer.status_code) in operation["responses"], (address, query, answer.text[:200])
        content = operation["responses"][str(answer.status_code)].get("content", {})
        schema = content.get("application/json", {}).get("schema")
        if schema is not None:
            jsonschema.validate(answer.json(), schema | {"components": described(reader)["components"]})


@cache
def routes(method: str) -> list[str]:
    """Paths of the pages' own routes that take a method."""
    found = [route for router in routers() for route in router.routes if isinstance(route, APIRoute)]
    return sorted(
        {route.path for route in found if method in route.methods and not route.path.startswith("/api")}
    )


@RELAXED
@given(data=st.data())
def test_every_page_answers_whatever_it_is_asked(reader, data):
    path = data.draw(st.sampled_from(routes("GET")))
    names = [
        "day",
        "zone",
        "by",
        "q",
        "edit",
        "start",
        "cell",
        "visit",
        "try",
        "minutes",
        "own_day",
        "own_minutes",
        "at",
    ]
    query = data.draw(
        st.dictionaries(st.sampled_from([*names, "theme", "paper", "done", "v"]), WORDS, max_size=4)
    )
    check(reader.get(fill(data.draw, path), params=query), path)


FIELDS = (
    *(
        "name",
        "pattern",
        "sex",
        "born",
        "weight",
        "height",
        "owner",
        "new_owner",
        "approach",
        "look",
        "horizon",
    ),
    *(
        "limit",
        "cadences",
        "days_off",
        "shows",
        "day",
        "closing",
        "aim",
        "role",
        "phone",
        "id",
        "note",
        "reason",
    ),
    *(
        "zone",
        "share",
        "act",
        "first",
        "last",
        "try",
        "minutes",
        "event",
        "as",
        "back",
        "unit",
        "longest",
        "cover",
    ),
    *("take.back", "planned.back", "tool.back", "broken.back", "carded", "groomer", "undercoat"),
    *("zones.0", "share.0", "age.0", "value.0", "grams.back", "ease.back"),
    *("at", "by", "look", "step", "step_off", "shortest", "which", "length"),
)


@RELAXED
@given(data=st.data())
def test_every_form_answers_whatever_is_sent(client, data):
    path = data.draw(st.sampled_from(routes("POST")))
    form = data.draw(st.dictionaries(st.sampled_from(FIELDS), WORDS, max_size=8))
    sent = {key: value.encode("utf-8", "replace").decode() for key, value in form.items()}
    check(client.post(fill(data.draw, path), data=sent or {"x": "y"}), path)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | WORDS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=3),
    max_leaves=8,
)
KINDS = [
    "reading.taken",
    "paper.read",
    "visit.logged",
    "dog.set",
    "assessment.set",
    "plan.kept",
    "cell.fixed",
    "undone",
    "dog.unfit",
]


@RELAXED
@given(data=st.data())
def test_the_intake_answers_whatever_is_sent(client, data):
    event = {
        "id": data.draw(WORDS),
        "stream": data.draw(st.sampled_from(["dog:bramble", "dog:x", "person:x", "show:x"]) | WORDS),
        "kind": data.draw(st.sampled_from(KINDS) | WORDS),
        "at": data.draw(st.sampled_from(["2026-11-25T10:00:00Z", "2026-11-25T10:00:00+14:00"]) | WORDS),
        "data": data.draw(
            st.dictionaries(
                st.sampled_from(["id", "day", "zone", "share", "event", "name"]), JSON, max_size=4
            )
        ),
    }
    body = data.draw(st.sampled_from([{"events": [event]}, event, [event]]) | JSON)
    raw = json.dumps(body).encode("utf-8", "surrogatepass")
    answer = client.post("/api/events", content=raw, headers={"content-type": "application/json"})
    check(answer, "/api/events")
    if answer.status_code == 200:
        outcomes = [each["outcome"] for each in answer.json()["answers"]]
        assert len(outcomes) == len(body["events"])
        assert client.get("/api/dogs").status_code == 200, "what was kept can be read again"
        assert client.get("/").status_code == 200


@pytest.mark.parametrize("method", ["TRACE", "DELETE", "PATCH", "PUT"])
def test_methods_that_nothing_takes_are_refused(reader, method):
    assert reader.request(method, "/dogs/bramble").status_code in (403, 405)
