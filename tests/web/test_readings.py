"""Comb and ruler at the desk: a zone, a value, kept at once; scales round what is to be expected."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape

import pytest

from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.salon.history import LOOKS, Reading
from coatwright.salon.readings import note_reading
from coatwright.units import MM_PER_INCH, day_of
from coatwright.web.pages.reading.scale import LOOK_WORDS, expected, scales_of
from tests.web.conftest import TODAY

PAGE = "/dogs/bramble/readings"
TAP = f"{PAGE}/tap"


def dog(store):
    return store.state().dogs["bramble"]


def tapped(client, **values):
    return client.post(TAP, data={"zone": "back", "day": TODAY.isoformat(), "at": "before", **values})


def buttons(text):
    """Name, value and pressed of every button of the scales."""
    found = re.findall(r'<button id="[\w-]+" name="(\w+)" value="([^"]*)" aria-pressed="(\w+)"', text)
    return {(name, value): pressed == "true" for name, value, pressed in found}


# --- the page ---------------------------------------------------------------------------------------------


def test_a_zone_opens_with_scales_and_five_words_as_plain_forms(client):
    closed = client.get(PAGE).text
    assert 'id="z-back"' in closed
    assert not buttons(closed)
    text = client.get(f"{PAGE}?zone=back").text
    names = [name for name, _ in buttons(text)]
    assert (names.count("longest"), names.count("shortest"), names.count("look")) == (20, 10, 5)
    assert 0 < names.count("step") <= 30
    assert f'action="{TAP}" method="post"' in text
    for word, meaning in LOOK_WORDS:
        assert word in text
        assert meaning in text


def test_the_five_words_are_those_of_the_record():
    assert ("", *(word for word, _ in LOOK_WORDS)) == LOOKS


def test_zones_stand_in_working_order_and_the_next_is_one_tap_away(client):
    text = client.get(f"{PAGE}?zone=back").text
    keys = re.findall(r'<li id="z-(\w+)"', text)
    assert keys == ["back", "ribs", "croup", "neck", "skull", "throat"]
    assert "On to the ribs" in text
    assert "On to the" not in client.get(f"{PAGE}?zone=throat").text


def test_it_is_reached_from_the_dog_the_log_and_the_visit(planned, store):
    assert f'href="{PAGE}"' in planned.get("/dogs/bramble").text
    log = unescape(planned.get("/dogs/bramble/visit").text)
    assert f'href="{PAGE}?day={TODAY}&at=before"' in log
    visit = {"id": "v1", "day": TODAY.isoformat(), "take.back": "20", "planned.back": "20"}
    where = planned.post("/dogs/bramble/visit", data=visit).headers["location"]
    assert f'href="{PAGE}?day={TODAY}&at=after"' in unescape(planned.get(where).text)
    assert re.search(r'aria-current="true">after it', planned.get(PAGE).text), (
        "after the visit it is read after"
    )


def test_a_dog_whose_coat_was_never_read_is_told_what_comes_first(client):
    text = client.get("/dogs/hob/readings").text
    assert "Read the coat of Hob" in text


# --- taps -------------------------------------------------------------------------------------------------


def test_each_tap_is_kept_shown_and_taken_back_by_the_same_tap(client, store):
    answer = tapped(client, longest="18", by="Ivo Teaselby")
    assert answer.status_code == 303
    place = answer.headers["location"]
    assert place.startswith(f"{PAGE}?day={TODAY}&at=before&by=Ivo+Teaselby&zone=back")
    assert place.endswith("#z-back")
    tapped(client, look="open")
    tapped(client, step="6")
    tapped(client, step="14")
    tapped(client, shortest="4")
    (reading,) = dog(store).readings
    assert (reading.longest_mm, reading.shortest_mm, reading.steps_mm) == (18.0, 4.0, (6.0, 14.0))
    assert (reading.look, reading.groomer, reading.day, reading.at_visit) == (
        *("open", "Ivo Teaselby", TODAY),
        "before",
    )
    text = client.get(place).text
    plain = re.sub(r"<[^>]*>", "", unescape(text))
    assert "longest 18\u202fmm, shortest 4\u202fmm, layers of 6 and 14\u202fmm, cover open" in plain
    pressed = {key for key, there in buttons(text).items() if there}
    assert pressed == {("longest", ""), ("look", ""), ("shortest", ""), ("step_off", "6"), ("step_off", "14")}
    tapped(client, longest="")
    tapped(client, look="")
    tapped(client, step_off="6")
    tapped(client, step_off="14")
    assert dog(store).readings[0].says == ("shortest_mm",)
    tapped(client, shortest="")
    assert dog(store).readings == ()


def test_the_last_tap_can_be_undone_from_the_page(client, store):
    tapped(client, longest="18")
    tapped(client, longest="20")
    text = client.get(f"{PAGE}?zone=back").text
    event = re.search(r'name="event" value="([^"]+)"', text)[1]
    back = unescape(re.search(r'name="back" value="([^"]+)"', text)[1])
    answer = client.post("/dogs/bramble/undo", data={"event": event, "as": "undone", "back": back})
    assert answer.headers["location"].startswith(PAGE)
    assert dog(store).readings[0].longest_mm == 18.0
    assert "Do it again" in client.get(answer.headers["location"]).text


def test_a_tap_by_script_is_answered_with_the_part_alone(client):
    script = {"hx-request": "true"}
    answer = client.post(TAP, data={"zone": "back", "longest": "18"}, headers=script, follow_redirects=True)
    assert answer.status_code == 200
    assert "<html" not in answer.text
    assert buttons(answer.text)[("longest", "")]


def test_a_length_typed_in_inches_is_kept_in_millimetres(client, store):
    tapped(client, which="longest", length="1 1/2", unit="in")
    tapped(client, which="step", length="0,5", unit="in")
    (reading,) = dog(store).readings
    assert reading.longest_mm == pytest.approx(38.1)
    assert reading.steps_mm == (pytest.approx(12.7),)


def test_who_reads_inches_has_scales_in_eighths_that_send_millimetres(client, store):
    client.cookies.set("unit", "in")
    text = client.get(f"{PAGE}?zone=back").text
    found = re.findall(r'name="longest" value="([\d.]+)" aria-pressed="false">([^<]+)</button>', text)
    assert found[0][1] == "1/8"
    for value, shown in found:
        whole, _, part = shown.rpartition(" ")
        over, _, under = part.partition("/")
        inches = int(whole or 0) + (int(over) / int(under) if under else int(over))
        assert float(value) == pytest.approx(inches * MM_PER_INCH, abs=0.01)
    value, shown = found[4]
    tapped(client, longest=value)
    assert f'aria-pressed="true">{shown}</button>' in client.get(f"{PAGE}?zone=back").text


@pytest.mark.parametrize(("key", "zone"), [("hob", "back"), ("bramble", "beard")])
def test_a_zone_whose_coat_was_never_read_has_nothing_to_be_compared_with(client, store, key, zone):
    before = len(store.events())
    answer = client.post(f"/dogs/{key}/readings/tap", data={"zone": zone, "longest": "20"})
    assert answer.status_code == 422
    assert "has not been read there yet" in answer.text
    assert len(store.events()) == before


@pytest.mark.parametrize(
    "form",
    [
        {"zone": "wing", "longest": "20"},
        {"zone": "", "longest": "20"},
        {"longest": "-2"},
        {"longest": "501"},
        {"longest": "long"},
        {"look": "bushy"},
        {"step": "NaN"},
        {"which": "tail", "length": "20"},
        {"which": "longest", "length": ""},
        {"which": "longest", "length": "20", "unit": "ell"},
        {"longest": "20", "at": "during"},
        {"longest": "20", "day": "2026-02-30"},
        {"longest": "20", "day": (TODAY + timedelta(days=1)).isoformat()},
        {"longest": "20", "day": (TODAY - timedelta(days=99)).isoformat()},
        {"longest": "20", "by": "x" * 201},
        {},
    ],
)
def test_a_tap_that_cannot_be_is_told_and_not_kept(client, store, form):
    before = len(store.events())
    answer = tapped(client, **form)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert len(store.events()) == before


def test_a_slip_between_two_taps_is_told_beside_the_scales(client, store):
    tapped(client, shortest="10")
    answer = tapped(client, longest="4")
    assert answer.status_code == 422
    assert "Exchange the two lengths" in answer.text
    assert buttons(answer.text)[("shortest", "")], "the zone stays open with what was kept"
    assert dog(store).readings[0].says == ("shortest_mm",)


def test_a_visit_keeps_grams_and_ease_and_tells_them(planned, store):
    visit = {"id": "v1", "day": TODAY.isoformat(), "take.back": "20", "planned.back": "20"}
    visit |= {"grams.back": "4,5", "ease.back": "firm"}
    where = planned.post("/dogs/bramble/visit", data=visit).headers["location"]
    take = dog(store).visits[-1].takes["back"]
    assert (take.grams, take.ease) == (4.5, "firm")
    plain = re.sub(r"<[^>]*>", "", unescape(planned.get(where).text))
    assert "the hair came with a firm pull 4.5\u202fg" in plain
    for wrong in ({"grams.back": "0"}, {"grams.back": "600"}, {"ease.back": "somehow"}):
        assert planned.post("/dogs/bramble/visit", data=visit | {"id": "v2"} | wrong).status_code == 422


def test_what_was_read_before_stands_beside_the_scales(client, store):
    note_reading(
        store,
        "bramble",
        "back",
        day=TODAY - timedelta(days=7),
        at_visit="after",
        said={"longest_mm": 16.0, "look": "close"},
        today=TODAY,
    )
    plain = re.sub(r"<[^>]*>", "", unescape(client.get(f"{PAGE}?zone=back").text))
    assert "after the pulling: longest 16\u202fmm, cover close." in plain


# --- scales -----------------------------------------------------------------------------------------------

DAY = day_of(TODAY)


@pytest.mark.parametrize("weeks", [(1,), (3,), (4, 8), (0, 2, 4, 6, 8), (10, 20), (60,)])
@pytest.mark.parametrize("end", [12.0, 25.0, 60.0, 140.0])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_scale_holds_what_is_expected_and_a_third_more_or_less(weeks, end, unit):
    growth = Growth(end=end)
    coat = ZoneCoat.of([Layer(DAY - 7 * age, 1.0 / len(weeks)) for age in weeks])
    longest, shortest = expected(coat, TODAY, growth)
    scales = scales_of(coat, TODAY, growth, None, unit)
    least = 2.0 if unit == "mm" else MM_PER_INCH / 8
    for marks, centre in ((scales.longest, longest), (scales.shortest, shortest)):
        lengths = [float(mark.value) for mark in marks]
        assert lengths == sorted(set(lengths))
        assert lengths[0] <= max(0.55 * centre, least)
        assert lengths[-1] >= 1.35 * centre
        assert not any(mark.said for mark in marks)
    assert float(scales.layers[-1].value) >= longest
    assert len(scales.layers) <= 30


def test_what_was_said_beyond_a_scale_stands_on_it():
    growth = Growth(end=60.0)
    coat = ZoneCoat.of([Layer(DAY - 56, 1.0)])
    reading = Reading("r", TODAY, "back", 97.0, 0.5, steps_mm=(3.3, 96.0))
    scales = scales_of(coat, TODAY, growth, reading, "mm")
    said = [
        [mark.text for mark in marks if mark.said]
        for marks in (scales.longest, scales.shortest, scales.layers)
    ]
    assert said == [["97"], ["0.5"], ["3.3", "96"]]
