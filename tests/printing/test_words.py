"""Numbers, dates and lengths as paper tells them."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatwright.errors import OutOfRange
from coatwright.printing import words
from coatwright.printing.sheet import Window
from coatwright.units import length_text


def plain(text):
    return text.replace(words.THIN, " ")


def test_days_are_told_with_their_month_in_letters():
    # 25 November 2026 is a Wednesday: its ordinal 739945 leaves 2 when divided by 7, and Monday is 1.
    day = date(2026, 11, 25)
    assert words.day_text(day) == "Wed 25 Nov 2026"
    assert words.long_day(day) == "Wednesday 25 November 2026"
    assert words.short_day(day) == "25 Nov"
    assert words.short_day(date(2027, 1, 3), day) == "3 Jan 2027"


@pytest.mark.parametrize(
    ("mm", "said"),
    [
        # An inch is 25.4 mm exactly; an eighth is 3.175 mm.
        (0.0, "0 in"), (1.0, "<⅛ in"), (3.175, "⅛ in"), (19.05, "¾ in"), (25.4, "1 in"), (28.575, "1⅛ in"),
        (50.8, "2 in"), (76.2, "3 in"), (101.6, "4 in"),
    ],
)  # fmt: skip
def test_inches_are_told_to_the_eighth(mm, said):
    assert plain(words.length(mm, "in")) == said


@given(st.floats(1.6, 400.0))
def test_inches_on_paper_are_those_of_every_other_screen(mm):
    plain_fraction = dict(zip("⅛¼⅜½⅝¾⅞", ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"], strict=True))
    said = plain(words.length(mm, "in"))
    spelled = "".join(f" {plain_fraction[sign]}" if sign in plain_fraction else sign for sign in said).strip()
    assert spelled == length_text(mm, "in")


def test_a_range_of_one_length_is_one_length():
    assert plain(words.lengths(19.1, 25.0, "mm")) == "19–25 mm"
    assert plain(words.lengths(19.1, 19.4, "mm")) == "19 mm"
    assert plain(words.lengths(19.1, 25.0, "in")) == "¾–1 in"


@pytest.mark.parametrize(
    ("share", "said"), [(0.2, "20 %"), (0.125, "13 %"), (0.005, "1 %"), (1.0, "100 %"), (0.0, "0 %")]
)
def test_per_cent_is_whole_and_halves_go_up(share, said):
    assert plain(words.percent(share)) == said


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (0.0, "0 min"),
        (0.3, "<1 min"),
        (128.4, "128 min"),
        (299.0, "299 min"),
        (300.0, "5 h"),
        (1536.0, "25 h 36 min"),
    ],
)
def test_minutes_turn_into_hours_when_they_are_many(minutes, said):
    assert plain(words.minutes(minutes)) == said


def test_money_has_no_sign_of_a_currency():
    assert words.money(78.4) == "78.40"
    assert words.money(1083.37) == "1,083"


def test_weeks_are_counted():
    assert plain(words.weeks(1, 1)) == "1 week"
    assert plain(words.weeks(11, 14)) == "11–14 weeks"


def test_windows_tell_a_year_where_it_changes_and_count_what_they_leave_out():
    spans = [
        Window(date(2026, 12, 1), date(2026, 12, 5)),
        Window(date(2026, 12, 20), date(2027, 1, 14)),
        Window(date(2027, 2, 3), date(2027, 2, 3)),
        Window(date(2027, 2, 20), date(2027, 3, 2)),
    ]
    assert (
        words.windows(spans, date(2026, 11, 25), 9)
        == "1 to 5 Dec; 20 Dec 2026 to 14 Jan 2027; 3 Feb; 20 Feb to 2 Mar"
    )
    assert words.windows(spans, date(2026, 11, 25), 1) == "1 to 5 Dec; 3 more"
    assert words.windows([], date(2026, 11, 25), 3) == "on no day of this plan"


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.1, "a few of the "), (0.25, "a quarter of the "), (1 / 3, "a third of the "), (0.5, "half of the "),
     (2 / 3, "two thirds of the "), (0.75, "three quarters of the "), (0.95, "nearly all of the "), (1.0, "")],
)  # fmt: skip
def test_parts_are_told_in_words(share, said):
    assert words.part_of(share) == said


def test_an_unknown_unit_is_refused():
    with pytest.raises(OutOfRange, match="Use mm or in"):
        words.check_unit("cm")


def test_a_line_has_no_breaks_and_no_control_characters():
    assert words.plain_line("Br\x07am\u202e\n  ble") == "Bram ble"
