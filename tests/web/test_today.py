"""The page of the day: order, hand load, what is done, and the week ahead."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from coatwright.patterns import pattern
from coatwright.salon.records import Dog, Take, Visit
from coatwright.salon.salon import log_visit
from coatwright.web.pages.today.day import HANDS_STOP, HANDS_TIRE, Work, hands, in_order, logged
from tests.web.conftest import TODAY, bramble


def work(name: str, pulling: float, *, done: bool = False) -> Work:
    visit = Visit(f"v-{name.lower()}", TODAY, {}) if done else None
    dog = Dog(name.lower(), name, pattern("border"))
    return Work(dog, TODAY, pulling + 20.0, pulling, 5, visit=visit)


def test_what_is_done_stands_first_then_the_longest_pull():
    steps = in_order([work("Ash", 50), work("Birch", 90), work("Elm", 30, done=True), work("Yew", 90)])
    assert [step.work.dog.name for step in steps] == ["Elm", "Birch", "Yew", "Ash"]
    assert [step.after for step in steps] == [30, 120, 210, 260]
    assert [step.before for step in steps] == [0, 30, 120, 210]
    assert [step.number for step in steps] == [1, 2, 3, 4]


# 3 to 5 hours of pulling a day: common practice in the trade, no published source
@pytest.mark.parametrize(
    ("pulling", "state"), [(0, ""), (180, ""), (181, "tired"), (300, "tired"), (301, "spent")]
)
def test_hands_tire_from_three_hours_and_are_spent_after_five(pulling, state):
    assert (HANDS_TIRE, HANDS_STOP) == (3 * 60, 5 * 60)
    assert hands(pulling) == state


def test_a_logged_visit_counts_its_minutes_of_pulling_or_what_is_usual():
    dog = bramble()
    timed = Visit("v1", TODAY, {"back": Take(0.2, minutes=12.0), "ribs": Take(0.0, minutes=3.0)})
    assert logged(dog, timed).pulling == 12.0
    assert logged(dog, timed).zones == 1
    small, large = (
        logged(Dog("x", "X", pattern("lakeland"), weight_kg=weight), Visit("v2", TODAY, {"back": Take(0.5)}))
        for weight in (7.0, 28.0)
    )
    # surface grows with the weight to the power of 2/3 (standard veterinary formula): 4 times the weight, 2.52
    assert large.pulling / small.pulling == pytest.approx(4 ** (2 / 3), rel=0.01)
    short = Visit("v3", TODAY, {"back": Take(1.0)}, minutes=1.0)
    assert logged(dog, short).pulling == 1.0, "no more than the whole visit took"


def test_a_visit_logged_today_stands_as_done_and_counts_for_the_hands(planned, app):
    visit = Visit("now", TODAY, {"back": Take(0.2, minutes=33.0)}, minutes=50.0, note="Stood well.")
    log_visit(app.state.desk.store, "bramble", visit, today=TODAY)
    desk = app.state.desk
    desk.plan(desk.dog("bramble"), wait=60.0)
    text = planned.get("/").text
    assert '<tr class="was">' in text
    assert "Stood well." in text
    assert "/dogs/bramble/visits/now" in text
    said = re.sub(r"\s+", " ", re.sub(r"<[^>]*>|&#8239;", " ", text))
    assert "33 min of pulling, 33 min of them done" in said


def test_the_week_ahead_names_its_days_and_marks_where_the_week_begins(reader):
    text = reader.get("/", headers={"accept-language": "en-US"}).text
    begins = re.findall(r'<tr class="starts">\s*<th scope="row"><span class="caps">(\w+)', text)
    assert begins == ["Sun"]
    text = reader.get("/").text
    days = re.findall(r'<th scope="row"><span class="caps">\w+</span> <span class="nowrap">(\d+ \w+)', text)
    assert days[0] == f"{(TODAY + timedelta(days=1)).day} November"
    assert len(days) == 7
    assert re.findall(r'<tr class="starts">\s*<th scope="row"><span class="caps">(\w+)', text) == ["Mon"]


def test_a_salon_whose_coats_are_all_unread_is_told_to_read_one(empty):
    empty.post("/dogs/new", data={"name": "Pim", "pattern": "border"})
    text = empty.get("/").text
    assert "Read the coat of Pim" in text
    assert "The week ahead" not in text, "a table of empty days teaches nothing"
