"""Dates, lengths and numbers as a reader's locale and choice want them."""

from __future__ import annotations

from datetime import date

import pytest

from coatwright.web.words import lighter, words_for

DAY = date(2026, 12, 3)


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en-GB,en;q=0.9", "Thu 3 December 2026"),
        ("en-US,en;q=0.9", "Thu, December 3, 2026"),
        ("en-us", "Thu, December 3, 2026"),
        ("de-DE,de;q=0.9,en-US;q=0.5", "Thu 3 December 2026"),
        ("", "Thu 3 December 2026"),
        ("*", "Thu 3 December 2026"),
        (";;;,,,", "Thu 3 December 2026"),
    ],
)
def test_the_order_of_a_date_follows_the_first_language(language, told):
    assert words_for(language, None).date(DAY) == told


def test_the_week_starts_where_the_locale_says():
    assert words_for("en-US", None).weekdays()[0] == (6, "Sunday")
    assert words_for("en-GB", None).weekdays()[0] == (0, "Monday")
    assert sorted(number for number, _ in words_for("en-US", None).weekdays()) == list(range(7))


def test_a_length_is_told_in_the_unit_that_was_chosen():
    assert words_for("", "mm").length(19.05).striptags() == "19\u202fmm"
    assert words_for("", "in").length(19.05).striptags() == "3/4\u202fin"
    assert words_for("", "cubits").unit == "mm"
    assert words_for("", "mm").band(13, 25).striptags() == "13–25\u202fmm"


# 1 in = 25.4 mm exactly (international yard and pound agreement, 1959)
@pytest.mark.parametrize("mm", [0.0, 12.7, 25.4, 63.5, 400.0])
def test_a_length_typed_in_inches_comes_back_the_same(mm):
    words = words_for("", "in")
    assert words.millimetres(float(words.shown_length(mm))) == pytest.approx(mm, abs=0.02)


@pytest.mark.parametrize(
    ("minutes", "told"),
    [(0, "0 min"), (45, "45 min"), (60, "1 h"), (80, "1 h 20 min"), (59.6, "1 h"), (None, "–")],
)
def test_minutes_are_told_in_hours_from_an_hour_on(minutes, told):
    assert words_for("", None).minutes(minutes).striptags().replace("\u202f", " ") == told


@pytest.mark.parametrize(
    ("day", "told"),
    [(3, "today"), (4, "tomorrow"), (2, "yesterday"), (15, "in 12 days"), (31, "in 4 weeks")],
)
def test_a_day_is_told_by_its_distance(day, told):
    assert words_for("", None).away(date(2026, 12, day), DAY) == told
    if day == 15:
        assert words_for("", None).away(DAY, date(2026, 12, day)) == "12 days ago"


def test_units_in_a_sentence_become_lighter_and_the_rest_stays_text():
    marked = lighter("19–25\u202fmm, <b>then</b> 40\u202f% of it")
    assert '19–25<span class="unit">&#8239;mm</span>, &lt;b&gt;then&lt;/b&gt; 40<span' in marked
    assert lighter("no unit") == "no unit"


def test_things_are_listed_with_commas_and_a_last_word():
    words = words_for("", None)
    assert words.listed([]) == ""
    assert words.listed(["neck"]) == "neck"
    assert words.listed(["neck", "back", "ribs"]) == "neck, back and ribs"
    assert words.listed(["neck", "back"], "or") == "neck or back"
