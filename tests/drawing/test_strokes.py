"""The picture tells the truth: lengths, shares and roots of the strokes against the looks they were given."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat, cut, pull
from coatwright.drawing.figure import figure
from coatwright.drawing.looks import ZoneLook, look_of
from coatwright.drawing.palette import PALETTES, palette
from coatwright.drawing.roots import LEAST, hashed, roots
from coatwright.drawing.strokes import arc_over_chord, layer_of_roots, strokes
from coatwright.errors import OutOfRange, UnknownName
from tests.drawing.coats import DOGS, STATES, TODAY, looks_of

TERRIER = figure("square", "folded", "up", 390.0)


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog[0])
def test_shares_and_mean_lengths_of_every_zone_are_those_of_its_look(dog, state):
    build, ears, tail, height, colour = dog
    drawn_on = figure(build, ears, tail, height)
    rooted = roots(drawn_on)
    looks = looks_of(state)
    drawn = strokes(drawn_on, rooted, looks, palette(colour))
    for key, look in looks.items():
        rows = np.flatnonzero((drawn.zone == rooted.keys.index(key)) & ~drawn.far)
        count = len(rooted.of(key))
        assert len(rows) / count == pytest.approx(look.cover, abs=0.02)
        if look.cover > 0.0:
            assert drawn.length[rows].mean() == pytest.approx(look.mean_mm, rel=0.02)
        for number, (mean, share) in enumerate(zip(look.lengths_mm, look.shares, strict=True)):
            own = rows[drawn.layer[rows] == number]
            if mean > 0.5:
                assert len(own) / count == pytest.approx(share, abs=0.02)
                assert drawn.length[own].mean() == pytest.approx(mean, rel=0.02)


@given(
    lengths=st.lists(st.floats(3.0, 80.0), min_size=1, max_size=9),
    weights=st.lists(st.floats(0.1, 1.0), min_size=9, max_size=9),
    hair=st.floats(0.1, 1.0),
    spread=st.floats(0.0, 0.2),
    turn=st.floats(0.0, 5.0),
    zone=st.sampled_from(["back", "brows", "feet", "tail"]),
)
@settings(max_examples=60, deadline=None)
def test_any_look_is_drawn_in_its_shares_and_lengths(lengths, weights, hair, spread, turn, zone):
    shares = hair * np.array(weights[: len(lengths)]) / sum(weights[: len(lengths)])
    look = ZoneLook(zone, np.array(lengths), shares, spread=spread, turn=turn)
    rooted = roots(TERRIER)
    drawn = strokes(TERRIER, rooted, {zone: look}, palette("red"))
    near = ~drawn.far
    assert near.sum() / len(rooted.of(zone)) == pytest.approx(look.cover, abs=0.02)
    # one root more or less in a layer moves the mean by its distance from the mean over the roots
    step = (max(lengths) - min(lengths)) / max(near.sum(), 1)
    assert drawn.length[near].mean() == pytest.approx(look.mean_mm, rel=0.02, abs=len(lengths) * step)


def test_the_lengths_of_a_layer_spread_as_the_model_says():
    look = ZoneLook("ribs", np.array([40.0]), np.array([1.0]), spread=0.1)
    drawn = strokes(TERRIER, roots(TERRIER), {"ribs": look}, palette("red"))
    assert drawn.length.std() / drawn.length.mean() == pytest.approx(0.1, rel=0.02)


def test_a_bare_zone_and_a_zone_without_a_look_have_no_strokes():
    bare = ZoneLook("back", np.zeros(1), np.ones(1))
    none = ZoneLook("ribs", np.zeros(0), np.zeros(0))
    drawn = strokes(TERRIER, roots(TERRIER), {"back": bare, "ribs": none}, palette("red"))
    assert drawn.x.size == 0


def test_unseen_zones_are_passed_over():
    look = ZoneLook("belly", np.array([10.0]), np.array([1.0]))
    assert strokes(TERRIER, roots(TERRIER), {"belly": look}, palette("red")).x.size == 0


def test_a_pull_leaves_every_other_hair_on_its_root_and_in_its_place():
    growth = Growth()
    before = ZoneCoat.even(TODAY - 14, 14, 5)
    after = pull(before, TODAY, 0.2, growth).coat
    rooted, red = roots(TERRIER), palette("red")
    one = strokes(TERRIER, rooted, {"ribs": look_of("ribs", before, TODAY, growth, turn=0.4)}, red)
    two = strokes(TERRIER, rooted, {"ribs": look_of("ribs", after, TODAY, growth, turn=0.6)}, red)
    stayed = np.isin(one.root, two.root)
    assert len(two.root) < len(one.root)
    assert np.isin(two.root, one.root).all()
    assert np.allclose(one.length[stayed], two.length)
    # what went was the longest layer
    assert (one.layer[~stayed] == 0).all()


def test_hairs_grow_on_the_same_roots_from_day_to_day():
    growth = Growth()
    coat = ZoneCoat.even(TODAY, 14, 5)
    rooted, red = roots(TERRIER), palette("red")
    # on the next day no layer breaks through or reaches its end
    one, two = (
        strokes(TERRIER, rooted, {"ribs": look_of("ribs", coat, TODAY + day, growth)}, red) for day in (1, 2)
    )
    assert np.array_equal(one.root, two.root)
    assert np.array_equal(one.layer, two.layer)
    assert np.array_equal(one.colour, two.colour)
    assert (two.length - one.length).mean() == pytest.approx(growth.rate, rel=0.01)


@given(st.floats(-0.25, 0.25))
def test_the_length_of_a_stroke_is_the_length_of_its_curve(curvature):
    # A quadratic Bezier curve over a chord of 1 with the sagitta s has its control point at (1/2, 2 s).
    t = np.linspace(0.0, 1.0, 2001)
    points = np.stack([t, 4 * curvature * t * (1 - t)], axis=1)
    measured = np.hypot(*np.diff(points, axis=0).T).sum()
    assert float(arc_over_chord(np.array(curvature))) == pytest.approx(measured, rel=1e-3)


def test_a_taller_dog_wears_the_same_millimetres():
    look = {"ribs": ZoneLook("ribs", np.array([30.0]), np.array([1.0]))}
    tall = figure("square", "folded", "up", 600.0)
    small, large = (strokes(dog, roots(dog), look, palette("red")) for dog in (TERRIER, tall))
    assert large.length.mean() == pytest.approx(small.length.mean(), rel=1e-3)
    assert large.x.max() > 1.4 * small.x.max()


@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog[0])
def test_roots_lie_in_their_zone_evenly_and_are_many_enough(dog):
    drawn_on = figure(*dog[:4])
    rooted = roots(drawn_on)
    for zone in drawn_on.zones:
        rows = rooted.of(zone)
        assert len(rows) >= LEAST
        ranks = np.sort(rooted.rank[rows])
        assert np.allclose(ranks, (np.arange(len(rows)) + 0.5) / len(rows))
    ribs = rooted.of("ribs")
    left = rooted.x[ribs] < np.median(rooted.x[ribs])
    # every part of a zone holds hairs of every rank
    assert rooted.rank[ribs][left].mean() == pytest.approx(0.5, abs=0.03)


def test_layers_lie_on_a_ring_that_starts_at_the_turn():
    look = ZoneLook("back", np.array([9.0, 5.0]), np.array([0.5, 0.25]), turn=0.9)
    rank = np.array([0.95, 0.2, 0.45, 0.6, 0.7, 0.85])
    assert layer_of_roots(look, rank).tolist() == [0, 0, 1, 1, -1, -1]


def test_the_look_of_a_coat_shows_what_has_broken_through():
    growth = Growth(lag=28, rate=0.5, end=60)
    coat = ZoneCoat.of([Layer(TODAY - 128, 0.5), Layer(TODAY - 48, 0.3), Layer(TODAY - 10, 0.2)], "packed")
    look = look_of("back", coat, TODAY, growth)
    assert look.lengths_mm.tolist() == [50.0, 10.0, 0.0]
    assert look.cover == pytest.approx(0.8)
    assert look.mean_mm == pytest.approx((0.5 * 50 + 0.3 * 10) / 0.8)
    assert look.longest_mm == 50.0
    assert look.undercoat == "packed"
    assert 0.0 < look.veil < 1.0


def test_cut_hair_is_marked_on_its_strokes():
    growth = Growth()
    clipped = cut(ZoneCoat.of([Layer(TODAY - 150, 1.0)]), TODAY, 20.0, growth)
    drawn = strokes(
        TERRIER, roots(TERRIER), {"back": look_of("back", clipped, TODAY, growth)}, palette("red")
    )
    assert drawn.cut.all()
    assert drawn.length.mean() == pytest.approx(20.0, rel=0.01)


def test_every_stroke_has_a_colour_of_its_palette():
    for key, colours in PALETTES.items():
        drawn = strokes(TERRIER, roots(TERRIER), looks_of("week 12"), palette(key))
        assert drawn.colour.min() >= 0
        assert drawn.colour.max() < len(colours.colours())
        for mix in (colours.saddle, colours.body, colours.head, colours.furnishing, colours.ears):
            assert sum(share for _, share in mix) == pytest.approx(1.0)


def test_a_saddle_is_dark_above_and_tan_below():
    dark = palette("black_and_tan")
    drawn = strokes(TERRIER, roots(TERRIER), looks_of("week 12"), dark)
    family = np.array(dark.families)[drawn.colour // 6]
    assert (family[drawn.zone == drawn.keys.index("back")] == "black").mean() > 0.8
    assert (family[drawn.zone == drawn.keys.index("forelegs")] == "black").mean() == 0.0


def test_looks_that_cannot_be_are_refused():
    with pytest.raises(OutOfRange, match="Give one of each"):
        ZoneLook("back", np.ones(2), np.ones(1))
    with pytest.raises(OutOfRange, match="more than 100 %"):
        ZoneLook("back", np.ones(2), np.ones(2))
    with pytest.raises(OutOfRange, match="undercoat"):
        ZoneLook("back", np.ones(1), np.ones(1), undercoat="thick")
    with pytest.raises(UnknownName, match="coat colour"):
        palette("purple")


def test_hashed_numbers_are_even_and_do_not_follow_each_other():
    value = hashed(np.arange(20_000), 3)
    assert np.histogram(value, bins=10, range=(0, 1))[0] == pytest.approx(2000, rel=0.1)
    assert abs(np.corrcoef(value[:-1], value[1:])[0, 1]) < 0.03
