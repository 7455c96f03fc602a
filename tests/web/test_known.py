"""The page of what is known, and where its chances, believed takes and advice are told elsewhere."""

from __future__ import annotations

from datetime import timedelta

import pytest

from coatwright.salon.records import Reading, Take, Visit
from coatwright.salon.salon import log_visit, take_reading
from tests.web.conftest import TODAY, ZONES

WEEKS = (12, 10, 8, 6, 4, 2)


@pytest.fixture
def read(app, store):
    """A desk where Bramble, read in full twelve weeks ago, was visited and read since."""
    from dataclasses import replace

    from coatwright.salon.records import Assessment
    from coatwright.salon.salon import add_dog
    from tests.web.conftest import bramble, rolled

    first = TODAY - timedelta(weeks=WEEKS[0])
    coat = rolled((2, 4, 6, 8, 10))
    dog = replace(
        bramble(),
        id="teasel",
        name="Teasel",
        assessments=(Assessment("t", first, dict.fromkeys(ZONES, coat)),),
    )
    add_dog(store, dog, today=TODAY)
    for week in WEEKS:
        day = TODAY - timedelta(weeks=week)
        if week <= 6:
            for zone in ("back", "ribs"):
                mm = max(0.3 * (7 * (12 - week) - 28.0), 1.0)
                reading = Reading(f"{zone}{week}", day, zone, shortest_mm=mm, at_visit="before")
                take_reading(store, dog.id, reading, today=TODAY)
        takes = {zone: Take(0.15, planned=0.2) for zone in ZONES if zone != "throat"}
        log_visit(store, dog.id, Visit(f"v{week}", day, takes, groomer="Ivo Teaselby"), today=TODAY)
    desk = app.state.desk
    desk.plan(desk.dog("teasel"), wait=120.0)
    desk.known(desk.dog("teasel"), wait=120.0)
    return desk


def test_before_measuring_the_page_says_that_it_knows_no_more(reader) -> None:
    page = reader.get("/dogs/bramble/known").text
    assert "Nothing was measured of Bramble yet" in page
    assert "shows from about" in page or "should show since about" in page
    assert page.count('class="cw-band"') == 3 * len(ZONES) + 1
    assert "No reading, no weighed take, no paper test yet" in page


def test_what_to_measure_next_leads_to_the_scales_of_the_zone(reader) -> None:
    page = reader.get("/dogs/bramble/known").text
    assert 'id="next"' in page
    assert "/dogs/bramble/readings?zone=" in page
    assert "of the doubt about" in page


def test_a_dog_never_read_is_sent_to_be_read(reader) -> None:
    page = reader.get("/dogs/hob/known")
    assert page.status_code == 200
    assert "/dogs/hob/assess" in page.text


def test_an_unfit_dog_is_known_too(reader) -> None:
    page = reader.get("/dogs/wick/known")
    assert page.status_code == 200
    assert "Zone by zone" in page.text or 'role="status"' in page.text


def test_readings_make_the_page_tell_of_the_dog(read, client) -> None:
    page = client.get("/dogs/teasel/known").text
    assert "Nothing was measured" not in page
    assert "6 readings by comb and ruler" in page
    assert "Ivo Teaselby" in page


def test_inches_are_told_in_inches(read, client) -> None:
    page = client.get("/dogs/teasel/known", headers={"cookie": "unit=in"}).text
    assert "in/wk" in page
    assert "mm/wk" not in page


def test_a_visit_tells_what_it_is_believed_to_have_taken(read, client) -> None:
    page = client.get("/dogs/teasel/visits/v4").text
    assert "Believed" in page
    assert page.count('class="believed') == len(ZONES) - 1
    assert 'class="planned"' in page
    assert 'class="recorded"' in page


@pytest.mark.parametrize("path", ["/shows", "/dogs/bramble", "/dogs/bramble/plan", "/dogs/bramble/sheet"])
def test_the_chance_of_a_show_stands_where_the_show_does(reader, path: str) -> None:
    page = reader.get(path).text.lower()
    assert "chance" in page
    assert "by what dogs of its kind may be" in page


def test_the_plan_tells_the_chance_zone_by_zone(reader) -> None:
    page = reader.get("/dogs/bramble/plan").text
    assert 'id="show-fell"' in page
    assert "Nothing was measured of Bramble yet" in page
    shown = reader.get("/api/dogs/bramble/plan").json()["shows"][0]
    assert shown["measured"] is False
    assert all(0.0 <= zone["chance"] <= 1.0 for zone in shown["zones"])
    assert shown["chance"] <= min(zone["chance"] for zone in shown["zones"])


def test_pictures_are_of_the_dog_that_the_plan_believes(read, client) -> None:
    from coatwright.web.coats import drawn

    dog = read.dog("teasel")
    plan = read.plan(dog, wait=60.0)
    assert drawn(dog, plan) is plan.dog
    assert drawn(dog, None) is dog
    shares = [visit.takes["back"].share for visit in plan.dog.visits]
    assert shares != [visit.takes["back"].share for visit in dog.visits]
    assert plan.recorded.visits == dog.visits
