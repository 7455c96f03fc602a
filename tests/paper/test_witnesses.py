"""The two witnesses: what they say in cases that can be worked out, how often their intervals hold, whom they accuse.

The runs here are short versions of ``python -m tests.bench.verdict``, whose table is in
docs/reference/paper-test-figures.md; bounds are wider here, for the chance in a short run.
"""

import numpy as np
import pytest
from scipy import stats

from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.errors import OutOfRange
from coatwright.paper.control import layers_taken
from coatwright.paper.share import EDGES, GRID, PRIOR, ShareBelief
from coatwright.paper.verdict import BREAKS, word_for
from coatwright.paper.witness_ends import Misjudged, ends_belief
from coatwright.paper.witness_lengths import Fingers, Layers, lengths_belief
from coatwright.paper.witnesses import hear
from tests.paper import tools


def test_a_clear_count_is_a_beta_distribution() -> None:
    belief = ends_belief(7, 80)
    exact = stats.beta(7 + PRIOR, 73 + PRIOR)
    assert belief.mean == pytest.approx(exact.mean(), abs=1e-6)
    assert belief.sd == pytest.approx(exact.std(), rel=1e-3)
    assert belief.quantile(0.025) == pytest.approx(exact.ppf(0.025), rel=1e-3)
    low, high = belief.interval()
    assert exact.cdf(high) - exact.cdf(low) == pytest.approx(0.95, abs=1e-3)
    per_angle = [exact.pdf(p) * (p * (1 - p)) ** 0.5 for p in (low, high)]
    assert per_angle[0] == pytest.approx(per_angle[1], rel=0.02)
    assert belief.above(0.05) == pytest.approx(exact.sf(0.05), abs=1e-4)
    assert belief.worth == pytest.approx(80.0, rel=1e-3)


def test_an_interval_reaches_down_to_nothing_when_nothing_broke() -> None:
    low, high = ends_belief(0, 80).interval()
    assert low == 0.0
    assert 0.02 < high < 0.04


def test_cells_are_the_whole_of_the_shares() -> None:
    assert EDGES[0] == 0.0
    assert EDGES[-1] == 1.0
    assert np.all((EDGES[:-1] < GRID) & (EDGES[1:] > GRID))


def test_a_likelihood_taken_off_and_put_back_is_the_same_belief() -> None:
    belief = ends_belief(7, 80)
    again = ShareBelief.of_likelihood(belief.log_likelihood)
    assert np.allclose(again.weight, belief.weight, atol=1e-9)


def test_many_known_hairs_leave_only_the_count() -> None:
    """With sensitivity and specificity known to be 1, misjudgement changes nothing."""
    sure = Misjudged(10**7, 0, 10**7, 0)
    assert np.allclose(ends_belief(7, 80, sure).weight, ends_belief(7, 80).weight, atol=2e-4)


def test_a_great_count_finds_the_share_of_rogan_and_gladen() -> None:
    known = Misjudged(96_000, 4_000, 97_000, 3_000)
    apparent = 0.1 * 0.96 + 0.9 * 0.03
    belief = ends_belief(round(20_000 * apparent), 20_000, known)
    assert belief.median == pytest.approx(0.10, abs=0.003)


def test_draws_agree_with_quadrature_when_no_length_is_known() -> None:
    """The same counts by two ways that share no code: Gibbs draws over hairs, and nodes of se and sp."""
    known = Misjudged(90, 5, 140, 6)
    judged = np.array([1] * 14 + [0] * 86)
    drawn = lengths_belief(
        np.full(100, np.nan), Fingers((30.0, 31.0)), np.random.default_rng(1), judged=judged,
        misjudged=known, sweeps=30_000,
    ).belief  # fmt: skip
    exact = ends_belief(14, 100, known)
    assert drawn.mean == pytest.approx(exact.mean, abs=0.003)
    assert drawn.interval() == pytest.approx(exact.interval(), abs=0.008)


def test_draws_agree_with_a_likelihood_written_down() -> None:
    """One layer known for certain: the likelihood of the share is a plain product over hairs."""
    rng = np.random.default_rng(4)
    y = np.concatenate([30 + 3 * rng.standard_normal(70), 30 * rng.uniform(0.1, 1.0, 12)])
    whole = 0.98 * stats.norm(30, 3).pdf(y) + 0.02 / (1.2 * 39 - 2)
    longer = stats.norm(30, 3).ppf((np.arange(4000) + 0.5) / 4000)
    part = ((y[:, None] < longer) / longer).mean(axis=1) / (1 - 2 * (1 / longer).mean())
    stray = np.log(1.2 * 39 / y) / (1.2 * 39 - 2)
    piece = 0.98 * part + 0.02 * stray
    exact = ShareBelief.of_likelihood(np.log((1 - GRID)[:, None] * whole + GRID[:, None] * piece).sum(axis=1))
    assert y.max() < 39
    control = Layers((30.0,), (3.0,), (1.0,), worth=1e7, scale_sd=0.0)
    drawn = lengths_belief(y, control, rng, sweeps=30_000).belief
    assert drawn.mean == pytest.approx(exact.mean, abs=0.002)
    assert drawn.interval() == pytest.approx(exact.interval(), abs=0.006)


def test_the_same_generator_gives_the_same_belief() -> None:
    sheet = tools.sheet(np.random.default_rng(8), 0.1, "three layers")
    one, two = (
        lengths_belief(sheet.lengths, sheet.fingers, np.random.default_rng(2), sweeps=300).belief
        for _ in range(2)
    )
    assert np.array_equal(one.weight, two.weight)


def test_short_hairs_are_named_as_the_pieces() -> None:
    rng = np.random.default_rng(3)
    lengths = np.concatenate([30 + 2 * rng.standard_normal(90), np.linspace(4.0, 15.0, 10)])
    found = lengths_belief(lengths, Fingers(tuple(30 + 2 * rng.standard_normal(100))), rng)
    assert np.all(found.chance[90:] > 0.8)
    assert found.chance[:90].mean() < 0.05


def test_hairs_too_short_to_be_told_from_dust_are_left_out() -> None:
    rng = np.random.default_rng(3)
    lengths = np.append(30 + 2 * rng.standard_normal(60), [0.5, 1.0])
    found = lengths_belief(lengths, Fingers(tuple(30 + 2 * rng.standard_normal(60))), rng)
    assert np.all(np.isnan(found.chance[-2:]))
    assert found.belief.above(0.05) < 0.2


@pytest.mark.parametrize(
    "wrong",
    [
        {"lengths": [30.0, 31.0], "judged": [1], "misjudged": Misjudged(9, 1, 9, 1)},
        {"lengths": [30.0, 31.0], "judged": [1, 0]},
        {"lengths": [30.0, 31.0], "judged": [1, 2], "misjudged": Misjudged(9, 1, 9, 1)},
        {"lengths": [30.0, float("inf")]},
        {"lengths": [30.0, -1.0]},
        {"lengths": [30.0], "control": Fingers(())},
        {"lengths": [30.0], "control": Fingers((30.0, float("nan")))},
        {"lengths": [30.0], "control": Layers((30.0,), (0.0,), (1.0,))},
    ],
)
def test_what_cannot_be_heard_is_refused(wrong: dict[str, object]) -> None:
    call = {"control": Fingers((30.0, 32.0)), **wrong}
    lengths = call.pop("lengths")
    with pytest.raises(OutOfRange):
        lengths_belief(lengths, rng=np.random.default_rng(1), **call)  # type: ignore[arg-type]


def test_no_witness_at_all_is_refused() -> None:
    with pytest.raises(OutOfRange, match="Neither ends nor lengths"):
        hear(np.random.default_rng(1), lengths=[30.0, 31.0], judged=[-1, -1])


def test_a_sheet_without_hairs_leaves_what_was_believed_before() -> None:
    belief = lengths_belief([], Fingers((30.0, 31.0)), np.random.default_rng(1), sweeps=50).belief
    assert np.allclose(belief.weight, ShareBelief.of_beta(PRIOR, PRIOR).weight, atol=1e-9)


def test_the_coat_model_is_a_control() -> None:
    """A rolling coat of five layers, 14 days apart: a take of 25 % is the oldest layer and a quarter of the next."""
    growth = Growth()
    rolling = ZoneCoat.even(1000, 14, 5)
    control = layers_taken(rolling, 1014, 0.25, growth)
    assert control.means == pytest.approx((growth.rate * (70 - growth.lag), growth.rate * (56 - growth.lag)))
    assert control.spreads == pytest.approx(tuple(growth.spread * mean for mean in control.means))
    assert control.weights == pytest.approx((0.20, 0.05))
    rng = np.random.default_rng(6)
    drawn = np.append(18.9 + 1.9 * rng.standard_normal(80), 12.6 + 1.26 * rng.standard_normal(20))
    assert word_for(lengths_belief(drawn, control, rng).belief) != BREAKS
    torn = np.append(drawn, rng.uniform(2.0, 8.0, 20))
    assert word_for(lengths_belief(torn, control, rng).belief) == BREAKS


def test_a_take_of_hair_too_short_to_be_seen_is_no_control() -> None:
    with pytest.raises(OutOfRange, match="no hair long enough"):
        layers_taken(ZoneCoat.of([Layer(0, 1.0)]), 30, 0.2, Growth())


# --- how often they are right: short runs ------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.03, 0.10, 0.30])
def test_the_plain_interval_fails_where_the_one_that_knows_of_misjudgement_holds(share: float) -> None:
    """400 hairs, 150 known of each kind; by far most plain intervals miss a true 3 %."""
    rng = np.random.default_rng(11)
    held = plain = 0
    for _ in range(200):
        known_broken, known_whole = rng.binomial(150, 0.97), rng.binomial(150, 0.95)
        known = Misjudged(known_broken, 150 - known_broken, known_whole, 150 - known_whole)
        called = rng.binomial(400, share * 0.97 + (1 - share) * 0.05)
        low, high = ends_belief(called, 400, known).interval()
        held += low <= share <= high
        low, high = stats.beta(called + 0.5, 400 - called + 0.5).ppf([0.025, 0.975])
        plain += low <= share <= high
    assert 0.90 <= held / 200 <= 0.99
    if share == 0.03:
        assert plain / 200 < 0.1


@pytest.fixture(scope="module")
def sheets() -> dict[float, list[tuple[ShareBelief, ShareBelief]]]:
    """Beliefs of the lengths alone and of both witnesses, 90 sheets of 100 + 100 hairs at each share."""
    found = {}
    for share in (0.0, 0.10, 0.15, 0.30):
        rng = np.random.default_rng([3, int(100 * share)])
        rows = []
        for k in range(90):
            one = tools.sheet(rng, share, tools.LAWS[k % 3])
            both = lengths_belief(
                one.lengths, one.fingers, rng, judged=one.judged, misjudged=one.misjudged, sweeps=700
            )
            rows.append((lengths_belief(one.lengths, one.fingers, rng, sweeps=700).belief, both.belief))
        found[share] = rows
    return found


@pytest.mark.parametrize("share", [0.10, 0.30])
@pytest.mark.parametrize("witness", [0, 1])
def test_intervals_hold_as_often_as_they_say(sheets, share: float, witness: int) -> None:  # type: ignore[no-untyped-def]
    inside = [low <= share <= high for low, high in (row[witness].interval() for row in sheets[share])]
    assert np.mean(inside) >= 0.90


def test_the_lengths_find_a_tool_that_breaks_and_clear_an_innocent_one(sheets) -> None:  # type: ignore[no-untyped-def]
    guilty = [word_for(row[0]) == BREAKS for row in sheets[0.15]]
    innocent = [word_for(row[0]) == BREAKS for row in sheets[0.0]]
    assert np.mean(guilty) >= 0.75
    assert np.mean(innocent) <= 0.05


def test_both_witnesses_see_more_than_one(sheets) -> None:  # type: ignore[no-untyped-def]
    widths = np.array([[np.diff(b.interval())[0] for b in row] for row in sheets[0.15]])
    assert widths[:, 1].mean() < 0.9 * widths[:, 0].mean()
    found = np.mean([[word_for(b) == BREAKS for b in row] for row in sheets[0.10]], axis=0)
    assert found[1] > found[0]


def test_breaks_near_the_skin_are_carried_by_both_and_missed_by_lengths_alone() -> None:
    """Every break 3 mm above the root: the joint interval still holds a true 15 %, the lengths' own does not."""
    inside = np.zeros(2)
    for k in range(40):
        rng = np.random.default_rng([15, k])
        one = tools.sheet(rng, 0.15, tools.LAWS[k % 3], stub=3.0)
        ends = {"judged": one.judged, "misjudged": one.misjudged}
        for i, more in enumerate((ends, {})):
            low, high = lengths_belief(one.lengths, one.fingers, rng, sweeps=700, **more).belief.interval()
            inside[i] += low <= 0.15 <= high
    assert inside[0] >= 34
    assert inside[1] <= 10
