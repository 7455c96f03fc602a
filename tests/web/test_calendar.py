"""The calendar of the desk: what moved, what was dropped, and numbers that grow from file to file."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from icalendar import Calendar

from coatwright.printing.ical import event_uid
from coatwright.salon.salon import save_dog
from coatwright.web.planner import Planner
from tests.web.conftest import SHOW, TODAY


@pytest.fixture
def planner():
    """A planner of its own: one that others used before remembers their plans of this dog."""
    made = Planner()
    yield made
    made.close()


def events(client):
    return Calendar.from_ical(client.get("/dogs/bramble/plan.ics").text).walk("VEVENT")


def standing(found):
    return {event.decoded("dtstart"): event for event in found if str(event["status"]) != "CANCELLED"}


def test_visits_of_a_kept_plan_that_no_longer_stand_go_out_as_cancelled(app, planned, store):
    first = standing(events(planned))
    kept = planned.post("/dogs/bramble/plan/versions", data={"name": "First"})
    assert kept.status_code == 303
    desk = app.state.desk
    dog = desk.dog("bramble")
    away = (TODAY + timedelta(days=10), TODAY + timedelta(days=20))
    save_dog(store, replace(dog, limits=replace(dog.limits, away=(away,))), today=TODAY)
    desk.plan(desk.dog("bramble"), wait=60.0)
    found = events(planned)
    second = standing(found)
    gone = {event.decoded("dtstart"): event for event in found if str(event["status"]) == "CANCELLED"}
    assert gone
    assert set(gone) == set(first) - set(second)
    for day, event in gone.items():
        assert str(event["uid"]) == str(first[day]["uid"]) == event_uid("bramble", "visit", day.isoformat())
    for day in set(first) & set(second):
        assert str(first[day]["uid"]) == str(second[day]["uid"])
    assert SHOW.day in set(first) & set(second)
    assert len({str(event["uid"]) for event in found}) == len(found)


def test_the_first_calendar_cancels_nothing(planned):
    assert len(standing(events(planned))) == len(events(planned))
