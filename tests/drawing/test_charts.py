"""Layer chart, ribbons and cover strip: true to their numbers, readable, and the same in words."""

import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat import measures
from coatwright.coat.forecast import carry_out
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat, cut
from coatwright.drawing.axes import (
    NARROW,
    WIDE,
    DateWords,
    Frame,
    Room,
    days_of,
    folded,
    kept,
    left_of,
    length_ticks,
    runs,
)
from coatwright.drawing.cover_strip import CoverRow, CoverStrip, cover_strip, cover_strip_table
from coatwright.drawing.layer_chart import FULL as FULL_BAND
from coatwright.drawing.layer_chart import (
    DayMark,
    Fan,
    LayerChart,
    PullMark,
    layer_chart,
    layer_chart_table,
    layer_tracks,
)
from coatwright.drawing.ribbons import Ribbon, Ribbons, Window, ribbons, ribbons_table
from coatwright.errors import OutOfRange
from coatwright.units import day_of
from tests.drawing.reading import boxes, collisions, every, parsed, refused_by_a_strict_policy

TODAY = day_of(date(2026, 11, 25))
GROWTH = Growth()
NASTY = 'Hall & <Field> "Open"'


def rolling(first=TODAY - 90, last=TODAY + 200):
    takes = [(TODAY - 70 + 14 * k, 0.2) for k in range(18)]
    epochs = carry_out(ZoneCoat.of([Layer(TODAY - 400, 1.0)]), first, takes, GROWTH)
    days = tuple(range(TODAY, last + 1, 4))
    middle = np.array([measures.outline(epochs.at(day), day, GROWTH) for day in days])
    factors = np.array([[0.7], [0.9], [1.0], [1.1], [1.3]])
    return epochs, LayerChart(
        zone="ribs",
        first=first,
        last=last,
        today=TODAY,
        tracks=layer_tracks(epochs.starts, epochs.coats, GROWTH, first, last),
        pulls=tuple(PullMark(day, share, day > TODAY) for day, share in takes),
        aim=(12.0, 22.0),
        shows=(DayMark(TODAY + 130, NASTY),),
        fan=Fan(days, (0.05, 0.25, 0.5, 0.75, 0.95), middle * factors),
    )


def ribbon_chart(shows=((45, "Spring Open"), (60, "County Show"), (130, "Winter Championship"))):
    rows = tuple(
        Ribbon(
            name,
            (Window(TODAY + 20 + 7 * k, TODAY + 60 + 7 * k), Window(TODAY + 130, TODAY + 136 + k, 0.6)),
            tuple(range(TODAY - 14 + k, TODAY + 110, 28)),
        )
        for k, name in enumerate(
            ["skull", "foreface", "beard", "neck", "shoulders", "back", "under the tail"]
        )
    )
    return Ribbons(TODAY - 30, TODAY + 200, TODAY, rows, tuple(DayMark(TODAY + d, n) for d, n in shows))


def strip():
    days = tuple(range(TODAY - 60, TODAY + 201, 2))
    wave = 0.65 + 0.15 * np.cos(np.arange(len(days)) / 6)
    return CoverStrip(
        TODAY - 60,
        TODAY + 200,
        TODAY,
        (CoverRow("neck", days, wave, 0.45), CoverRow("under the tail", days, wave, 0.6)),
    )


# layers ------------------------------------------------------------------------------------------------------


def test_the_tracks_hold_all_hair_on_every_day_and_the_lengths_of_the_model():
    epochs, chart = rolling()
    total = sum(track.shares for track in chart.tracks)
    assert total == pytest.approx(1.0)
    for k, day in list(enumerate(chart.tracks[0].days))[::23]:
        coat = epochs.at(day)
        seen = sum(track.shares[k] for track in chart.tracks if track.up[k])
        assert seen == pytest.approx(measures.cover(coat, day, GROWTH))
        for layer, length in zip(coat.layers, coat.lengths(day, GROWTH), strict=True):
            track = next(t for t in chart.tracks if t.born == layer.born)
            assert track.lengths_mm[k] == pytest.approx(length)


def test_a_band_is_as_wide_as_its_share():
    _, chart = rolling()
    root = parsed(layer_chart(chart))
    widest = 0.0
    for path in every(root, "path", class_="cw-band"):
        x, y = np.array([[float(v) for v in p.split()] for p in re.split("[ML]", path.get("d")[:-1])[1:]]).T
        half = len(x) // 2
        widest = max(widest, float((y[half:][::-1] - y[:half]).max()))
    assert widest == pytest.approx(FULL_BAND, abs=0.2)


def test_the_layer_chart_says_in_words_what_it_shows():
    epochs, chart = rolling()
    table = layer_chart_table(chart)
    assert all(len(row) == 6 for row in table)
    by_day = {row[0]: row for row in table}
    today = by_day["25 Nov 2026"]
    assert today[1] == "today, pulled 20 %"
    assert today[2] == f"{100 * measures.cover(epochs.at(TODAY), TODAY, GROWTH):.0f} %"
    assert today[3] == f"{epochs.at(TODAY).lengths(TODAY, GROWTH).max():.0f} mm"
    assert by_day["4 Apr 2027"][1] == NASTY
    assert re.fullmatch(r"\d+ mm \(\d+ mm to \d+ mm\)", by_day["4 Apr 2027"][5])
    assert any(row[1] == "pull planned 20 %" for row in table)
    inches = layer_chart_table(chart, unit="in")
    assert inches[4][3].endswith(" in")


def test_cut_layers_are_told_from_whole_ones():
    coat = cut(ZoneCoat.even(TODAY - 60, 20, 3), TODAY - 30, 5.0, GROWTH)
    tracks = layer_tracks((TODAY - 30,), (coat,), GROWTH, TODAY - 60, TODAY + 30)
    assert tracks[0].days[0] == TODAY - 30
    chart = LayerChart("back", TODAY - 60, TODAY + 30, TODAY, tracks)
    cuts = sum(track.cut for track in tracks)
    assert cuts > 0
    assert len(every(parsed(layer_chart(chart)), "path", class_="cw-cut")) == cuts


def test_a_chart_of_nothing_still_is_a_chart():
    chart = LayerChart("back", TODAY, TODAY + 60, TODAY, ())
    assert parsed(layer_chart(chart)).get("role") == "img"
    assert layer_chart_table(chart)[1][2:4] == ("0 %", "-")
    assert layer_tracks((TODAY + 90,), (ZoneCoat.even(TODAY, 14, 5),), GROWTH, TODAY, TODAY + 60) == ()


def test_a_fan_must_have_a_median_and_a_row_per_level():
    with pytest.raises(OutOfRange, match="odd number"):
        Fan((1, 2), (0.1, 0.9), np.zeros((2, 2)))
    with pytest.raises(OutOfRange, match="2 days"):
        Fan((1, 2), (0.1, 0.5, 0.9), np.zeros((3, 3)))


def test_the_fan_is_drawn_at_its_quantiles():
    """Edges of the fan, read back off the picture, against the values they stand for (mm)."""
    _, chart = rolling()
    root = parsed(layer_chart(chart))
    fan = chart.fan
    assert len(every(root, "path", class_="cw-fan")) == len(fan.levels) // 2
    top = 88.0
    skin = 424.0 - 36.0 - FULL_BAND - 6.0
    longest = max(track.lengths_mm[(track.shares > 0) & track.up].max(initial=0.0) for track in chart.tracks)
    high = 1.16 * max(5.0, 1.1 * chart.aim[1], fan.values.max(), longest)
    for path, (low, upper) in zip(every(root, "path", class_="cw-fan"), [(0, 4), (1, 3)], strict=True):
        x, y = np.array([[float(v) for v in p.split()] for p in re.split("[ML]", path.get("d")[:-1])[1:]]).T
        half = len(x) // 2
        days = chart.first + (x - 58.0) / (WIDE - 14.0 - 58.0) * (chart.last - chart.first)
        mm = (skin - y) / (skin - top) * high
        ends = (mm[:half], mm[half:]), (days[:half], days[half:])
        for values, at, level in zip(*ends, (upper, low), strict=True):
            assert values == pytest.approx(np.interp(at, fan.days, fan.values[level]), abs=0.3)


def test_points_that_carry_nothing_are_left_out_of_a_curve():
    x = np.arange(101.0)
    bent = np.where(x < 40, x, 40.0)
    flat = np.zeros(101)
    assert kept(x, bent) == [0, 40, 100]
    assert kept(x, bent, flat) == [0, 40, 100]
    assert kept([3.0], [1.0]) == [0]
    wave = np.sin(x / 9.0)
    at = kept(x, wave, within=0.05)
    assert len(at) < 40
    assert np.abs(np.interp(x, x[at], wave[at]) - wave).max() <= 0.05 + 1e-9


def test_words_are_folded_into_lines_and_none_is_lost():
    assert folded("the fan is what is not known", 12) == ["the fan is", "what is not", "known"]
    assert folded("unbreakable", 4) == ["unbreakable"]


# ribbons and cover -------------------------------------------------------------------------------------------


def test_the_ribbons_say_in_words_what_they_show():
    table = ribbons_table(ribbon_chart())
    assert table[0] == (
        "Zone",
        "Ready",
        "Pulls ahead",
        "Spring Open, 9 Jan",
        "County Show, 24 Jan",
        "Winter Championship, 4 Apr",
    )
    skull = table[1]
    assert skull[1] == "15 Dec to 24 Jan, 4 Apr to 10 Apr (chance 60 %)"
    assert skull[2] == "9 Dec, 6 Jan, 3 Feb, 3 Mar"
    assert skull[3:] == ("ready", "ready", "ready, chance 60 %")
    assert table[7][3] == "not ready"


def test_a_ready_window_spans_its_days_and_an_unsure_one_is_drawn_open():
    windows = [(20, 39, 1.0), (60, 69, 0.5), (200, 210, 1.0)]
    row = Ribbon("back", tuple(Window(TODAY + a, TODAY + b, chance) for a, b, chance in windows))
    chart = Ribbons(TODAY, TODAY + 100, TODAY, (row,))
    root = parsed(ribbons(chart))
    bars = every(root, "rect", class_="cw-ready")
    per_day = (WIDE - 14 - left_of(["back"])) / 100
    assert [float(bar.get("width")) / per_day for bar in bars] == pytest.approx([20, 10], abs=0.02)
    assert [bar.get("fill") == "none" for bar in bars] == [False, True]


def test_names_of_all_shows_are_written_even_when_they_are_close():
    root = parsed(ribbons(ribbon_chart(((40, "One Day Open"), (44, "Two Day Open"), (52, "Third Day Open")))))
    words = [text.text for text in every(root, "text")]
    assert sum("Day Open" in line for line in words) == 3


def test_the_layer_chart_names_shows_that_are_close_together():
    _, chart = rolling()
    marks = tuple(DayMark(TODAY + day, f"{day}th Day Open Show") for day in (110, 118, 126))
    root = parsed(layer_chart(replace(chart, shows=marks)))
    assert sum("Open Show" in text.text for text in every(root, "text")) == 3
    assert collisions(boxes(root)) == []


def test_the_cover_strip_marks_what_lies_below_the_floor_and_says_when():
    chart = strip()
    table = cover_strip_table(chart)
    assert table[1][0] == "neck"
    assert table[1][4] == "never"
    low = chart.rows[1]
    assert table[2][1] == f"{100 * low.cover.min():.0f} %"
    assert table[2][4].count(" to ") == len(low.short)
    root = parsed(cover_strip(chart))
    assert len(every(root, "path", class_="cw-short")) == len(low.short)
    words = " ".join(text.text for text in every(root, "text"))
    assert "thin: 50 %" in words
    assert "at least 50 %" in words


def test_stretches_below_the_floor_are_whole_days():
    row = CoverRow("back", (1, 2, 3, 4, 5, 6), np.array([0.5, 0.7, 0.5, 0.4, 0.6, 0.5]), 0.6)
    assert row.short == [(1, 1), (3, 4), (6, 6)]
    assert row.thinnest == (4, 0.4)
    with pytest.raises(OutOfRange, match="one value per day"):
        CoverRow("back", (1, 2), np.zeros(3), 0.5)


# all of them -------------------------------------------------------------------------------------------------


def all_charts():
    _, chart = rolling()
    short = LayerChart("back", TODAY - 10, TODAY + 50, TODAY, chart.tracks, chart.pulls, (5.0, 9.0))
    return {
        "layers": layer_chart(chart),
        "layers in inches": layer_chart(chart, unit="in"),
        "short": layer_chart(short),
        "ribbons": ribbons(ribbon_chart(), title=NASTY),
        "cover": cover_strip(strip(), title=NASTY),
        "layers on a telephone": layer_chart(chart, width=NARROW),
        "short on a telephone": layer_chart(short, width=NARROW, unit="in"),
        "ribbons on a telephone": ribbons(ribbon_chart(), title=NASTY, width=NARROW),
        "cover on a telephone": cover_strip(strip(), title=NASTY, width=NARROW),
    }


@pytest.mark.parametrize("name", list(all_charts()))
def test_words_of_a_chart_do_not_overlap(name):
    root = parsed(all_charts()[name])
    found = boxes(root)
    assert len(found) > 8
    assert collisions(found) == []
    width, height = (float(value) for value in root.get("viewBox").split()[2:])
    assert all(box[0] >= 0 and box[2] <= width and box[3] <= height for _, box in found)


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_every_zone_and_every_mark_of_the_key_has_its_words(width):
    """No word is left out for want of room: not the longest names of zones, nor the key."""
    names = ["Inside of the thighs", "Between the forelegs", "Under the tail"]
    days = tuple(range(TODAY, TODAY + 100))
    rows = tuple(CoverRow(name, days, np.full(100, 0.4 + 0.1 * k), 0.5) for k, name in enumerate(names))
    ribbon_rows = tuple(Ribbon(name, (Window(TODAY + 5, TODAY + 60),), (TODAY,)) for name in names)
    shows = (DayMark(TODAY + 30, "Open"), DayMark(TODAY + 80, "Late"))
    drawn = {
        cover_strip(CoverStrip(TODAY, TODAY + 99, TODAY, rows), width=width): ["floor", "below its floor"],
        ribbons(Ribbons(TODAY, TODAY + 99, TODAY, ribbon_rows, shows), width=width): [
            *("ready, as planned", "a visit that pulls there", "show, ready", "show, not ready")
        ],
    }
    for svg, key in drawn.items():
        said = [text.text for text in every(parsed(svg), "text")]
        assert set(names + key) <= set(said)
    _, chart = rolling()
    said = " ".join(text.text for text in every(parsed(layer_chart(chart, width=width)), "text"))
    assert 'Hall & <Field> "Open"' in said
    assert "fan: 9 of 10 such coats. It is what is not known of growth" in said
    assert "to be pulled" in said


@given(st.lists(st.tuples(st.integers(-25, 195), st.text(min_size=1, max_size=40)), max_size=8))
@settings(max_examples=40, deadline=None)
def test_words_never_overlap_whatever_the_shows_are_called(shows):
    assert collisions(boxes(parsed(ribbons(ribbon_chart(tuple(shows)))))) == []


@pytest.mark.parametrize("name", list(all_charts()))
def test_charts_are_well_formed_safe_named_and_repeatable(name):
    text = all_charts()[name]
    assert text == all_charts()[name]
    root = parsed(text)
    assert refused_by_a_strict_policy(root) == []
    assert root.get("role") == "img"
    assert every(root, "title")[0].text
    assert every(root, "desc")[0].text
    assert "<Field>" not in text
    assert len(text) < 60_000


def test_ticks_of_a_short_span_are_mondays_and_of_a_long_one_firsts_of_months():
    # 30 November 2026 is a Monday (Gregorian calendar).
    assert days_of(TODAY, TODAY + 20)[0] == (day_of(date(2026, 11, 30)), True)
    long = days_of(day_of(date(2026, 1, 1)), day_of(date(2026, 12, 31)))
    assert [date.fromordinal(day).month for day, _ in long] == list(range(1, 13))
    years = days_of(day_of(date(2026, 1, 1)), day_of(date(2028, 6, 1)))
    assert sum(worded for _, worded in years) == 10


def test_dates_follow_the_order_of_the_reader():
    day = day_of(date(2027, 1, 3))
    assert DateWords().long(day) == "3 Jan 2027"
    assert DateWords(order="mdy").long(day) == "Jan 3, 2027"
    assert DateWords(order="ymd").long(day) == "2027 Jan 3"
    german = DateWords(("Jän", *DateWords().months[1:]))
    assert german.month(day) == "Jän 2027"


def test_length_ticks_are_whole_steps_in_either_unit():
    assert [words for _, words in length_ticks(87.0)] == ["0", "20", "40", "60", "80"]
    assert [words for _, words in length_ticks(60.0, "in")] == ["0", "0.5", "1", "1.5", "2"]
    assert length_ticks(60.0, "in")[2][0] == 25.4


def test_a_frame_keeps_values_inside_and_words_keep_their_place():
    frame = Frame(0, 10, 0.0, 1.0, 0.0, 0.0, 100.0, 50.0)
    assert (frame.x(5), frame.y(0.5), frame.y(7.0), frame.y(-1.0)) == (50.0, 25.0, 0.0, 50.0)
    room = Room(right=100.0)
    assert room.write(0, 20, "first")
    assert room.write(10, 22, "second") == ""
    assert room.write(95, 40, "too far right") == ""
    assert runs([True, True, False, True]) == [(0, 1), (3, 3)]
