"""Markov moves of the draws, compiled: proposed by the guide, judged by prior and records.

The guide is taken a little wider than it is for some draws, so that they reach what it leaves out. A move of size s
turns independent standard normal numbers w into sqrt(1 - s^2) w + s noise, which leaves the guide's
normal distribution as it is; accepted is what makes the posterior be left as it is (Metropolis and Hastings).
Each draw is changed in place, by one thread alone.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from coatwright.learning.kernel import replay, scratch
from coatwright.learning.priors import TRAITS
from coatwright.learning.strands import compiled

_TRAITS = len(TRAITS)


@compiled
def _own(zones: Any, takes: Any, starts: Any, d: int, z: int, take_at: Any, take_of: Any, start_at: Any,
         start_of: Any, own: Any) -> int:  # fmt: skip
    """A zone's own numbers of one draw; returns how many."""
    n = 0
    for t in range(_TRAITS):
        own[n] = zones[d, z, t]
        n += 1
    for k in range(take_at[z], take_at[z + 1]):
        own[n] = takes[d, take_of[k]]
        n += 1
    for k in range(start_at[z], start_at[z + 1]):
        own[n] = starts[d, start_of[k]]
        n += 1
    return n


@compiled
def _put(zones: Any, takes: Any, starts: Any, d: int, z: int, take_at: Any, take_of: Any, start_at: Any,
         start_of: Any, own: Any) -> None:  # fmt: skip
    """Put a zone's own numbers back."""
    n = 0
    for t in range(_TRAITS):
        zones[d, z, t] = own[n]
        n += 1
    for k in range(take_at[z], take_at[z + 1]):
        takes[d, take_of[k]] = own[n]
        n += 1
    for k in range(start_at[z], start_at[z + 1]):
        starts[d, start_of[k]] = own[n]
        n += 1


@compiled
def _prior(dog: Any, bias: Any, d: int, z: int, zone_sd: Any, groomer: Any, judged_sd: float,
           take_at: Any, take_of: Any, start_at: Any, own: Any) -> float:  # fmt: skip
    """ln prior density of a zone's own numbers given what zones share, up to a constant."""
    total, n = 0.0, _TRAITS
    for t in range(_TRAITS):
        off = (own[t] - dog[d, t]) / zone_sd[t]
        total += off * off
    for k in range(take_at[z], take_at[z + 1]):
        take = take_of[k]
        off = (own[n] - bias[d, groomer[take]]) / judged_sd
        total += off * off
        n += 1
    for _ in range(start_at[z], start_at[z + 1]):
        total += own[n] * own[n]
        n += 1
    return -0.5 * total


@compiled
def _absolute(zones: Any, centre: Any, d: int, traits: Any) -> None:
    """Traits of one draw with the centre in."""
    for z in range(zones.shape[1]):
        for t in range(_TRAITS):
            traits[d, z, t] = centre[z, t] + zones[d, z, t]


@compiled
def move_zones(
    cdf: Any, pdf: Any, rows: Any, zone_rows: Any, start_rows: Any, paper: Any, fixed: Any, most: int,
    temperature: float, centre: Any,
    mean: Any, dog_sd: Any, zone_sd: Any, bias_mean: Any, bias_sd: Any, groomer: Any, judged_sd: float,
    shared_mean: Any, shared_root: Any, shared_inverse: Any, place: Any, means: Any, slopes: Any, roots: Any,
    inverses: Any, take_at: Any, take_of: Any, start_at: Any, start_of: Any,
    dog: Any, bias: Any, zones: Any, takes: Any, starts: Any, score: Any, tried: Any,
    size: Any, wide: Any, noise: Any, dare: Any, taken: Any,
) -> None:  # fmt: skip
    """Each zone of each draw moves by itself."""
    widest = roots.shape[1]
    born, share, removed, slot, mean_, weight, part, length, age = scratch(most + 2)
    none = np.empty((0, 0))
    own, new, middle, white = np.empty(widest), np.empty(widest), np.empty(widest), np.empty(widest)
    traits = np.empty(zones.shape)
    for d in range(len(zones)):
        _absolute(zones, centre, d, traits)
        keep, step = math.sqrt(1.0 - size[d] * size[d]), size[d]
        for z in range(zones.shape[1]):
            width = _own(zones, takes, starts, d, z, take_at, take_of, start_at, start_of, own)
            for n in range(width):
                at = place[z] + n
                middle[n] = means[at]
                for s in range(_TRAITS):
                    middle[n] += slopes[at, s] * (dog[d, s] - shared_mean[s])
                for g in range(bias.shape[1]):
                    middle[n] += slopes[at, _TRAITS + g] * (bias[d, g] - shared_mean[_TRAITS + g])
            gain = -_prior(dog, bias, d, z, zone_sd, groomer, judged_sd, take_at, take_of, start_at, own)
            for n in range(width):
                total = 0.0
                for k in range(n + 1):
                    total += inverses[z, n, k] * (own[k] - middle[k])
                total /= wide[d]
                white[n] = keep * total + step * noise[d, place[z] + n]
                gain += 0.5 * (white[n] * white[n] - total * total)
            for n in range(width):
                new[n] = middle[n]
                for k in range(n + 1):
                    new[n] += wide[d] * roots[z, n, k] * white[k]
            gain += _prior(dog, bias, d, z, zone_sd, groomer, judged_sd, take_at, take_of, start_at, new)
            _put(zones, takes, starts, d, z, take_at, take_of, start_at, start_of, new)
            for t in range(_TRAITS):
                traits[d, z, t] = centre[z, t] + new[t]
            replay(
                cdf, pdf, rows, zone_rows[z], zone_rows[z + 1], start_rows, paper, fixed[z, 0], fixed[z, 1],
                traits, takes, starts, d, z,
                born, share, removed, slot, mean_, weight, part, length, age, tried, none,
            )  # fmt: skip
            gain += tried[d, z, 0] - score[d, z, 0] + temperature * (tried[d, z, 1] - score[d, z, 1])
            if dare[d, z] < gain:
                taken[d, z] = True
                score[d, z, 0], score[d, z, 1] = tried[d, z, 0], tried[d, z, 1]
            else:
                _put(zones, takes, starts, d, z, take_at, take_of, start_at, start_of, own)


@compiled
def move_shared(
    cdf: Any, pdf: Any, rows: Any, zone_rows: Any, start_rows: Any, paper: Any, fixed: Any, most: int,
    temperature: float, centre: Any,
    mean: Any, dog_sd: Any, zone_sd: Any, bias_mean: Any, bias_sd: Any, groomer: Any, judged_sd: float,
    shared_mean: Any, shared_root: Any, shared_inverse: Any, place: Any, means: Any, slopes: Any, roots: Any,
    inverses: Any, take_at: Any, take_of: Any, start_at: Any, start_of: Any,
    dog: Any, bias: Any, zones: Any, takes: Any, starts: Any, score: Any, tried: Any,
    size: Any, wide: Any, noise: Any, dare: Any, taken: Any,
) -> None:  # fmt: skip
    """What zones share moves, and every zone goes along as far as it usually does."""
    widest, count = roots.shape[1], zones.shape[1]
    born, share, removed, slot, mean_, weight, part, length, age = scratch(most + 2)
    none = np.empty((0, 0))
    old, new = np.empty((count, widest)), np.empty(widest)
    traits = np.empty(zones.shape)
    groomers = bias.shape[1]
    shared = _TRAITS + groomers
    before, after, white = np.empty(shared), np.empty(shared), np.empty(shared)
    for d in range(len(zones)):
        keep, step = math.sqrt(1.0 - size[d] * size[d]), size[d]
        for n in range(shared):
            before[n] = dog[d, n] if n < _TRAITS else bias[d, n - _TRAITS]
        gain = 0.0
        for n in range(shared):
            total = 0.0
            for k in range(n + 1):
                total += shared_inverse[n, k] * (before[k] - shared_mean[k])
            total /= wide[d]
            white[n] = keep * total + step * noise[d, n]
            gain += 0.5 * (white[n] * white[n] - total * total)
        for n in range(shared):
            after[n] = shared_mean[n]
            for k in range(n + 1):
                after[n] += wide[d] * shared_root[n, k] * white[k]
        for z in range(count):
            _own(zones, takes, starts, d, z, take_at, take_of, start_at, start_of, old[z])
            gain -= _prior(dog, bias, d, z, zone_sd, groomer, judged_sd, take_at, take_of, start_at, old[z])
        for n in range(_TRAITS):
            a, b = (after[n] - mean[n]) / dog_sd[n], (before[n] - mean[n]) / dog_sd[n]
            gain += 0.5 * (b * b - a * a)
            dog[d, n] = after[n]
        for g in range(groomers):
            n = _TRAITS + g
            a, b = (after[n] - bias_mean[g]) / bias_sd[g], (before[n] - bias_mean[g]) / bias_sd[g]
            gain += 0.5 * (b * b - a * a)
            bias[d, g] = after[n]
        for z in range(count):
            for n in range(place[z + 1] - place[z]):
                at = place[z] + n
                new[n] = old[z, n]
                for s in range(shared):
                    new[n] += slopes[at, s] * (after[s] - before[s])
            _put(zones, takes, starts, d, z, take_at, take_of, start_at, start_of, new)
            gain += _prior(dog, bias, d, z, zone_sd, groomer, judged_sd, take_at, take_of, start_at, new)
        _absolute(zones, centre, d, traits)
        for z in range(count):
            replay(
                cdf, pdf, rows, zone_rows[z], zone_rows[z + 1], start_rows, paper, fixed[z, 0], fixed[z, 1],
                traits, takes, starts, d, z,
                born, share, removed, slot, mean_, weight, part, length, age, tried, none,
            )  # fmt: skip
            gain += tried[d, z, 0] - score[d, z, 0] + temperature * (tried[d, z, 1] - score[d, z, 1])
        if dare[d, 0] < gain:
            taken[d, 0] = True
            for z in range(count):
                score[d, z, 0], score[d, z, 1] = tried[d, z, 0], tried[d, z, 1]
        else:
            for n in range(shared):
                if n < _TRAITS:
                    dog[d, n] = before[n]
                else:
                    bias[d, n - _TRAITS] = before[n]
            for z in range(count):
                _put(zones, takes, starts, d, z, take_at, take_of, start_at, start_of, old[z])
