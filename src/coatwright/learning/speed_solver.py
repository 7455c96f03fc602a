"""The normal equations of the paces, and the weights of their records (see :mod:`coatwright.learning.speed`)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, sparse
from scipy.special import expit

from coatwright.coat.growth import Floats
from coatwright.learning.speed_records import Level, Priors, Pull, Work, levels_of, sd_of
from coatwright.units import Minutes

Ints = NDArray[np.int64]

STEPS = 60
"""Weights and beliefs are found in turn, at most so often."""
SETTLED = 1e-5
"""They stand still when no term moves by more than this twice running."""
SHARE_ROUNDING = 0.05 / 12.0**0.5
"""Sd of a share said in steps of 5 % (evenly spread within the step)."""
MINUTE_ROUNDING = 1.0 / 12.0**0.5
"""Sd of a time said in whole minutes, min."""
LEAST_WEIGHT = 1e-6
"""What is surely wrong still weighs so little, that no equation is left empty."""
LEAST_TIMED: Minutes = 2.0
"""Shorter pulls, by the table, cannot be read off a clock in whole minutes; their minutes say nothing, min."""
LEAST_REST: Minutes = 1.0
"""What is left of a visit's time for set-up must be at least this much to say anything about it, min."""


class Records:
    """Records as arrays: each is the logarithm of a sum of parts, most of one part only.

    ``y`` log minutes, ``visit`` of which work, both (records,); of the parts, (parts,): ``record``, ``amount``
    log min before any term, ``noise`` variance, ``shared`` 1 where the visit's term enters; ``terms`` (parts, terms)
    with 1 for each term of a part.
    """

    def __init__(self, works: list[Work], priors: Priors) -> None:
        self.priors = priors
        self.levels: dict[Level, int] = {}
        self.about: list[tuple[int, str]] = []
        minutes: list[float] = []
        parts: list[tuple[int, float, float, float]] = []
        columns: list[list[int]] = []
        for number, work in enumerate(works):
            pulls = [pull for pull in work.pulls if pull.share > 0.0]
            timed = [pull for pull in pulls if pull.minutes]
            for pull in timed:
                if pull.share * pull.reference < LEAST_TIMED:
                    continue
                self._zone(parts, columns, work, pull, len(minutes))
                minutes.append(pull.minutes or 0.0)
                self.about.append((number, pull.zone))
            rest = (work.total or 0.0) - sum(pull.minutes or 0.0 for pull in timed)
            if work.total and pulls and rest >= LEAST_REST:
                for pull in pulls:
                    if not pull.minutes:
                        self._zone(parts, columns, work, pull, len(minutes))
                parts.append((len(minutes), float(np.log(priors.set_up)), priors.set_up_visit**2, 0.0))
                columns.append([self._column(("set_up", work.groomer))])
                minutes.append(rest)
                self.about.append((number, ""))
        self.minutes = np.array(minutes, dtype=float)
        self.y = np.log(self.minutes)
        table = np.array(parts, dtype=float).reshape(-1, 4)
        self.record = table[:, 0].astype(np.int64)
        self.amount, self.noise, self.shared = table[:, 1], table[:, 2], table[:, 3]
        self.visit = np.array([number for number, _ in self.about], dtype=np.int64)
        self.visits = len(works)
        where = np.repeat(np.arange(len(columns)), [len(row) for row in columns])
        flat = np.array([column for row in columns for column in row], dtype=np.int64)
        shape = (len(columns), len(self.levels))
        self.terms = sparse.csr_array((np.ones(len(flat)), (where, flat)), shape=shape)

    def _column(self, level: Level) -> int:
        return self.levels.setdefault(level, len(self.levels))

    def _zone(
        self,
        parts: list[tuple[int, float, float, float]],
        columns: list[list[int]],
        work: Work,
        pull: Pull,
        record: int,
    ) -> None:
        p = self.priors
        noise = p.take**2 + p.pace**2 + (SHARE_ROUNDING / pull.share) ** 2
        if pull.minutes:  # by the table's minutes, never by what was kept: low records would weigh less
            noise += (MINUTE_ROUNDING / (pull.share * pull.reference)) ** 2
        parts.append((record, float(np.log(pull.share * pull.reference)), noise, 1.0))
        columns.append(
            [self._column(level) for level in levels_of(pull.zone, work.groomer, work.kind, work.dog)]
        )


class Solver:
    """The terms of the visits are taken out of the normal equations (there are many, each in one visit only).

    ``loud`` is the variance of the noise here against the prior's, ``day`` the variance of the visits' terms.
    """

    def __init__(self, records: Records, priors: Priors) -> None:
        self.r = records
        self.p = priors
        sds = np.array([sd_of(priors, level) for level in records.levels])
        self.prior_mean, self.prior_weight = -0.5 * sds**2, 1.0 / sds**2
        self.beta = self.prior_mean.copy()
        self.loud = 1.0
        self.day = priors.visit**2
        self.u = np.full(records.visits, -0.5 * self.day)
        self.covariance = np.diag(sds**2)
        self.at = self.beta
        self.sums = np.bincount(records.record, minlength=len(records.y)) > 1
        self.part_of_step = 0.5 if self.sums.any() else 1.0
        self.weight = np.zeros(len(records.y))  # no record is taken in yet
        self.visit_weight = np.full(records.visits, 1.0 / priors.visit**2)
        self.right = np.ones(len(records.y))
        self.residual = np.zeros(len(records.y))
        self.steps = 0

    def solve(self) -> None:
        """Beliefs and weights in turn until both stand still."""
        self._linearise()
        self._sums()
        still = 0
        for self.steps in range(1, STEPS + 1):
            self._weigh(visits=self.steps > 1)
            self._linearise()
            self._believe()
            step = self.beta - self.at
            self.at = self.at + self.part_of_step * step
            still = still + 1 if np.abs(step).max() < SETTLED else 0
            if still == 2:
                break

    def _linearise(self) -> None:
        """Each record as a straight line in the terms, at what is believed now and an ordinary visit.

        At the visit's own term a low record would make itself more uncertain than a high one.
        """
        r, count = self.r, len(self.r.y)
        eta = r.terms @ self.at - 0.5 * self.day * r.shared
        size = np.exp(r.amount + eta)
        whole = np.bincount(r.record, size, count)
        w = size / whole[r.record]
        picks = sparse.csr_array((w, (r.record, np.arange(len(w)))), shape=(count, len(w)))
        self.X = sparse.csr_array(picks @ r.terms)
        self.c = np.bincount(r.record, w * r.shared, count)
        noise = np.where(r.shared > 0.0, self.loud, 1.0) * r.noise
        self.noise = np.bincount(r.record, w**2 * noise, count)
        self.y = r.y - np.log(whole) + np.bincount(r.record, w * eta, count) + 0.5 * self.noise
        if self.sums.any():
            self.y[self.sums] -= self._bend(w)

    def _bend(self, w: Floats) -> Floats:
        """By how much the mean of the logarithm of a sum exceeds that of the straight line (second order)."""
        r, parts = self.r, self.sums[self.r.record]
        alone = _quadratic(r.terms[parts], self.covariance) + self.day * r.shared[parts]
        apart = np.bincount(r.record[parts], w[parts] * alone, len(r.y))[self.sums]
        together = _quadratic(self.X[self.sums], self.covariance) + self.day * self.c[self.sums] ** 2
        return np.asarray(0.5 * (apart - together), dtype=float)

    def _sums(self) -> None:
        """What the records of a visit say together about its term."""
        r = self.r
        group = sparse.csr_array(
            (self.c * self.weight, (r.visit, np.arange(len(r.visit)))), shape=(r.visits, len(r.visit))
        )
        self.B = sparse.csr_array(group @ self.X)
        self.q = self.visit_weight + np.bincount(r.visit, self.c**2 * self.weight, r.visits)

    def _believe(self) -> None:
        """The normal equations at the weights of now."""
        r = self.r
        self.weight = np.maximum(self.right, LEAST_WEIGHT) / self.noise
        self._sums()
        said = self.visit_weight * (-0.5 * self.day)
        said += np.bincount(r.visit, self.c * self.weight * self.y, r.visits)
        scaled = self.X.multiply(self.weight[:, None])
        over = self.B.multiply(1.0 / self.q[:, None])
        precision = (self.X.T @ scaled - self.B.T @ over).toarray() + np.diag(self.prior_weight)
        right = self.prior_weight * self.prior_mean + self.X.T @ (self.weight * self.y)
        right -= self.B.T @ (said / self.q)
        factor = linalg.cho_factor(precision, lower=True)
        self.covariance = linalg.cho_solve(factor, np.eye(len(right)))
        self.beta = linalg.cho_solve(factor, right)
        self.u = (said - self.B @ self.beta) / self.q

    def _weigh(self, *, visits: bool) -> None:
        """How likely each record (and each visit) is right, by what all the others lead to expect."""
        r, p = self.r, self.p
        mean = self.X @ self.beta + self.c * self.u[r.visit]
        reach = self.B @ self.covariance
        of_visit = _rowwise(self.B, reach)
        half = self.c / self.q[r.visit]
        variance = _quadratic(self.X, self.covariance) - 2.0 * half * _rowwise(self.X, reach, r.visit)
        variance += half**2 * of_visit[r.visit] + half * self.c
        spread, centre = _without(variance, mean, self.weight, self.y)
        self.residual = self.y - centre
        right = _right(self.residual, spread + self.noise, p.slip, p.range)
        self.right = right if not visits else 0.5 * (self.right + right)  # half way: two records can seesaw
        if not visits:
            return
        usual = -0.5 * self.day
        of_term = of_visit / self.q**2 + 1.0 / self.q
        between, middle = _without(of_term, self.u, self.visit_weight, np.full(r.visits, usual))
        right = _right(middle - usual, between + self.day, p.wrong_visit, p.range)
        self._spread((self.y - mean) ** 2 + variance, right * ((self.u - usual) ** 2 + of_term), right)
        self.visit_weight = np.maximum(right, LEAST_WEIGHT) / self.day

    def _spread(self, of_record: Floats, of_visit: Floats, right: Floats) -> None:
        """How wide noise and days really are here: expected squares against the prior's (expectation-maximisation).

        ``of_record`` (records,) and ``of_visit`` (visits,) are expected squares; the prior counts as so many of them.
        """
        r, p = self.r, self.p
        own = ~self.sums & (self.c > 0.0)
        weight = self.right[own]
        squares = float((weight * of_record[own] / self.noise[own]).sum()) * self.loud
        self.loud = (p.noise_worth + squares) / (p.noise_worth + float(weight.sum()))
        there = np.bincount(r.visit, self.c > 0.0, r.visits) > 0.0
        days = float(of_visit[there].sum()) + p.visit_worth * p.visit**2
        self.day = days / (p.visit_worth + float(right[there].sum()))


def _quadratic(rows: sparse.csr_array, covariance: Floats) -> Floats:
    """``z C z'`` for each sparse row z."""
    return _rowwise(rows, rows @ covariance)


def _rowwise(rows: sparse.csr_array, others: Floats, which: Ints | None = None) -> Floats:
    """The product of each sparse row with the row of ``others`` of its number, or of the number ``which`` names."""
    count = rows.shape[0]
    row = np.repeat(np.arange(count), np.diff(rows.indptr))
    other = row if which is None else which[row]
    return np.asarray(np.bincount(row, rows.data * others[other, rows.indices], count), dtype=float)


def _without(variance: Floats, mean: Floats, weight: Floats, said: Floats) -> tuple[Floats, Floats]:
    """Variance and mean of a normal belief once what was ``said`` with this weight is taken out of it."""
    left = np.maximum(1.0 - weight * variance, 1e-9)
    return variance / left, (mean - weight * variance * said) / left


def _right(off: Floats, variance: Floats, chance: float, reach: float) -> Floats:
    """Chance that something this far off is right (normal), not wrong (even over ``reach`` to both sides); Bayes."""
    if chance <= 0.0:
        return np.ones_like(off)
    normal = -0.5 * (off**2 / variance + np.log(2.0 * np.pi * variance))
    found: Floats = expit(np.log(1.0 / chance - 1.0) + normal + np.log(2.0 * reach))
    return found
