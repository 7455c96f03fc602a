"""The coat of every day in one parcel: small, true to the model, and the same hairs as in print."""

from __future__ import annotations

import gzip
import json
from base64 import b64decode, b64encode
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtri

from coatwright.coat.forecast import carry_out
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat, cut
from coatwright.drawing import svg
from coatwright.drawing.coat_picture import coat_picture
from coatwright.drawing.day_strip import SHAPES, Mark, day_strip
from coatwright.drawing.figure import figure
from coatwright.drawing.looks import ZoneLook
from coatwright.drawing.motion import PARTS, Track, looks, motion, still, track_of
from coatwright.drawing.palette import PALETTES, palette
from coatwright.drawing.parcel import SIZES, STEP_MM
from coatwright.drawing.roots import hashed, roots
from coatwright.drawing.strokes import strokes
from coatwright.errors import OutOfRange, UnknownName
from coatwright.units import day_of
from tests.drawing.coats import DOGS, END, STATES, TODAY, coat_of, growth_of
from tests.drawing.reading import every, parsed, refused_by_a_strict_policy

TERRIER = figure("square", "folded", "up", 390.0)
VISITS = [(TODAY + 14 * k, 0.2) for k in range(8)]
FIRST, LAST = TODAY, TODAY + 120
DAYS = (TODAY, TODAY + 13, TODAY + 14, TODAY + 47, TODAY + 99)


def tracks(state="rolling", takes=VISITS):
    return [
        track_of(zone, carry_out(coat_of(state), TODAY, takes, growth_of(zone)), growth_of(zone))
        for zone in END
    ]


def packed(dog, found=None, **more):
    return motion(figure(*dog[:4]), dog[4], found or tracks(), FIRST, LAST, today=TODAY, **more)


# --- the browser's side, written once more ----------------------------------------------------------------


def numbers(text, kind):
    return np.frombuffer(b64decode(text), dtype=kind).astype(float)


def scattered(parcel):
    """Per part of the parcel: x, y, rank and vary of its roots, by their numbers alone."""
    raw = parcel["roots"]
    gaps = numbers(raw["gaps"], "u1").astype(int)
    for part in raw["parts"]:
        place = np.cumsum(gaps[part["from"] : part["to"]])
        number, (left, bottom, wide, high) = place + part["salt"], part["box"]
        across, up, rank = ((0.5 + place * step) % 1.0 for step in raw["steps"])
        x = left + wide * ((across + part["shake"] * (hashed(number, 1) - 0.5)) % 1.0)
        y = bottom + high * ((up + part["shake"] * (hashed(number, 2) - 0.5)) % 1.0)
        yield part, x, y, rank, hashed(number, 7)


def hairs_of(parcel, day):
    """Length, zone, layer and blunt tip of each root of the parcel on a day: what the browser computes."""
    lengths, zones, layers, blunt = [], [], [], []
    for part, _, _, rank, vary in scattered(parcel):
        zone, count = part["zone"], part["to"] - part["from"]
        row = parcel["zones"][zone]
        lag, speed, end, spread = row["growth"]
        shares: dict[int, int] = {}
        turn = 0
        for start, turned, _, *changes in row["epochs"]:
            if start + parcel["first"] > day and shares:
                break
            turn = turned / PARTS
            shares |= dict(zip(changes[::2], changes[1::2], strict=True))
        keys = sorted(key for key, share in shares.items() if share)
        born = np.array([row["layers"][2 * key] + parcel["first"] for key in keys], dtype=float)
        removed = np.array([row["layers"][2 * key + 1] * STEP_MM for key in keys])
        share = np.array([shares[key] for key in keys]) / sum(shares.values())
        age = day - born
        mean = np.where(age >= lag - 1e-9, np.maximum(np.clip(speed * (age - lag), 0, end) - removed, 0), 0)
        place = np.mod((np.argsort(np.argsort(rank)) + 0.5) / count - turn, 1.0)
        layer = np.minimum(np.searchsorted(np.cumsum(share), place, side="right"), len(keys) - 1)
        number = np.zeros(count)
        for k in range(len(keys)):
            chosen = [i for i in np.argsort(vary) if layer[i] == k]
            for step, i in enumerate(chosen):
                number[i] = max(mean[k] * (1 + spread * ndtri((step + 0.5) / len(chosen))), 0.0)
        lengths.append(number)
        layers.append(born[layer])
        blunt.append(removed[layer] > 0)
        zones.append(np.full(count, zone))
    return tuple(np.concatenate(each) for each in (lengths, zones, layers, blunt))


@pytest.mark.parametrize("dog", [DOGS[0], DOGS[2], DOGS[5]], ids=lambda dog: dog[0])
def test_the_parcel_gives_the_strokes_of_print_on_every_day(dog):
    found = tracks()
    parcel = packed(dog, found)
    drawn_on = figure(*dog[:4])
    for day in DAYS:
        length, zone, _, _ = hairs_of(parcel, day)
        print_ = strokes(drawn_on, roots(drawn_on), looks(found, day), palette(dog[4]))
        for key in END:
            number = list(drawn_on.zones).index(key)
            here = np.sort(length[(zone == number) & (length >= 0.2)])
            there = np.sort(print_.length[print_.zone == print_.keys.index(key)])
            assert len(here) == pytest.approx(len(there), abs=1)
            assert here.mean() == pytest.approx(there.mean(), rel=0.005)
            short = min(len(here), len(there))
            assert np.median(np.abs(here[-short:] - there[-short:])) < 0.05


def test_roots_lie_where_print_has_them_and_keep_colour_and_width():
    parcel = packed(DOGS[0])
    rooted = roots(figure(*DOGS[0][:4]))
    raw = parcel["roots"]
    assert raw["parts"][-1]["to"] == len(rooted.x)
    row = np.concatenate([np.arange(p["row"], p["row"] + p["to"] - p["from"]) for p in raw["parts"]])
    assert sorted(row) == list(range(len(row)))
    for part, x, y, rank, vary in scattered(parcel):
        here = row[part["from"] : part["to"]]
        assert x == pytest.approx(rooted.x[here], abs=1e-9)
        assert y == pytest.approx(rooted.y[here], abs=1e-9)
        assert np.array_equal(np.argsort(rank), np.argsort(rooted.rank[here]))
        assert vary == pytest.approx(rooted.vary[here], abs=1e-12)
    angle = numbers(raw["angle"], "u1") * np.pi / 128
    assert np.cos(angle) == pytest.approx(rooted.dx[row], abs=0.02)
    assert np.sin(angle) == pytest.approx(rooted.dy[row], abs=0.02)
    assert numbers(raw["bend"], "i1") / 512 == pytest.approx(rooted.bend[row], abs=0.001)
    full = {zone: ZoneLook(zone, np.array([9.0]), np.ones(1)) for zone in rooted.keys}
    print_ = strokes(figure(*DOGS[0][:4]), rooted, full, palette(DOGS[0][4]))
    assert np.array_equal(numbers(raw["colour"], "u1"), print_.colour[row])
    counts = [part["to"] - part["from"] for part in raw["parts"]]
    zone = np.repeat([part["zone"] for part in raw["parts"]], counts)
    assert np.array_equal(zone, rooted.zone[row])
    width = np.repeat([part["width"] for part in raw["parts"]], counts)
    assert width == pytest.approx(print_.width[row], abs=0.006)


def test_few_broken_hairs_count_with_the_most_of_the_same_birth():
    rows = [Layer(TODAY - 90, 0.5), Layer(TODAY - 90, 0.4996, 40.0), Layer(TODAY - 90, 0.0004, 44.0)]
    track = Track("back", Growth(), (TODAY,), (ZoneCoat.of(rows),))
    row = motion(TERRIER, "red", [track], TODAY, LAST, today=TODAY)["zones"][
        list(TERRIER.zones).index("back")
    ]
    assert row["layers"] == [-90, 0, -90, 800]
    assert row["epochs"] == [[0, 0, 1, 0, 5004, 1, 4996]]


def test_a_hair_keeps_its_root_over_days_and_pulls():
    parcel = packed(DOGS[0])
    visit = VISITS[3][0]
    _, _, evening, _ = hairs_of(parcel, visit)
    _, _, morning, _ = hairs_of(parcel, visit - 1)
    length, _, later, _ = hairs_of(parcel, visit + 10)
    renewed = evening == visit
    # what was pulled are the oldest, the rest are on the roots where they were
    assert renewed.mean() == pytest.approx(0.2, abs=0.01)
    assert (morning[~renewed] == evening[~renewed]).mean() > 0.995
    assert morning[renewed].max() <= morning[~renewed].min() + 14
    assert np.array_equal(evening, later)
    assert length[renewed].max() == 0.0


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.floats(0.05, 0.35), min_size=1, max_size=6),
    st.sampled_from([0.0, 0.05, 0.3]),
    st.integers(7, 28),
)
def test_turns_are_what_was_renewed(shares, broken, interval):
    growth = Growth(lag=20.0)
    takes = [(TODAY + interval * k, share) for k, share in enumerate(shares)]
    epochs = carry_out(
        ZoneCoat.even(TODAY - 40, 14, 5), TODAY, [t for t in takes if _stands(t, takes)], growth
    )
    track = track_of("back", epochs, growth)
    renewed = np.cumsum([sum(s for _, s in p.renewed) if p else 0.0 for p in epochs.pulls])
    assert track.turns == pytest.approx(renewed, abs=1e-9)
    stub = carry_out(ZoneCoat.even(TODAY - 40, 14, 5), TODAY, takes[:1], growth, broken=broken)
    assert track_of("back", stub, growth).turns[-1] == pytest.approx(shares[0] * (1 - broken), abs=1e-9)


def _stands(take, takes):
    """Whether a take finds hair above the skin: few enough before it."""
    return sum(share for day, share in takes if day <= take[0]) <= 0.9


def test_what_was_and_what_is_planned_make_one_track():
    growth = growth_of("back")
    past = carry_out(
        ZoneCoat.even(TODAY - 54, 14, 5), TODAY - 40, [(TODAY - 40, 0.2), (TODAY - 12, 0.2)], growth
    )
    ahead = carry_out(past.coats[-1], TODAY, [(TODAY, 0.1), (TODAY + 14, 0.2)], growth)
    whole = track_of("back", past, growth, aim=(10.0, 20.0)).followed_by(ahead)
    assert whole.starts == (TODAY - 40, TODAY - 40, TODAY - 12, TODAY, TODAY + 14)
    assert [share for _, share in whole.takes] == pytest.approx([0.2, 0.2])
    assert [share for _, share in whole.planned] == pytest.approx([0.1, 0.2])
    assert whole.look(TODAY, before=True).turn == pytest.approx(0.4)
    assert whole.look(TODAY).turn == pytest.approx(0.5)
    assert whole.look(TODAY - 30).lengths_mm.tolist() == past.coats[1].lengths(TODAY - 30, growth).tolist()
    parcel = motion(TERRIER, "red", [whole], TODAY - 20, TODAY + 30, today=TODAY)
    row = parcel["zones"][list(TERRIER.zones).index("back")]
    assert row["takes"] == [
        {"day": TODAY - 12, "percent": 20.0, "planned": False},
        {"day": TODAY, "percent": 10.0, "planned": True},
        {"day": TODAY + 14, "percent": 20.0, "planned": True},
    ]
    assert row["pulled"] == TODAY - 40
    assert row["aim"] == [10.0, 20.0]


def test_cut_hair_and_undercoat_come_through():
    growth = Growth()
    coats = (ZoneCoat.of([Layer(TODAY - 200, 1.0)], "packed"), None)
    clipped = replace(cut(coats[0], TODAY + 5, 20.0, growth), undercoat="some")
    track = Track("back", growth, (TODAY, TODAY + 5), (coats[0], clipped))
    parcel = motion(TERRIER, "red", [track], TODAY, TODAY + 40, today=TODAY)
    row = parcel["zones"][list(TERRIER.zones).index("back")]
    assert [epoch[2] for epoch in row["epochs"]] == [2, 1]
    number = list(TERRIER.zones).index("back")
    (part,) = (part for part in parcel["roots"]["parts"] if part["zone"] == number)
    gaps = b64decode(parcel["roots"]["gaps"])[part["from"] : part["to"]]
    parcel["roots"]["gaps"] = b64encode(gaps).decode()
    parcel["roots"]["parts"] = [part | {"from": 0, "to": len(gaps)}]
    length, _, _, blunt = hairs_of(parcel, TODAY + 5)
    assert blunt.all()
    assert length.mean() == pytest.approx(20.0, abs=STEP_MM)


# --- size and form ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog[0])
def test_it_is_plain_json_and_small(dog):
    for state in STATES:
        takes = VISITS if state in ("blown", "rolling") else []
        text = json.dumps(packed(dog, tracks(state, takes)), allow_nan=False, separators=(",", ":"))
        assert len(gzip.compress(text.encode())) < 60_000
    assert json.loads(text)["form"] == 2


@pytest.mark.slow
def test_the_demo_dog_with_the_most_to_tell_weighs_less_than_60_kilobytes_compressed():
    from coatwright.demo.salon import demo_dogs
    from coatwright.salon.pictures import figure_of
    from coatwright.salon.plans import plan_dog

    today = date(2026, 11, 25)
    dog = max(demo_dogs(today), key=lambda one: 0 if one.unfit else len(one.visits))
    plan = plan_dog(dog, today)
    found = [
        track_of(task.key, epochs, task.growth)
        for task, epochs in zip(plan.option.plan.problem.zones, plan.option.plan.epochs, strict=True)
    ]
    first = day_of(today)
    parcel = motion(figure_of(dog), dog.pattern.colours[0], found, first, first + 182, today=first)
    assert len(gzip.compress(json.dumps(parcel, separators=(",", ":")).encode())) < 60_000


def test_it_is_the_same_each_time():
    assert packed(DOGS[1]) == packed(DOGS[1])


def test_zones_not_seen_come_last_and_a_zone_without_a_track_stays_bare():
    found = [*tracks()[:3], still("belly", 12.0, TODAY)]
    parcel = packed(DOGS[0], found, names={"belly": "Belly"})
    assert [row["key"] for row in parcel["zones"]][:21] == list(TERRIER.zones)
    assert parcel["zones"][-1]["name"] == "Belly"
    assert "ring" not in parcel["zones"][-1]
    assert "growth" not in parcel["zones"][list(TERRIER.zones).index("ribs")]
    listed = [parcel["zones"][index]["key"] for index in parcel["working"]]
    assert listed[:4] == [track.zone for track in found]
    assert sorted(listed) == sorted(row["key"] for row in parcel["zones"])


def test_a_still_zone_keeps_its_length():
    look = still("feet", 12.0, TODAY).look(TODAY + 300)
    assert look.mean_mm == look.longest_mm == 12.0
    assert look.cover == 1.0


@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog[0])
def test_the_picture_holds_the_longest_hair_and_words_for_every_zone(dog):
    parcel = packed(dog, tracks("blown"))
    left, top, width, height = parcel["view"]
    drawn_on = figure(*dog[:4])
    drawn = strokes(drawn_on, roots(drawn_on), looks(tracks("blown"), TODAY), palette(dog[4]))
    tips_x, tips_y = drawn.x + drawn.dx, drawn.y + drawn.dy
    assert left <= np.percentile(tips_x, 0.5)
    assert np.percentile(tips_x, 99.5) <= left + width
    assert np.percentile(tips_y, 99.5) <= top
    assert top - height < -4 * drawn_on.unit
    assert len(parcel["labels"]) == len(SIZES)
    for labels in parcel["labels"]:
        assert sorted(label["zone"] for label in labels) == list(range(21))
        for x, y, *_ in (label["places"] for label in labels):
            assert left < x < left + width
            assert top - height < y < top


@pytest.mark.parametrize("colour", PALETTES)
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_skin_has_the_colours_of_print(colour, theme):
    """Bare under each undercoat, and hidden by a full coat: as the picture for print paints it."""
    parcel = motion(TERRIER, colour, tracks("blown"), FIRST, LAST, today=TODAY)["themes"][theme]
    for state, step in (("stripped", 1), ("blown", 2)):
        found = looks(tracks(state, []), TODAY)
        root = parsed(coat_picture(TERRIER, found, colour, theme=theme))
        painted = {path.get("fill") for path in every(root, "path", class_="cw-skin")}
        for zone, skins in zip(TERRIER.zones, parcel["skin"], strict=True):
            bare, full = (_hex(skins[k]) for k in (step, 3))
            near = svg.mix(bare, full, found[zone].veil)
            assert min(_apart(near, one) for one in painted) <= 1, zone


def _hex(colour):
    return f"#{colour & 255:02x}{colour >> 8 & 255:02x}{colour >> 16:02x}"


def _apart(one, other):
    return max(abs(a - b) for a, b in zip(svg.rgb(one), svg.rgb(other), strict=True))


def test_the_shadow_on_the_skin_is_that_of_print():
    """Nine steps of 4 % one over the other, by ``1 - 0.96 ** 9``; dark below the belly, light on the back."""
    shade = packed(DOGS[0])["shade"]
    assert shade["deep"] == pytest.approx(1 - 0.96**9, abs=1e-4)
    values = numbers(shade["values"], "u1").reshape(-1, shade["across"])
    left, bottom = shade["origin"]

    def at(x, y):
        return values[round((y - bottom) / shade["cell"]), round((x - left) / shade["cell"])]

    unit = TERRIER.unit
    assert at(80 * unit, 96 * unit) < 40
    assert at(80 * unit, 60 * unit) > 150


# --- what cannot be ---------------------------------------------------------------------------------------


def test_days_that_nobody_knows_are_refused():
    with pytest.raises(OutOfRange, match="not known"):
        motion(TERRIER, "red", tracks(), FIRST - 1, LAST, today=TODAY)
    with pytest.raises(OutOfRange, match="days"):
        motion(TERRIER, "red", tracks(), FIRST, FIRST - 1, today=TODAY)
    with pytest.raises(OutOfRange, match="days"):
        motion(TERRIER, "red", tracks(), FIRST, FIRST + 5000, today=TODAY)
    with pytest.raises(UnknownName, match="coat colour"):
        motion(TERRIER, "purple", tracks(), FIRST, LAST, today=TODAY)
    with pytest.raises(OutOfRange, match="one coat per start"):
        Track("back", Growth(), (TODAY,), ())
    with pytest.raises(OutOfRange, match="one coat per start"):
        Track("back", Growth(), (TODAY, TODAY - 1), (coat_of("rolling"), coat_of("rolling")))


# --- the strip below the slider ---------------------------------------------------------------------------


def test_the_strip_shows_months_visits_and_shows_at_their_places():
    first, last = day_of(date(2026, 11, 25)), day_of(date(2027, 3, 5))
    marks = [Mark(first + 50, "show", "A <show>"), Mark(first + 10, "planned"), Mark(last + 1, "visit")]
    root = parsed(f'<svg xmlns="http://www.w3.org/2000/svg">{day_strip(first, last, marks)}</svg>')
    assert [text.text for text in every(root, "text")] == ["Dec", "Jan", "Feb"]
    nested = [one for one in every(root, "svg") if one.get("x")]
    assert [float(one.get("x").rstrip("%")) for one in nested] == [10.0, 50.0]
    titles = [one.text for one in every(root, "title")]
    assert titles == ["Planned visit, 5 Dec 2026", "A <show>, 14 Jan 2027"]
    assert refused_by_a_strict_policy(root) == []
    assert {one.get("class").removeprefix("strip-") for one in every(root, "path")} <= set(SHAPES)


def test_a_long_strip_names_every_third_month():
    root = parsed(f'<svg xmlns="http://www.w3.org/2000/svg">{day_strip(TODAY, TODAY + 900, [])}</svg>')
    named = [text.text for text in every(root, "text")]
    assert set(named) == {"Mar", "Jun", "Sep", "Dec"}
