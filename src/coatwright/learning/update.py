"""The update after each visit: sequential Monte Carlo with tempering and rejuvenation.

Draws of everything that is not known (traits of the dog and of its zones, what was really pulled at every take, the
shares of the layers first read, each groomer's habit) carry weights. New records come in by steps of temper
(Del Moral, Doucet & Jasra 2006, J R Statist Soc B 68:411-436; Chopin 2002, Biometrika 89:539-551): each step is as
large as leaves enough draws effective, then draws are resampled, as wholes or zone by zone (see :mod:`.weighing`),
and moved by Markov steps that leave the posterior as it is. Given the traits of the dog, its zones are independent,
so each zone accepts or refuses its own move; what zones share is drawn exactly (normal given normal) and also moved
together with all zones. Moves are proposed by the draws themselves, taken as a normal distribution (see :mod:`.guide`
and decision 14). Both papers from memory.

The same records and the same seed give the same draws, whatever the number of threads; each day's randomness
depends on the seed and that day alone.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.learning.evidence import DogEvidence, Packed, packed
from coatwright.learning.guide import Guide
from coatwright.learning.lanes import WIDTH
from coatwright.learning.pooling import pooled
from coatwright.learning.priors import JUDGED_SD, TRAITS, Prior
from coatwright.learning.state import State
from coatwright.learning.weighing import Apart, Whole
from coatwright.units import Day

DRAWS = 1000
LEAST_EFFECTIVE = 0.3
"""Share of effective draws that a step of temper leaves."""
FEW_ZONES = 4
"""Draws of a dog with no more zones are weighed as wholes: exact, also for coats that fit in two ways. Those of more
zones only where one step is enough."""
LEAST_APART = 0.1
"""... and elsewhere zone by zone: share of effective draws left of what zones share, and in the worst zone."""
MOVED = 0.5
"""How often each draw is moved after a step of temper, on average (of the fifth of zones that move least).

What zones share is moved half as often, since it is also drawn exactly in every sweep."""
LAST_MOVED = 1.75
"""... and after the last one."""
MOST_SWEEPS = 12
"""Sweeps after which it is enough in any case."""
LEAST_PART = 256
"""Draws that are worth a thread."""
FEW = 0.2
"""Where another prior leaves less than this share of effective draws, everything is learnt again."""
SIZES = np.array([1.0, 1.0, 1.0, 0.4])
"""How far a move goes: 1 forgets where the draw was."""
WIDTHS = np.array([1.0, 1.15, 1.3])
"""How much wider than itself the guide is taken to be: draws that are too much alike would stay so."""


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
    grown = replace(_with_new_latents(state, pack, rng), day=day)
    if not pack.told:
        return grown
    return _Mover(pack, prior, dog.groomers, rng).temper(grown)


def renewed(state: State, dog: DogEvidence, was: Prior, now: Prior, *, seed: int) -> State:
    """The draws under another prior than that from which they were learnt."""
    weighed = pooled(state, was, now)
    if weighed.effective > 0.9 * len(state):
        return weighed
    if weighed.effective < FEW * len(state):
        return learn(dog, until=state.day, prior=now, draws=len(state), seed=seed)
    rng = np.random.default_rng([seed, state.day, 1])
    return _Mover(packed(dog, state.day), now, dog.groomers, rng).settle(weighed)


def _with_new_latents(state: State, pack: Packed, rng: np.random.Generator) -> State:
    """A copy with columns for the takes and first layers of this day, drawn from their prior."""
    draws = len(state)
    known = state.takes.shape[1]
    fresh = pack.takes[known:]
    noise = JUDGED_SD * rng.standard_normal((draws, len(fresh)))
    takes = state.bias[:, fresh[:, 0].astype(int)] + noise
    layers = rng.standard_normal((draws, len(pack.start_zone) - state.starts.shape[1]))
    return replace(
        state,
        dog=state.dog.copy(),
        bias=state.bias.copy(),
        zones=state.zones.copy(),
        takes=np.concatenate([state.takes, takes], axis=1),
        starts=np.concatenate([state.starts, layers], axis=1),
    )


def evaluate(pack: Packed, zones: Floats, takes: Floats, starts: Floats) -> Floats:
    """ln likelihood of old and of new records, shape (draws, zones, 2)."""
    from coatwright.learning import kernel

    out = np.empty((*zones.shape[:2], 2))
    inner = pack.arrays

    def work(part: slice) -> None:
        kernel.likelihood_of(*inner, zones, takes, starts, part.start, part.stop, out)

    in_blocks(work, len(zones))
    return out


def blocks_of(draws: int) -> int:
    """Blocks of draws that the compiled loops take at once."""
    return -(-draws // WIDTH)


def in_blocks(work: Callable[[slice], None], draws: int) -> None:
    """Call ``work`` on slices of the blocks of draws that the compiled loops take at once."""
    in_parts(work, blocks_of(draws), LEAST_PART // WIDTH)


def in_parts(work: Callable[[slice], None], count: int, least: int = LEAST_PART) -> None:
    """Call ``work`` on slices that make up ``range(count)``, on as many threads as there are processors.

    ``least`` is how many are worth a thread.
    """
    workers = min(os.cpu_count() or 1, max(count // least, 1))
    if workers == 1:
        work(slice(0, count))
        return
    edges = np.linspace(0, count, workers + 1).astype(int)
    list(_threads(os.getpid(), workers).map(work, [slice(a, b) for a, b in pairwise(edges)]))


@lru_cache(maxsize=4)
def _threads(process: int, workers: int) -> ThreadPoolExecutor:
    """Threads that are kept, as starting them takes longer than a small piece of work; each process its own."""
    return ThreadPoolExecutor(workers, thread_name_prefix=f"draws-{process}")


class _Mover:
    """Draws on their way from the posterior without this day's records to the one with them."""

    def __init__(self, pack: Packed, prior: Prior, groomers: int, rng: np.random.Generator) -> None:
        self.pack, self.prior, self.rng = pack, prior, rng
        self.groomer = pack.takes[:, 0].astype(np.int64)
        self.temperature = 0.0
        self.bias_mean = np.zeros(groomers) + prior.bias_mean
        self.bias_sd = np.zeros(groomers) + prior.bias_sd
        self.inner = pack.arrays
        self.priors = (
            prior.mean, prior.dog_sd, prior.zone_sd, self.bias_mean, self.bias_sd,
            self.groomer, JUDGED_SD,
        )  # fmt: skip

    def temper(self, state: State) -> State:
        """Bring the new records in."""
        score = evaluate(self.pack, state.zones, state.takes, state.starts)
        while True:
            left = 1.0 - self.temperature
            whole = Whole(state, score[:, :, 1])
            step = whole.step(left, LEAST_EFFECTIVE)
            if state.zones.shape[1] <= FEW_ZONES or step >= left:
                state = whole.at(step, self.rng)
            else:
                apart = Apart(state, Guide(state, self.pack), score[:, :, 1])
                step = apart.step(left, LEAST_APART)
                state = apart.at(step, self.rng)
            last = step >= left - 1e-9
            self.temperature = 1.0 if last else self.temperature + step
            state, score = self._stir(state, LAST_MOVED if last else MOVED)
            if last:
                return state

    def settle(self, state: State) -> State:
        """Equal weights and fresh draws, with every record counted in full."""
        self.temperature = 1.0
        return self._stir(state.picked(len(state)), LAST_MOVED)[0]

    def _stir(self, state: State, enough: float) -> tuple[State, Floats]:
        """Move the zones and what they share until each draw has been moved ``enough`` times on average.

        The arrays of the state are changed in place; returns it with the ln likelihood of its draws.
        """
        score = evaluate(self.pack, state.zones, state.takes, state.starts)
        by_zones, by_shared = 0.0, 0.0
        for _ in range(MOST_SWEEPS):
            guide = Guide(state, self.pack)
            if by_zones < enough:
                by_zones += self._moved(guide, state, score, together=False)
            if by_shared < 0.5 * enough:
                by_shared += self._moved(guide, state, score, together=True)
            state = self._draw_shared(state)
            if by_zones >= enough and by_shared >= 0.5 * enough:
                break
        return state, score

    def _moved(self, guide: Guide, state: State, score: Floats, *, together: bool) -> float:
        """One move of every zone by itself, or of what they share with all zones; returns the share taken."""
        from coatwright.learning import moves

        count, zones = state.zones.shape[:2]
        blocks = blocks_of(count)
        size, wide = self.rng.choice(SIZES, (blocks, WIDTH)), self.rng.choice(WIDTHS, (blocks, WIDTH))
        width = guide.shared_width if together else guide.width
        noise = self.rng.standard_normal((blocks, width, WIDTH), dtype=np.float32)
        dare = np.log(self.rng.random((blocks, 1 if together else zones, WIDTH)))
        taken = np.empty_like(dare)
        kernel = moves.move_shared if together else moves.move_zones

        def work(part: slice) -> None:
            kernel(
                *self.inner, self.temperature, *self.priors, *guide.arrays,
                state.dog, state.bias, state.zones, state.takes, state.starts, score,
                size, wide, noise, dare, taken, part.start, part.stop,
            )  # fmt: skip

        in_blocks(work, count)
        by_draw = np.moveaxis(taken, 1, 0).reshape(-1, blocks * WIDTH)[:, :count]
        return float(np.quantile(by_draw.mean(axis=1), 0.2))

    def _draw_shared(self, state: State) -> State:
        """What zones share given the zones, and habits given the takes: normal given normal, drawn exactly."""
        count, zones, traits = state.zones.shape
        precision = 1.0 / self.prior.dog_sd**2 + zones / self.prior.zone_sd**2
        mean = self.prior.mean / self.prior.dog_sd**2 + state.zones.sum(axis=1) / self.prior.zone_sd**2
        dog = mean / precision + self.rng.standard_normal((count, traits)) / np.sqrt(precision)
        owner = (self.groomer[:, None] == np.arange(len(self.bias_sd))).astype(float)
        precision = 1.0 / self.bias_sd**2 + owner.sum(axis=0) / JUDGED_SD**2
        mean = self.bias_mean / self.bias_sd**2 + state.takes @ owner / JUDGED_SD**2
        bias = mean / precision + self.rng.standard_normal(state.bias.shape) / np.sqrt(precision)
        return replace(state, dog=dog, bias=bias)
