"""Markov moves of the draws, compiled: proposed by the guide, judged by prior and records, eight draws at once.

The guide is taken a little wider than it is for some draws, so that they reach what it leaves out. A move of size s
turns independent standard normal numbers w into sqrt(1 - s^2) w + s noise, which leaves the guide's
normal distribution as it is; accepted is what makes the posterior be left as it is (Metropolis and Hastings).
Each block of eight draws is changed in place, by one thread alone.

Random numbers come in blocks too: ``size`` and ``wide`` (blocks, 8), ``noise`` (blocks, numbers, 8), ``dare``, the ln
of how improbable a move may be, and ``taken``, 1 where it was taken, (blocks, moves, 8).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from coatwright.learning.kernel import TRAIT_COUNT, gather, replay, room_for, widest_of
from coatwright.learning.lanes import WIDTH, compiled, put, row, sqrt, where


@compiled
def _spread_out(
    zones: Any, takes: Any, starts: Any, block: int, z: int, take_at: Any, take_of: Any, start_at: Any, start_of: Any,
    own: Any,
) -> None:  # fmt: skip
    """Put a zone's own numbers of a block of draws back."""
    for w in range(min(WIDTH, len(zones) - block * WIDTH)):
        d = block * WIDTH + w
        n = TRAIT_COUNT
        for t in range(TRAIT_COUNT):
            zones[d, z, t] = own[t, w]
        for k in range(take_at[z], take_at[z + 1]):
            takes[d, take_of[k]] = own[n, w]
            n += 1
        for k in range(start_at[z], start_at[z + 1]):
            starts[d, start_of[k]] = own[n, w]
            n += 1


@compiled
def _gather_shared(dog: Any, bias: Any, block: int, shared: Any) -> None:
    """What zones share and the habits, of a block of draws; lanes beyond the last draw repeat it."""
    for w in range(WIDTH):
        d = min(block * WIDTH + w, len(dog) - 1)
        for t in range(TRAIT_COUNT):
            shared[t, w] = dog[d, t]
        for g in range(bias.shape[1]):
            shared[TRAIT_COUNT + g, w] = bias[d, g]


@compiled
def _prior(
    shared: Any, z: int, zone_sd: Any, groomer: Any, judged_sd: float, take_at: Any, take_of: Any, width: int,
    own: Any,
) -> Any:  # fmt: skip
    """ln prior density of a zone's own numbers given what zones share, up to a constant."""
    total = 0.0 * row(own, 0)
    for t in range(TRAIT_COUNT):
        off = (row(own, t) - row(shared, t)) / zone_sd[t]
        total = total + off * off
    n = TRAIT_COUNT
    for k in range(take_at[z], take_at[z + 1]):
        off = (row(own, n) - row(shared, TRAIT_COUNT + groomer[take_of[k]])) / judged_sd
        total = total + off * off
        n += 1
    for k in range(n, width):
        total = total + row(own, k) * row(own, k)
    return -0.5 * total


@compiled
def _proposed(
    size: Any, wide: Any, middle: Any, root: Any, inverse: Any, noise: Any, place: int, width: int, own: Any,
    white: Any, new: Any,
) -> Any:  # fmt: skip
    """New numbers instead of ``own``, by a normal distribution round ``middle``; returns ln of how much more probable
    the way back is.
    """
    keep, gain = sqrt(1.0 - size * size), 0.0 * size
    for n in range(width):
        total = 0.0 * size
        for k in range(n + 1):
            total = total + inverse[n, k] * (row(own, k) - row(middle, k))
        total = total / wide
        fresh = keep * total + size * row(noise, place + n)
        put(white, n, fresh)
        gain = gain + 0.5 * (fresh * fresh - total * total)
    for n in range(width):
        total = 0.0 * size
        for k in range(n + 1):
            total = total + root[n, k] * row(white, k)
        put(new, n, row(middle, n) + wide * total)
    return gain


@compiled
def _scored(score: Any, block: int, z: int, temperature: float, room: Any) -> Any:
    """The tempered ln likelihood of a zone as it is."""
    for w in range(WIDTH):
        d = min(block * WIDTH + w, len(score) - 1)
        room[0, w] = score[d, z, 0] + temperature * score[d, z, 1]
    return row(room, 0)


@compiled
def _keep_score(told: Any, which: Any, block: int, z: int, score: Any) -> None:
    """The ln likelihood of what was taken."""
    for w in range(min(WIDTH, len(score) - block * WIDTH)):
        if which[w] > 0.0:
            d = block * WIDTH + w
            score[d, z, 0], score[d, z, 1] = told[0, w], told[1, w]


@compiled
def move_zones(
    rows: Any, zone_rows: Any, start_rows: Any, paper: Any, fixed: Any, centre: Any, layers: int,
    take_at: Any, take_of: Any, start_at: Any, start_of: Any,
    temperature: float, mean: Any, dog_sd: Any, zone_sd: Any, bias_mean: Any, bias_sd: Any, groomer: Any,
    judged_sd: float,
    shared_mean: Any, shared_root: Any, shared_inverse: Any, place: Any, means: Any, slopes: Any, roots: Any,
    inverses: Any,
    dog: Any, bias: Any, zones: Any, takes: Any, starts: Any, score: Any,
    size: Any, wide: Any, noise: Any, dare: Any, taken: Any, first: int, last: int,
) -> None:  # fmt: skip
    """Every zone moves by itself, in the blocks of draws from ``first`` to ``last``."""
    widest = widest_of(take_at, start_at)
    room = room_for(layers)
    own, new, middle = np.empty((widest, WIDTH)), np.empty((widest, WIDTH)), np.empty((widest, WIDTH))
    white, pulled, told = np.empty((widest, WIDTH)), np.empty((widest, WIDTH)), np.empty((2, WIDTH))
    shared = np.empty((len(shared_mean), WIDTH))
    for block in range(first, last):
        _gather_shared(dog, bias, block, shared)
        for z in range(zones.shape[1]):
            width = gather(zones, takes, starts, block, z, take_at, take_of, start_at, start_of, own)
            for n in range(width):
                total = 0.0 * row(own, 0) + means[place[z] + n]
                for s in range(len(shared_mean)):
                    total = total + slopes[place[z] + n, s] * (row(shared, s) - shared_mean[s])
                put(middle, n, total)
            gain = _proposed(
                row(size, block), row(wide, block), middle, roots[z], inverses[z], noise[block], place[z], width,
                own, white, new,
            )  # fmt: skip
            gain = gain - _prior(shared, z, zone_sd, groomer, judged_sd, take_at, take_of, width, own)
            gain = gain + _prior(shared, z, zone_sd, groomer, judged_sd, take_at, take_of, width, new)
            replay(
                rows, zone_rows[z], zone_rows[z + 1], start_rows, paper, fixed[z, 0], fixed[z, 1], centre[z], new,
                room, told, pulled,
            )  # fmt: skip
            gain = gain + row(told, 0) + temperature * row(told, 1)
            gain = gain - _scored(score, block, z, temperature, white)
            good = row(dare[block], z) < gain
            put(taken[block], z, where(good, 1.0, 0.0))
            for n in range(width):
                put(own, n, where(good, row(new, n), row(own, n)))
            _spread_out(zones, takes, starts, block, z, take_at, take_of, start_at, start_of, own)
            _keep_score(told, taken[block, z], block, z, score)


@compiled
def move_shared(
    rows: Any, zone_rows: Any, start_rows: Any, paper: Any, fixed: Any, centre: Any, layers: int,
    take_at: Any, take_of: Any, start_at: Any, start_of: Any,
    temperature: float, mean: Any, dog_sd: Any, zone_sd: Any, bias_mean: Any, bias_sd: Any, groomer: Any,
    judged_sd: float,
    shared_mean: Any, shared_root: Any, shared_inverse: Any, place: Any, means: Any, slopes: Any, roots: Any,
    inverses: Any,
    dog: Any, bias: Any, zones: Any, takes: Any, starts: Any, score: Any,
    size: Any, wide: Any, noise: Any, dare: Any, taken: Any, first: int, last: int,
) -> None:  # fmt: skip
    """What zones share moves, and every zone goes along as far as it usually does."""
    count, number = zones.shape[1], len(shared_mean)
    widest = widest_of(take_at, start_at)
    room = room_for(layers)
    own, new = np.empty((count, widest, WIDTH)), np.empty((count, widest, WIDTH))
    told, pulled = np.empty((count, 2, WIDTH)), np.empty((widest, WIDTH))
    before, after, white = np.empty((number, WIDTH)), np.empty((number, WIDTH)), np.empty((number, WIDTH))
    middle = np.empty((number, WIDTH))
    for s in range(number):
        middle[s] = shared_mean[s]
    for block in range(first, last):
        _gather_shared(dog, bias, block, before)
        gain = _proposed(
            row(size, block), row(wide, block), middle, shared_root, shared_inverse, noise[block], 0, number,
            before, white, after,
        )  # fmt: skip
        for t in range(number):
            habit = t >= TRAIT_COUNT
            centre_, sd = (
                (bias_mean[t - TRAIT_COUNT], bias_sd[t - TRAIT_COUNT]) if habit else (mean[t], dog_sd[t])
            )
            a, b = (row(after, t) - centre_) / sd, (row(before, t) - centre_) / sd
            gain = gain + 0.5 * (b * b - a * a)
        for z in range(count):
            width = gather(zones, takes, starts, block, z, take_at, take_of, start_at, start_of, own[z])
            for n in range(width):
                total = row(own[z], n)
                for s in range(number):
                    total = total + slopes[place[z] + n, s] * (row(after, s) - row(before, s))
                put(new[z], n, total)
            gain = gain - _prior(before, z, zone_sd, groomer, judged_sd, take_at, take_of, width, own[z])
            gain = gain + _prior(after, z, zone_sd, groomer, judged_sd, take_at, take_of, width, new[z])
            replay(
                rows, zone_rows[z], zone_rows[z + 1], start_rows, paper, fixed[z, 0], fixed[z, 1], centre[z],
                new[z], room, told[z], pulled,
            )  # fmt: skip
            gain = gain + row(told[z], 0) + temperature * row(told[z], 1)
            gain = gain - _scored(score, block, z, temperature, pulled)
        good = row(dare[block], 0) < gain
        put(taken[block], 0, where(good, 1.0, 0.0))
        for s in range(number):
            put(before, s, where(good, row(after, s), row(before, s)))
        for w in range(min(WIDTH, len(dog) - block * WIDTH)):
            for t in range(TRAIT_COUNT):
                dog[block * WIDTH + w, t] = before[t, w]
            for g in range(bias.shape[1]):
                bias[block * WIDTH + w, g] = before[TRAIT_COUNT + g, w]
        for z in range(count):
            for n in range(place[z + 1] - place[z]):
                put(own[z], n, where(good, row(new[z], n), row(own[z], n)))
            _spread_out(zones, takes, starts, block, z, take_at, take_of, start_at, start_of, own[z])
            _keep_score(told[z], taken[block, 0], block, z, score)
