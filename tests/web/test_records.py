"""Dogs, their coats, shows and people are written down on the pages."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from coatwright.patterns.zones import zones
from tests.web.conftest import SHOW, TODAY
from tests.web.test_visits import form_of

NEW = {
    "name": "Sedge",
    "pattern": "border",
    "sex": "dog",
    "born": "2023-05-01",
    "weight": "6,5",
    "height": "330",
    "new_owner": "Isolde Quenby",
    "approach": "free",
    "ready_from": "2027-03-01",
    "look": "55",
    "horizon": "20",
    "limit": "120",
    "cadences": ["14", "21"],
    "days_off": ["6"],
    "shows": ["fell"],
}


def test_a_new_dog_is_kept_with_its_owner_limits_and_wish(client, store):
    answer = client.post("/dogs/new", data=NEW)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/dogs/sedge/assess?done=saved"
    dog = store.state().dogs["sedge"]
    assert (dog.name, dog.pattern.key, dog.sex, dog.born) == ("Sedge", "border", "dog", date(2023, 5, 1))
    assert (dog.weight_kg, dog.height_mm) == (6.5, 330.0)
    assert dog.owner == store.state().people["isolde-quenby"]
    assert (dog.limits.minutes, dog.limits.cadences, dog.limits.days_off) == (120.0, (14, 21), (6,))
    assert (dog.wish.ready_from, dog.wish.look_cover, dog.wish.horizon_weeks) == (date(2027, 3, 1), 0.55, 20)
    assert dog.wish.shows == (SHOW,)
    assert "Read the coat" in client.get("/dogs/sedge/assess").text


def test_two_dogs_of_one_name_get_ids_of_their_own(client, store):
    for _ in range(2):
        assert client.post("/dogs/new", data={"name": "New", "pattern": "border"}).status_code == 303
    assert {"new-2", "new-3"} <= set(store.state().dogs), "'new' itself stands in an address"


def test_the_form_of_a_dog_gives_back_what_is_kept(client, store):
    before = store.state().dogs["bramble"]
    text = client.get("/dogs/bramble/edit").text
    body = re.search(r'<form method="post" action="/dogs/bramble/edit">(.*?)</form>', text, re.DOTALL)
    assert body
    form = form_of(f'<form action="/dogs/bramble/edit" method="post">{body[1]}</form>', "/dogs/bramble/edit")
    form["notes"] = ""
    assert client.post("/dogs/bramble/edit", data=form).status_code == 303
    assert store.state().dogs["bramble"] == before


def test_a_changed_wish_is_kept_and_the_rest_stays(client, store):
    form = {"name": "Bramble", "pattern": "lakeland", "approach": "staged", "shows": "fell", "owner": "marl"}
    assert client.post("/dogs/bramble/edit", data=form).status_code == 303
    dog = store.state().dogs["bramble"]
    assert dog.wish.approach == "staged"
    assert dog.owner is not None
    assert len(dog.assessments) == 1


BAD_DOGS = (
    ({"name": ""}, "name"),
    ({"name": "x" * 300}, "name"),
    ({"pattern": "poodle"}, "pattern"),
    ({"pattern": ""}, "pattern"),
    ({"weight": "0.1"}, "weight"),
    ({"weight": "heavy"}, "weight"),
    ({"height": "10"}, "height"),
    ({"born": "2030-01-01"}, "born"),
    ({"born": "yesterday"}, "born"),
    ({"ready_from": "2027-02-30"}, "ready all the time from"),
    ({"look": "130"}, "cover of the look"),
    ({"horizon": "0"}, "weeks to plan"),
    ({"horizon": "2.5"}, "whole number"),
    ({"limit": "1"}, "minutes per visit"),
    ({"cadences": ["9"]}, "days between visits"),
    ({"days_off": ["0", "1", "2", "3", "4", "5", "6"]}, "Every weekday"),
    ({"shows": ["nowhere"]}, "shows"),
    ({"sex": "cat"}, "sex"),
    ({"ears": "long"}, "ears"),
    ({"bare_first": "2026-12-01"}, "not bare"),
    ({"owner": "nobody", "new_owner": ""}, "owner"),
)


@pytest.mark.parametrize(("change", "told"), BAD_DOGS)
def test_a_dog_that_cannot_be_is_told_and_nobody_is_saved(client, store, change, told):
    before = len(store.events())
    answer = client.post("/dogs/new", data=NEW | change)
    assert answer.status_code == 422
    alert = re.search(r'role="alert" id="error">(.*?)</div>', answer.text, re.DOTALL)
    assert alert
    assert told in alert[1]
    assert len(store.events()) == before, "not even the new owner"
    assert "isolde" not in str(store.state().people)


def rows(*given: tuple[str, str, str, str]) -> dict[str, str]:
    form = {"id": "read", "day": TODAY.isoformat(), "undercoat": "packed"}
    for number, (where, share, age, value) in enumerate(given):
        form |= {
            f"zones.{number}": where,
            f"share.{number}": share,
            f"age.{number}": age,
            f"value.{number}": value,
        }
    return form


def test_a_coat_is_read_for_the_whole_dog_with_parts_and_zones_that_differ(client, store):
    form = rows(
        ("all", "60", "resting", ""),
        ("all", "40", "weeks", "6"),
        ("head", "100", "pulled", (TODAY - timedelta(days=30)).isoformat()),
        ("skull", "100", "length", "4"),
    )
    assert client.post("/dogs/hob/assess", data=form).status_code == 303
    read = store.state().dogs["hob"].assessments[-1]
    assert set(read.zones) == set(zones())
    assert [layer.share for layer in read.zones["back"].layers] == [0.6, 0.4]
    assert read.zones["back"].undercoat == "packed"
    assert read.zones["throat"].layers[0].resting
    assert read.zones["cheeks"].layers[0].pulled == TODAY - timedelta(days=30)
    assert read.zones["skull"].layers[0].length_mm == 4.0
    assert "kept as you read it" in client.get("/dogs/hob?done=assessed").text


def test_a_length_is_read_in_inches_where_they_are_chosen(client, store):
    client.cookies.set("unit", "in")
    assert client.post("/dogs/hob/assess", data=rows(("all", "100", "length", "0,5"))).status_code == 303
    read = store.state().dogs["hob"].assessments[-1]
    assert read.zones["back"].layers[0].length_mm == pytest.approx(12.7)


@pytest.mark.parametrize("start", ["full", "stripped", "rolling", "mixed"])
def test_every_coat_to_begin_from_can_be_kept_as_it_is(client, store, start):
    text = client.get(f"/dogs/hob/assess?start={start}").text
    body = re.search(r'<form method="post" action="/dogs/hob/assess">(.*?)</form>', text, re.DOTALL)
    assert body
    form = form_of(f'<form action="/dogs/hob/assess" method="post">{body[1]}</form>', "/dogs/hob/assess")
    assert client.post("/dogs/hob/assess", data=form).status_code == 303
    assert len(store.state().dogs["hob"].assessments) == 1


BAD_COATS = (
    (rows(), "No row"),
    (rows(("all", "90", "weeks", "4")), "add up to 90 %"),
    (rows(("all", "100", "", "")), "how old"),
    (rows(("all", "100", "weeks", "")), "how old"),
    (rows(("all", "100", "weeks", "many")), "not a number"),
    (rows(("all", "140", "weeks", "4")), "share, row 1"),
    (rows(("all", "100", "weeks", "-4")), "weeks since the pull"),
    (rows(("all", "100", "length", "900")), "length_mm"),
    (rows(("all", "100", "length", "300")), "longer end"),
    (rows(("all", "100", "pulled", "2027-01-01")), "after the assessment"),
    (rows(("all", "100", "pulled", "2026-02-30")), "no day of the calendar"),
    (rows(("wing", "100", "weeks", "4")), "wing"),
    (rows(("all", "", "weeks", "4")), "no share"),
    (rows(("all", "100", "weeks", "4")) | {"day": "2027-01-01"}, "after today"),
    (rows(("all", "100", "weeks", "4")) | {"undercoat": "wool"}, "undercoat"),
)


@pytest.mark.parametrize(("form", "told"), BAD_COATS)
def test_a_coat_that_cannot_be_is_told_and_not_kept(client, store, form, told):
    before = len(store.events())
    answer = client.post("/dogs/hob/assess", data=form)
    assert answer.status_code == 422
    alert = re.search(r'role="alert" id="error">(.*?)</div>', answer.text, re.DOTALL)
    assert alert
    assert told in re.sub(r"<[^>]*>", "", alert[1])
    assert len(store.events()) == before


def test_a_show_is_written_down_and_changed(client, store):
    form = {
        "name": "Marsh Open",
        "day": "2027-02-06",
        "place": "Marsh Halls",
        "closing": "2027-01-10",
        "aim": "rolling",
    }
    assert client.post("/shows", data=form).status_code == 303
    show = store.state().shows["marsh-open"]
    assert (show.day, show.closing, show.aim) == (date(2027, 2, 6), date(2027, 1, 10), "rolling")
    assert client.post("/shows", data=form | {"id": "marsh-open", "place": "New Halls"}).status_code == 303
    assert store.state().shows["marsh-open"].place == "New Halls"
    assert len(store.state().shows) == 2
    assert "New Halls" in client.get("/shows").text


def test_the_shows_tell_which_dogs_are_ready(reader):
    text = reader.get("/shows").text
    assert re.search(
        r'/dogs/bramble">Bramble</a>\s*(<b>ready</b>|<span class="caution-word">not ready)', text
    )


@pytest.mark.parametrize(
    "form",
    [
        {"name": "", "day": "2027-02-06"},
        {"name": "Old", "day": "2020-02-06"},
        {"name": "Odd", "day": "2027-02-31"},
        {"name": "Odd", "day": ""},
        {"name": "Odd", "day": "2027-02-06", "closing": "2027-03-01"},
        {"name": "Odd", "day": "2027-02-06", "aim": "shaved"},
    ],
)
def test_a_show_that_cannot_be_is_told_and_not_kept(client, store, form):
    before = len(store.events())
    answer = client.post("/shows", data=form)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert len(store.events()) == before


def test_a_person_is_written_down_and_changed(client, store):
    assert client.post("/people", data={"name": "Greta Sallowby", "role": "owner"}).status_code == 303
    form = {"id": "greta-sallowby", "name": "Greta Sallowby", "role": "handler", "phone": "01632 960105"}
    assert client.post("/people", data=form).status_code == 303
    assert store.state().people["greta-sallowby"].phone == "01632 960105"
    assert "Handlers" in client.get("/people").text
    before = len(store.events())
    for bad in ({"name": ""}, {"name": "x", "role": "king"}, {"name": "a\nb", "role": "owner"}):
        assert client.post("/people", data=bad).status_code == 422
    assert len(store.events()) == before
