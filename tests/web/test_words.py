"""Dates, lengths and numbers as a reader's locale and choices want them, told and typed."""

from __future__ import annotations

from datetime import date

import pytest

from coatwright.errors import OutOfRange
from coatwright.web.choices import CHOICES, chosen, words_for
from coatwright.web.forms import Fields, number_of
from coatwright.web.locales import LOCALES, OFFERED, locale_of
from coatwright.web.words import Words, lighter

DAY = date(2026, 12, 3)


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en-GB,en;q=0.9", "Thu 3 December 2026"),
        ("en-US,en;q=0.9", "Thu, December 3, 2026"),
        ("en-us", "Thu, December 3, 2026"),
        ("de-DE,de;q=0.9,en-US;q=0.5", "Thu 3 December 2026"),
        ("hu-HU,hu;q=0.9", "2026 December 3, Thu"),
        ("", "Thu 3 December 2026"),
        ("*", "Thu 3 December 2026"),
        (";;;,,,", "Thu 3 December 2026"),
    ],
)
def test_the_order_of_a_date_follows_the_first_language(language, told):
    assert words_for(language, {}).date(DAY) == told


@pytest.mark.parametrize(
    ("place", "day", "near", "short"),
    [
        ("en-gb", "3 December", "Thu 3 December", "3 Dec"),
        ("en-us", "December 3", "Thu, December 3", "Dec 3"),
        ("ja", "December 3", "Thu, December 3", "Dec 3"),
    ],
)
def test_the_place_that_was_chosen_wins_over_the_browser(place, day, near, short):
    words = words_for("fr-FR", {"place": place})
    assert (words.day(DAY), words.near(DAY), words.short(DAY)) == (day, near, short)


# First days of weeks: Unicode CLDR supplemental week data, from memory.
@pytest.mark.parametrize(
    ("language", "first"),
    [("en-US", "Sunday"), ("en-GB", "Monday"), ("pt-BR", "Sunday"), ("ar-EG", "Saturday"), ("de", "Monday")],
)
def test_the_week_starts_where_the_locale_says(language, first):
    days = words_for(language, {}).weekdays()
    assert days[0][1] == first
    assert sorted(number for number, _ in days) == list(range(7))


def test_the_week_starts_where_the_settings_say():
    words = words_for("en-GB", {"week": "sunday"})
    assert words.weekdays()[0] == (6, "Sunday")
    assert words.week_of(DAY) == date(2026, 11, 29)
    assert words.week_of(date(2026, 11, 29)) == date(2026, 11, 29)
    assert words_for("en-GB", {}).week_of(DAY) == date(2026, 11, 30)


def test_what_a_browser_keeps_that_cannot_be_chosen_counts_as_nothing():
    first = {name: options[0] for name, options in CHOICES.items()}
    assert chosen({}) == first
    assert chosen(dict.fromkeys(CHOICES, "<b>cubits</b>")) == first
    assert chosen({"contrast": "high", "keys": "off"}) == first | {"contrast": "high", "keys": "off"}


def test_every_place_that_is_offered_is_known():
    assert all(tag in LOCALES or tag.split("-")[0] in LOCALES for tag in OFFERED)
    assert locale_of("de-Latn-CH").mark == "."
    assert locale_of("tlh") == locale_of("")


def test_a_length_is_told_in_the_unit_that_was_chosen():
    assert words_for("", {"unit": "mm"}).length(19.05).striptags() == "19\u202fmm"
    assert words_for("", {"unit": "in"}).length(19.05).striptags() == "3/4\u202fin"
    assert words_for("", {"unit": "cubits"}).unit == "mm"
    assert words_for("", {"unit": "mm"}).band(13, 25).striptags() == "13–25\u202fmm"


# 1 in = 25.4 mm exactly (international yard and pound agreement, 1959)
@pytest.mark.parametrize("language", ["en-GB", "de-DE"])
@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("mm", [0.0, 12.7, 19.0, 25.4, 38.1, 63.5, 380.0, 400.5])
def test_a_length_that_a_form_shows_comes_back_the_same(language, unit, mm):
    words = words_for(language, {"unit": unit})
    fields = Fields([("height", words.shown_length(mm))], words.locale.mark)
    assert words.millimetres(fields.number("height", "height", unit=unit)) == pytest.approx(mm, abs=0.02)


def test_inches_stand_in_a_field_as_they_are_told_where_they_are_eighths():
    words = Words(unit="in")
    assert words.shown_length(38.1) == "1 1/2"
    assert words.shown_length(19.0) == "0.748"


@pytest.mark.parametrize(
    ("language", "told"), [("en-GB", "7.4"), ("de-DE", "7,4"), ("de-CH", "7.4"), ("fr-FR", "7,4")]
)
def test_a_number_is_told_with_the_decimal_mark_of_the_place(language, told):
    words = words_for(language, {})
    assert words.number(7.4, "kg").striptags() == f"{told}\u202fkg"
    assert words.typed(7.4) == told
    assert words.number(7.0, "kg").striptags() == "7\u202fkg"
    assert words.decimal(100.0, 0) == "100"


@pytest.mark.parametrize(
    ("text", "mark", "value"),
    [
        ("12.5", ".", 12.5),
        ("12,5", ".", 12.5),
        ("12,5", ",", 12.5),
        ("12.5", ",", 12.5),
        ("0,125", ".", 0.125),
        ("1.250", ".", 1.25),
        ("1,250", ",", 1.25),
        ("-3", ".", -3.0),
    ],
)
def test_a_number_is_read_with_either_mark(text, mark, value):
    assert number_of(text, "weight", mark) == value


@pytest.mark.parametrize(("text", "mark"), [("1,250", "."), ("1.250", ","), ("-12.500", ",")])
def test_a_number_that_could_be_thousands_is_asked_for_again(text, mark):
    with pytest.raises(OutOfRange, match="two ways"):
        number_of(text, "weight", mark)


@pytest.mark.parametrize(
    ("text", "value"), [("3/4", 0.75), ("1 1/2", 1.5), ("1-1/8", 1.125), ("2 / 4", 0.5), ("14", 14.0)]
)
def test_inches_may_be_given_as_fractions(text, value):
    assert Fields([("x", text)]).number("x", "height", unit="in") == value


@pytest.mark.parametrize("text", ["1/0", "1/2/3", "/2", "a 1/2", "1,2,3", "--1", "1 2"])
def test_what_is_no_number_is_told(text):
    with pytest.raises(OutOfRange):
        Fields([("x", text)]).number("x", "height", unit="in")


def test_fractions_are_for_inches_alone():
    with pytest.raises(OutOfRange, match="not a number"):
        Fields([("x", "1/2")]).number("x", "height", unit="mm")


@pytest.mark.parametrize(
    ("minutes", "told"),
    [(0, "0 min"), (45, "45 min"), (60, "1 h"), (80, "1 h 20 min"), (59.6, "1 h"), (None, "–")],
)
def test_minutes_are_told_in_hours_from_an_hour_on(minutes, told):
    assert words_for("", {}).minutes(minutes).striptags().replace("\u202f", " ") == told


@pytest.mark.parametrize(
    ("day", "told"),
    [(3, "today"), (4, "tomorrow"), (2, "yesterday"), (15, "in 12 days"), (31, "in 4 weeks")],
)
def test_a_day_is_told_by_its_distance(day, told):
    assert words_for("", {}).away(date(2026, 12, day), DAY) == told
    if day == 15:
        assert words_for("", {}).away(DAY, date(2026, 12, day)) == "12 days ago"


def test_units_in_a_sentence_become_lighter_and_the_rest_stays_text():
    marked = lighter("19–25\u202fmm, <b>then</b> 40\u202f% of it")
    assert '19–25<span class="unit">&#8239;mm</span>, &lt;b&gt;then&lt;/b&gt; 40<span' in marked
    assert lighter("no unit") == "no unit"


def test_things_are_listed_with_commas_and_a_last_word():
    words = words_for("", {})
    assert words.listed([]) == ""
    assert words.listed(["neck"]) == "neck"
    assert words.listed(["neck", "back", "ribs"]) == "neck, back and ribs"
    assert words.listed(["neck", "back"], "or") == "neck or back"
