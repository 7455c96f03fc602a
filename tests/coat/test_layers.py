"""A zone's layers, and what pulling, cutting, carding and shedding leave of them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.coat import measures
from coatwright.coat.growth import Growth
from coatwright.coat.layers import STUB_MM, Layer, Pulled, ZoneCoat, card, cut, pull, shed
from coatwright.errors import OutOfRange
from tests.coat.coats import GROWTHS, TODAY, coats, part_of

GROWTH = Growth(lag=28.0, rate=0.5, end=60.0)
THREE = ZoneCoat.of([Layer(TODAY - 200, 0.3), Layer(TODAY - 80, 0.5), Layer(TODAY - 10, 0.2)])
"""30 % old, 50 % of 26 mm, 20 % still under the skin."""


def shares_by_age(coat: ZoneCoat) -> dict[int, float]:
    """Share of the hairs of each age, days on the day of the tests; cut and whole hair together."""
    found: dict[int, float] = {}
    for layer in coat.layers:
        found[TODAY - layer.born] = found.get(TODAY - layer.born, 0.0) + layer.share
    return found


# --- layers -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("layers", "what", "remedy"),
    [
        ((), "This zone has no hair left", "at least one layer"),
        ((Layer(1, 1.2),), "The share of a layer is 120 %", "0.2 (20 %)"),
        ((Layer(1, 1.1), Layer(2, -0.1)), "The share of a layer is 110 %", "0.2 (20 %)"),
        ((Layer(1, 1.0), Layer(2, -0.1)), "The share of a layer is -10 %", "0.2 (20 %)"),
        ((Layer(1, 1.0, -4.0),), "A layer has -4 mm cut off", "0 mm or more"),
        ((Layer(1, 0.5), Layer(2, 0.4)), "The layers add up to 90.0 %", "add up to 100 %"),
        ((Layer(1, 0.7), Layer(2, 0.4)), "The layers add up to 110.0 %", "add up to 100 %"),
    ],
)
def test_layers_that_make_no_coat_are_refused(layers: tuple[Layer, ...], what: str, remedy: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        ZoneCoat(layers)
    assert what in refused.value.what
    assert remedy in refused.value.remedy


def test_an_undercoat_has_one_of_three_readings() -> None:
    for reading in ("none", "some", "packed"):
        assert ZoneCoat(THREE.layers, reading).undercoat == reading
    with pytest.raises(OutOfRange, match=r"given as 'thick'. Use one of none, some, packed\."):
        ZoneCoat(THREE.layers, "thick")


def test_a_coat_of_nothing_is_refused_however_it_is_put_together() -> None:
    for nothing in ([], [Layer(TODAY, 0.0)]):
        with pytest.raises(OutOfRange, match="no hair left"):
            ZoneCoat.of(nothing)


def test_equal_layers_are_one_and_the_oldest_comes_first() -> None:
    coat = ZoneCoat.of(
        [
            Layer(5, 0.25),
            Layer(2, 0.25),
            Layer(5, 0.125),
            Layer(5, 0.125, 4.0),
            Layer(2, 0.25),
            Layer(9, 0.0),
        ],
        "packed",
    )
    assert coat.layers == (Layer(2, 0.5), Layer(5, 0.375), Layer(5, 0.125, 4.0))
    assert coat.undercoat == "packed"
    assert [layer.cut for layer in coat.layers] == [False, False, True]
    assert coat.born.tolist() == [2, 5, 5]
    assert coat.shares.tolist() == [0.5, 0.375, 0.125]
    assert coat.removed.tolist() == [0, 0, 4]


def test_readings_of_any_total_are_scaled_to_the_whole() -> None:
    assert [x.share for x in ZoneCoat.of([Layer(1, 0.2), Layer(2, 0.6)]).layers] == pytest.approx(
        [0.25, 0.75]
    )


def test_a_rolling_coat_at_rest_has_equal_layers_the_newest_just_pulled() -> None:
    coat = ZoneCoat.even(TODAY, 14, 5, "none")
    assert coat.born.tolist() == [TODAY - 56, TODAY - 42, TODAY - 28, TODAY - 14, TODAY]
    assert coat.shares == pytest.approx([0.2] * 5)
    assert coat.undercoat == "none"


def test_lengths_are_those_of_each_layers_age_less_what_was_cut() -> None:
    coat = ZoneCoat.of([Layer(TODAY - 200, 0.5), Layer(TODAY - 48, 0.3), Layer(TODAY - 48, 0.2, 4.0)])
    assert coat.lengths(TODAY, GROWTH) == pytest.approx([60.0, 10.0, 6.0])
    assert coat.lengths(TODAY + 10, GROWTH) == pytest.approx([60.0, 15.0, 11.0])


# --- pulling ----------------------------------------------------------------------------------------------


def test_the_oldest_hair_goes_first_and_only_then_the_next() -> None:
    done = pull(THREE, TODAY, 0.4, GROWTH)
    assert shares_by_age(done.coat) == pytest.approx({80: 0.4, 10: 0.2, 0: 0.4})
    assert [(layer.born, share) for layer, share in done.renewed] == [
        (TODAY - 200, pytest.approx(0.3)),
        (TODAY - 80, pytest.approx(0.1)),
    ]
    assert done.taken == pytest.approx(0.4)
    assert done.broken == 0.0


def test_nothing_pulled_leaves_the_coat_as_it_is() -> None:
    assert pull(THREE, TODAY, 0.0, GROWTH) == Pulled(THREE)


def test_a_blind_hand_takes_of_each_visible_layer_alike() -> None:
    done = pull(THREE, TODAY, 0.4, GROWTH, selectivity=0.0)
    assert shares_by_age(done.coat) == pytest.approx({200: 0.15, 80: 0.25, 10: 0.2, 0: 0.4})


def test_a_hand_that_is_half_blind_takes_half_by_age_and_half_of_what_is_left_alike() -> None:
    """Of 40 %, 20 % are the oldest; the other 20 % come alike from the 10 % and 50 % then left."""
    done = pull(THREE, TODAY, 0.4, GROWTH, selectivity=0.5)
    assert shares_by_age(done.coat) == pytest.approx(
        {200: 0.1 * (1 - 1 / 3), 80: 0.5 * (1 - 1 / 3), 10: 0.2, 0: 0.4}
    )


def test_cut_hair_goes_with_its_age_not_with_its_length() -> None:
    """The old blunt stub of 2 mm is ripe and comes out before the whole hair of 26 mm."""
    coat = ZoneCoat.of([Layer(TODAY - 200, 0.3, 58.0), Layer(TODAY - 80, 0.7)])
    done = pull(coat, TODAY, 0.3, GROWTH)
    assert measures.cut_share(coat) == pytest.approx(0.3)
    assert measures.cut_share(done.coat) == 0.0
    assert shares_by_age(done.coat) == pytest.approx({80: 0.7, 0: 0.3})


def test_of_one_age_the_whole_hair_goes_before_the_cut() -> None:
    coat = ZoneCoat.of([Layer(TODAY - 80, 0.4, 10.0), Layer(TODAY - 80, 0.6)])
    done = pull(coat, TODAY, 0.5, GROWTH)
    assert done.coat.layers[:2] == (Layer(TODAY - 80, pytest.approx(0.1)), Layer(TODAY - 80, 0.4, 10.0))


def test_broken_hair_stays_as_a_stub_of_its_own_age_and_only_the_rest_is_renewed() -> None:
    done = pull(THREE, TODAY, 0.4, GROWTH, broken=0.25)
    assert done.broken == pytest.approx(0.1)
    assert done.taken == pytest.approx(0.4)
    assert shares_by_age(done.coat) == pytest.approx({200: 0.075, 80: 0.425, 10: 0.2, 0: 0.3})
    stubs = [layer for layer in done.coat.layers if layer.cut]
    assert [(TODAY - s.born, s.share) for s in stubs] == [
        (200, pytest.approx(0.075)),
        (80, pytest.approx(0.025)),
    ]
    standing = dict(zip(done.coat.layers, done.coat.lengths(TODAY, GROWTH), strict=True))
    assert [standing[stub] for stub in stubs] == pytest.approx([STUB_MM, STUB_MM])
    assert measures.cut_share(done.coat) == pytest.approx(0.1)


def test_breaking_a_stub_that_is_shorter_than_the_break_leaves_it_as_it_is() -> None:
    coat = ZoneCoat.of([Layer(TODAY - 200, 1.0, 59.0)])
    done = pull(coat, TODAY, 0.5, GROWTH, broken=0.5)
    assert {layer.removed for layer in done.coat.layers} == {0.0, 59.0}
    assert done.coat.lengths(TODAY, GROWTH).max() == pytest.approx(1.0)


def test_hair_that_breaks_through_today_may_be_pulled_and_younger_may_not() -> None:
    coat = ZoneCoat.of([Layer(TODAY - 28, 0.5), Layer(TODAY - 27, 0.5)])
    assert shares_by_age(pull(coat, TODAY, 0.5, GROWTH).coat) == pytest.approx({27: 0.5, 0: 0.5})


@pytest.mark.parametrize("asked", [0.801, 0.805, 0.8099])
def test_a_take_up_to_a_hundredth_above_what_stands_is_all_that_stands(asked: float) -> None:
    done = pull(THREE, TODAY, asked, GROWTH)
    assert done.taken == pytest.approx(0.8)
    assert shares_by_age(done.coat) == pytest.approx({10: 0.2, 0: 0.8})


def test_more_than_stands_is_refused_with_both_figures() -> None:
    with pytest.raises(OutOfRange, match="only 80 %"):
        pull(THREE, TODAY, 0.8105, GROWTH)
    with pytest.raises(OutOfRange) as refused:
        pull(THREE, TODAY, 0.82, GROWTH)
    assert refused.value.what == "The take is 82 % but only 80 % of the zone's hairs stand above the skin."
    assert refused.value.remedy == "Take less, or correct the last assessment."


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        ({"share": 1.4}, "The take is 140 %"),
        ({"share": -0.1}, "The take is -10 %"),
        ({"selectivity": 1.1}, "The selectivity is 110 %"),
        ({"selectivity": -0.2}, "The selectivity is -20 %"),
        ({"broken": 1.5}, "The share of broken hair is 150 %"),
        ({"broken": -0.5}, "The share of broken hair is -50 %"),
        ({"day": TODAY - 11}, "Log visits in the order of their dates"),
    ],
)
def test_a_pull_that_cannot_be_is_refused(arguments: dict[str, float], text: str) -> None:
    with pytest.raises(OutOfRange, match=text):
        pull(THREE, **{"day": TODAY, "share": 0.2, "growth": GROWTH, **arguments})


def test_pulling_does_not_touch_the_undercoat() -> None:
    packed = ZoneCoat(THREE.layers, "packed")
    assert pull(packed, TODAY, 0.2, GROWTH).coat.undercoat == "packed"


# --- scissors, comb, and hair that falls out by itself ------------------------------------------------------


def test_scissors_shorten_longer_hair_and_leave_shorter_hair_whole() -> None:
    done = cut(THREE, TODAY, 26.0, GROWTH)
    assert done.lengths(TODAY, GROWTH) == pytest.approx([26.0, 26.0, 0.0])
    assert done.removed == pytest.approx([34.0, 0.0, 0.0])
    assert done.born.tolist() == THREE.born.tolist()
    again = cut(done, TODAY + 20, 30.0, GROWTH)
    # the rested hair stands still at 26 mm; the growing one, 36 mm by now, is the one that is cut
    assert again.removed == pytest.approx([34.0, 6.0, 0.0])


def test_a_second_cut_above_the_first_changes_nothing_and_one_below_it_does() -> None:
    first = cut(THREE, TODAY, 10.0, GROWTH)
    assert cut(first, TODAY, 15.0, GROWTH) == first
    assert cut(first, TODAY, 4.0, GROWTH).lengths(TODAY, GROWTH) == pytest.approx([4.0, 4.0, 0.0])


def test_clipping_to_the_skin_cuts_everything_that_stands() -> None:
    assert measures.cut_share(cut(THREE, TODAY, 0.0, GROWTH)) == pytest.approx(0.8)


def test_a_negative_length_cannot_be_cut_to() -> None:
    with pytest.raises(OutOfRange, match=r"cut to -3 mm. Give a length of 0 mm or more\."):
        cut(THREE, TODAY, -3.0, GROWTH)


def test_cutting_and_shedding_keep_the_undercoat() -> None:
    packed = ZoneCoat(THREE.layers, "packed")
    assert cut(packed, TODAY, 10.0, GROWTH).undercoat == "packed"
    assert shed(packed, TODAY, TODAY + 400, GROWTH.with_(loss=0.02)).undercoat == "packed"


def test_carding_loosens_a_packed_undercoat_and_touches_nothing_else() -> None:
    assert card(ZoneCoat(THREE.layers, "packed")) == ZoneCoat(THREE.layers, "some")
    assert card(ZoneCoat(THREE.layers, "some")) == ZoneCoat(THREE.layers, "some")
    assert card(ZoneCoat(THREE.layers, "none")) == ZoneCoat(THREE.layers, "none")


def test_blown_hair_falls_out_and_is_born_again_on_the_day_looked_at() -> None:
    """Full length at 148 d, blown at 208 d: the oldest layer, 200 d old, is lost from the eighth day on."""
    losing = GROWTH.with_(loss=0.02)
    assert losing.blown_age == 208.0
    assert shed(THREE, TODAY, TODAY + 8, losing) == THREE
    later = shed(THREE, TODAY, TODAY + 18, losing)
    kept = 0.3 * 0.98**10
    assert shares_by_age(later) == pytest.approx({200: kept, 80: 0.5, 10: 0.2, -18: 0.3 - kept})


def test_nothing_falls_out_without_loss_or_without_time() -> None:
    assert shed(THREE, TODAY, TODAY + 900, GROWTH) is THREE
    losing = GROWTH.with_(loss=0.02)
    assert shed(THREE, TODAY + 300, TODAY + 300, losing) is THREE
    assert shed(THREE, TODAY + 300, TODAY + 200, losing) is THREE


def test_shed_cut_hair_keeps_its_tip_and_grows_again_whole() -> None:
    coat = ZoneCoat.of([Layer(TODAY - 300, 1.0, 20.0)])
    later = shed(coat, TODAY, TODAY + 1, GROWTH.with_(loss=0.5))
    assert later.layers == (
        Layer(TODAY - 300, pytest.approx(0.5), 20.0),
        Layer(TODAY + 1, pytest.approx(0.5)),
    )


# --- what always holds --------------------------------------------------------------------------------------


@settings(max_examples=200, deadline=None)
@given(
    coats(),
    GROWTHS,
    st.lists(
        st.tuples(
            st.sampled_from(["pull", "cut", "card", "shed"]),
            st.integers(0, 60),
            st.floats(0, 1),
            st.floats(0, 1),
            st.floats(0, 0.5),
        ),
        max_size=8,
    ),
)
def test_whatever_is_done_the_shares_add_up_to_one_and_every_measure_stays_in_its_range(
    coat: ZoneCoat, growth: Growth, works: list[tuple[str, int, float, float, float]]
) -> None:
    day = TODAY
    for work, later, part, selectivity, broken in works:
        coat = shed(coat, day, day + later, growth)
        day += later
        before = measures.cover(coat, day, growth)
        if work == "pull":
            share = part_of(before, part)
            done = pull(coat, day, share, growth, selectivity=selectivity, broken=broken)
            assert done.taken == pytest.approx(share, abs=1e-9)
            renewed = sum(share for _, share in done.renewed)
            assert measures.cover(done.coat, day, growth) == pytest.approx(before - renewed, abs=1e-9)
            coat = done.coat
        elif work == "cut":
            coat = cut(coat, day, 40 * part, growth)
            assert coat.lengths(day, growth).max() <= 40 * part + 1e-6
            assert measures.cover(coat, day, growth) == pytest.approx(before, abs=1e-9)
        elif work == "card":
            coat = card(coat)
        assert coat.shares.sum() == pytest.approx(1.0, abs=1e-9)
        assert (coat.shares > 0).all()
        assert (np.diff(coat.born) >= 0).all()
        assert (coat.born <= day).all()
        for share in (measures.cover(coat, day, growth), measures.cut_share(coat)):
            assert -1e-9 <= share <= 1 + 1e-9
        assert 0.0 <= measures.effective_layers(coat, day, growth) <= len(coat.layers) + 1e-9


@settings(max_examples=200, deadline=None)
@given(coats(cut=False), GROWTHS, st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_pulling_whole_hair_never_lengthens_the_outline(
    coat: ZoneCoat, growth: Growth, part: float, selectivity: float, broken: float
) -> None:
    before = measures.outline(coat, TODAY, growth)
    share = part_of(measures.cover(coat, TODAY, growth), part)
    done = pull(coat, TODAY, share, growth, selectivity=selectivity, broken=broken)
    assert measures.outline(done.coat, TODAY, growth) <= before + 1e-5


@settings(max_examples=100, deadline=None)
@given(coats(), GROWTHS, st.floats(0, 1), st.floats(0, 1))
def test_two_pulls_on_a_day_are_one_of_both(coat: ZoneCoat, growth: Growth, a: float, b: float) -> None:
    """By age alone: what is pulled first is the oldest, so the second goes on where the first ended."""
    stands = measures.cover(coat, TODAY, growth)
    one, two = 0.499 * a * stands, 0.499 * b * stands
    apart = pull(pull(coat, TODAY, one, growth).coat, TODAY, two, growth).coat
    together = pull(coat, TODAY, one + two, growth).coat
    ages = set(shares_by_age(apart)) | set(shares_by_age(together))
    for age in ages:
        assert shares_by_age(apart).get(age, 0.0) == pytest.approx(
            shares_by_age(together).get(age, 0.0), abs=1e-9
        )


@pytest.mark.parametrize("count", [3, 5, 6, 7, 10, 11])
def test_all_that_stands_may_be_pulled_whatever_the_last_digit(count: int) -> None:
    """Shares may add up to a last digit above 1; such a cover is still a take that can be given."""
    weights = np.random.default_rng(count).dirichlet(np.ones(count), 200)
    for shares in weights:
        coat = ZoneCoat.of(Layer(TODAY - 60 - k, float(share), 4.0) for k, share in enumerate(shares))
        assert 0.0 <= measures.cut_share(coat) <= 1.0
        stands = measures.cover(coat, TODAY, GROWTH)
        assert pull(coat, TODAY, stands, GROWTH).taken == pytest.approx(1.0)
