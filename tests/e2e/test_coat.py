"""The living coat picture: true to the forecast, the same as in print, and worked by mouse, finger and key."""

from __future__ import annotations

import json
import math
import re
from datetime import date
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from coatwright.coat.forecast import carry_out
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.demo.salon import demo_dogs
from coatwright.drawing.canvas import Canvas
from coatwright.drawing.figure import figure
from coatwright.drawing.motion import motion, track_of
from coatwright.drawing.svg import luminance
from coatwright.salon.believed import believed
from coatwright.salon.coats import coat_of, growth_of
from coatwright.salon.learnt import learn_dog
from coatwright.salon.pictures import figure_of
from coatwright.salon.plans import broken_of
from coatwright.salon.records import Dog
from coatwright.units import day_of
from tests.e2e.conftest import get, plan_of

COAT = "document.querySelector('[data-coat]').coat"
MOUNTED = "() => !!document.querySelector('[data-coat]')?.coat"
AHEAD = (0, 0.4, 1)
"""Days on which the picture is held against the forecast: today, the last day of the picture, one between."""
NOT_YET_MM = 0.2
"""A shorter hair has not broken through for the eye: the picture leaves it out."""


def opened(page: Page, desk: Any, address: str) -> None:
    page.goto(desk.url + address)
    page.wait_for_function(MOUNTED)
    page.wait_for_load_state("networkidle")


def painted(page: Page, day: int) -> None:
    """Move the picture to a day, and wait until it is painted in full."""
    page.evaluate(
        f"""day => new Promise(done => {{
          const coat = {COAT};
          coat.element.addEventListener('dayrest', () => setTimeout(done, 50), {{once: true}});
          coat.setDay(day);
        }})""",
        day,
    )


@pytest.fixture(scope="module")
def dogs(desk, planned_desk) -> list[Dog]:
    """Two dogs of the demo that no other walk changes: planned, and not due today."""
    today = date.fromisoformat(get(f"{desk.url}/api/dogs")["today"])
    still = [
        dog
        for dog in demo_dogs(today)
        if planned_desk[dog.id]["plan"] == "ready" and planned_desk[dog.id]["next_visit"] != str(today)
    ]
    assert len(still) >= 2
    return [max(still, key=lambda dog: len(dog.visits)), min(still, key=lambda dog: len(dog.visits))]


@pytest.fixture(scope="module")
def dog(dogs) -> Dog:
    return dogs[0]


# --- the picture tells the truth --------------------------------------------------------------------------


def believed_to_be(dog: Dog, today: date) -> Dog:
    """The dog that the picture shows: as it is believed to be, once something was measured."""
    learnt = learn_dog(dog, today, others=demo_dogs(today))
    return believed(learnt) if learnt is not None and learnt.measured else dog


def forecast_of(desk: Any, dog: Dog, today: date, ahead: int) -> dict[str, tuple[float, float]]:
    """Per zone the share of hairs that show and the hair per root (mm), from the coat and the takes of the plan."""
    visits = plan_of(desk.url, dog.id)["visits"]
    found = {}
    day = day_of(today) + ahead
    for zone, stood in coat_of(dog, today).items():
        takes = [
            (day_of(date.fromisoformat(visit["day"])), visit["takes"].get(zone, 0.0)) for visit in visits
        ]
        growth = growth_of(dog, zone)
        ahead_of_it = carry_out(stood, day_of(today), takes, growth, broken=broken_of(dog, zone))
        # What is planned for today is not done yet.
        coat = ahead_of_it.at(day) if ahead else stood
        lengths = coat.lengths(day, growth)
        shown = lengths >= NOT_YET_MM
        found[zone] = float(coat.shares[shown].sum()), float(coat.shares[shown] @ lengths[shown])
    return found


@pytest.mark.parametrize("which", [0, pytest.param(1, marks=pytest.mark.full)])
def test_strokes_and_their_density_are_those_of_the_forecast(page, desk, dogs, which, complaints):
    dog = dogs[which]
    today = date.fromisoformat(get(f"{desk.url}/api/dogs")["today"])
    opened(page, desk, f"/dogs/{dog.id}")
    last = page.evaluate(f"{COAT}.dog.last - {COAT}.dog.today")
    assert last >= 28
    shown_dog = believed_to_be(dog, today)
    for ahead in (round(part * last) for part in AHEAD):
        painted(page, day_of(today) + ahead)
        drawn = page.evaluate(f"{COAT}.measure()")
        expected = forecast_of(desk, shown_dog, today, ahead)
        compared = 0
        for zone, (shown, hair) in expected.items():
            if zone not in drawn:
                continue
            one = drawn[zone]
            # Roots are dealt to layers at random: three standard errors, and what is cut off by rounding.
            noise = 0.01 + 3.0 * math.sqrt(0.25 / one["roots"])
            assert one["strokes"] / one["roots"] == pytest.approx(shown, abs=noise), (ahead, zone)
            assert one["strokes"] * one["mean"] / one["roots"] == pytest.approx(hair, rel=0.03, abs=0.2)
            compared += 1
        assert compared >= 15


# --- page and print agree ---------------------------------------------------------------------------------

COLOURS = """async ([places, svg, {left, top, scale, width}]) => {
  // Mean colour around places (mm) by zone: on the canvas as it is painted, and on the picture for print.
  const coat = document.querySelector('[data-coat]').coat;
  const frame = coat.now.painter.prepared(coat.now.canvas.width).frame;
  const image = new Image();
  image.src = svg;
  await image.decode();
  const sheet = document.createElement('canvas');
  sheet.width = 1000;
  sheet.height = 1000 * image.naturalHeight / image.naturalWidth;
  const ink = sheet.getContext('2d');
  ink.fillStyle = getComputedStyle(document.documentElement).getPropertyValue('--chalk').trim();
  ink.fillRect(0, 0, sheet.width, sheet.height);
  ink.drawImage(image, 0, 0, sheet.width, sheet.height);
  const mean = (context, x, y, reach) => {
    const {data} = context.getImageData(x - reach, y - reach, 2 * reach, 2 * reach);
    return [0, 1, 2].map(part => {
      let sum = 0;
      for (let i = part; i < data.length; i += 4) sum += data[i];
      return sum / (data.length / 4);
    });
  };
  const screen = coat.now.canvas.getContext('2d');
  const k = 1000 / width * scale;
  return places.map(([x, y, reach]) => [
    mean(screen, Math.round(frame.x(x)), Math.round(frame.y(y)), Math.max(Math.round(reach * frame.scale), 2)),
    mean(ink, Math.round((x - left) * k), Math.round((top - y) * k), Math.max(Math.round(reach * k), 2)),
  ]);
}"""


def inner_places(dog: Dog) -> list[tuple[float, float, float]]:
    """Places all over the near side of the dog, mm, and how far around each to look."""
    from coatwright.drawing.curves import inside

    drawn = figure_of(dog)
    left, bottom, right, top = drawn.bounds
    step = 7.0 * drawn.unit
    places = [
        (float(x), float(y), 0.45 * step)
        for x in np.arange(left + step, right, step)
        for y in np.arange(bottom + step, top, step)
    ]
    return [(x, y, reach) for x, y, reach in places if bool(inside(drawn.outline, x, y))]


def test_the_picture_on_the_page_is_that_of_print(page, desk, dogs):
    """The same shapes, hairs and colours: around 80 places of the dog or more, on two days."""
    for dog in dogs:
        canvas, places = Canvas(figure_of(dog)), inner_places(dog)
        sheet = {"left": canvas.left, "top": canvas.top, "scale": canvas.scale, "width": canvas.width}
        opened(page, desk, f"/dogs/{dog.id}")
        today = page.evaluate(f"{COAT}.dog.today")
        for ahead in (0, 40):
            painted(page, today + ahead)
            svg = f"/dogs/{dog.id}/coat.svg?theme=light&day={date.fromordinal(today + ahead)}"
            found = np.array(page.evaluate(COLOURS, [places, svg, sheet]))
            assert len(found) >= 80
            apart = np.abs(found[:, 0] - found[:, 1])
            assert np.median(apart) < 12.0
            assert np.percentile(apart, 90) < 18.0
            light = found.mean(axis=2)
            assert np.corrcoef(light[:, 0], light[:, 1])[0, 1] > 0.96


# --- a full strip grows back ------------------------------------------------------------------------------

PICTURE = """parcel => import('/static/coat/coat.js').then(({mountCoat}) => {
  document.querySelector('main').innerHTML = '<div id="made"></div>';
  mountCoat(document.querySelector('#made'), parcel, {});
  document.querySelector('#made').dataset.coat = '';
})"""
SILHOUETTE = f"""() => {{
  const {{canvas, painter}} = {COAT}.now;
  const {{data}} = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  const ground = [0, 8, 16].map(shift => painter.theme.ground >>> shift & 255);
  let dog = 0;
  for (let i = 0; i < data.length; i += 4)
    if (ground.some((value, k) => Math.abs(data[i + k] - value) > 24)) dog++;
  const green = data.filter((_, i) => i % 4 === 1), before = window.greenBefore ?? green;
  window.greenBefore = green;
  return [dog, green.reduce((sum, value, i) => sum + (Math.abs(value - before[i]) > 24), 0)];
}}"""
"""Pixels of the dog, and those that differ from the picture looked at before."""


def test_after_a_full_strip_the_outline_comes_back_before_ones_eyes(page, desk):
    """Bare on the day after, a short jacket in week 6, longer in week 12: lag 3 to 5 weeks (common practice)."""
    start = 740_000
    terrier = figure("square", "folded", "up", 390.0)
    growth = Growth(end=60.0)
    stood = ZoneCoat.of([Layer(start - 260, 1.0)])
    tracks = [
        track_of(zone, carry_out(stood, start, [(start, 1.0)], growth), growth) for zone in terrier.zones
    ]
    page.goto(f"{desk.url}/dogs")
    page.evaluate(PICTURE, motion(terrier, "red", tracks, start, start + 120, today=start))
    page.wait_for_function(MOUNTED)
    seen = {}
    for week in (0, 6, 12):
        painted(page, start + 7 * week + 1)
        seen[week] = page.evaluate(SILHOUETTE)
    assert page.evaluate(f"{COAT}.measure().back.strokes") > 0
    assert seen[6][0] > 1.01 * seen[0][0]
    assert seen[12][0] > 1.05 * seen[6][0]
    for one, other in ((0, 6), (6, 12)):
        assert seen[other][1] > 0.1 * seen[one][0], "a tenth of the dog looks different"


# --- a zone is picked -------------------------------------------------------------------------------------

MIDDLE = f"""key => {{
  const coat = {COAT};
  const zone = coat.dog.zones.find(one => one.key === key);
  const {{x, y}} = coat.now.frame;
  const box = coat.now.over.getBoundingClientRect();
  let across = 0, up = 0;
  for (let i = 0; i < zone.ring.length; i += 2) {{ across += zone.ring[i]; up += zone.ring[i + 1]; }}
  const points = zone.ring.length / 2;
  return [box.left + x(across / points), box.top + y(up / points)];
}}"""


def chosen_zone(page: Page, name: str) -> None:
    """The page has followed, and is the same page."""
    expect(page.locator("#zone-name")).to_have_text(name)
    expect(page.locator("#zone svg.cw-layers").first).to_be_attached()
    expect(page.locator("#zones tr.chosen th")).to_contain_text(name)
    assert page.evaluate("window.same") is True, "the page was not loaded again"


def test_a_zone_is_picked_by_mouse(page, desk, dog, complaints):
    opened(page, desk, f"/dogs/{dog.id}")
    page.evaluate("window.same = true")
    page.mouse.click(*page.evaluate(MIDDLE, "ribs"))
    chosen_zone(page, "Ribs")
    expect(page.locator(".living-said")).to_contain_text("Ribs: outline")
    assert "zone=ribs" in page.url
    page.get_by_role("button", name="Belly").click()
    chosen_zone(page, "Belly")


def test_a_zone_is_picked_by_finger(browser, desk, dog):
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, locale="en-GB"
    )
    try:
        page = context.new_page()
        opened(page, desk, f"/dogs/{dog.id}")
        page.evaluate("window.same = true")
        page.locator(".living-stage").scroll_into_view_if_needed()
        page.touchscreen.tap(*page.evaluate(MIDDLE, "shoulders"))
        chosen_zone(page, "Shoulders")
    finally:
        context.close()


def test_a_zone_is_picked_by_keys_and_told_to_a_screen_reader(page, desk, dog, complaints):
    opened(page, desk, f"/dogs/{dog.id}?zone=neck")
    page.evaluate("window.same = true")
    zones = page.get_by_role("listbox", name="Zones of the coat")
    zones.focus()
    option = zones.get_by_role("option", selected=True)
    expect(option).to_have_text(re.compile("^Neck: outline"))
    zones.press("ArrowDown")
    assert option.get_attribute("id") == zones.get_attribute("aria-activedescendant")
    name = option.inner_text().split(":")[0]
    assert name != "Neck"
    chosen_zone(page, name)
    zones.press("ArrowUp")
    chosen_zone(page, "Neck")
    zones.press("Home")
    first = option.inner_text()
    zones.press("ArrowUp")
    assert option.inner_text() != first, "the list goes round"
    assert page.locator(".living-frame").first.evaluate("e => getComputedStyle(e).outlineStyle") == "solid"


def test_the_page_follows_the_slider_when_it_rests(page, desk, dog, complaints):
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "zone=" in request.url else None)
    opened(page, desk, f"/dogs/{dog.id}?zone=back")
    page.evaluate("window.same = true")
    asked.clear()
    slider = page.get_by_role("slider", name="Day")
    for _ in range(14):
        slider.press("ArrowRight")
    expect(page.locator("figcaption").last).to_contain_text("in 14 days")
    day = date.fromordinal(page.evaluate(f"{COAT}.day"))
    expect(page.locator("#zones-head")).to_contain_text(f"{day.day} {day:%B}")
    assert f"day={day}" in page.url
    assert len(asked) <= 2, "not once for every day"
    assert slider.get_attribute("aria-valuetext").endswith("in 14 days")
    slider.press("PageUp")
    expect(page.locator("figcaption").last).to_contain_text("in 3 weeks")
    page.get_by_role("button", name="Today", exact=True).click()
    expect(page.locator("#zones-head")).to_contain_text("Zones on")
    page.wait_for_url(lambda address: "day=" not in address)
    chosen_zone(page, "Back")


def test_two_days_stand_side_by_side(page, desk, dog, complaints):
    opened(page, desk, f"/dogs/{dog.id}?zone=back")
    page.get_by_role("button", name="Keep this day beside").click()
    page.get_by_role("button", name="Next visit").click()
    captions = page.locator(".living-shot:not([hidden]) figcaption")
    expect(captions).to_have_count(2)
    expect(captions.first).to_contain_text("Today")
    expect(captions.last).to_contain_text("Forecast")
    page.get_by_role("button", name="Only one day").click()
    expect(captions).to_have_count(1)


# --- shading, motion, colours -----------------------------------------------------------------------------


def test_each_shading_has_words_and_a_scale_that_darkens_evenly(page, desk, dog, complaints):
    opened(page, desk, f"/dogs/{dog.id}")
    legend, shading = page.locator(".living-legend"), page.get_by_label("Show")
    expect(legend).to_be_hidden()
    for by, unit, told in (
        ("cover", r"\d+ %", "Cover, share of the hairs above the skin"),
        ("take", r"\d+ %", "Take, share of the zone's hairs"),
        ("outline", r"in aim|[+−]\d+", "Outline against its aim, mm"),
        ("age", r"\d+ (d|wk)", "Time since the last pull"),
    ):
        shading.select_option(by)
        expect(legend).to_contain_text(told)
        expect(legend.locator("svg.cw-ramp")).to_be_visible()
        words = page.locator(".living-shot:not([hidden]) .living-over text").all_text_contents()[:-1]
        assert len(words) >= 3
        assert all(re.fullmatch(unit, word) for word in words), words
        page.wait_for_url(f"**by={by}*")
    ramp = page.evaluate(f"{COAT}.dog.ramp")
    light = [luminance(f"#{c & 255:02x}{c >> 8 & 255:02x}{c >> 16:02x}") for c in ramp]
    assert light == sorted(light, reverse=True)
    shading.select_option("")
    expect(legend).to_be_hidden()


def test_time_passes_by_itself_only_for_those_who_like_motion(browser, desk, dog):
    for motion_wish, words in (("no-preference", "Let time pass"), ("reduce", "A week on")):
        context = browser.new_context(reduced_motion=motion_wish, locale="en-GB")
        try:
            page = context.new_page()
            opened(page, desk, f"/dogs/{dog.id}")
            today = page.evaluate(f"{COAT}.day")
            page.locator("[data-act=play]").click()
            if motion_wish == "reduce":
                page.wait_for_function(f"day => {COAT}.day === day && !{COAT}.running", arg=today + 7)
                expect(page.get_by_role("button", name=words)).to_be_visible()
            else:
                page.wait_for_function(f"day => {COAT}.day > day + 2", arg=today)
                page.get_by_role("button", name="Stop").click()
                rested = page.evaluate(f"{COAT}.day")
                page.wait_for_timeout(400)
                assert page.evaluate(f"[{COAT}.day, {COAT}.running]") == [rested, 0]
                expect(page.get_by_role("button", name=words)).to_be_visible()
        finally:
            context.close()


@pytest.mark.parametrize(
    ("width", "scheme"),
    [
        (390, "light"),
        (1440, "dark"),
        pytest.param(390, "dark", marks=pytest.mark.full),
        pytest.param(1440, "light", marks=pytest.mark.full),
    ],
)
def test_axe_finds_nothing_on_the_picture_in_any_of_its_states(browser, axe, desk, dog, width, scheme):
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme, locale="en-GB"
    )
    try:
        page = context.new_page()
        for query in ("?zone=back", "?day=14&by=cover&zone=belly", "?by=outline"):
            opened(page, desk, f"/dogs/{dog.id}{query}")
            found = axe(page)
            assert [(each["id"], each["nodes"][0]["html"][:200]) for each in found] == []
    finally:
        context.close()


# --- where it cannot be -----------------------------------------------------------------------------------


def test_where_the_picture_cannot_be_drawn_the_plain_one_stands(page, desk, dog):
    page.route("**/coat.json*", lambda route: route.abort())
    page.goto(f"{desk.url}/dogs/{dog.id}")
    expect(page.locator("#days picture img")).to_be_visible()
    expect(page.locator("#days .living-wait")).to_have_count(0)
    page.get_by_role("slider").press("End")
    page.locator("#days").get_by_role("button", name="Show").click()
    expect(page.locator("#days figcaption").first).to_contain_text("in ")


def test_what_is_printed_is_the_drawing_of_the_day_shown(page, desk, dog):
    opened(page, desk, f"/dogs/{dog.id}?day=28&by=cover")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "theme=print" in request.url else None)
    page.emulate_media(media="print")
    paper = page.locator(".living-paper")
    expect(paper).to_be_visible()
    expect(page.locator(".living")).to_be_hidden()
    page.wait_for_function("() => document.querySelector('.living-paper').naturalWidth > 0")
    day = date.fromordinal(page.evaluate(f"{COAT}.day"))
    assert any(f"day={day}" in address and "by=cover" in address for address in asked)


def test_the_parcel_of_every_dog_is_small(page, desk, planned_desk):
    """Less than 60 kB compressed, so that a page stays below 200 kB."""
    import gzip

    for key, dog in planned_desk.items():
        if dog["plan"] in ("ready", "none"):
            text = page.request.get(f"{desk.url}/dogs/{key}/coat.json").body()
            assert json.loads(text)["form"] == 2
            assert len(gzip.compress(text, 5)) < 60_000, key
