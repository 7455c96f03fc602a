"""Minutes per zone: exact where it is Gaussian, calibrated where it is not, and hard to upset."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from coatwright.errors import OutOfRange
from coatwright.learning.speed import BASIS, Belief, Priors, Pull, Work, learn
from coatwright.learning.speed_solver import STEPS
from coatwright.patterns import zones

TABLE = {"back": 55.0, "ribs": 75.0, "neck": 45.0, "ears": 26.0, "skull": 18.0}
PLAIN = Priors(slip=0.0, wrong_visit=0.0, noise_worth=1e12, visit_worth=1e12)
"""Every record is right and the noise is known: the answer is then exactly Gaussian."""


def work(zone_minutes, *, groomer="ivo", kind="terrier", dog="moss", share=0.2, total=None):
    pulls = tuple(Pull(zone, share, TABLE[zone], minutes) for zone, minutes in zone_minutes.items())
    return Work(groomer, kind, dog, pulls, total)


FOUR = {zone: TABLE[zone] for zone in ("back", "ribs", "neck", "ears")}


def simulated(rng, priors, *, groomers=2, dogs=5, visits=12, timed=1.0, table=FOUR):
    """A salon whose truth is drawn from the priors, slips included: shares in steps of 5 %, times in whole minutes.

    Also the true pace by groomer, zone and dog.
    """

    def factor(sd, *shape):
        return rng.normal(-0.5 * sd**2, sd, shape)

    names = tuple(table)
    own, in_zone = factor(priors.groomer, groomers), factor(priors.groomer_zone, groomers, len(names))
    kinds, of_dog = factor(priors.kind, 2), factor(priors.dog, dogs)
    set_up = factor(priors.set_up_groomer, groomers)
    works = []
    for _ in range(visits):
        g, d = int(rng.integers(groomers)), int(rng.integers(dogs))
        strange = rng.random() < priors.wrong_visit
        day = factor(priors.visit) + (rng.uniform(-priors.range, priors.range) if strange else 0.0)
        singly = rng.random() < timed
        pulls, total = [], priors.set_up * math.exp(set_up[g] + factor(priors.set_up_visit))
        for z, zone in enumerate(names):
            share = float(rng.choice([0.1, 0.2, 0.3]))
            noise = factor(math.hypot(priors.take, priors.pace)) + math.log1p(
                rng.uniform(-0.025, 0.025) / share
            )
            minutes = (
                share
                * table[zone]
                * math.exp(own[g] + in_zone[g, z] + kinds[d % 2] + of_dog[d] + day + noise)
            )
            total += minutes
            kept = (
                minutes * math.exp(rng.uniform(-priors.range, priors.range))
                if rng.random() < priors.slip
                else minutes
            )
            pulls.append(Pull(zone, share, table[zone], float(max(round(kept), 1)) if singly else None))
        works.append(Work(f"g{g}", f"k{d % 2}", f"d{d}", tuple(pulls), None if singly else float(total)))
    truth = {
        (f"g{g}", zone, f"d{d}"): own[g] + in_zone[g, z] + kinds[d % 2] + of_dog[d]
        for g in range(groomers)
        for z, zone in enumerate(names)
        for d in range(dogs)
    }
    return works, truth, names


def dense(works, priors, wanted):
    """Mean and variance of a sum of terms by conditioning one large normal: no normal equations, no elimination."""
    rows, y, noise = [], [], []
    for number, each in enumerate(works):
        for pull in each.pulls:
            if pull.share * pull.reference < 2.0:
                continue
            rows.append(
                {
                    ("groomer", each.groomer),
                    ("groomer_zone", each.groomer, pull.zone),
                    ("kind", each.kind),
                    ("dog", each.dog),
                    ("visit", str(number)),
                }
            )
            variance = priors.take**2 + priors.pace**2
            variance += (0.05 / math.sqrt(12) / pull.share) ** 2 + (
                1 / math.sqrt(12) / (pull.share * pull.reference)
            ) ** 2
            noise.append(variance)
            y.append(math.log(pull.minutes / (pull.share * pull.reference)))

    def covariance(one, other):
        return sum(getattr(priors, level[0]) ** 2 for level in one & other)

    K = np.array([[covariance(a, b) for b in rows] for a in rows]) + np.diag(noise)
    k = np.array([covariance(wanted, a) for a in rows])
    mean = np.array([-0.5 * covariance(a, a) - 0.5 * v for a, v in zip(rows, noise, strict=True)])
    gain = np.linalg.lstsq(K, k, rcond=None)[0]
    own = covariance(wanted, wanted)
    return -0.5 * own + gain @ (np.array(y) - mean), own - gain @ k


@pytest.mark.parametrize("seed", range(3))
def test_without_slips_it_is_the_dense_gaussian_answer(seed):
    works, _, names = simulated(np.random.default_rng(seed), PLAIN)
    paces = learn(works, PLAIN)
    for groomer, zone, kind, dog in (
        ("g0", names[0], "k0", "d0"),
        ("g1", names[3], "k1", "d3"),
        ("new", names[1], "k1", "d1"),
    ):
        wanted = {("groomer", groomer), ("groomer_zone", groomer, zone), ("kind", kind), ("dog", dog)}
        mean, variance = dense(works, PLAIN, wanted)
        belief = paces.minutes(zone, 1.0, groomer=groomer, kind=kind, dog=dog)
        assert belief.mu == pytest.approx(mean, abs=1e-9)
        assert belief.sd**2 == pytest.approx(variance, abs=1e-9)


def test_a_dog_shrinks_as_a_mixed_model_says():
    """Best linear unbiased prediction of one random effect from n equal records: its share of the mean deviation is

    n tau^2 / (n tau^2 + sigma^2), and tau^2 sigma^2 / (n tau^2 + sigma^2) is left of its variance
    (Robinson 1991, "That BLUP is a good thing", Statist Sci 6:15-32; formula from memory).
    """
    only_dog = replace(PLAIN, groomer=1e-3, groomer_zone=1e-3, kind=1e-3, visit=1e-3, dog=0.4)
    share, minutes = 0.5, 40.0
    sigma = (
        only_dog.take**2
        + only_dog.pace**2
        + (0.05 / 12**0.5 / share) ** 2
        + (1 / 12**0.5 / (share * TABLE["back"])) ** 2
    )
    for n in (1, 4, 25):
        paces = learn([work({"back": minutes}, share=share)] * n, only_dog)
        tau = 0.16
        found = paces.minutes("back", 1.0, dog="moss")
        seen = math.log(minutes / (share * TABLE["back"])) + 0.5 * sigma
        expected = -0.5 * tau + n * tau / (n * tau + sigma) * (seen + 0.5 * tau)
        assert found.mu == pytest.approx(expected, abs=2e-4)
        assert found.sd**2 == pytest.approx(tau * sigma / (n * tau + sigma), abs=1e-5)


def test_means_and_bands_are_those_of_the_log_normal():
    belief = Belief(math.log(50.0), 0.3)
    reference = stats.lognorm(s=0.3, scale=50.0)
    assert belief.mean == pytest.approx(reference.mean())
    assert belief.median == pytest.approx(reference.median())
    assert belief.band() == pytest.approx(reference.interval(0.8))
    assert belief.band(0.5) == pytest.approx(reference.interval(0.5))


def test_nothing_known_is_the_table():
    paces = learn([])
    for who in ({}, {"groomer": "ivo"}, {"groomer": "ivo", "kind": "terrier", "dog": "moss"}):
        belief = paces.minutes("back", 55.0, **who)
        assert belief.mean == pytest.approx(55.0), "the table's minutes are the mean over all"
        assert belief.sd == pytest.approx(
            paces.prior(**{key: key in who for key in ("groomer", "kind", "dog")})
        )
    taught = learn([work({"back": 30.0})])
    assert taught.minutes("back", 55.0, groomer="maren", kind="spaniel", dog="fern").mean == pytest.approx(
        55.0
    )
    assert paces.set_up("ivo").mean == pytest.approx(20.0)


@pytest.mark.parametrize(("timed", "salons"), [(1.0, 500), (0.4, 500), (0.0, 200)])
def test_eight_in_ten_truths_lie_in_the_band(timed, salons):
    """Salons from the priors, slips and strange visits among them; some visits with their whole time only."""
    rng, inside, of, ranks = np.random.default_rng(20261125), 0, 0, []
    for _ in range(salons):
        works, truth, names = simulated(rng, Priors(), timed=timed)
        paces = learn(works)
        for g in ("g0", "g1"):
            for zone in names:
                d = int(rng.integers(5))
                pace = truth[g, zone, f"d{d}"]
                belief = paces.minutes(zone, 1.0, groomer=g, kind=f"k{d % 2}", dog=f"d{d}")
                low, high = belief.band()
                inside += low <= math.exp(pace) <= high
                of += 1
                ranks.append(stats.norm.cdf(pace, belief.mu, belief.sd))
    assert 0.76 <= inside / of <= 0.84, inside / of
    assert np.mean(ranks) == pytest.approx(0.5, abs=0.03)


def test_bands_hold_in_a_salon_of_many_zones_and_small_takes():
    """Whole minutes of small zones are coarse: without care they would make every groomer slow."""
    table = {key: zone.minutes for key, zone in zones().items() if zone.work == "pull"}
    inside, off = [], []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        works, truth, _ = simulated(rng, Priors(), groomers=3, dogs=12, visits=60, timed=0.7, table=table)
        paces = learn(works)
        assert paces.steps < STEPS, "weights and beliefs stand still"
        for (groomer, zone, dog), pace in truth.items():
            belief = paces.minutes(zone, 1.0, groomer=groomer, kind=f"k{int(dog[1:]) % 2}", dog=dog)
            inside.append(abs(pace - belief.mu) < 1.2816 * belief.sd)
            off.append(pace - belief.mu)
    assert 0.76 <= np.mean(inside) <= 0.84, np.mean(inside)
    assert np.mean(off) == pytest.approx(0.0, abs=0.03)


def day(rng, pace, *, dog, groomer="ivo", names=tuple(TABLE)):
    """A visit at a pace, with ordinary noise."""
    return work(
        {zone: 0.2 * TABLE[zone] * pace * math.exp(rng.normal(0.0, 0.2)) for zone in names},
        dog=dog,
        groomer=groomer,
    )


def salon(pace=1.3, visits=10):
    rng = np.random.default_rng(7)
    return [day(rng, pace, dog=f"d{n % 4}") for n in range(visits)]


@pytest.mark.parametrize("factor", [10.0, 0.1, 60.0])
@pytest.mark.parametrize("where", [0, 6])
def test_a_record_ten_times_off_hardly_moves_a_groomer(factor, where):
    good = salon()
    spoilt = list(good)
    first = spoilt[where].pulls[0]
    spoilt[where] = replace(
        spoilt[where], pulls=(replace(first, minutes=first.minutes * factor), *spoilt[where].pulls[1:])
    )
    before, after = learn(good), learn(spoilt)
    for zone in TABLE:
        one, two = (p.minutes(zone, 100.0, groomer="ivo").mean for p in (before, after))
        assert two == pytest.approx(one, rel=0.03), zone
    assert [(slip.work, slip.zone) for slip in after.slips] == [(where, "back")]
    assert after.slips[0].expected == pytest.approx(first.minutes, rel=0.6)


@pytest.mark.parametrize("factor", [10.0, 60.0])
def test_a_whole_visit_ten_times_off_hardly_moves_a_groomer(factor):
    good = salon()
    wrong = replace(
        good[4], pulls=tuple(replace(pull, minutes=pull.minutes * factor) for pull in good[4].pulls)
    )
    before, after = learn(good), learn([*good[:4], wrong, *good[5:]])
    for zone in TABLE:
        one, two = (p.minutes(zone, 100.0, groomer="ivo").mean for p in (before, after))
        assert two == pytest.approx(one, rel=0.05), zone


def test_even_the_first_record_is_not_believed_when_it_is_absurd():
    paces = learn([work({"back": 600.0})])
    assert paces.minutes("back", 55.0, groomer="ivo").mean < 1.15 * 55.0


def test_whole_times_teach_too():
    rng = np.random.default_rng(3)
    works = []
    for n in range(30):
        timed = day(rng, 1.5, dog=f"d{n % 6}")
        pulled = sum(pull.minutes for pull in timed.pulls)
        bare = tuple(replace(pull, minutes=None) for pull in timed.pulls)
        works.append(replace(timed, pulls=bare, total=pulled + 20.0))
    paces = learn(works)
    belief = paces.minutes("back", 55.0, groomer="ivo")
    assert belief.mean / 55.0 == pytest.approx(1.5, rel=0.15)
    assert belief.sd < 0.8 * paces.prior(kind=False, dog=False)


def test_what_is_left_of_a_timed_visit_is_set_up():
    rng = np.random.default_rng(3)
    works = [day(rng, 1.0, dog=f"d{n % 6}") for n in range(20)]
    works = [replace(w, total=40.0 + sum(pull.minutes for pull in w.pulls)) for w in works]
    assert learn(works).set_up("ivo").mean == pytest.approx(40.0, rel=0.1)
    hands_on = [replace(w, total=sum(pull.minutes for pull in w.pulls)) for w in works]
    assert learn(hands_on).set_up("ivo").mean == pytest.approx(20.0), (
        "the whole time without set-up says nothing of it"
    )


def test_one_part_of_a_sum_is_the_same_as_a_record_of_its_own():
    """A whole time that is all but set-up free tells as much as the zone's own minutes."""
    short = replace(PLAIN, set_up=1e-3, set_up_groomer=1e-3, set_up_visit=1e-3)
    own = learn([work({"back": 30.0}, share=0.5)], short).minutes("back", 1.0, groomer="ivo")
    whole = learn([work({"back": None}, share=0.5, total=30.0)], short).minutes("back", 1.0, groomer="ivo")
    assert whole.mu == pytest.approx(own.mu, abs=2e-3)
    assert whole.sd == pytest.approx(own.sd, abs=2e-3)


@pytest.mark.parametrize(("noise", "narrower"), [(0.05, True), (0.6, False)])
def test_neat_records_are_believed_more_than_wild_ones(noise, narrower):
    """The noise is learnt as well: the band follows what the records are like, not only what is assumed."""
    rng = np.random.default_rng(11)
    works = [
        work({zone: 0.2 * TABLE[zone] * math.exp(rng.normal(0.0, noise)) for zone in TABLE}, dog=f"d{n % 4}")
        for n in range(20)
    ]
    learnt = learn(works, Priors(slip=0.0, wrong_visit=0.0)).minutes("back", 55.0, groomer="ivo")
    assumed = learn(works, PLAIN).minutes("back", 55.0, groomer="ivo")
    assert (learnt.sd < 0.97 * assumed.sd) == narrower
    assert (learnt.sd > 1.03 * assumed.sd) != narrower


def test_zones_together_have_the_mean_and_the_spread_of_their_sum():
    paces = learn(salon())
    together = paces.together(TABLE, groomer="ivo")
    means = [paces.minutes(zone, table, groomer="ivo").mean for zone, table in TABLE.items()]
    assert together.mean == pytest.approx(sum(means))
    rng = np.random.default_rng(5)
    rows = [[paces.levels["groomer", "ivo"], paces.levels["groomer_zone", "ivo", zone]] for zone in TABLE]
    terms = rng.multivariate_normal(paces.mean, paces.covariance, 40_000)
    sums = sum(
        table * np.exp(terms[:, row].sum(axis=1)) for table, row in zip(TABLE.values(), rows, strict=True)
    )
    assert sums.mean() == pytest.approx(together.mean, rel=0.005)
    assert np.quantile(sums, [0.1, 0.9]) == pytest.approx(together.band(), rel=0.01)
    new = learn([]).together(TABLE, groomer="somebody")
    assert new.mean == pytest.approx(sum(TABLE.values()))
    assert 0.3 < new.sd < learn([]).minutes("back", 1.0, groomer="somebody").sd


minutes = st.floats(5.0, 25.0)
shares = st.sampled_from([0.1, 0.2, 0.4])


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(minutes, shares, st.sampled_from("abc")), min_size=1, max_size=8), st.floats(1.05, 1.5)
)
def test_more_minutes_are_a_slower_groomer_and_more_records_a_narrower_band(rows, slower):
    def made(factor):
        return [work({"back": m * factor, "ears": 0.4 * m}, share=s, dog=dog) for m, s, dog in rows]

    one, two = learn(made(1.0), PLAIN), learn(made(slower), PLAIN)
    before, after = one.minutes("back", 55.0, groomer="ivo"), two.minutes("back", 55.0, groomer="ivo")
    assert after.mu > before.mu
    more = learn([*made(1.0), work({"back": 12.0})], PLAIN).minutes("back", 55.0, groomer="ivo")
    assert more.sd < before.sd < one.prior(kind=False, dog=False)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(0.5, 900.0), st.floats(0.01, 1.0), st.sampled_from("abc"), st.sampled_from(["", "ivo"])
        ),
        max_size=10,
    ),
    st.randoms(),
)
def test_any_records_in_any_order_give_one_finite_answer(rows, random):
    works = [
        work({"back": m, "ribs": None}, share=s, dog=dog, groomer=who, total=m + 1.0 if n % 2 else 2.0 * m)
        for n, (m, s, dog, who) in enumerate(rows)
    ]
    mixed = list(works)
    random.shuffle(mixed)
    one, two = learn(works), learn(mixed)
    for zone in ("back", "ribs", "ears"):
        a, b = (p.minutes(zone, 50.0, groomer="ivo", kind="terrier", dog="a") for p in (one, two))
        assert math.isfinite(a.mean)
        assert 0.0 < a.sd <= one.prior() + 1e-9
        assert b.mu == pytest.approx(a.mu, abs=2e-3)
        assert b.sd == pytest.approx(a.sd, abs=2e-3)


def test_twice_the_dog_at_twice_the_minutes_teaches_the_same():
    small = [work({"back": 14.0, "ears": 6.0}), work({"back": 12.0})]
    large = [
        replace(w, pulls=tuple(replace(p, minutes=2 * p.minutes, reference=2 * p.reference) for p in w.pulls))
        for w in small
    ]
    one, two = learn(small, PLAIN), learn(large, PLAIN)
    assert two.minutes("back", 1.0, groomer="ivo").mu == pytest.approx(
        one.minutes("back", 1.0, groomer="ivo").mu, abs=2e-3
    )


def test_what_says_nothing_is_left_out():
    nothing = [
        work({"back": None}),
        work({"back": 0.0}),
        work({"back": 12.0}, share=0.0),
        Work("ivo", "terrier", "moss", (), 45.0),
        work({"back": 12.0, "ears": None}, share=0.0, total=45.0),
    ]
    paces = learn(nothing)
    assert paces.minutes("back", 55.0, groomer="ivo").sd == pytest.approx(paces.prior(kind=False, dog=False))


def test_faults_are_told():
    with pytest.raises(OutOfRange, match="prior dog"):
        Priors(dog=0.0)
    with pytest.raises(OutOfRange, match="prior slip"):
        Priors(slip=0.7)
    with pytest.raises(OutOfRange, match="whole zone"):
        Pull("back", 0.2, 0.0)
    assert set(BASIS) == set(Priors.__dataclass_fields__)
