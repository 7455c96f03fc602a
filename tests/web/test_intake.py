"""The intake of events: malformed, stale, replayed, foreign and future ones are answered one by one."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest

from tests.web.conftest import TODAY

AT = "2026-11-25T10:00:00+00:00"


def tap(ident: str, minute: int = 0, **change: object) -> dict[str, object]:
    data = {
        "visit": f"table-{TODAY}",
        "day": TODAY.isoformat(),
        "zone": "back",
        "take": {"share": 0.1, "planned": 0.1, "minutes": 4},
        "groomer": "Mira",
        "device": "one",
    }
    data |= change.pop("data", {})  # type: ignore[operator]
    event = {
        "id": ident,
        "stream": "dog:bramble",
        "kind": "take.logged",
        "at": f"2026-11-25T10:{minute:02d}:00+00:00",
        "by": "Mira",
        "version": 1,
        "data": data,
    }
    return event | change


def post(client, *events: object):
    raw = json.dumps({"events": list(events)})
    answer = client.post("/api/events", content=raw, headers={"content-type": "application/json"})
    assert answer.status_code == 200, answer.text
    answers = answer.json()["answers"]
    assert len(answers) == len(events)
    return answers


def outcomes(answers):
    return [each["outcome"] for each in answers]


def test_taps_become_a_visit_that_the_desk_shows(client, store):
    sha = "ab" * 32
    day = {"visit": f"table-{TODAY}", "day": TODAY.isoformat(), "device": "one"}
    answers = post(
        client,
        tap("a"),
        tap("b", 4, data={"zone": "ribs", "take": {"share": 0.05, "skin": "a little red"}}),
        {**tap("c", 5), "kind": "zone.carded", "data": day | {"zone": "back", "carded": True}},
        {**tap("d", 6), "kind": "care.done", "data": day | {"what": "scissors_feet", "done": True}},
        {
            **tap("e", 7),
            "kind": "visit.told",
            "data": day | {"groomer": "Mira", "minutes": 55, "note": "calm"},
        },
        {
            **tap("f", 8),
            "kind": "photo.taken",
            "data": day | {"zone": "back", "photo": sha, "width": 8, "height": 6},
        },
    )
    assert outcomes(answers) == ["kept"] * 6
    visit = store.state().dogs["bramble"].visits[-1]
    assert visit.id == f"table-{TODAY}"
    text = client.get(f"/dogs/bramble/visits/{visit.id}").text
    for words in ("a little red", "Scissors feet", "calm", "55", "Mira", "Carded"):
        assert words in text
    assert f'src="/photos/{sha}' in text


def test_an_answer_that_was_lost_can_be_asked_for_again(client, store):
    batch = [tap("a"), tap("b", 4, data={"zone": "ribs"})]
    assert outcomes(post(client, *batch)) == ["kept", "kept"]
    before = store.state()
    assert outcomes(post(client, *batch)) == ["already", "already"]
    assert outcomes(post(client, *batch[::-1])) == ["already", "already"]
    assert store.state() is before


def test_two_tablets_on_one_zone_are_told(client):
    post(client, tap("a"))
    (answer,) = post(client, tap("b", 5, by="Ivo", data={"device": "two", "take": {"share": 0.15}}))
    assert answer["outcome"] == "kept"
    assert answer["note"].startswith("Also logged by Mira's tablet at ")
    assert "(10 %)" in answer["note"]


MALFORMED = [
    1,
    None,
    "tap",
    [],
    {},
    {"id": "x"},
    tap("x", extra=1),
    tap("x", stream=7),
    tap("x", version="one"),
    tap("x", version=10**300),
    tap(""),
    tap("x" * 500),
    tap("\ud800"),
    tap("x", by="\ud800"),
    tap("x", stream="dog:\ud800"),
    tap("x", stream="dog:" + "x" * 300),
    {**tap("x"), "data": [1]},
    {**tap("x"), "data": {"visit": "t"}},
    tap("x", data={"zone": "wing"}),
    tap("x", data={"zone": "\ud800"}),
    tap("x", data={"take": {"share": 1e308}}),
    tap("x", data={"take": {"share": 10**400}}),
    tap("x", data={"take": {"share": 0.1, "minutes": -1}}),
    tap("x", data={"take": 0.1}),
    tap("x", data={"day": "2026-02-30"}),
    tap("x", at="now"),
    tap("x", at="2026-11-25T10:00:00"),
    tap("x", at="0001-01-01T00:00:00+23:00"),
    tap("x", kind="take.eaten"),
    tap("x", kind=""),
]


def test_a_malformed_event_is_refused_and_stops_no_other(client, store):
    before = len(store.events())
    for number, bad in enumerate(MALFORMED):
        answers = post(client, tap(f"a{number}"), bad, tap(f"b{number}", 4, data={"zone": "ribs"}))
        assert outcomes(answers) == ["kept", "refused", "kept"], bad
        assert answers[1]["why"], bad
    assert len(store.events()) == before + 2 * len(MALFORMED)
    assert client.get("/dogs/bramble").status_code == 200


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"at": "2026-11-26T14:00:00+00:00"}, "clock"),
        ({"at": "9999-12-31T23:59:59+00:00"}, "clock"),
        ({"data": {"day": (TODAY + timedelta(days=2)).isoformat()}}, "a day to come"),
        ({"data": {"day": "9999-12-31"}}, "a day to come"),
        ({"data": {"day": "2020-01-01"}}, "no assessment"),
        ({"stream": "dog:nobody"}, "nobody"),
        ({"version": 2}, "Update"),
    ],
)
def test_future_stale_and_foreign_events_say_what_to_do(client, change, words):
    answers = post(client, tap("a", **change), tap("b", 4, data={"zone": "ribs"}))
    assert outcomes(answers) == ["refused", "kept"]
    assert words in answers[0]["why"]


def test_an_event_of_last_week_that_arrives_now_is_kept_on_its_day(client, store):
    day = TODAY - timedelta(days=6)
    late = tap("a", at="2026-11-19T10:00:00+00:00", data={"day": day.isoformat(), "visit": f"table-{day}"})
    assert outcomes(post(client, tap("b", 4), late)) == ["kept", "kept"]
    assert [each.day for each in store.state().dogs["bramble"].visits] == [day, TODAY]


def test_the_same_id_with_other_words_is_refused(client):
    answers = post(client, tap("a"), tap("a", data={"take": {"share": 0.2}}), tap("a"))
    assert outcomes(answers) == ["kept", "refused", "already"]
    assert "Another event has this id" in answers[1]["why"]


def test_a_take_can_be_taken_back(client, store):
    undo = {**tap("u", 9), "kind": "undone", "data": {"event": "a"}}
    assert outcomes(post(client, tap("a"), undo)) == ["kept", "kept"]
    assert store.state().dogs["bramble"].visits == ()


# --- clocks and disks -------------------------------------------------------------------------------------


def test_of_a_tablet_whose_clock_is_a_day_ahead_nothing_is_kept_until_it_is_set(client, store):
    ahead = tap("a", at="2026-11-26T10:00:00+00:00", data={"day": (TODAY + timedelta(days=1)).isoformat()})
    (answer,) = post(client, ahead)
    assert answer["outcome"] == "refused"
    assert "Set the clock of the device and send it again" in answer["why"]
    assert outcomes(post(client, tap("a"))) == ["kept"], "the same entry, with its time put right"


def test_of_a_tablet_whose_clock_is_a_day_behind_the_right_ones_win(client, store):
    behind = tap("a", at="2026-11-24T23:00:00+00:00", data={"take": {"share": 0.3}})
    assert outcomes(post(client, tap("b", data={"device": "two"}), behind)) == ["kept", "kept"]
    assert store.state().dogs["bramble"].visits[0].takes["back"].share == 0.1


@pytest.mark.parametrize(
    ("first", "second"),
    [
        # The night of 2026-10-25, when clocks in the European Union go back at 01:00 UTC: 02:30 comes twice.
        ("2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+01:00"),
        ("2026-10-25T02:59:00+02:00", "2026-10-25T02:01:00+01:00"),
    ],
)
def test_in_the_night_in_which_the_clock_goes_back_the_later_tap_is_still_the_later(
    client, store, first, second
):
    day = TODAY - timedelta(days=10)
    early = tap("z", at=first, data={"day": day.isoformat(), "take": {"share": 0.05}})
    late = tap("a", at=second, data={"day": day.isoformat(), "take": {"share": 0.15}})
    for batch in ([late, early], [early, late]):
        post(client, *batch)
        assert store.state().dogs["bramble"].visits[0].takes["back"].share == 0.15


def test_on_a_full_disk_nothing_is_acknowledged_and_what_to_do_is_said(client, store):
    from sqlalchemy import event

    post(client, tap("a"))

    def small(connection, _record):
        connection.execute("PRAGMA max_page_count = 1")

    event.listen(store._writer, "connect", small)
    store._writer.dispose()
    for number in range(400):
        body = {"events": [tap(f"full-{number}-{n}", n, data={"zone": "ribs"}) for n in range(60)]}
        answer = client.post("/api/events", json=body)
        if answer.status_code != 200:
            break
    assert answer.status_code == 503
    assert "Nothing was saved" in answer.json()["what"]
    assert "Make room" in answer.json()["remedy"]
    kept = {each.id for _, each in store.events()}
    assert not kept & {each["id"] for each in body["events"]}
    event.remove(store._writer, "connect", small)
    store._writer.dispose()
    again = client.post("/api/events", json=body).json()["answers"]
    assert set(outcomes(again)) == {"kept"}
