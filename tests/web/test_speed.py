"""How fast the groomers are: told on the page of people, and used by the plans of the desk."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from coatwright.patterns import zones
from coatwright.salon.records import Assessment, LayerReading, Take, Visit, ZoneReading
from coatwright.salon.salon import add_dog, log_visit
from tests.web.conftest import TODAY, bramble

PULLED = {key: zone.minutes for key, zone in zones().items() if zone.work == "pull"}


def worked(store, name, factor, *, count=8, groomer="Ivo Teaselby"):
    """A dog of 10 kg with visits at so many times the table's minutes."""
    began = TODAY - timedelta(days=14 * count)
    old = Assessment(
        f"{name}-coat", began, {key: ZoneReading((LayerReading(1.0, resting=True),)) for key in PULLED}
    )
    id = name.lower()
    add_dog(store, replace(bramble(), id=id, name=name, weight_kg=10.0, assessments=(old,)), today=TODAY)
    for number in range(count):
        takes = {key: Take(0.1, minutes=round(0.1 * table * factor, 1)) for key, table in PULLED.items()}
        day = began + timedelta(days=14 * number)
        log_visit(store, id, Visit(f"{id}-{number}", day, takes, groomer=groomer), today=TODAY)


def told(page):
    text = page[page.index('id="speed"') :]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>|&#8239;", " ", text[: text.index("</section>")]))


def test_nothing_is_told_before_anything_was_timed(reader):
    assert 'id="speed"' not in reader.get("/people").text


def test_two_visits_are_no_knowledge(client, store):
    worked(store, "Moss", 2.0, count=2)
    text = told(client.get("/people").text)
    assert "Ivo Teaselby : no more known than the table yet: 2 timed visits of 1 dog." in text
    assert text.count("as the table: 2 visits") == len(PULLED)


def test_a_slow_groomer_is_told_with_what_is_not_known(client, store):
    for number in range(4):
        worked(store, f"Moss{number}", 1.6, count=6)
    worked(store, "Wren", 0.6, count=4, groomer="Maren Sedgemoor-Pike")
    text = told(client.get("/people").text)
    found = re.search(r"Ivo Teaselby : slower than the table: (\d+) % more minutes", text)
    assert found
    assert 40 <= int(found[1]) <= 65
    assert "8 chances in 10 lie between" in text
    assert "From 24 timed visits of 4 dogs." in text
    assert "Maren Sedgemoor-Pike : no more known than the table yet: 4 timed visits of 1 dog." in text


def test_a_slip_is_named_with_its_visit(client, store):
    worked(store, "Moss", 1.0)
    slip = Visit(
        "slip", TODAY - timedelta(days=3), {"back": Take(0.2, minutes=300.0)}, groomer="Ivo Teaselby"
    )
    log_visit(store, "moss", slip, today=TODAY)
    page = client.get("/people").text
    assert re.search(r"Not believed .* 5 h for back, where \d+ min were to be expected", told(page))
    assert "/dogs/moss/visits/slip" in page
    assert client.get("/dogs/moss/visits/slip").status_code == 200


def test_the_desk_plans_with_the_groomers_minutes(app, client, store):
    desk = app.state.desk
    usual = desk.plan(desk.dog("bramble"), wait=60)
    worked(store, "Moss", 2.0)
    bramble_ = desk.dog("bramble")
    speed = desk.speed(bramble_, TODAY)
    slow = desk.plan(bramble_, wait=60)
    assert slow is not usual
    assert {zone.key: zone.minutes for zone in slow.case.zones} == {
        zone.key: speed[zone.key] for zone in slow.case.zones
    }
    assert all(
        one.minutes > 1.2 * two.minutes for one, two in zip(slow.case.zones, usual.case.zones, strict=True)
    ), "the only groomer's speed, though this dog was never timed"
    day = slow.visits[0]
    asked = client.get(f"/api/dogs/bramble/sheet?day={day}").json()
    assert asked["minutes"] == pytest.approx(slow.minutes(day), abs=0.1)


def test_a_visit_logged_today_leaves_the_plans_of_today(app, store):
    worked(store, "Moss", 2.0)
    desk = app.state.desk
    before = desk.plan(desk.dog("bramble"), wait=60)
    today = Visit("now", TODAY, {"back": Take(0.2, minutes=60.0)}, groomer="Ivo Teaselby")
    log_visit(store, "moss", today, today=TODAY)
    assert desk.plan(desk.dog("bramble"), wait=60) is before
    tomorrow = TODAY + timedelta(days=1)
    assert desk.speed(desk.dog("bramble"), tomorrow) != desk.speed(desk.dog("bramble"), TODAY)
