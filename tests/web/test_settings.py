"""What a reader chooses is kept in the browser and holds on every page."""

from __future__ import annotations

import re

import pytest

from coatwright.web.choices import CHOICES
from coatwright.web.keys import KEYS
from tests.web.conftest import TestClient


def cookies(answer) -> dict[str, str]:
    kept = [line.partition(";")[0].partition("=") for line in answer.headers.get_list("set-cookie")]
    return {name: value.strip('"') for name, _, value in kept}


def test_every_choice_can_be_made_and_is_shown_as_made(client):
    choice = {"unit": "in", "place": "de", "week": "sunday", "contrast": "high", "keys": "off"}
    assert set(choice) == set(CHOICES)
    answer = client.post("/settings", data=choice | {"back": "/settings?done=told"})
    assert answer.status_code == 303
    assert cookies(answer) == choice
    text = client.get("/settings?done=told").text
    assert "The settings are kept in this browser." in text
    for value in choice.values():
        assert re.search(rf'<option value="{value}" selected>', text), value
    assert "12,5" in text
    assert "3/4" in text
    assert "Now on Sunday." in text


def test_a_form_that_names_one_choice_leaves_the_others(client):
    client.post("/settings", data={"contrast": "high"})
    assert cookies(client.post("/settings", data={"unit": "in"})) == {"unit": "in"}
    assert 'data-contrast="high"' in client.get("/").text


@pytest.mark.parametrize("name", CHOICES)
def test_what_cannot_be_chosen_is_refused_and_nothing_is_kept(client, name):
    answer = client.post("/settings", data={name: "cubits"})
    assert answer.status_code == 422
    assert "set-cookie" not in answer.headers


def test_switched_off_keys_are_not_sent_at_all(client):
    text = client.get("/").text
    assert "/static/keys.js" in text
    assert '<dialog id="keys-dialog"' in text
    client.post("/settings", data={"keys": "off"})
    text = client.get("/").text
    assert "/static/keys.js" not in text
    assert "<dialog" not in text
    assert "switched off" in client.get("/keys").text


def test_the_list_of_keys_is_the_same_in_the_dialog_and_on_its_page(reader):
    def rows(text: str) -> list[str]:
        return re.findall(r"<tr(?: data-press=[^>]*)?><th scope=\"row\">.*?</tr>", text, re.DOTALL)

    listed = rows(reader.get("/keys").text)
    assert len(listed) == sum(len(keys) for _, keys in KEYS)
    assert rows(reader.get("/people").text) == listed


def test_no_key_means_two_things():
    for _, keys in KEYS:
        pressed = [key.press for key in keys]
        assert len(pressed) == len(set(pressed))
    going = [key.press for _, keys in KEYS for key in keys if key.go]
    assert len(going) == len(set(going))
    assert not {press[0] for press in going if len(press) == 1} & {"g", "j", "k", "?", "/"}


def test_pages_hold_decimal_commas_where_the_place_has_them(client: TestClient):
    client.cookies.set("place", "de")
    text = client.get("/dogs/bramble/edit").text
    assert 'name="weight" type="text" inputmode="decimal" class="number" value="7,4"' in text
    form = {"name": "Bramble", "pattern": "lakeland", "weight": "7,85", "look": "60"}
    assert client.post("/dogs/bramble/edit", data=form).status_code == 303
    assert 'value="7,85"' in client.get("/dogs/bramble/edit").text
    again = client.post("/dogs/bramble/edit", data=form | {"weight": "7.850"})
    assert again.status_code == 422
    assert "two ways" in again.text
