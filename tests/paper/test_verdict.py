"""Verdicts, differences, further hairs and trends: what they say where the answer is known."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from coatwright.errors import OutOfRange
from coatwright.paper import history, settle, witnesses
from coatwright.paper.compare import difference, difference_of_ends
from coatwright.paper.history import DULLING, MENDING, STEADY, UNKNOWN, ToolTest, trend
from coatwright.paper.settle import more_for_ends, more_hairs
from coatwright.paper.share import GRID, PRIOR, ShareBelief
from coatwright.paper.verdict import (
    BREAKS,
    DOUBTFUL,
    FEWEST,
    LIMIT,
    RULE,
    SOUND,
    TOO_FEW,
    believed,
    verdict,
    verdict_on,
    word_for,
)
from coatwright.paper.witness_ends import Misjudged, ends_belief
from coatwright.paper.witness_lengths import Fingers
from coatwright.paper.witnesses import hear

KNOWN = Misjudged(144, 6, 146, 4)

# --- the verdict ------------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=40)
@given(st.integers(1, FEWEST - 1), st.data())
def test_no_verdict_below_forty_hairs(judged: int, data: st.DataObject) -> None:
    broken = data.draw(st.integers(0, judged))
    found = verdict_on(ends_belief(broken, judged), judged)
    assert found.word == TOO_FEW
    assert found.share is None
    assert found.interval is None
    assert str(FEWEST) in found.text


@pytest.mark.parametrize(
    ("broken", "judged", "word"), [(0, 100, SOUND), (5, 100, DOUBTFUL), (15, 100, BREAKS)]
)
def test_three_words(broken: int, judged: int, word: str) -> None:
    found = verdict_on(ends_belief(broken, judged), judged)
    assert found.word == word
    assert found.text.startswith(word.capitalize())


def test_a_tool_that_breaks_is_not_for_a_rolling_coat_nor_a_show_dog() -> None:
    breaks = verdict_on(ends_belief(20, 100), 100)
    assert breaks.rule == RULE
    assert "rolling coat" in RULE
    assert "show dog" in RULE
    assert "rolling coat" in verdict_on(ends_belief(5, 100), 100).rule
    assert verdict_on(ends_belief(0, 100), 100).rule == ""


def test_seventy_five_clear_hairs_and_none_broken_are_sound() -> None:
    """The rule of three puts the one-sided limit for none of 75 at 4 %."""
    assert word_for(ends_belief(0, 75)) == SOUND
    assert word_for(ends_belief(0, FEWEST)) == DOUBTFUL


@settings(deadline=None, max_examples=60)
@given(st.integers(40, 300), st.data())
def test_one_more_broken_hair_never_speaks_for_the_tool(judged: int, data: st.DataObject) -> None:
    broken = data.draw(st.integers(0, judged - 1))
    less, more = (ends_belief(k, judged, KNOWN).above(LIMIT) for k in (broken, broken + 1))
    assert more >= less - 1e-9


def test_lengths_that_contradict_the_ends_leave_it_doubtful() -> None:
    """A tool that takes shorter whole hair looks like one that breaks, to the lengths alone."""
    rng = np.random.default_rng(5)
    long, short = 40 + 3 * rng.standard_normal(100), rng.uniform(8.0, 36.0, 60)
    control = Fingers(tuple(40 + 3 * rng.standard_normal(100)))
    ends = np.zeros(160, dtype=int)
    heard = hear(rng, lengths=np.append(long, short), control=control, judged=ends, misjudged=KNOWN)
    assert heard.contradicted
    found = verdict(heard)
    assert found.word == DOUBTFUL
    assert "shorter hair" in found.why


def test_witnesses_that_agree_are_believed() -> None:
    rng = np.random.default_rng(6)
    whole, pieces = 40 + 3 * rng.standard_normal(80), rng.uniform(5.0, 38.0, 20)
    ends = np.array([0] * 80 + [1] * 20)
    heard = hear(
        rng,
        lengths=np.append(whole, pieces),
        control=Fingers(tuple(40 + 3 * rng.standard_normal(100))),
        judged=ends,
        misjudged=KNOWN,
    )
    assert not heard.contradicted
    assert heard.heard == 100
    assert verdict(heard).word == BREAKS
    assert heard.ends is not None
    assert heard.lengths is not None
    assert heard.belief.sd < min(heard.ends.sd, heard.lengths.sd)


def test_lengths_alone_do_not_clear_a_tool() -> None:
    """A break just above the skin, where the coat model has it, leaves the hair almost its whole length."""
    rng = np.random.default_rng(7)
    control, lengths = (40 + 3 * rng.standard_normal(150) for _ in range(2))
    heard = hear(rng, lengths=lengths, control=Fingers(tuple(control)))
    assert word_for(heard.belief) == SOUND
    found = verdict(heard)
    assert found.word == DOUBTFUL
    assert "above the skin" in found.why


def test_breaks_just_above_the_skin_are_seen_by_the_ends() -> None:
    rng = np.random.default_rng(8)
    lengths = 40 + 3 * rng.standard_normal(150)
    lengths[:40] -= 3.0
    ends = np.array([1] * 40 + [0] * 110)
    control = Fingers(tuple(40 + 3 * rng.standard_normal(150)))
    heard = hear(rng, lengths=lengths, control=control, judged=ends, misjudged=KNOWN)
    found = verdict(heard)
    assert heard.contradicted
    assert found.word == BREAKS
    assert "above the skin" in found.why


def test_a_hand_count_is_heard_alone() -> None:
    heard = hear(np.random.default_rng(1), judged=[1] * 3 + [0] * 57)
    assert heard.lengths is None
    assert heard.heard == 60
    assert np.allclose(heard.belief.weight, ends_belief(3, 60).weight)
    assert heard.chance[:3] == pytest.approx(1.0)
    assert heard.chance[3:] == pytest.approx(0.0)


# --- two tools --------------------------------------------------------------------------------------------


def test_difference_of_two_clear_counts_agrees_with_a_simulation() -> None:
    """The posterior of a difference, by quadrature here and by 400,000 random Beta numbers."""
    rng = np.random.default_rng(9)
    one = stats.beta(12 + PRIOR, 68 + PRIOR).rvs(400_000, random_state=rng)
    two = stats.beta(4 + PRIOR, 86 + PRIOR).rvs(400_000, random_state=rng)
    found = difference(ends_belief(12, 80), ends_belief(4, 90))
    assert found.mean == pytest.approx(float((one - two).mean()), abs=5e-4)
    assert found.interval == pytest.approx(tuple(np.quantile(one - two, [0.025, 0.975])), abs=1.5e-3)
    assert found.chance == pytest.approx(float((one > two).mean()), abs=2e-3)


def test_a_tool_against_itself_is_a_coin() -> None:
    found = difference_of_ends((6, 90), (6, 90), KNOWN)
    assert found.mean == pytest.approx(0.0, abs=1e-9)
    assert found.chance == pytest.approx(0.5, abs=1e-6)
    assert found.interval[0] == pytest.approx(-found.interval[1], abs=1e-3)


def test_misjudgement_that_both_tools_share_falls_out_of_the_difference() -> None:
    few_known = Misjudged(28, 2, 28, 2)
    shared = difference_of_ends((60, 400), (30, 400), few_known)
    apart = difference(ends_belief(60, 400, few_known), ends_belief(30, 400, few_known))
    assert np.diff(shared.interval) < np.diff(apart.interval)
    assert shared.chance > 0.99


def test_without_misjudgement_the_difference_is_of_plain_counts() -> None:
    assert difference_of_ends((5, 60), (2, 60)) == difference(ends_belief(5, 60), ends_belief(2, 60))


# --- how many more ----------------------------------------------------------------------------------------


def test_a_verdict_that_stands_needs_no_more_hairs() -> None:
    assert more_for_ends(0, 200).more == 0
    assert more_hairs(ends_belief(40, 200), 200).more == 0


@pytest.mark.parametrize("misjudged", [None, Misjudged(960, 40, 980, 20)])
def test_the_hairs_asked_for_settle_it_as_often_as_promised(misjudged: Misjudged | None) -> None:
    """Shares drawn from what is believed, further hairs drawn at them: the promise is kept in a simulation."""
    broken, judged = (2, 50) if misjudged is None else (1, 80)
    asked = more_for_ends(broken, judged, misjudged)
    assert asked.more
    assert asked.chance >= settle.HOPE
    rng = np.random.default_rng(2)
    belief = ends_belief(broken, judged, misjudged)
    cells = rng.choice(len(belief.weight), 400, p=belief.weight)
    share = GRID[cells]
    if misjudged is not None:
        share = share * misjudged.sensitivity + (1 - share) * (1 - misjudged.specificity)
    counts = rng.binomial(asked.more, share)
    words = {
        k: word_for(ends_belief(broken + k, judged + asked.more, misjudged)) for k in set(counts.tolist())
    }
    settled = np.mean([words[k] != DOUBTFUL for k in counts.tolist()])
    assert settled == pytest.approx(asked.chance, abs=0.1)


def test_the_short_way_agrees_with_the_exact_one_for_clear_hairs() -> None:
    exact, short = more_for_ends(2, 50), more_hairs(ends_belief(2, 50), 50)
    assert exact.more == short.more
    assert exact.chance == pytest.approx(short.chance, abs=0.03)


def test_loose_judging_cannot_be_settled_by_counting_on() -> None:
    """At the limit itself no number of hairs helps."""
    found = more_for_ends(60, 400, Misjudged(18, 2, 18, 2))
    assert found.more is None
    assert "known state" in found.text


def test_hairs_below_the_least_number_are_asked_for_first() -> None:
    found = more_for_ends(10, 20)
    assert found.more is not None
    assert 20 + found.more >= FEWEST


# --- over time --------------------------------------------------------------------------------------------


def _tests(shares: list[float], each: int = 100, misjudged: Misjudged | None = None) -> list[ToolTest]:
    return [
        ToolTest(1000 + 60 * i, ends_belief(round(each * share), each, misjudged))
        for i, share in enumerate(shares)
    ]


def test_an_edge_that_goes_dull() -> None:
    found = trend(_tests([0.01, 0.02, 0.04, 0.08, 0.14]))
    assert found.word == DULLING
    assert found.interval[0] > 1.0
    assert [low < middle < high for low, middle, high in found.shares] == [True] * 5
    assert found.shares[-1][1] > found.shares[0][1]


def test_an_even_tool_shows_no_change_and_a_better_one_says_so() -> None:
    assert trend(_tests([0.05, 0.04, 0.05, 0.06, 0.05])).word == STEADY
    assert trend(_tests([0.20, 0.14, 0.08, 0.03, 0.01])).word == MENDING


def test_two_tests_are_too_few_for_a_word() -> None:
    found = trend(_tests([0.01, 0.30]))
    assert found.word == UNKNOWN
    assert found.chance > 0.9


def test_a_trend_takes_two_days() -> None:
    with pytest.raises(OutOfRange, match="two days"):
        trend([ToolTest(5, ends_belief(1, 60)), ToolTest(5, ends_belief(3, 60))])


@pytest.mark.parametrize(("days", "told"), [(1, False), (7, False), (13, False), (14, True), (200, True)])
def test_a_few_days_tell_no_factor_for_a_hundred(days: int, told: bool) -> None:
    """Opposite outcomes on neighbouring days: drawn out to 100 days the odds would be beyond the largest number."""
    for first, last in (((0, 300), (300, 300)), ((300, 300), (0, 300))):
        found = trend([ToolTest(900, ends_belief(*first)), ToolTest(900 + days, ends_belief(*last))])
        assert (found.factor is not None) == (found.interval is not None) == told
        assert (found.chance > 0.99) == (first < last)
        assert ("In 100 days the odds" in found.text) == told
        assert ("Tests within 14 days do not tell how fast" in found.text) == (not told)
        assert f"that they {'grow' if first < last else 'fall'} has a chance of above 99 %" in found.text
        if found.interval is not None:
            assert math.isfinite(found.interval[1])


def test_the_slope_agrees_with_a_plain_logistic_regression_when_counts_are_great() -> None:
    """Shares on a straight line in log odds, one unit in 100 days: the factor is e, give or take the prior."""
    logits = [-4.0, -3.4, -2.8, -2.2]
    tests = [
        ToolTest(60 * i, ends_belief(round(40_000 / (1 + math.exp(-v))), 40_000))
        for i, v in enumerate(logits)
    ]
    found = trend(tests)
    assert found.factor == pytest.approx(math.e, rel=0.06)
    assert found.interval[0] < math.e < found.interval[1]


def test_interval_of_the_slope_holds() -> None:
    """100 tools tested five times, log odds growing by 0.5 in 100 days, scatter 0.3: the interval holds it."""
    rng = np.random.default_rng(12)
    inside = 0
    for _ in range(100):
        tests = []
        for i in range(5):
            share = 1 / (1 + math.exp(-(-3.0 + 0.5 * 0.6 * i + 0.3 * rng.standard_normal())))
            tests.append(ToolTest(60 * i, ends_belief(int(rng.binomial(100, share)), 100)))
        low, high = trend(tests).interval
        inside += low <= math.exp(0.5) <= high
    assert inside >= 90


def test_scatter_chances_add_up() -> None:
    assert sum(chance for _, chance in history._SCATTERS) == pytest.approx(1.0)


def test_an_interval_must_have_a_level() -> None:
    with pytest.raises(OutOfRange):
        ShareBelief.of_beta(1.0, 1.0).interval(1.0)


# --- how many hairs a word rests on ------------------------------------------------------------------------


def _sheet(judged: int, open_: int, *, broken: int = 0, torn: int = 0) -> witnesses.Testimony:
    """A sheet against fingers, of hairs of 40 mm; of the open ones ``torn`` are pieces, of the judged ``broken``."""
    rng = np.random.default_rng(31)
    lengths = 40 + 3 * rng.standard_normal(judged + open_)
    ends = np.array([1] * broken + [0] * (judged - broken) + [-1] * open_)
    pieces = np.append(np.arange(broken), judged + np.arange(torn))
    lengths[pieces] = rng.uniform(5.0, 30.0, len(pieces))
    control = Fingers(tuple(40 + 3 * rng.standard_normal(100)))
    return hear(rng, lengths=lengths, control=control, judged=ends, misjudged=KNOWN)


def test_fewer_than_forty_judged_ends_do_not_make_a_word_with_hairs_that_were_not_judged() -> None:
    """15 judged ends, 8 of them broken, and 40 open hairs none of which is a piece: only the lengths may speak."""
    heard = _sheet(15, 40, broken=8)
    assert (heard.judged, heard.measured, heard.heard) == (15, 55, 55)
    found = verdict(heard)
    assert believed(heard) is heard.lengths
    assert (found.share, found.heard) == (heard.lengths.median, 55)
    assert "from the lengths of 55 hairs alone: 15 judged ones are fewer than 40" in found.why


def test_the_lengths_of_forty_hairs_accuse_alone_and_say_so() -> None:
    found = verdict(_sheet(0, 60, torn=20))
    assert found.word == BREAKS
    assert "from the lengths of 60 hairs alone, none of them judged" in found.why


def test_few_judged_ends_do_not_clear_what_the_lengths_alone_cannot_clear() -> None:
    heard = _sheet(30, 170)
    assert word_for(heard.lengths) == SOUND
    assert verdict(heard).word == DOUBTFUL


def test_neither_forty_ends_nor_forty_lengths_are_no_word() -> None:
    found = verdict(_sheet(20, 15, broken=15))
    assert found.word == TOO_FEW
    assert "35" in found.why


def test_both_numbers_are_told_where_both_witnesses_spoke() -> None:
    found = verdict(_sheet(60, 40, broken=12, torn=8))
    assert found.word == BREAKS
    assert "from 60 judged hairs and the lengths of 100." in found.why
    alone = verdict(hear(np.random.default_rng(1), judged=[1] * 3 + [0] * 57))
    assert "from 60 judged hairs." in alone.why
