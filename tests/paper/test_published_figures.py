"""The statistics of the paper test against figures published elsewhere; each check names its source."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from coatwright.errors import OutOfRange
from coatwright.paper.report import fibre_report, hauteur_barbe
from coatwright.paper.witness_ends import clopper_pearson, rogan_gladen


def test_exact_interval_of_the_nist_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.1, 4 of 20, 90 % two-sided: 0.071354 to 0.401029 (from memory, recomputed)."""
    assert clopper_pearson(4, 20, 0.90) == pytest.approx((0.071354, 0.401029), abs=1e-6)


@pytest.mark.parametrize(
    ("broken", "low", "high"), [(0, 0.0, 0.0711), (3, 0.0125, 0.1655), (5, 0.0333, 0.2181)]
)
def test_exact_intervals_for_a_sample_of_fifty(broken: int, low: float, high: float) -> None:
    """Recomputed from the definition (Clopper & Pearson 1934) for 50 hairs, 95 %; four places."""
    assert clopper_pearson(broken, 50) == pytest.approx((low, high), abs=5e-5)


def test_rule_of_three() -> None:
    """Hanley & Lippman-Hand 1983, JAMA 249:1743 (from memory): none of n, one-sided 95 % limit 3/n; 60: 4.87 %."""
    low, high = clopper_pearson(0, 60, sided=1)
    assert low == 0.0
    assert high == pytest.approx(0.0487, abs=5e-5)
    assert high == pytest.approx(3.0 / 60.0, rel=0.03)


@given(st.integers(1, 300), st.data(), st.floats(0.5, 0.999))
def test_exact_interval_agrees_with_scipy(judged: int, data: st.DataObject, level: float) -> None:
    broken = data.draw(st.integers(0, judged))
    other = stats.binomtest(broken, judged).proportion_ci(level, method="exact")
    assert clopper_pearson(broken, judged, level) == pytest.approx((other.low, other.high), abs=1e-8)


def test_hauteur_and_barbe_by_hand() -> None:
    """Lengths 10, 20, 30, 40: H 25, CV 44.72 %, B 30 (wool-top testing, IWTO; worked by hand)."""
    found = hauteur_barbe([10.0, 20.0, 30.0, 40.0])
    assert (found.hauteur, found.barbe) == pytest.approx((25.0, 30.0))
    assert found.cv == pytest.approx(44.72, abs=0.005)


@given(st.lists(st.floats(1.0, 200.0), min_size=1, max_size=60))
def test_barbe_follows_from_hauteur(lengths: list[float]) -> None:
    """B = H (1 + CV^2 / 10^4), the identity of wool-top testing (IWTO, from memory; proven)."""
    found = hauteur_barbe(lengths)
    assert found.barbe == pytest.approx(found.hauteur * (1.0 + found.cv**2 / 1e4))
    assert found.barbe >= found.hauteur - 1e-9


def test_mean_and_spread_of_the_nist_reference_sets() -> None:
    """NIST StRD univariate NumAcc1 (mean 10000002, sd 1) and NumAcc3 (mean 1000000.2, sd 0.1); from memory."""
    first = fibre_report([10000001.0, 10000003.0, 10000002.0])
    assert (first.mean, first.sd) == pytest.approx((10000002.0, 1.0), rel=1e-12)
    third = fibre_report([1000000.2, *[1000000.1, 1000000.3] * 500])
    assert third.mean == pytest.approx(1000000.2, rel=1e-12)
    assert third.sd == pytest.approx(0.1, rel=1e-8)


def test_report_of_a_sample_of_fifty() -> None:
    """The form of ASTM D5103 (from memory): 50 fibres, mean, sd, CV, range; 1 to 50 mm, sd from the sum formula."""
    report = fibre_report(np.arange(1.0, 51.0))
    assert report.enough
    assert (report.count, report.mean, report.median, report.range) == (50, 25.5, 25.5, 49.0)
    assert report.sd == pytest.approx((50 * 51 / 12) ** 0.5)
    assert report.cv == pytest.approx(100 * (50 * 51 / 12) ** 0.5 / 25.5)
    assert not fibre_report(np.arange(1.0, 50.0)).enough


def test_interval_of_the_mean_uses_students_t() -> None:
    """Student's t, 95 %, 9 degrees of freedom: 2.262 (NIST/SEMATECH e-Handbook 1.3.6.7.2, from memory)."""
    report = fibre_report([30.0, 31.0, 32.0, 33.0, 34.0, 35.0, 36.0, 37.0, 38.0, 39.0])
    reach = 0.5 * (report.interval[1] - report.interval[0])
    assert reach * 10**0.5 / report.sd == pytest.approx(2.262, abs=5e-4)


def test_share_behind_an_apparent_one() -> None:
    """Rogan & Gladen 1978: p = (q + sp - 1) / (se + sp - 1); the share put in comes out again, by hand 0.10."""
    assert rogan_gladen(0.10 * 0.97 + 0.90 * 0.05, 0.97, 0.95) == pytest.approx(0.10)
    assert rogan_gladen(0.02, 0.97, 0.95) == 0.0
    with pytest.raises(OutOfRange, match="no better than chance"):
        rogan_gladen(0.1, 0.5, 0.5)


@pytest.mark.parametrize(("broken", "judged"), [(0, 0), (-1, 5), (6, 5)])
def test_counts_that_cannot_be_are_refused(broken: int, judged: int) -> None:
    with pytest.raises(OutOfRange):
        clopper_pearson(broken, judged)


@pytest.mark.parametrize("lengths", [[], [10.0], [10.0, -1.0], [10.0, float("nan")]])
def test_lengths_that_cannot_be_reported_are_refused(lengths: list[float]) -> None:
    with pytest.raises(OutOfRange):
        fibre_report(lengths)
