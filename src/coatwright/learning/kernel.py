"""The inner loops of the learning, compiled: one zone's records against eight draws of what is not known.

:func:`replay` works every pull with the draws' own takes and growth, by the rules of :mod:`coatwright.coat.layers`,
and adds up how probable each record is under them.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from coatwright.learning import evidence, priors
from coatwright.learning.lanes import WIDTH, any_of, compiled, exp, least, log, most, put, row, sqrt, where
from coatwright.learning.priors import EFFORT, END, LAG, MASS, RATE, RIPE, SPREAD, TRAITS
from coatwright.learning.strands import LEAST, begin, grown, pull, shed, visible

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
TRAIT_COUNT = len(TRAITS)


class Room(NamedTuple):
    """Room for the layers of one zone, arrays (layers, :data:`~coatwright.learning.lanes.WIDTH`)."""

    born: Any
    share: Any
    removed: Any
    slot: Any
    mean: Any
    weight: Any
    part: Any
    length: Any
    age: Any


@compiled
def normal(z: Any) -> tuple[Any, Any]:
    """Normal distribution function and density (Abramowitz & Stegun 26.2.17, error below 1e-7, from memory)."""
    density = exp(-0.5 * z * z - HALF_LOG_TWO_PI)
    t = 1.0 / (1.0 + 0.2316419 * most(z, -z))
    tail = density * t * (
        0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429)))
    )  # fmt: skip
    return where(z > 0.0, 1.0 - tail, tail), density


@compiled
def _density(gap: Any, sd: Any) -> Any:
    z = gap / sd
    return exp(-0.5 * z * z - HALF_LOG_TWO_PI) / sd


@compiled
def noticed_of(length: Any, share: Any) -> Any:
    """How surely a layer of this length (mm) and share is noticed by comb and eye."""
    long = least(most((length - FIRST_SEEN) / (SURELY_SEEN - FIRST_SEEN), 0.0), 1.0)
    return long * least(share / SEEN_SHARE, 1.0)


@compiled
def _length_density(good: Any) -> Any:
    """Density of a length that may be a slip."""
    return (1.0 - SLIP) * good + SLIP * SLIP_LENGTH


@compiled
def _shortest(value: float, spread: Any, mean: Any, weight: Any, seen: int) -> Any:
    """Density of the shortest visible hair: the lower edge of the shortest layer that is noticed."""
    density = 0.0 * spread
    left = density + 1.0
    for k in range(seen - 1, -1, -1):
        noticed = left * noticed_of(row(mean, k), row(weight, k))
        edge = row(mean, k) * (1.0 - FIVE * spread)
        density = density + noticed * _density(value - edge, RULER_SD)
        left = left - noticed
        if not any_of(left > LEAST):
            break
    return where(left < 1.0, density / most(1.0 - left, LEAST), 0.0)


@compiled
def _step(value: float, spread: Any, mean: Any, weight: Any, seen: int) -> Any:
    """Density of a length told apart by the comb: any noticed layer, in proportion to its share."""
    total, density = 0.0 * spread, 0.0 * spread
    for k in range(seen):
        w = row(weight, k) * noticed_of(row(mean, k), row(weight, k))
        total = total + w
        own = CHOSEN * spread * row(mean, k)
        density = density + w * _density(value - row(mean, k), sqrt(RULER_SD * RULER_SD + own * own))
    return where(total > 0.0, density / most(total, LEAST), 0.0)


@compiled
def _word(edges: Any, which: int, value: Any, sd: float, words: int) -> Any:
    chance = normal((edges[which + 1] - value) / sd)[0] - normal((edges[which] - value) / sd)[0]
    return (1.0 - SLIP) * most(chance, 0.0) + SLIP / words


@compiled
def _logged(gap: Any, sd: float) -> Any:
    """Density of a logarithm that may be a slip."""
    wide = SLIP_FACTOR * sd
    z = gap / wide
    slip = exp(-least(0.5 * z * z, SLIP_REACH) - HALF_LOG_TWO_PI) / wide
    return (1.0 - SLIP) * _density(gap, sd) + SLIP * slip


@compiled
def _of_paper(
    paper: Any, first: int, count: int, spread: Any, part: Any, length: Any, head: int, pulled: int, take: Any
) -> Any:
    """ln probability of a paper test's lengths: a mixture over the layers that the take came from."""
    found = 0.0 * take
    for n in range(first, first + count):
        mid, width, hairs, broken = paper[n, 0], paper[n, 1], paper[n, 2], paper[n, 3] > 0.0
        chance = 0.0 * take
        for k in range(head, pulled):
            own = spread * row(length, k)
            sd = sqrt(own * own + (width * width / 12.0 + 0.25))
            if broken:
                chance = chance + row(part, k) * normal((row(length, k) - mid) / sd)[0]
            else:
                chance = chance + row(part, k) * _density(mid - row(length, k), sd) * width
        slip = 1.0 if broken else width * SLIP_LENGTH
        found = found + hairs * log((1.0 - SLIP) * chance / most(take, LEAST) + SLIP * slip)
    return where(take > LEAST, found, 0.0)


@compiled
def longest_of(mean: Any, weight: Any, seen: int, spread: Any, target: Any) -> Any:
    """Length that hairs of total weight ``target`` exceed, to a hundredth of a millimetre, a tenth at worst; 0 where
    none stand.

    Where the longest layer makes it alone the normal quantile does (Abramowitz & Stegun 26.2.22, error 0.003, from
    memory), elsewhere guarded Newton steps that begin there.
    """
    longest, following, heavy = 0.0 * target, 0.0 * target, 0.0 * target
    for k in range(seen):
        length = where(row(weight, k) > 0.0, row(mean, k), 0.0)
        longer = length > longest
        following = where(longer, longest, most(following, length))
        heavy = where(longer, row(weight, k), heavy)
        longest = most(longest, length)
    part = least(most(target / most(heavy, LEAST), LEAST), 1.0)
    t = sqrt(-2.0 * log(part))
    above = where(part < 0.5, t - (2.30753 + 0.27061 * t) / (1.0 + t * (0.99229 + 0.04481 * t)), 1.0)
    value = longest * (1.0 + spread * above)
    open_ = (longest > 0.0) & ((part >= 0.5) | (following * (1.0 + 3.6 * spread) >= value))
    low, high = 0.0 * target, longest * (1.0 + 5.0 * spread) + 1e-9
    close = least(0.02 * spread * longest, 0.05)
    for _ in range(40):
        if not any_of(open_):
            break
        beyond, slope = -target, 0.0 * target
        for k in range(seen):
            sd = most(spread * row(mean, k), LEAST)
            gap = row(mean, k) - value
            if any_of(gap > -5.0 * sd):
                longer_, density = normal(gap / sd)
                beyond = beyond + row(weight, k) * longer_
                slope = slope + row(weight, k) * density / sd
        low, high = where(beyond > 0.0, value, low), where(beyond > 0.0, high, value)
        step = value + beyond / most(slope, LEAST)
        step = where((low < step) & (step < high), step, 0.5 * (low + high))
        gap = step - value
        value = where(open_, step, value)
        open_ = open_ & (most(gap, -gap) >= close)
    return value


@compiled
def replay(
    rows: Any, first: int, last: int, starts: Any, paper: Any, hold: float, loss: float, centre: Any, own: Any,
    room: Any, told: Any, taken: Any,
) -> int:  # fmt: skip
    """One zone in eight draws: the ln likelihood of old and of new records in the two rows of ``told``, the layers in
    ``room``; returns how many layers.

    ``own`` holds a zone's own numbers: its traits, ``centre`` (traits,) not in, the ln strength of the hand at its
    takes and the misreadings of its first layers, each in order of time. A lag or spread that no dog can have counts
    as impossible. What was really pulled is written to the rows of ``taken``.
    """
    born, share, removed, slot, mean, weight, part, length, age = room
    lag, spread = row(own, LAG) + centre[LAG], exp(row(own, SPREAD) + centre[SPREAD])
    rate, end = exp(row(own, RATE) + centre[RATE]), exp(row(own, END) + centre[END])
    impossible = (lag < 1.0) | (spread > 0.45)
    lag, spread = most(lag, 1.0), least(spread, 0.45)
    none = 0.0 * lag
    put(told, 0, none)
    put(told, 1, none)
    blown = lag + end / rate + hold
    head, count, since = 0, 0, 0.0
    pulls, latent = 0, TRAIT_COUNT
    for n in range(first, last):
        latent += rows[n, 0] == PULL
    before, pulled, take = 0, 0, none  # of the last pull: the layers it came from, and how much
    seen_on, seen, cover, product, side, mixed = -1.0, 0, none, none + 1.0, 0, False
    for n in range(first, last):
        kind, day, value = int(rows[n, 0]), rows[n, 1], rows[n, 2]
        if kind <= SHED:
            seen_on = -1.0
            if kind == START:
                from_, count = int(rows[n, 3]), int(rows[n, 4])
                latent = begin(
                    starts, from_, count, day, lag, rate, end, own, latent, born, share, removed, slot
                )
                head, since, mixed = 0, day, False
                for k in range(from_, from_ + count):
                    mixed = mixed or starts[k, 3] >= 0.0
                continue
            lost = none
            if loss > 0.0:
                lost = shed(day, since, blown, loss, born, share, head, count)
                since = day
            if kind == PULL:
                before = head
                if n + 1 < last and rows[n + 1, 0] >= GRAMS:
                    for k in range(head, count):
                        put(age, k, day - row(born, k))
                        put(length, k, most(grown(row(age, k), lag, rate, end) - row(removed, k), 0.0))
                head, count, pulled, take = pull(
                    day, value, row(own, TRAIT_COUNT + pulls), rows[n, 7], rows[n, 8], lag, rate, end,
                    int(rows[n, 6]), born, share, removed, slot, head, count, part,
                )  # fmt: skip
                put(share, count - 1, row(share, count - 1) + lost)
                put(taken, pulls, take)
                pulls += 1
                mixed = mixed or rows[n, 8] > 0.0
            else:
                if kind == CUT:
                    mixed = True
                    for k in range(head, count):
                        stub = grown(day - row(born, k), lag, rate, end) - value
                        put(removed, k, most(row(removed, k), stub))
                if loss > 0.0:
                    put(born, count, day)
                    put(share, count, lost)
                    put(removed, count, 0.0)
                    put(slot, count, rows[n, 6])
                    count += 1
            continue
        if kind <= COVER and seen_on != day:
            seen, cover = visible(day, lag, rate, end, born, share, removed, head, count, mixed, mean, weight)
            seen_on = day
        if side != int(rows[n, 5]):
            put(told, side, row(told, side) + log(product))
            side, product = int(rows[n, 5]), none + 1.0
        if kind == LONGEST:
            longest = longest_of(mean, weight, seen, spread, TAIL * cover)
            product = product * _length_density(_density(value - longest, RULER_SD))
        elif kind == SHORTEST:
            product = product * _length_density(_shortest(value, spread, mean, weight, seen))
        elif kind == STEP:
            product = product * _length_density(_step(value, spread, mean, weight, seen))
        elif kind == WORD:
            product = product * _word(LOOK_EDGES, int(value), cover, COVER_SD, 5)
        elif kind == COVER:
            product = product * ((1.0 - SLIP) * _density(value - cover, COVER_SD) + SLIP)
        elif kind == GRAMS:
            whole = none
            for k in range(before, pulled):
                whole = whole + row(part, k) * row(length, k)
            mass = row(own, MASS) + centre[MASS]
            product = product * _logged(value - mass - log(most(whole, 1e-6)), WEIGHED_SD)
        elif kind == MINUTES:
            effort = row(own, EFFORT) + centre[EFFORT]
            product = product * _logged(value - effort - log(most(take, 1e-6)), MINUTES_SD)
        elif kind == EASE:
            came, ripe = none, row(own, RIPE) + centre[RIPE]
            for k in range(before, pulled):
                came = came + row(part, k) * normal((row(age, k) - ripe) / RIPE_SD)[0]
            product = product * _word(EASE_EDGES, int(value), came / most(take, LEAST), EASE_SD, 3)
        elif kind == PAPER:
            from_, hairs = int(rows[n, 3]), int(rows[n, 4])
            found = _of_paper(paper, from_, hairs, spread, part, length, before, pulled, take)
            put(told, side, row(told, side) + found)
        if any_of(product < 1e-150):
            put(told, side, row(told, side) + log(product))
            product = none + 1.0
    put(told, side, row(told, side) + log(product))
    put(told, 0, where(impossible, -1e30, row(told, 0)))
    put(told, 1, where(impossible, 0.0, row(told, 1)))
    return count


@compiled
def room_for(layers: int) -> Any:
    """Room for so many layers, and two more."""
    shape = (layers + 2, WIDTH)
    return Room(
        np.empty(shape), np.empty(shape), np.empty(shape), np.empty(shape), np.empty(shape), np.empty(shape),
        np.empty(shape), np.empty(shape), np.empty(shape),
    )  # fmt: skip


@compiled
def widest_of(take_at: Any, start_at: Any) -> int:
    """Numbers of the zone that has most of its own."""
    found = 0
    for z in range(len(take_at) - 1):
        found = max(found, take_at[z + 1] - take_at[z] + start_at[z + 1] - start_at[z])
    return TRAIT_COUNT + found


@compiled
def gather(
    zones: Any, takes: Any, starts: Any, block: int, z: int, take_at: Any, take_of: Any, start_at: Any, start_of: Any,
    own: Any,
) -> int:  # fmt: skip
    """A zone's own numbers of a block of eight draws; returns how many. Lanes beyond the last draw repeat it."""
    n = 0
    for w in range(WIDTH):
        d = min(block * WIDTH + w, len(zones) - 1)
        n = TRAIT_COUNT
        for t in range(TRAIT_COUNT):
            own[t, w] = zones[d, z, t]
        for k in range(take_at[z], take_at[z + 1]):
            own[n, w] = takes[d, take_of[k]]
            n += 1
        for k in range(start_at[z], start_at[z + 1]):
            own[n, w] = starts[d, start_of[k]]
            n += 1
    return n


@compiled
def likelihood_of(
    rows: Any, zone_rows: Any, start_rows: Any, paper: Any, fixed: Any, centre: Any, layers: int,
    take_at: Any, take_of: Any, start_at: Any, start_of: Any,
    zones: Any, takes: Any, starts: Any, first: int, last: int, out: Any,
) -> None:  # fmt: skip
    """ln likelihood of old and new records, ``out`` (draws, zones, 2), in blocks of eight draws from ``first`` to
    ``last``.
    """
    room = room_for(layers)
    widest = widest_of(take_at, start_at)
    own, taken, told = np.empty((widest, WIDTH)), np.empty((widest, WIDTH)), np.empty((2, WIDTH))
    for block in range(first, last):
        for z in range(zones.shape[1]):
            gather(zones, takes, starts, block, z, take_at, take_of, start_at, start_of, own)
            replay(
                rows, zone_rows[z], zone_rows[z + 1], start_rows, paper, fixed[z, 0], fixed[z, 1], centre[z], own,
                room, told, taken,
            )  # fmt: skip
            for w in range(min(WIDTH, len(zones) - block * WIDTH)):
                out[block * WIDTH + w, z, 0], out[block * WIDTH + w, z, 1] = told[0, w], told[1, w]
