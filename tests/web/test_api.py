"""The JSON interface mirrors the pages, takes events in, and tells errors in one shape."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from coatwright.salon.events import Event, event_of, to_json
from coatwright.salon.records import Person
from tests.web.conftest import TODAY

AT = "2026-11-25T10:00:00+00:00"


def reading(ident: str, **change: object) -> dict[str, object]:
    event = {
        "id": ident,
        "stream": "dog:bramble",
        "kind": "reading.taken",
        "at": AT,
        "by": "tablet",
        "data": {"id": f"r-{ident}", "day": TODAY.isoformat(), "zone": "back", "longest_mm": 21.0},
    }
    return event | change


def test_dogs_come_with_their_next_visit(reader):
    body = reader.get("/api/dogs").json()
    assert body["today"] == TODAY.isoformat()
    found = {dog["id"]: dog for dog in body["dogs"]}
    assert found["bramble"]["plan"] == "ready"
    assert found["bramble"]["next_visit"] == TODAY.isoformat()
    assert found["hob"]["plan"] == found["wick"]["plan"] == "none"
    assert found["wick"]["unfit"]


def test_a_dog_comes_with_all_that_is_kept(reader):
    body = reader.get("/api/dogs/bramble").json()
    assert body["facts"]["pattern"] == "lakeland"
    assert len(body["assessments"]) == 1
    assert body["unfit"] == ""


def test_plan_forecast_and_sheet_come_in_the_shapes_of_the_command_line(reader):
    assert reader.get("/api/dogs/bramble/plan").json()["kind"] == "plan"
    ahead = reader.get("/api/dogs/bramble/forecast?days=14&draws=10").json()
    assert ahead["kind"] == "forecast"
    assert len(ahead["zones"][0]["cover"]) == 14
    assert reader.get("/api/dogs/bramble/sheet").json()["kind"] == "sheet"


def test_the_coat_of_a_day_agrees_with_the_page(reader):
    body = reader.get("/api/dogs/bramble/coat?day=21").json()
    assert body["day"] == (TODAY + timedelta(days=21)).isoformat()
    text = reader.get("/dogs/bramble?day=21").text
    for zone in body["zones"]:
        assert f'{100 * zone["cover"]:.0f}<span class="unit">&#8239;%' in text
        assert 0.0 <= zone["cover"] <= 1.0


def test_people_and_shows_are_listed(reader):
    assert {"marl", "ivo"} <= {person["id"] for person in reader.get("/api/people").json()["people"]}
    assert [show["id"] for show in reader.get("/api/shows").json()["shows"]] == ["fell"]


@pytest.mark.parametrize(
    ("address", "status", "error"),
    [
        ("/api/dogs/nobody", 404, "NoSuchPage"),
        ("/api/nowhere", 404, "NoSuchPage"),
        ("/api/dogs/wick/plan", 409, "UnfitDog"),
        ("/api/dogs/hob/plan", 422, "OutOfOrder"),
        ("/api/dogs/bramble/coat?day=never", 422, "OutOfRange"),
        ("/api/dogs/bramble/forecast?days=0", 422, "FileFormatError"),
        ("/api/dogs/bramble/forecast?days=x", 422, "FileFormatError"),
        ("/api/dogs/bramble/sheet?day=2026-11-26", 422, "OutOfRange"),
        ("/api/events?since=-1", 422, "FileFormatError"),
    ],
)
def test_every_error_has_one_shape(reader, address, status, error):
    answer = reader.get(address)
    assert answer.status_code == status
    body = answer.json()
    assert list(body) == ["error", "what", "where", "remedy"]
    assert body["error"] == error
    assert body["what"].endswith(".")


def test_events_are_kept_once_and_each_is_answered(client, store):
    body = {
        "events": [
            reading("e1"),
            reading("e1"),
            reading("e2", stream="dog:nobody"),
            {"id": "e3"} | reading("e3"),
        ]
    }
    answer = client.post("/api/events", json=body)
    assert answer.status_code == 200
    assert [each["outcome"] for each in answer.json()["answers"]] == ["kept", "already", "refused", "kept"]
    assert answer.json()["answers"][2]["why"]
    again = client.post("/api/events", json=body)
    assert [each["outcome"] for each in again.json()["answers"]] == [
        "already",
        "already",
        "refused",
        "already",
    ]
    assert len(store.state().dogs["bramble"].readings) == 2


def test_events_are_read_from_a_number_on(client, store):
    before = client.get("/api/events?limit=1000").json()
    client.post("/api/events", json={"events": [reading("e1")]})
    after = client.get(f"/api/events?since={before['last']}").json()
    assert [event["id"] for event in after["events"]] == ["e1"]
    assert after["events"][0]["data"]["longest_mm"] == 21.0
    few = client.get("/api/events?limit=2").json()
    assert len(few["events"]) == 2
    assert few["last"] == few["events"][-1]["number"]


def test_what_one_desk_sends_another_takes(client, empty):
    """The intake takes what the listing gives: a salon can be carried from desk to desk."""
    listed = client.get("/api/events?limit=1000").json()["events"]
    sent = [
        {key: value for key, value in event.items() if key not in ("number", "received")} for event in listed
    ]
    answers = empty.post("/api/events", json={"events": sent}).json()["answers"]
    assert {each["outcome"] for each in answers} == {"kept"}
    assert empty.get("/api/dogs/bramble").json() == client.get("/api/dogs/bramble").json()


BAD_BODIES = (
    b"",
    b"{",
    b"[]",
    b'{"events": []}',
    b'{"events": {}}',
    b"\xff\xfe",
)


@pytest.mark.parametrize("body", BAD_BODIES)
def test_a_body_of_the_wrong_shape_is_told_in_the_one_shape(client, store, body):
    before = len(store.events())
    answer = client.post("/api/events", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 422)
    assert set(answer.json()) == {"error", "what", "where", "remedy"}
    assert len(store.events()) == before


@pytest.mark.parametrize(
    "change",
    [
        {"at": "yesterday"},
        {"at": "2026-11-25T10:00:00"},
        {"at": "2099-01-01T00:00:00+00:00"},
        {"kind": "dog.eaten"},
        {"stream": "cat:felix"},
        {"data": {}},
        {"data": {"id": "r", "day": "2026-02-30", "zone": "back", "longest_mm": 1}},
        {"data": {"id": "r", "day": TODAY.isoformat(), "zone": "wing", "longest_mm": 1}},
        {"version": 99},
    ],
)
def test_an_event_that_cannot_be_is_refused_and_the_others_are_kept(client, store, change):
    body = {"events": [reading("good"), reading("bad", **change)]}
    answers = client.post("/api/events", json=body).json()["answers"]
    assert [each["outcome"] for each in answers] == ["kept", "refused"]
    assert answers[1]["why"]
    assert len(store.state().dogs["bramble"].readings) == 1


def test_a_plan_kept_with_nonsense_in_it_does_not_break_the_pages(client, store, app):
    data = {
        "id": "p1",
        "name": "Odd",
        "day": TODAY.isoformat(),
        "problem": {"approach": "shave", "minutes": {"never": "x"}},
        "takes": {"x": {"back": 1}, "2026-12-09": {"wing": 0.2, "back": "much", "ribs": 7}},
    }
    event = {"id": str(uuid.uuid4()), "stream": "dog:bramble", "kind": "plan.kept", "at": AT, "data": data}
    assert client.post("/api/events", json={"events": [event]}).json()["answers"][0]["outcome"] == "kept"
    app.state.desk.plan(app.state.desk.dog("bramble"), wait=60)
    for address in ("/", "/dogs/bramble", "/dogs/bramble/plan", "/dogs/bramble/plan/versions/p1"):
        assert client.get(address).status_code == 200


def test_the_description_names_every_address_and_every_answer(reader):
    described = reader.get("/api/openapi.json").json()
    assert described["info"]["title"] == "Coatwright"
    for path, methods in described["paths"].items():
        assert path.startswith("/api/")
        for method in methods.values():
            assert method["description"]
            assert {"200", "403"} <= set(method["responses"])


def test_events_made_here_pass_the_shape_of_the_intake(client):
    from datetime import UTC, datetime

    made: Event = event_of(
        "person.set", "person:greta", Person("greta", "Greta"), at=datetime(2026, 11, 25, 9, tzinfo=UTC)
    )
    assert (
        client.post("/api/events", json={"events": [to_json(made)]}).json()["answers"][0]["outcome"] == "kept"
    )
