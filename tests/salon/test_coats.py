"""The replay of a dog's history gives its coat; the sums are checked by hand and by the closed forms."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from coatwright.coat.growth import Growth, emerged
from coatwright.coat.layers import Layer
from coatwright.errors import InputError, OutOfOrder, OutOfRange, UnknownName
from coatwright.patterns import pattern
from coatwright.salon.coats import (
    aim_of,
    check_coat,
    coat_of,
    cover_floor,
    growth_of,
    is_double,
    last_carded,
    zone_coat_of,
)
from coatwright.salon.records import Assessment, DogWish, LayerReading, Take, Visit, ZoneReading
from coatwright.units import day_of
from tests.salon.making import FIRST, dog, old_coat, visit

GROWTH = Growth(lag=28, rate=0.5, end=70, spread=0.1)


def read(*layers, day=FIRST, growth=GROWTH):
    return zone_coat_of(ZoneReading(layers), day, growth)


def cover(coat, day, growth):
    return float(coat.shares[emerged(day_of(day) - coat.born, growth)].sum())


def test_each_way_to_tell_an_age_gives_the_same_layer():
    day = FIRST - timedelta(days=84)
    wanted = Layer(day_of(day), 1.0)
    assert read(LayerReading(1, pulled=day)).layers == (wanted,)
    assert read(LayerReading(1, weeks=12)).layers == (wanted,)
    # 28 days under the skin, then 56 days at 0.5 mm a day: 28 mm.
    assert read(LayerReading(1, length_mm=28)).layers == (wanted,)


def test_resting_hair_is_as_long_as_hair_gets():
    coat = read(LayerReading(1, resting=True))
    assert coat.lengths(day_of(FIRST), GROWTH)[0] == pytest.approx(70)
    assert coat.layers[0].born == day_of(FIRST) - 28 - 140


def test_cut_hair_has_the_length_it_was_cut_to_and_grows_on_only_while_it_grows():
    january = date(2027, 1, 16)
    resting = read(LayerReading(1, resting=True, cut_to_mm=15, cut_on=FIRST), day=january)
    assert resting.lengths(day_of(january), GROWTH)[0] == pytest.approx(15)
    assert resting.lengths(day_of(january) + 60, GROWTH)[0] == pytest.approx(15)
    growing = read(LayerReading(1, weeks=10, cut_to_mm=10), day=FIRST)
    # 42 days above the skin at 0.5 mm: 21 mm, of which 11 were cut off; three weeks on it has 10.5 mm more.
    assert growing.layers[0].removed == pytest.approx(11)
    assert growing.lengths(day_of(FIRST) + 21, GROWTH)[0] == pytest.approx(20.5)


def test_hair_that_was_too_short_for_the_scissors_is_whole():
    assert not read(LayerReading(1, weeks=5, cut_to_mm=10)).layers[0].cut


def test_a_length_far_beyond_the_end_is_refused_and_one_just_beyond_it_rests():
    assert read(LayerReading(1, length_mm=80)).lengths(day_of(FIRST), GROWTH)[0] == pytest.approx(70)
    with pytest.raises(OutOfRange, match="longer end"):
        read(LayerReading(1, length_mm=100))


def test_shares_are_scaled_to_the_whole():
    coat = read(*(LayerReading(0.33, weeks=weeks) for weeks in (6, 9, 12)))
    assert coat.shares.sum() == pytest.approx(1.0)


def test_twenty_per_cent_every_two_weeks_renews_a_coat_in_five_visits_at_cover_six_tenths():
    # Coat model, section 2 (calculated): lag 28 d, T = 14 d, N = 5: cover after a pull 1 - ceil(L/T)/N = 0.6;
    # five visits, eight weeks from the first to the last (common practice, no published source).
    days = [FIRST + timedelta(days=14 * k) for k in range(5)]
    animal = dog(assessments=(old_coat(),), visits=tuple(visit(day) for day in days))
    coat = coat_of(animal, days[-1])["back"]
    growth = growth_of(animal, "back")
    assert [layer.share for layer in coat.layers] == pytest.approx([0.2] * 5)
    assert [layer.born for layer in coat.layers] == [day_of(day) for day in days]
    assert cover(coat, days[-1], growth) == pytest.approx(0.6)
    assert days[-1] - days[0] == timedelta(weeks=8)


def test_the_morning_of_a_visit_is_before_it():
    animal = dog(assessments=(old_coat(),), visits=(visit(FIRST, 0.3),))
    assert len(coat_of(animal, FIRST, before=True)["back"].layers) == 1
    assert coat_of(animal, FIRST)["back"].layers[-1] == Layer(day_of(FIRST), pytest.approx(0.3))


def test_the_last_assessment_counts_zone_by_zone():
    second = Assessment("two", date(2027, 1, 15), {"ribs": ZoneReading((LayerReading(1, weeks=6),))})
    both = visit(date(2027, 1, 1), back=Take(0.2), ribs=Take(0.4))
    animal = dog(assessments=(old_coat(), second), visits=(both,))
    coats = coat_of(animal, date(2027, 1, 20))
    assert len(coats["back"].layers) == 2
    assert coats["ribs"].layers == (Layer(day_of(second.day) - 42, 1.0),)
    assert len(coat_of(animal, date(2027, 1, 10))["ribs"].layers) == 2


def test_a_visit_can_break_card_and_scissor():
    reading = ZoneReading((LayerReading(1.0, resting=True),), "packed")
    start = Assessment("coat", FIRST, {"back": reading})
    done = Visit("v", FIRST, {"back": Take(0.4, broken=0.25, cut_to_mm=30)}, carded=("back",))
    animal = dog(assessments=(start,), visits=(done,))
    coat = coat_of(animal, FIRST)["back"]
    # Of the 40 % pulled a quarter broke: 30 % are renewed, 10 % are stubs; the other 60 % are cut to 30 mm.
    assert coat.layers[-1].share == pytest.approx(0.3)
    lengths = dict(zip(coat.lengths(day_of(FIRST), growth_of(animal, "back")), coat.shares, strict=True))
    assert {round(float(mm)): round(float(share), 6) for mm, share in lengths.items()} == {
        30: 0.6,
        3: 0.1,
        0: 0.3,
    }
    assert coat.undercoat == "some"
    assert last_carded(animal, "back", FIRST) == FIRST
    assert last_carded(animal, "ribs", FIRST) is None


def test_blown_hair_is_shed_between_visits():
    animal = dog(assessments=(old_coat(),), growth={"loss": 0.01, "hold": 0.0})
    later = coat_of(animal, FIRST + timedelta(days=30))["back"]
    # A hair is lost with chance 0.01 a day: 0.99 ** 30 stand.
    assert later.layers[0].share == pytest.approx(0.99**30, abs=0.01)
    assert later.shares.sum() == pytest.approx(1.0)


def test_a_take_beyond_what_stands_is_refused_with_dog_visit_and_zone():
    animal = dog(assessments=(old_coat(),), visits=(visit(FIRST, 0.6), visit(date(2026, 12, 15), 0.5)))
    with pytest.raises(OutOfRange) as caught:
        coat_of(animal, date(2026, 12, 31))
    assert caught.value.where == "Bramble, visit of 2026-12-15, back"
    assert "50 %" in caught.value.what
    assert "40 %" in caught.value.what


def test_without_an_assessment_there_is_no_coat():
    with pytest.raises(OutOfOrder, match="assessment"):
        coat_of(dog(), FIRST)
    with pytest.raises(OutOfOrder):
        coat_of(dog(assessments=(old_coat(),)), FIRST - timedelta(days=1))


def test_every_stretch_between_assessments_is_checked():
    second = old_coat(date(2027, 2, 1), id="two")
    good = dog(assessments=(old_coat(), second), visits=(visit(date(2027, 1, 1)), visit(date(2027, 2, 1))))
    check_coat(good)
    early = replace(good, visits=(visit(FIRST, 0.9), visit(date(2026, 12, 8), 0.9), good.visits[1]))
    coat_of(early, date(2027, 2, 2))
    with pytest.raises(InputError, match="2026-12-08"):
        check_coat(early)


def test_a_visit_to_a_zone_that_was_never_read_is_refused():
    animal = dog(assessments=(old_coat(),), visits=(visit(FIRST, id="v", skull=Take(0.1)),))
    with pytest.raises(OutOfOrder, match="skull"):
        check_coat(animal)


def test_growth_takes_the_pattern_then_the_dog_then_the_zone():
    breed = pattern("lakeland")
    animal = dog(growth={"rate": 0.4, "lag": 30.0}, zone_growth={"ribs": {"rate": 0.5, "end": 80.0}})
    assert growth_of(animal, "back") == Growth(end=breed.end_mm["back"], rate=0.4, lag=30.0)
    assert growth_of(animal, "ribs") == Growth(end=80.0, rate=0.5, lag=30.0)


def test_an_aim_is_the_patterns_band_moved_by_the_shape_note():
    band = pattern("lakeland").aims["ribs"]
    animal = dog(shape_mm={"ribs": 3.0}, wish=DogWish(look_cover=0.5))
    for style in ("staged", "rolling"):
        aim = aim_of(animal, "ribs", style)
        assert (aim.lo, aim.hi) == (band.lo + 3.0, band.hi + 3.0)
    assert aim_of(animal, "ribs", "rolling").cover <= 0.5 < aim_of(animal, "ribs", "staged").cover
    assert aim_of(animal, "feet", "staged") is None
    with pytest.raises(UnknownName):
        aim_of(animal, "ribs", "clipped")


def test_the_dogs_own_coat_goes_before_the_patterns():
    assert is_double(dog())
    assert not is_double(dog(single_coat=True))
    assert cover_floor(dog(), "back") == 0.0
    # A zone without undercoat is never taken below 0.3: this program's own assumption, adjustable.
    assert cover_floor(dog(single_coat=True), "back") == 0.3
    assert cover_floor(dog(welfare_cover=0.4), "ears") == 0.4
