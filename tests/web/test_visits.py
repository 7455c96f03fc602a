"""A visit is logged as it was; the plan is made again from it and says what changed."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from coatwright.patterns.zones import zones
from coatwright.salon.papers import hand_count
from tests.web.conftest import TODAY


def form_of(text: str, action: str) -> dict[str, str | list[str]]:
    """The values that a browser would send from the form with this action, unchanged."""
    body = re.search(rf'<form action="{re.escape(action)}" method="post"[^>]*>(.*?)</form>', text, re.DOTALL)
    assert body, action
    found: dict[str, str | list[str]] = {}
    for tag in re.findall(r"<input[^>]*>", body[1]):
        values = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        if values.get("type") == "checkbox":
            if re.search(r"\schecked", tag):
                found.setdefault(values["name"], []).append(values["value"])
            continue
        found[values["name"]] = values.get("value", "")
    for name, options in re.findall(r'<select[^>]*name="([^"]+)"[^>]*>(.*?)</select>', body[1], re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', options) or re.search(
            r'<option value="([^"]*)"', options
        )
        found[name] = chosen[1] if chosen else ""
    found.setdefault("note", "")
    return found


def planned_form(client) -> dict[str, str | list[str]]:
    return form_of(client.get("/dogs/bramble/visit").text, "/dogs/bramble/visit")


def dog(store):
    return store.state().dogs["bramble"]


def test_the_form_comes_filled_in_with_the_planned_takes(planned, app):
    plan = app.state.desk.plan(app.state.desk.dog("bramble"), wait=60)
    assert plan.visits[0] == TODAY
    form = planned_form(planned)
    takes = plan.takes(TODAY)
    assert takes
    for zone, share in takes.items():
        assert form[f"take.{zone}"] == form[f"planned.{zone}"] == str(round(100 * share))
    assert form["minutes"] == str(round(plan.minutes(TODAY)))
    assert form["day"] == TODAY.isoformat()


def test_a_visit_as_planned_is_kept_with_every_take_and_its_tool(planned, store):
    form = planned_form(planned) | {"groomer": "Ivo Teaselby", "note": "Stood well."}
    answer = planned.post("/dogs/bramble/visit", data=form)
    assert answer.status_code == 303
    visit = dog(store).visits[-1]
    assert answer.headers["location"] == f"/dogs/bramble/visits/{visit.id}"
    assert visit.day == TODAY
    assert (visit.groomer, visit.note) == ("Ivo Teaselby", "Stood well.")
    assert all(take.share == take.planned for take in visit.takes.values())
    assert {take.tool for take in visit.takes.values()} == {"fingers"}
    text = planned.get(answer.headers["location"]).text
    assert "What the plan makes of it" in text
    assert "Other than planned" not in text


def test_an_over_take_is_answered_by_sparing_the_zone_and_the_show_is_judged(planned, store, app):
    form = planned_form(planned)
    before = app.state.desk.plan(app.state.desk.dog("bramble"), wait=60)
    planned_share = int(form["planned.back"])
    assert planned_share == 20
    answer = planned.post("/dogs/bramble/visit", data=form | {"take.back": "35", "minutes.back": "12"})
    assert answer.status_code == 303
    take = dog(store).visits[-1].takes["back"]
    assert (take.share, take.planned, take.minutes) == (0.35, 0.2, 12.0)
    app.state.desk.plan(app.state.desk.dog("bramble"), wait=60)
    text = re.sub(r"\s+", " ", planned.get(answer.headers["location"]).text)
    assert "Other than planned" in text
    assert "more than planned" in text
    assert "Fell Terrier Day" in text
    assert re.search(r"Fell Terrier Day (still holds|does not hold)|not ready in", text)
    after = app.state.desk.plan(app.state.desk.dog("bramble"), wait=60)
    coming = [day for day in before.visits if day > TODAY][:3]
    taken_before = sum(before.takes(day).get("back", 0.0) for day in coming)
    taken_after = sum(after.takes(day).get("back", 0.0) for day in coming)
    assert taken_after < taken_before - 0.05, "the over-pulled zone is spared"
    assert re.search(r"<b>Back</b> is spared: ", text)


def test_the_same_form_sent_twice_counts_once(planned, store):
    form = planned_form(planned)
    first = planned.post("/dogs/bramble/visit", data=form)
    again = planned.post("/dogs/bramble/visit", data=form)
    assert again.status_code == 303
    assert again.headers["location"].startswith(first.headers["location"])
    assert len(dog(store).visits) == 1
    assert "it counts once" in planned.get(again.headers["location"]).text


def test_undo_takes_the_visit_back_and_redo_brings_it_again(planned, store):
    where = planned.post("/dogs/bramble/visit", data=planned_form(planned)).headers["location"]
    form = form_of(planned.get(where).text, "/dogs/bramble/undo")
    assert "Take it back" in planned.get(where).text
    answer = planned.post("/dogs/bramble/undo", data=form)
    assert answer.status_code == 303
    assert dog(store).visits == ()
    text = planned.get(answer.headers["location"]).text
    assert "Taken back." in text
    assert "Do it again" in text
    assert planned.post("/dogs/bramble/undo", data=form).status_code == 422, "twice is once"
    redo = form_of(text, "/dogs/bramble/undo")
    assert planned.post("/dogs/bramble/undo", data=redo).status_code == 303
    assert len(dog(store).visits) == 1


BAD = (
    ({"take.back": "140"}, "take of the back"),
    ({"take.back": "22"}, "5 %"),
    ({"take.back": "-5"}, "take of the back"),
    ({"take.back": "much"}, "is not a number"),
    ({"take.back": "95"}, "above the skin"),
    ({"day": "2026-02-30"}, "no day of the calendar"),
    ({"day": ""}, "day of the visit"),
    ({"day": (TODAY + timedelta(days=1)).isoformat()}, "after today"),
    ({"day": "2020-01-01"}, "no assessment of the coat before it"),
    ({"minutes": "-3"}, "minutes of the visit"),
    ({"minutes": "nan"}, "minutes of the visit"),
    ({"broken.back": "120"}, "broken hair of the back"),
    ({"carded": "wing"}, "carded"),
    ({"groomer": "x" * 400}, "groomer"),
    ({"note": "x" * 5000}, "note"),
    ({"tool.back": "a\nb"}, "tool for the back"),
    ({f"take.{zone}": "0" for zone in zones()} | {"carded": []}, "Nothing was pulled"),
)


@pytest.mark.parametrize(("change", "told"), BAD)
def test_a_visit_that_cannot_be_is_told_and_nothing_is_saved(planned, store, change, told):
    form = planned_form(planned) | change
    before = len(store.events())
    answer = planned.post("/dogs/bramble/visit", data=form)
    assert answer.status_code == 422
    alert = re.search(r'role="alert" id="error">(.*?)</div>', answer.text, re.DOTALL)
    assert alert
    assert told in re.sub(r"<[^>]*>", "", alert[1])
    assert len(store.events()) == before


def test_what_was_typed_stands_in_the_form_again_after_an_error(planned):
    form = planned_form(planned) | {"take.back": "35", "note": "Half done.", "minutes": "-1"}
    text = planned.post("/dogs/bramble/visit", data=form).text
    again = form_of(text, "/dogs/bramble/visit")
    assert again["take.back"] == "35"
    assert again["id"] == form["id"]
    assert "Half done." in text


def test_a_visit_before_one_that_is_logged_is_refused(planned, store):
    assert planned.post("/dogs/bramble/visit", data=planned_form(planned)).status_code == 303
    late = {"id": "v2", "day": "2026-11-20", "take.neck": "5", "planned.neck": "5"}
    answer = planned.post("/dogs/bramble/visit", data=late)
    assert answer.status_code == 422
    assert "is logged already" in answer.text
    assert len(dog(store).visits) == 1


def test_no_visit_is_logged_for_an_unfit_dog_or_an_unread_coat(client, store):
    before = len(store.events())
    visit = {"id": "v", "day": TODAY.isoformat(), "take.back": "20", "planned.back": "20"}
    unfit = client.post("/dogs/wick/visit", data=visit)
    assert unfit.status_code == 422
    assert "unfit" in unfit.text
    unread = client.post("/dogs/hob/visit", data=visit)
    assert unread.status_code == 422
    assert "has not been read yet" in unread.text
    assert len(store.events()) == before


def test_a_reading_is_kept_in_the_unit_it_was_typed_in(planned, store):
    form = {"zone": "back", "id": "r1", "unit": "in", "longest": "1", "shortest": "0.25", "cover": "65"}
    assert planned.post("/dogs/bramble/readings", data=form).status_code == 303
    reading = dog(store).readings[-1]
    assert reading.longest_mm == pytest.approx(25.4)
    assert reading.cover == 0.65
    assert "longest 25" in re.sub(r"<[^>]*>", "", planned.get("/dogs/bramble?zone=back").text)


@pytest.mark.parametrize(
    "form",
    [
        {"zone": "back", "unit": "mm"},
        {"zone": "wing", "longest": "20", "unit": "mm"},
        {"zone": "back", "longest": "-2", "unit": "mm"},
        {"zone": "back", "longest": "20", "shortest": "30", "unit": "mm"},
        {"zone": "back", "longest": "20", "unit": "ell"},
        {"zone": "back", "cover": "101", "unit": "mm"},
    ],
)
def test_a_reading_that_cannot_be_is_told_and_not_kept(planned, store, form):
    before = len(store.events())
    answer = planned.post("/dogs/bramble/readings", data=form)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert len(store.events()) == before


def test_a_dog_is_marked_unfit_and_fit_again(planned, store):
    assert planned.post("/dogs/bramble/unfit", data={"reason": "sore skin"}).status_code == 303
    text = planned.get("/dogs/bramble").text
    assert "sore skin" in text
    assert "Mark Bramble fit again" in text
    assert planned.post("/dogs/bramble/unfit", data={"reason": " "}).status_code == 422
    assert planned.post("/dogs/bramble/fit", data={"note": "seen by the vet"}).status_code == 303
    assert dog(store).unfit == ""


def test_the_sheet_and_the_dogs_page_tell_why_each_zone_is_pulled_or_spared(reader):
    sheet = reader.get("/dogs/bramble/sheet").text
    page = reader.get("/dogs/bramble").text
    record = reader.app.state.desk.dog("bramble")
    read = {zones()[key].name.lower() for each in record.assessments for key in each.zones}
    read &= {zone.name.lower() for zone in zones().values() if zone.work == "pull"}
    for text in (sheet, page):
        table = re.search(r'<table class="why stack">.*?</table>', text, re.DOTALL)
        assert table
        rows = re.findall(r'<th scope="row">([^<]+)</th>', table[0])
        told = re.split(r", | and ", ", ".join(rows).lower())
        assert len(told) == len(set(told))
        assert set(told) == read
        assert "never more than" in table[0] or "left alone" in table[0] or "goes in its turn" in table[0]
    assert 'href="#why"' in sheet


def test_a_tool_that_broke_hair_is_named_where_visits_are_planned_and_logged(planned, store, app):
    day = TODAY - timedelta(days=3)
    hand_count(store, "bramble", "back", whole=70, broken=30, tool="coarse blade", day=day, today=TODAY)
    app.state.desk.plan(app.state.desk.dog("bramble"), wait=60)
    form = planned.get("/dogs/bramble/visit").text
    assert "A tool that breaks hair" in form
    assert "Coarse blade: about 30 of 100 hairs broke" in form
    sheet = planned.get("/dogs/bramble/sheet").text
    assert "Not for a rolling coat, nor for a show dog." in sheet
    assert "coarse blade breaks hair" in planned.get("/").text
