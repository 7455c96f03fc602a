"""The update after each visit: sequential Monte Carlo with tempering and rejuvenation.

Draws of everything that is not known (traits of the dog and of its zones, what was really pulled at every take, the
shares of the layers first read, each groomer's habit) carry weights. New records come in by steps of temper
(Del Moral, Doucet & Jasra 2006, J R Statist Soc B 68:411-436; Chopin 2002, Biometrika 89:539-551): each step is as
large as leaves half of the effective draws, then draws are resampled and moved by Markov steps that leave the
posterior as it is. Given the traits of the dog, its zones are independent, so each zone accepts or refuses its own
move (differential evolution, ter Braak 2006, Statist Comput 16:239-249, with differences taken from the draws as they
stood before the sweep); what zones share is drawn exactly (normal given normal) and also moved together with all
zones. All four papers from memory.

The same records and the same seed give the same draws, whatever the number of threads; each day's randomness
depends on the seed and that day alone.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coatwright.coat.growth import Floats
from coatwright.learning.evidence import DogEvidence, Packed, packed
from coatwright.learning.priors import JUDGED_SD, TRAITS, Prior
from coatwright.units import Day

Ints = NDArray[np.int64]

DRAWS = 2000
LEAST_EFFECTIVE = 0.3
"""Share of effective draws that a step of temper leaves."""
MOVED = 0.5
"""How often each draw is moved after a step of temper, on average (of the zone that moves least)."""
LAST_MOVED = 2.0
"""... and after the last one."""
MOST_SWEEPS = 12
"""Sweeps after which it is enough in any case."""
SIZES = np.array([1.0, 1.0, 1.0, 0.4])
"""How far a move goes: 1 forgets where the draw was."""


@dataclass(frozen=True, slots=True)
class State:
    """Weighted draws of what is not known of a dog, after the records up to ``day``.

    ``dog``     (draws, traits)         what its zones share, against the centre
    ``bias``    (draws, groomers)       ln(true take / judged take)
    ``zones``   (draws, zones, traits)  traits against the centre, all three parts together
    ``takes``   (draws, pulls)          ln of what was really taken (more than stands counts as all that stands)
    ``starts``  (draws, latents)        how far the shares of the first layers were misread, in standard deviations
    ``weight``  (draws,)                adding up to 1
    """

    day: Day
    dog: Floats
    bias: Floats
    zones: Floats
    takes: Floats
    starts: Floats
    weight: Floats

    def __len__(self) -> int:
        return len(self.weight)

    @property
    def effective(self) -> float:
        """Effective number of draws, ``1 / sum(w ** 2)``."""
        return float(1.0 / (self.weight**2).sum())


def begin(dog: DogEvidence, prior: Prior, draws: int, seed: int) -> State:
    """Draws of the prior, before any record."""
    rng = np.random.default_rng([seed, 0])
    count = len(dog.zones)
    shared = prior.mean + prior.dog_sd * rng.standard_normal((draws, len(TRAITS)))
    own = prior.zone_sd * rng.standard_normal((draws, count, len(TRAITS)))
    bias = prior.bias_mean + prior.bias_sd * rng.standard_normal((draws, dog.groomers))
    return State(
        0,
        shared,
        bias,
        shared[:, None, :] + own,
        np.zeros((draws, 0)),
        np.zeros((draws, 0)),
        np.full(draws, 1.0 / draws),
    )


def learn(
    dog: DogEvidence,
    *,
    until: Day | None = None,
    prior: Prior | None = None,
    draws: int = DRAWS,
    seed: int = 1,
    after: State | None = None,
    seen: Callable[[State], None] | None = None,
) -> State:
    """The draws after every record up to ``until``, day by day from ``after`` (default: from the prior).

    ``seen`` is called with the state of each day. Whether a run goes on from a kept state or from the beginning, the
    result is the same to the last digit.
    """
    given = prior or Prior.of()
    state = after or begin(dog, given, draws, seed)
    for day in dog.days():
        if day <= state.day or (until is not None and day > until):
            continue
        state = update(state, dog, day, prior=given, seed=seed)
        if seen is not None:
            seen(state)
    return state


def update(state: State, dog: DogEvidence, day: Day, *, prior: Prior, seed: int) -> State:
    """Take in what was recorded on ``day``, which lies after the state's."""
    rng = np.random.default_rng([seed, day])
    pack = packed(dog, day)
    grown = _with_new_latents(state, pack, rng)
    mover = _Mover(pack, prior, rng)
    return mover.temper(replace(grown, day=day))


def _with_new_latents(state: State, pack: Packed, rng: np.random.Generator) -> State:
    """Columns for the takes and first layers of this day, drawn from their prior."""
    draws = len(state)
    known = state.takes.shape[1]
    fresh = pack.takes[known:]
    takes = (
        fresh[:, 0]
        + state.bias[:, fresh[:, 1].astype(int)]
        + JUDGED_SD * rng.standard_normal((draws, len(fresh)))
    )
    layers = rng.standard_normal((draws, len(pack.start_zone) - state.starts.shape[1]))
    return replace(
        state,
        takes=np.concatenate([state.takes, takes], axis=1),
        starts=np.concatenate([state.starts, layers], axis=1),
    )


def evaluate(pack: Packed, zones: Floats, takes: Floats, starts: Floats) -> Floats:
    """ln likelihood of old and of new records, shape (draws, zones, 2)."""
    from coatwright.learning import kernel

    out = np.empty((*zones.shape[:2], 2))
    traits = pack.centre + zones
    inner = (pack.rows, pack.zone_rows, pack.starts, pack.paper, pack.fixed, pack.most)

    def work(part: slice) -> None:
        kernel.likelihood_of(
            kernel.CDF, kernel.PDF, *inner, traits[part], takes[part], starts[part], out[part]
        )

    in_parts(work, len(zones))
    return out


def in_parts(work: Callable[[slice], None], count: int) -> None:
    """Call ``work`` on slices that make up ``range(count)``, on as many threads as there are processors."""
    workers = min(os.cpu_count() or 1, max(count // 64, 1))
    if workers == 1:
        work(slice(0, count))
        return
    edges = np.linspace(0, count, workers + 1).astype(int)
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(work, [slice(a, b) for a, b in pairwise(edges)]))


class _Mover:
    """Draws on their way from the posterior without this day's records to the one with them."""

    def __init__(self, pack: Packed, prior: Prior, rng: np.random.Generator) -> None:
        self.pack, self.prior, self.rng = pack, prior, rng
        self.groomer = pack.takes[:, 1].astype(int)
        self.take_zone = pack.takes[:, 2].astype(int)
        self.recorded = pack.takes[:, 0]
        self.temperature = 0.0
        self.moved = [0.0, 0.0]

    def temper(self, state: State) -> State:
        """Bring the new records in."""
        score = evaluate(self.pack, state.zones, state.takes, state.starts)
        while True:
            fresh = score[:, :, 1].sum(axis=1)
            step = _step(state.weight, fresh, 1.0 - self.temperature)
            weight = state.weight * np.exp(step * (fresh - fresh.max()))
            state = replace(state, weight=weight / weight.sum())
            self.temperature = min(self.temperature + step, 1.0)
            last = self.temperature >= 1.0 - 1e-9
            if last:
                self.temperature = 1.0
            guide = _Guide(state, self.take_zone, self.pack.start_zone)
            if not last or state.effective < 0.9 * len(state):
                state, score = self._resampled(state, score)
            state, score = self._stir(state, score, guide, LAST_MOVED if last else MOVED)
            if last:
                return state

    def _resampled(self, state: State, score: Floats) -> tuple[State, Floats]:
        """Equal weights: systematic resampling, in the order of the draws."""
        count = len(state)
        points = (np.arange(count) + self.rng.random()) / count
        pick = np.minimum(np.searchsorted(np.cumsum(state.weight), points), count - 1)
        taken = State(
            state.day,
            state.dog[pick],
            state.bias[pick],
            state.zones[pick],
            state.takes[pick],
            state.starts[pick],
            np.full(count, 1.0 / count),
        )
        return taken, score[pick]

    def _heat(self, score: Floats) -> Floats:
        heat: Floats = score[..., 0] + self.temperature * score[..., 1]
        return heat

    def _stir(self, state: State, score: Floats, guide: _Guide, enough: float) -> tuple[State, Floats]:
        """Move the zones and what they share until each draw has been moved ``enough`` times on average."""
        self.moved = [0.0, 0.0]
        for _ in range(MOST_SWEEPS):
            if self.moved[0] < enough:
                state, score = self._move_zones(state, score, guide)
            if self.moved[1] < enough:
                state, score = self._move_shared(state, score, guide)
            state = self._draw_shared(state)
            if min(self.moved) >= enough:
                break
        return state, score

    def _move_zones(self, state: State, score: Floats, guide: _Guide) -> tuple[State, Floats]:
        """Each zone's own draws, in each zone of each draw accepted or refused by themselves."""
        count, zones = state.zones.shape[:2]
        size = self.rng.choice(SIZES, (count, 1))
        shared = guide.shared_of(state)
        moved, gain = [], np.empty((count, zones))
        for z in range(zones):
            local = guide.local_of(state, z)
            middle = guide.middle(shared, z)
            off = guide.white(local - middle, z)
            fresh = self._stirred(off, size)
            tried = middle + guide.coloured(fresh, z)
            moved.append(tried)
            gain[:, z] = 0.5 * ((fresh**2).sum(axis=1) - (off**2).sum(axis=1))
            gain[:, z] += self._local_prior(state, tried, z) - self._local_prior(state, local, z)
        candidate = guide.with_locals(state, moved)
        tried_score = evaluate(self.pack, candidate.zones, candidate.takes, candidate.starts)
        gain += self._heat(tried_score) - self._heat(score)
        taken = np.log(self.rng.random((count, zones))) < gain
        self.moved[0] += float(taken.mean(axis=0).min())
        return (
            replace(
                state,
                zones=np.where(taken[:, :, None], candidate.zones, state.zones),
                takes=np.where(taken[:, self.take_zone], candidate.takes, state.takes),
                starts=np.where(taken[:, self.pack.start_zone], candidate.starts, state.starts),
            ),
            np.where(taken[:, :, None], tried_score, score),
        )

    def _move_shared(self, state: State, score: Floats, guide: _Guide) -> tuple[State, Floats]:
        """What zones share, and groomers' habits; every zone goes along as far as it usually does."""
        count, zones = state.zones.shape[:2]
        size = self.rng.choice(SIZES, (count, 1))
        shared = guide.shared_of(state)
        off = guide.white_shared(shared)
        fresh = self._stirred(off, size)
        turned = guide.coloured_shared(fresh)
        moved = []
        for z in range(zones):
            moved.append(guide.local_of(state, z) + guide.middle(turned, z) - guide.middle(shared, z))
        candidate = guide.with_shared(guide.with_locals(state, moved), turned)
        tried = evaluate(self.pack, candidate.zones, candidate.takes, candidate.starts)
        gain = (self._heat(tried) - self._heat(score)).sum(axis=1)
        gain += 0.5 * ((fresh**2).sum(axis=1) - (off**2).sum(axis=1))
        gain += self._shared_prior(candidate.dog, candidate.bias) - self._shared_prior(state.dog, state.bias)
        for z in range(zones):
            gain += self._local_prior(candidate, moved[z], z)
            gain -= self._local_prior(state, guide.local_of(state, z), z)
        taken = np.log(self.rng.random(count)) < gain
        self.moved[1] += float(taken.mean())
        return (
            replace(
                state,
                dog=np.where(taken[:, None], candidate.dog, state.dog),
                bias=np.where(taken[:, None], candidate.bias, state.bias),
                zones=np.where(taken[:, None, None], candidate.zones, state.zones),
                takes=np.where(taken[:, None], candidate.takes, state.takes),
                starts=np.where(taken[:, None], candidate.starts, state.starts),
            ),
            np.where(taken[:, None, None], tried, score),
        )

    def _stirred(self, off: Floats, size: Floats) -> Floats:
        """Independent standard normal numbers after a step of ``size``."""
        stirred: Floats = np.sqrt(1.0 - size**2) * off + size * self.rng.standard_normal(off.shape)
        return stirred

    def _local_prior(self, state: State, local: Floats, z: int) -> Floats:
        """ln prior density of a zone's own draws given what the zones share, up to a constant."""
        traits = len(TRAITS)
        takes = np.flatnonzero(self.take_zone == z)
        own = (local[:, :traits] - state.dog) / self.prior.zone_sd
        middle = self.recorded[takes] + state.bias[:, self.groomer[takes]]
        off = (local[:, traits : traits + len(takes)] - middle) / JUDGED_SD
        found: Floats = -0.5 * (
            (own**2).sum(axis=1) + (off**2).sum(axis=1) + (local[:, traits + len(takes) :] ** 2).sum(axis=1)
        )
        return found

    def _shared_prior(self, dog: Floats, bias: Floats) -> Floats:
        off = ((dog - self.prior.mean) / self.prior.dog_sd) ** 2
        habit = ((bias - self.prior.bias_mean) / self.prior.bias_sd) ** 2
        found: Floats = -0.5 * (off.sum(axis=1) + habit.sum(axis=1))
        return found

    def _draw_shared(self, state: State) -> State:
        """What zones share given the zones, and habits given the takes: normal given normal, drawn exactly."""
        count, zones, traits = state.zones.shape
        precision = 1.0 / self.prior.dog_sd**2 + zones / self.prior.zone_sd**2
        mean = self.prior.mean / self.prior.dog_sd**2 + state.zones.sum(axis=1) / self.prior.zone_sd**2
        dog = mean / precision + self.rng.standard_normal((count, traits)) / np.sqrt(precision)
        groomers = state.bias.shape[1]
        owner = np.zeros((len(self.groomer), groomers))
        owner[np.arange(len(self.groomer)), self.groomer] = 1.0
        precision = 1.0 / (np.zeros(groomers) + self.prior.bias_sd) ** 2 + owner.sum(axis=0) / JUDGED_SD**2
        mean = (np.zeros(groomers) + self.prior.bias_mean) / self.prior.bias_sd**2
        mean = mean + (state.takes - self.recorded) @ owner / JUDGED_SD**2
        bias = mean / precision + self.rng.standard_normal((count, groomers)) / np.sqrt(precision)
        return replace(state, dog=dog, bias=bias)


class _Guide:
    """The draws at one temperature as a normal distribution: what zones share, and each zone given that.

    It proposes moves; whatever it gets wrong is put right by what is accepted.
    """

    def __init__(self, state: State, take_zone: Ints, start_zone: Ints) -> None:
        self.columns = [
            (np.flatnonzero(take_zone == z), np.flatnonzero(start_zone == z))
            for z in range(state.zones.shape[1])
        ]
        weight = state.weight[:, None]
        shared = self.shared_of(state)
        self.mean = (weight * shared).sum(axis=0)
        off = shared - self.mean
        self.root = _root(off.T @ (weight * off))
        self.inverse = np.linalg.inv(self.root)
        spread = np.linalg.inv(self.root @ self.root.T)
        self.means, self.slopes, self.roots, self.inverses = [], [], [], []
        for z in range(state.zones.shape[1]):
            local = self.local_of(state, z)
            mean = (weight * local).sum(axis=0)
            slope = spread @ (off.T @ (weight * (local - mean)))
            rest = local - mean - off @ slope
            root = _root(rest.T @ (weight * rest))
            self.means.append(mean)
            self.slopes.append(slope)
            self.roots.append(root)
            self.inverses.append(np.linalg.inv(root))

    def shared_of(self, state: State) -> Floats:
        """What zones share, and habits, (draws, traits + groomers)."""
        return np.concatenate([state.dog, state.bias], axis=1)

    def local_of(self, state: State, z: int) -> Floats:
        """A zone's own: traits, takes, first layers, (draws, ...)."""
        takes, starts = self.columns[z]
        return np.concatenate([state.zones[:, z], state.takes[:, takes], state.starts[:, starts]], axis=1)

    def with_locals(self, state: State, locals_: list[Floats]) -> State:
        """The state with every zone's own put in."""
        traits = len(TRAITS)
        zones = np.stack([local[:, :traits] for local in locals_], axis=1)
        takes, starts = np.empty_like(state.takes), np.empty_like(state.starts)
        for (pulls, layers), local in zip(self.columns, locals_, strict=True):
            takes[:, pulls] = local[:, traits : traits + len(pulls)]
            starts[:, layers] = local[:, traits + len(pulls) :]
        return replace(state, zones=zones, takes=takes, starts=starts)

    def with_shared(self, state: State, shared: Floats) -> State:
        """The state with what the zones share put in."""
        return replace(state, dog=shared[:, : len(TRAITS)], bias=shared[:, len(TRAITS) :])

    def middle(self, shared: Floats, z: int) -> Floats:
        """Where a zone's own usually is, given what the zones share."""
        found: Floats = self.means[z] + (shared - self.mean) @ self.slopes[z]
        return found

    def white(self, off: Floats, z: int) -> Floats:
        """A zone's distance from its middle in standard deviations that are independent of each other."""
        found: Floats = off @ self.inverses[z].T
        return found

    def coloured(self, white: Floats, z: int) -> Floats:
        """The reverse of :meth:`white`."""
        found: Floats = white @ self.roots[z].T
        return found

    def white_shared(self, shared: Floats) -> Floats:
        """The same for what the zones share."""
        found: Floats = (shared - self.mean) @ self.inverse.T
        return found

    def coloured_shared(self, white: Floats) -> Floats:
        """The reverse of :meth:`white_shared`."""
        found: Floats = self.mean + white @ self.root.T
        return found


def _root(covariance: Floats) -> Floats:
    """Lower root of a covariance, a millionth of its diagonal added so that it has one."""
    ridge = 1e-6 * np.diag(covariance) + 1e-12
    found: Floats = np.linalg.cholesky(covariance + np.diag(ridge))
    return found


def _step(weight: Floats, fresh: Floats, most: float) -> float:
    """The largest step of temper, up to ``most``, that leaves enough effective draws."""
    aim = LEAST_EFFECTIVE / (weight**2).sum()
    level = fresh - fresh.max()

    def effective(step: float) -> float:
        new = weight * np.exp(step * level)
        total = float(new.sum())
        return total * total / float((new**2).sum()) if total > 0.0 else 0.0

    if effective(most) >= aim:
        return most
    low, high = 0.0, most
    for _ in range(40):
        middle = 0.5 * (low + high)
        if effective(middle) >= aim:
            low = middle
        else:
            high = middle
    return max(low, 1e-6)
