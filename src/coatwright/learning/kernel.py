"""The inner loops of the learning, compiled: one zone's records against one draw of what is not known.

:func:`replay` works every pull with the draw's own takes and growth, by the rules of :mod:`coatwright.coat.layers`,
and adds up how probable each record is under it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from coatwright.coat.kernel import CDF, PDF, look_up
from coatwright.learning import evidence, priors
from coatwright.learning.priors import EFFORT, END, LAG, MASS, RATE, RIPE, SPREAD
from coatwright.learning.strands import LEAST, begin, compiled, grown, inlined, pull, shed, visible

START, PULL, CUT, SHED = evidence.START, evidence.PULL, evidence.CUT, evidence.SHED
LONGEST, SHORTEST, STEP = evidence.LONGEST, evidence.SHORTEST, evidence.STEP
WORD, COVER, GRAMS = evidence.WORD, evidence.COVER, evidence.GRAMS
MINUTES, EASE, PAPER = evidence.MINUTES, evidence.EASE, evidence.PAPER

LOOK_EDGES = np.array([-9.0, *priors.LOOK_EDGES, 9.0])
EASE_EDGES = np.array([-9.0, *priors.EASE_EDGES, 9.0])
RULER_SD, COVER_SD, EASE_SD = priors.RULER_SD, priors.COVER_SD, priors.EASE_SD
WEIGHED_SD, MINUTES_SD, RIPE_SD = priors.WEIGHED_SD, priors.MINUTES_SD, priors.RIPE_SD
SLIP = priors.SLIP
SLIP_LENGTH = 1.0 / 100.0
"""Density of a slip of a length, per mm: anything up to 100 mm."""
SLIP_FACTOR = 10.0
"""A slip in grams or minutes is spread ten times as wide as a good record."""
SLIP_REACH = 230.0
"""... and never less probable than 1e-100, so that grams of a zone where nothing can have stood do not end a draw."""
FIRST_SEEN, SURELY_SEEN, SEEN_SHARE = 0.5, 2.0, 0.03
"""A layer can be told apart from 0.5 mm on, for sure from 2 mm and 3 % of the hairs on: assumptions."""
CHOSEN = 0.3
"""How far hairs that stand for a layer lie from its mean, as a part of the layer's spread: an assumption."""
TAIL, FIVE = 0.05, 1.6448536269514722
HALF_LOG_TWO_PI = 0.9189385332046727


@inlined
def _phi(cdf: Any, z: float) -> float:
    """Normal distribution function by table."""
    if z >= 5.0:
        return 1.0
    if z <= -5.0:
        return 0.0
    return look_up(cdf, z)


@inlined
def _normal(gap: float, sd: float) -> float:
    """Normal density; none beyond nine standard deviations."""
    z = gap / sd
    if z > 9.0 or z < -9.0:
        return 0.0
    return math.exp(-0.5 * z * z - HALF_LOG_TWO_PI) / sd


@inlined
def noticed_of(length: float, share: float) -> float:
    """How surely a layer of this length (mm) and share is noticed by comb and eye."""
    long = min(max((length - FIRST_SEEN) / (SURELY_SEEN - FIRST_SEEN), 0.0), 1.0)
    return long * min(share / SEEN_SHARE, 1.0)


@inlined
def _length_density(good: float) -> float:
    """Density of a length that may be a slip."""
    return (1.0 - SLIP) * good + SLIP * SLIP_LENGTH


@compiled
def _shortest(value: float, spread: float, mean: Any, weight: Any, seen: int) -> float:
    """Density of the shortest visible hair: the lower edge of the shortest layer that is noticed."""
    left, density = 1.0, 0.0
    for k in range(seen - 1, -1, -1):
        noticed = left * noticed_of(mean[k], weight[k])
        if noticed > 0.0:
            edge = mean[k] * (1.0 - FIVE * spread)
            density += noticed * _normal(value - edge, RULER_SD)
            left -= noticed
    told: float = density / (1.0 - left) if left < 1.0 else 0.0
    return told


@compiled
def _step(value: float, spread: float, mean: Any, weight: Any, seen: int) -> float:
    """Density of a length told apart by the comb: any noticed layer, in proportion to its share."""
    total, density = 0.0, 0.0
    for k in range(seen):
        w = weight[k] * noticed_of(mean[k], weight[k])
        total += w
        own = CHOSEN * spread * mean[k]
        density += w * _normal(value - mean[k], math.sqrt(RULER_SD * RULER_SD + own * own))
    told: float = density / total if total > 0.0 else 0.0
    return told


@inlined
def _word(cdf: Any, edges: Any, which: int, value: float, sd: float, words: int) -> float:
    chance = _phi(cdf, (edges[which + 1] - value) / sd) - _phi(cdf, (edges[which] - value) / sd)
    return (1.0 - SLIP) * max(chance, 0.0) + SLIP / words


@inlined
def _logged(gap: float, sd: float) -> float:
    """Density of a logarithm that may be a slip."""
    wide = SLIP_FACTOR * sd
    z = gap / wide
    slip = math.exp(-min(0.5 * z * z, SLIP_REACH) - HALF_LOG_TWO_PI) / wide
    return (1.0 - SLIP) * _normal(gap, sd) + SLIP * slip


@compiled
def _of_paper(
    cdf: Any, paper: Any, first: int, count: int, spread: float, part: Any, length: Any, head: int, pulled: int,
    take: float,
) -> float:  # fmt: skip
    """ln probability of a paper test's lengths: a mixture over the layers that the take came from."""
    total, found = take, 0.0
    if total <= LEAST:
        return 0.0
    for n in range(first, first + count):
        mid, width, hairs = paper[n, 0], paper[n, 1], paper[n, 2]
        chance = 0.0
        for k in range(head, pulled):
            if part[k] <= LEAST:
                continue
            own = spread * length[k]
            sd = math.sqrt(own * own + width * width / 12.0 + 0.25)
            if paper[n, 3] > 0.0:
                chance += part[k] * _phi(cdf, (length[k] - mid) / sd)
            else:
                chance += part[k] * _normal(mid - length[k], sd) * width
        slip = 1.0 if paper[n, 3] > 0.0 else width * SLIP_LENGTH
        found += hairs * math.log((1.0 - SLIP) * chance / total + SLIP * slip)
    return found


@compiled
def longest_of(cdf: Any, pdf: Any, mean: Any, weight: Any, seen: int, spread: float, target: float) -> float:
    """Length that hairs of total weight ``target`` exceed, to a few hundredths of a millimetre.

    Where the oldest layer makes it alone the normal quantile does (Abramowitz & Stegun 26.2.22, error 0.003, from
    memory), elsewhere guarded Newton steps that begin there.
    """
    longest: float = mean[0]
    following: float = 0.0
    for k in range(1, seen):
        following = max(following, mean[k])
    value: float = longest * (1.0 + spread)
    part = target / weight[0]
    if part < 0.5:
        t = math.sqrt(-2.0 * math.log(part))
        value = longest * (1.0 + spread * (t - (2.30753 + 0.27061 * t) / (1.0 + t * (0.99229 + 0.04481 * t))))
        if following * (1.0 + 3.6 * spread) < value:
            return value
    longest = max(longest, following)
    low, high = 0.0, longest * (1.0 + 5.0 * spread) + 1e-9
    close = min(0.3, 0.1 * spread * longest)
    for _ in range(40):
        beyond, slope = -target, 0.0
        for k in range(seen):
            sd = spread * mean[k]
            gap = mean[k] - value
            if gap >= 5.0 * sd:
                beyond += weight[k]
            elif gap > -5.0 * sd:
                z = gap / sd
                beyond += weight[k] * look_up(cdf, z)
                slope += weight[k] * look_up(pdf, z) / sd
        if beyond > 0.0:
            low = value
        else:
            high = value
        step = value + beyond / slope if slope > 1e-9 else -1.0
        if not low < step < high:
            step = 0.5 * (low + high)
        moved = abs(step - value)
        value = step
        if moved < close:
            break
    return value


@compiled
def replay(
    cdf: Any, pdf: Any, rows: Any, first: int, last: int, starts: Any, paper: Any, hold: float, loss: float,
    traits: Any, takes: Any, latent: Any, d: int, z: int,
    born: Any, share: Any, removed: Any, slot: Any, mean: Any, weight: Any, part: Any, length: Any, age: Any,
    out: Any, taken: Any,
) -> int:  # fmt: skip
    """One zone of one draw; sets the ln likelihood of old and new records in ``out`` and returns the layers left.

    ``traits`` (draws, zones, traits) with the centre in; a lag or spread that no dog can have counts as impossible.
    Where ``taken`` (draws, pulls) has columns, what was really pulled is written there.
    """
    lag, rate, end = traits[d, z, LAG], math.exp(traits[d, z, RATE]), math.exp(traits[d, z, END])
    spread = math.exp(traits[d, z, SPREAD])
    out[d, z, 0] = 0.0
    out[d, z, 1] = 0.0
    if lag < 1.0 or spread > 0.45:
        out[d, z, 0] = -1e30
        return 0
    blown = lag + end / rate + hold
    head, count, since = 0, 0, 0.0
    before, pulled, take = 0, 0, 0.0  # of the last pull: the layers it came from, and how much
    seen_on, seen, cover, product, side = -1.0, 0, 0.0, 1.0, 0
    for n in range(first, last):
        kind, day, value = int(rows[n, 0]), rows[n, 1], rows[n, 2]
        if kind <= SHED:
            seen_on = -1.0
            if kind == START:
                count = begin(
                    starts, int(rows[n, 3]), int(rows[n, 4]), day, lag, rate, end, latent, d,
                    born, share, removed, slot,
                )  # fmt: skip
                head, since = 0, day
                continue
            lost = 0.0
            if loss > 0.0:
                lost = shed(day, since, blown, loss, born, share, head, count)
                since = day
            if kind == PULL:
                before = head
                if n + 1 < last and rows[n + 1, 0] >= GRAMS:
                    for k in range(head, count):
                        age[k] = day - born[k]
                        length[k] = max(grown(age[k], lag, rate, end) - removed[k], 0.0)
                head, count, pulled, take = pull(
                    day, value, takes[d, int(rows[n, 3])], rows[n, 7], rows[n, 8], lag, rate, end, int(rows[n, 6]),
                    born, share, removed, slot, head, count, part,
                )  # fmt: skip
                share[count - 1] += lost
                if taken.shape[1] > 0:
                    taken[d, int(rows[n, 3])] = take
            elif kind == CUT:
                for k in range(head, count):
                    removed[k] = max(removed[k], grown(day - born[k], lag, rate, end) - value)
            if kind != PULL and lost > LEAST:
                born[count], share[count], removed[count], slot[count] = day, lost, 0.0, int(rows[n, 6])
                count += 1
            continue
        if kind <= COVER and seen_on != day:
            seen, cover = visible(day, lag, rate, end, born, share, removed, head, count, mean, weight)
            seen_on = day
        if side != int(rows[n, 5]):
            out[d, z, side] += math.log(product)
            side, product = int(rows[n, 5]), 1.0
        if kind == LONGEST:
            longest = 0.0
            if seen > 0:
                longest = longest_of(cdf, pdf, mean, weight, seen, spread, TAIL * cover)
            product *= _length_density(_normal(value - longest, RULER_SD))
        elif kind == SHORTEST:
            product *= _length_density(_shortest(value, spread, mean, weight, seen))
        elif kind == STEP:
            product *= _length_density(_step(value, spread, mean, weight, seen))
        elif kind == WORD:
            product *= _word(cdf, LOOK_EDGES, int(value), cover, COVER_SD, 5)
        elif kind == COVER:
            product *= (1.0 - SLIP) * _normal(value - cover, COVER_SD) + SLIP
        elif kind == GRAMS:
            whole = 0.0
            for k in range(before, pulled):
                whole += part[k] * length[k]
            product *= _logged(value - traits[d, z, MASS] - math.log(max(whole, 1e-6)), WEIGHED_SD)
        elif kind == MINUTES:
            product *= _logged(value - traits[d, z, EFFORT] - math.log(max(take, 1e-6)), MINUTES_SD)
        elif kind == EASE:
            ripe = 0.0
            for k in range(before, pulled):
                ripe += part[k] * _phi(cdf, (age[k] - traits[d, z, RIPE]) / RIPE_SD)
            product *= _word(cdf, EASE_EDGES, int(value), ripe / max(take, LEAST), EASE_SD, 3)
        elif kind == PAPER:
            out[d, z, side] += _of_paper(
                cdf, paper, int(rows[n, 3]), int(rows[n, 4]), spread, part, length, before, pulled, take
            )
        if product < 1e-200:
            out[d, z, side] += math.log(product)
            product = 1.0
    out[d, z, side] += math.log(product)
    return count


@compiled
def scratch(room: int) -> Any:
    """Room for the layers of one zone of one draw, in the order in which :func:`replay` takes it."""
    return (
        np.empty(room), np.empty(room), np.empty(room), np.empty(room, dtype=np.int64), np.empty(room),
        np.empty(room), np.empty(room), np.empty(room), np.empty(room),
    )  # fmt: skip


@compiled
def likelihood_of(
    cdf: Any, pdf: Any, rows: Any, zone_rows: Any, starts: Any, paper: Any, fixed: Any, most: int,
    traits: Any, takes: Any, latent: Any, out: Any,
) -> None:  # fmt: skip
    """ln likelihood of old and new records, ``out`` (draws, zones, 2), for traits (draws, zones, traits)."""
    born, share, removed, slot, mean, weight, part, length, age = scratch(most + 2)
    taken = np.empty((0, 0))
    for d in range(len(traits)):
        for z in range(traits.shape[1]):
            replay(
                cdf, pdf, rows, zone_rows[z], zone_rows[z + 1], starts, paper, fixed[z, 0], fixed[z, 1],
                traits, takes, latent, d, z,
                born, share, removed, slot, mean, weight, part, length, age, out, taken,
            )  # fmt: skip


__all__ = ["CDF", "PDF", "likelihood_of", "longest_of", "noticed_of", "replay", "scratch"]
