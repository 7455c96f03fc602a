"""The charts of the pages: true to coat, plan and forecast, drawn for desk and telephone, and told in words."""

from __future__ import annotations

import re
from datetime import date, timedelta

import numpy as np
import pytest

from coatwright.coat import measures
from coatwright.coat.forecast import Draws, forecast
from coatwright.coat.growth import Growth
from coatwright.salon.charts import printed_ribbons, ribbons_of
from coatwright.salon.coats import coat_of, cover_floor, growth_of
from coatwright.salon.plans import plan_dog
from coatwright.units import day_of
from coatwright.web import charts
from coatwright.web.documents import document
from coatwright.web.words import Words
from tests.web.conftest import SHOW, TODAY, ZONES, bramble

WORDS = Words()


@pytest.fixture(scope="module")
def plan():
    return plan_dog(bramble(), TODAY)


@pytest.fixture(scope="module")
def layers(plan):
    return charts.layer_chart_of(plan.dog, plan, "ribs", TODAY)


def test_the_fan_lies_at_the_quantiles_of_the_forecast(plan, layers):
    """Against the forecast of the whole plan, drawn anew: levels rise, and the middle one is its median."""
    growths = [task.growth for task in plan.option.plan.problem.zones]
    number = [task.key for task in plan.option.plan.problem.zones].index("ribs")
    draws = Draws.prior(growths, 4000, np.random.default_rng(7))
    ahead = plan.option.plan.forecast(len(layers.fan.days), draws=draws)
    expected = np.quantile(ahead.outline[:, number].astype(float), layers.fan.levels, axis=0)
    assert layers.fan.days[0] == day_of(TODAY)
    assert (np.diff(layers.fan.values, axis=0) >= 0.0).all()
    assert np.abs(layers.fan.values - expected).mean() < 0.6
    assert np.abs(layers.fan.values - expected).max() < 2.0


def test_of_many_coats_about_eight_in_ten_lie_inside_the_fan(plan, layers):
    epochs = plan.option.plan.epochs[[t.key for t in plan.option.plan.problem.zones].index("ribs")]
    growth = growth_of(plan.dog, "ribs")
    draws = Draws.prior([growth], 3000, np.random.default_rng(11))
    found = forecast([epochs], [growth], layers.fan.days[0], len(layers.fan.days), draws=draws).outline[:, 0]
    inside = (found >= layers.fan.values[0] - 1e-3) & (found <= layers.fan.values[-1] + 1e-3)
    # A flat share of outlines that are 0 or full may lie on an edge, so that a little more than 80 % is inside.
    assert inside.mean(axis=0).mean() == pytest.approx(0.8, abs=0.03)


def test_the_band_on_paper_is_the_fan_of_the_page_on_the_day_of_the_show(plan, layers):
    row = next(row for row in document(plan).shows[0].zones if row.name == "Ribs")
    at = layers.fan.days.index(day_of(SHOW.day))
    low, middle, high = (layers.fan.values[k, at] for k in (0, 2, -1))
    assert (row.outline_from, row.outline_to) == pytest.approx((low, high), abs=1e-4)
    assert (row.aim_from, row.aim_to) == layers.aim
    assert row.outline == pytest.approx(middle, abs=1.0)


def test_the_fan_is_what_is_not_known_of_growth_alone(plan, layers):
    """Dogs of known growth have no fan: every level is the outline of the model."""
    epochs = plan.option.plan.epochs[[t.key for t in plan.option.plan.problem.zones].index("ribs")]
    growth = growth_of(plan.dog, "ribs")
    known = Draws.prior([growth], 20, np.random.default_rng(1), lag_sd=0.0, rate_log_sd=0.0, end_log_sd=0.0)
    found = forecast([epochs], [growth], day_of(TODAY), 60, draws=known).outline[:, 0]
    assert float(np.ptp(found, axis=0).max()) < 1e-3
    assert isinstance(growth, Growth)
    drawn = charts.layers_shown(plan.dog, plan, "ribs", TODAY, WORDS)
    assert "what is not known of growth" in re.sub(r"<[^>]+>", " ", drawn.wide)


def test_the_layer_chart_marks_today_shows_pulls_and_aim(plan, layers):
    assert layers.today == day_of(TODAY)
    assert [mark.name for mark in layers.shows] == [SHOW.name]
    planned = [(pull.day, pull.share) for pull in layers.pulls if pull.planned]
    cells = plan.option.plan.cells().items()
    ribs = sorted((day, share) for (zone, day), share in cells if zone == "ribs")
    assert planned == ribs
    aim = next(task.aim for task in plan.option.plan.problem.zones if task.key == "ribs")
    assert layers.aim == (aim.lo, aim.hi)


def test_the_cover_strip_is_the_cover_of_the_model_on_every_day(plan):
    strip = charts.cover_of(plan.dog, plan, TODAY)
    names = [row.name for row in strip.rows]
    assert len(names) == len(ZONES)
    whole = plan.option.plan
    for number, task in enumerate(whole.problem.zones):
        row = next(row for row in strip.rows if row.name == charts._name(task.key))
        for day, cover in list(zip(row.days, row.cover, strict=True))[::17]:
            coat = (
                whole.epochs[number].at(day)
                if day > day_of(TODAY)
                else coat_of(plan.dog, date.fromordinal(day))[task.key]
            )
            if day != day_of(TODAY):
                assert cover == pytest.approx(measures.cover(coat, day, task.growth), abs=1e-5)
        assert row.floor == max(cover_floor(plan.dog, task.key), task.aim.cover)


def test_without_a_plan_the_strip_follows_growth_and_keeps_to_the_known_days():
    dog = bramble()
    strip = charts.cover_of(dog, None, TODAY)
    assert strip.first == day_of(TODAY - timedelta(days=14))
    assert all(row.days[0] == strip.first and row.days[-1] == strip.last for row in strip.rows)
    row = strip.rows[0]
    assert row.cover[-1] >= row.cover[0] - 1e-6  # nothing is pulled, so that no skin is laid bare


def test_ribbons_hold_the_windows_of_the_plan_its_visits_and_the_show(plan):
    chart = ribbons_of(document(plan))
    dog = chart.rows[0]
    assert dog.whole
    assert [date.fromordinal(day) for day in dog.pulls] == list(plan.visits)
    windows = [(date.fromordinal(w.first), date.fromordinal(w.last)) for w in dog.windows]
    assert windows == [(w.first, w.last) for w in document(plan).windows]
    assert [mark.name for mark in chart.shows] == [SHOW.name]
    backs = next(row for row in chart.rows if row.name == "Back")
    assert backs.pulls == tuple(day_of(day) for day in plan.visits if plan.takes(day).get("back", 0.0) > 0.0)


def test_every_chart_comes_wide_narrow_and_in_words_and_no_two_share_an_id(plan):
    shown = [
        charts.layers_shown(plan.dog, plan, "ribs", TODAY, WORDS),
        charts.ribbons_shown(document(plan), plan, TODAY, WORDS),
        charts.cover_shown(plan.dog, plan, TODAY, WORDS),
    ]
    ids: list[str] = []
    for each in shown:
        assert len(each.rows) > 2
        assert len({len(row) for row in each.rows}) == 1
        for drawn in (each.wide, each.narrow):
            ids += re.findall(r' id="([^"]+)"', drawn)
    assert len(ids) == len(set(ids)) == 12
    assert charts.cover_shown(plan.dog, None, TODAY, Words()) is not None


def test_the_ribbons_of_the_page_and_of_the_pdf_are_one_drawing_of_the_same_rows(plan, monkeypatch):
    """Both call the same writer with the same rows; the page ends where its other charts end."""
    from coatwright.drawing import ribbons as writer

    seen = []

    def spy(chart, **options):
        seen.append((chart, options.get("width", 900.0)))
        return drawn(chart, **options)

    drawn = writer.ribbons
    monkeypatch.setattr(writer, "ribbons", spy)
    page = charts.ribbons_shown(document(plan), plan, TODAY, WORDS)
    paper = printed_ribbons(document(plan))
    (first, wide), _, (last, printed) = seen
    assert wide == printed
    assert first.rows == last.rows
    assert first.shows == last.shows
    assert first.today == last.today
    if first.last == last.last:
        assert str(page.wide) == paper


@pytest.mark.parametrize("order", ["dmy", "mdy", "ymd"])
def test_charts_write_dates_in_the_order_of_the_reader(plan, order):
    from coatwright.web.locales import Locale

    shown = charts.cover_shown(plan.dog, plan, TODAY, Words(Locale(order)))
    day = shown.rows[1][2]
    assert re.fullmatch(
        {"dmy": r"\d+ \w{3} \d{4}", "mdy": r"\w{3} \d+, \d{4}", "ymd": r"\d{4} .*"}[order], day
    )
