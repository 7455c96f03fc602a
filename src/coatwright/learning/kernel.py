"""The inner loops of the learning, compiled: one zone's records against one draw of what is not known.

``likelihood`` replays every pull with the draw's own takes and growth, by the rules of
:mod:`coatwright.coat.layers`, and adds up how probable each record is under it. ``stand`` gives the layers that the
draw leads to. Hairs that broke at one pull are one layer of their mean age here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar

import numba
import numpy as np

from coatwright.coat.kernel import CDF, PDF, look_up, run_zone
from coatwright.coat.layers import STUB_MM
from coatwright.learning import evidence, priors

_F = TypeVar("_F", bound=Callable[..., Any])
compiled: Callable[[_F], _F] = numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
inlined: Callable[[_F], _F] = numba.njit(
    cache=True, nogil=True, inline="always", error_model="numpy", fastmath=True
)

START, PULL, CUT, SHED = evidence.START, evidence.PULL, evidence.CUT, evidence.SHED
LONGEST, SHORTEST, STEP = evidence.LONGEST, evidence.SHORTEST, evidence.STEP
WORD, COVER, GRAMS = evidence.WORD, evidence.COVER, evidence.GRAMS
MINUTES, EASE, PAPER = evidence.MINUTES, evidence.EASE, evidence.PAPER

LOOK_EDGES = np.array([-9.0, *priors.LOOK_EDGES, 9.0])
EASE_EDGES = np.array([-9.0, *priors.EASE_EDGES, 9.0])
RULER_SD, COVER_SD, EASE_SD = priors.RULER_SD, priors.COVER_SD, priors.EASE_SD
WEIGHED_SD, MINUTES_SD, RIPE_SD = priors.WEIGHED_SD, priors.MINUTES_SD, priors.RIPE_SD
START_SD, SLIP = priors.START_SD, priors.SLIP
SLIP_LENGTH = 1.0 / 100.0
"""Density of a slip of a length, per mm: anything up to 100 mm."""
SLIP_FACTOR = 10.0
"""A slip in grams or minutes is spread ten times as wide as a good record."""
LEAST = 1e-9
"""Layers with less than this share of the hairs are gone."""
FIRST_SEEN, SURELY_SEEN, SEEN_SHARE = 0.5, 2.0, 0.03
"""A layer can be told apart from 0.5 mm on, for sure from 2 mm and 3 % of the hairs on: assumptions."""
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
def _seen(length: float, share: float) -> float:
    """How surely a layer of this length (mm) and share is noticed by comb and eye."""
    long = min(max((length - FIRST_SEEN) / (SURELY_SEEN - FIRST_SEEN), 0.0), 1.0)
    return long * min(share / SEEN_SHARE, 1.0)


@inlined
def _grown(age: float, lag: float, rate: float, end: float) -> float:
    return max(min(rate * (age - lag), end), 0.0)


@compiled
def _begin(
    starts: Any, first: int, count: int, day: float, lag: float, rate: float, end: float, latent: Any, d: int,
    born: Any, share: Any, removed: Any, slot: Any,
) -> int:  # fmt: skip
    """Layers of an assessment, oldest first."""
    total = 0.0
    full = math.ceil(lag + end / rate)
    for k in range(count):
        n = first + k
        told, value, part, cut_to, cut_ago = (
            starts[n, 0], starts[n, 1], starts[n, 2], starts[n, 3], starts[n, 4],
        )  # fmt: skip
        if told == 0.0:
            age = value
        elif told == 1.0:
            age = lag + min(value, end) / rate
        else:
            age = cut_ago + full
        if starts[n, 5] >= 0.0:
            part *= math.exp(START_SD * latent[d, int(starts[n, 5])])
        off = 0.0
        if cut_to >= 0.0:
            off = max(_grown(max(age - cut_ago, 0.0), lag, rate, end) - cut_to, 0.0)
        total += part
        place = k
        while place > 0 and born[place - 1] > day - age:
            born[place], share[place] = born[place - 1], share[place - 1]
            removed[place], slot[place] = removed[place - 1], slot[place - 1]
            place -= 1
        born[place], share[place], removed[place], slot[place] = day - age, part, off, int(starts[n, 6])
    for k in range(count):
        share[k] /= total
    return count


@compiled
def _shed(
    day: float, since: float, blown: float, loss: float, born: Any, share: Any, head: int, count: int
) -> float:  # fmt: skip
    """Let blown hair fall out between two days; returns the share lost."""
    lost = 0.0
    for k in range(head, count):
        days = day - max(since, born[k] + blown)
        if days > 0.0:
            gone = share[k] * (1.0 - (1.0 - loss) ** days)
            share[k] -= gone
            lost += gone
    return lost


@inlined
def _under(day: float, lag: float, born: Any, share: Any, head: int, count: int) -> tuple[int, float]:
    """Where the layers under the skin begin, and their share; layers stand oldest first."""
    shown, hidden = count, 0.0
    while shown > head and day - born[shown - 1] < lag - 1e-9:
        shown -= 1
        hidden += share[shown]
    return shown, hidden


@compiled
def _pull(
    day: float, wanted: float, selectivity: float, broken: float, lag: float, rate: float, end: float,
    new_slot: int, born: Any, share: Any, removed: Any, slot: Any, head: int, count: int, part: Any,
) -> tuple[int, int, int, float]:  # fmt: skip
    """Pull ``wanted``, oldest first; ``part`` tells what came out of each layer that stood.

    Returns the first layer that holds hair, how many layers there are, how many stood, and the take.
    """
    shown, hidden = _under(day, lag, born, share, head, count)
    standing = 0.0
    for k in range(head, shown):
        standing += share[k]
    take = min(wanted, standing)
    left = selectivity * take
    for k in range(head, shown):
        part[k] = min(share[k], left)
        left -= part[k]
    rest = standing - selectivity * take
    blind = (1.0 - selectivity) * take
    if blind > LEAST and rest > LEAST:
        for k in range(head, shown):
            part[k] += (share[k] - part[k]) * blind / rest
    mean_born, stub_age = 0.0, 0.0
    first = head
    for k in range(head, shown):
        if broken > 0.0:
            mean_born += part[k] * born[k]
            stub_age += part[k] * _grown(day - born[k], lag, rate, end)
        share[k] -= part[k]
        if share[k] <= LEAST and k == first:
            first = k + 1
    if broken > 0.0 and take > LEAST:
        born[count], share[count], slot[count] = mean_born / take, take * broken, new_slot + 1
        removed[count] = max(stub_age / take - STUB_MM, 0.0)
        k = count
        while k > first and born[k - 1] > born[k]:
            born[k], born[k - 1] = born[k - 1], born[k]
            share[k], share[k - 1] = share[k - 1], share[k]
            removed[k], removed[k - 1] = removed[k - 1], removed[k]
            slot[k], slot[k - 1] = slot[k - 1], slot[k]
            k -= 1
        count += 1
    born[count], share[count], removed[count] = day, take * (1.0 - broken), 0.0
    slot[count] = new_slot
    return first, count + 1, shown, take


@compiled
def _visible(
    day: float, lag: float, rate: float, end: float, born: Any, share: Any, removed: Any,
    head: int, count: int, mean: Any, weight: Any,
) -> tuple[int, float]:  # fmt: skip
    """Lengths and shares of what stands above the skin, oldest first; and the cover."""
    shown, hidden = _under(day, lag, born, share, head, count)
    seen, cover = 0, 0.0
    for k in range(head, shown):
        if share[k] > LEAST:
            mean[seen] = max(_grown(day - born[k], lag, rate, end) - removed[k], 0.0)
            weight[seen] = share[k]
            cover += share[k]
            seen += 1
    return seen, cover


@inlined
def _length_density(good: float) -> float:
    """Density of a length that may be a slip."""
    return (1.0 - SLIP) * good + SLIP * SLIP_LENGTH


@compiled
def _shortest(value: float, spread: float, mean: Any, weight: Any, seen: int) -> float:
    """Density of the shortest visible hair: the lower edge of the youngest layer that is noticed."""
    left, density = 1.0, 0.0
    for k in range(seen - 1, -1, -1):
        noticed = left * _seen(mean[k], weight[k])
        if noticed > 0.0:
            edge = mean[k] * (1.0 - FIVE * spread)
            density += noticed * _normal(value - edge, RULER_SD)
            left -= noticed
    return density / (1.0 - left) if left < 1.0 else 0.0


@compiled
def _step(value: float, spread: float, mean: Any, weight: Any, seen: int) -> float:
    """Density of a length told apart by the comb: any noticed layer, in proportion to its share."""
    total, density = 0.0, 0.0
    for k in range(seen):
        w = weight[k] * _seen(mean[k], weight[k])
        total += w
        own = 0.3 * spread * mean[k]
        density += w * _normal(value - mean[k], math.sqrt(RULER_SD * RULER_SD + own * own))
    return density / total if total > 0.0 else 0.0


@inlined
def _word(cdf: Any, edges: Any, which: int, value: float, sd: float, words: int) -> float:
    chance = _phi(cdf, (edges[which + 1] - value) / sd) - _phi(cdf, (edges[which] - value) / sd)
    return (1.0 - SLIP) * max(chance, 0.0) + SLIP / words


@inlined
def _logged(gap: float, sd: float) -> float:
    """Density of a logarithm that may be a slip."""
    return (1.0 - SLIP) * _normal(gap, sd) + SLIP * _normal(gap, SLIP_FACTOR * sd)


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
def _longest(cdf: Any, pdf: Any, mean: Any, weight: Any, seen: int, spread: float, target: float) -> float:
    """Length that hairs of total weight ``target`` exceed, to a few hundredths of a millimetre.

    Where the oldest layer makes it alone the normal quantile does (Abramowitz & Stegun 26.2.22, error 0.003, from
    memory), elsewhere guarded Newton steps that begin there.
    """
    longest, following = mean[0], 0.0
    for k in range(1, seen):
        following = max(following, mean[k])
    value = longest * (1.0 + spread)
    part = target / weight[0]
    if part < 0.5:
        t = math.sqrt(-2.0 * math.log(part))
        value = longest * (1.0 + spread * (t - (2.30753 + 0.27061 * t) / (1.0 + t * (0.99229 + 0.04481 * t))))
        if following * (1.0 + 3.6 * spread) < value:
            return value
    longest = max(longest, following)
    low, high = 0.0, longest * (1.0 + 5.0 * spread) + 1e-9
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
        if moved < 0.3:
            break
    return value


@compiled
def _replay(
    cdf: Any, pdf: Any, rows: Any, first: int, last: int, starts: Any, paper: Any, hold: float, loss: float,
    traits: Any, takes: Any, latent: Any, d: int, z: int,
    born: Any, share: Any, removed: Any, slot: Any, mean: Any, weight: Any, part: Any, length: Any, age: Any,
    out: Any, taken: Any,
) -> int:  # fmt: skip
    """One zone of one draw; sets the ln likelihood of old and new records in ``out`` and returns the layers left.

    ``traits`` (draws, zones, traits) with the centre in; a lag or spread that no dog can have counts as impossible.
    Where ``taken`` (draws, pulls) has columns, what was really pulled is written there.
    """
    lag, rate, end = traits[d, z, 0], math.exp(traits[d, z, 1]), math.exp(traits[d, z, 2])
    spread = math.exp(traits[d, z, 4])
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
                count = _begin(
                    starts, int(rows[n, 3]), int(rows[n, 4]), day, lag, rate, end, latent, d,
                    born, share, removed, slot,
                )  # fmt: skip
                head, since = 0, day
                continue
            lost = 0.0
            if loss > 0.0:
                lost = _shed(day, since, blown, loss, born, share, head, count)
                since = day
            if kind == PULL:
                before, wanted = head, math.exp(min(takes[d, int(rows[n, 3])], 0.0))
                if n + 1 < last and rows[n + 1, 0] >= GRAMS:
                    for k in range(head, count):
                        age[k] = day - born[k]
                        length[k] = max(_grown(age[k], lag, rate, end) - removed[k], 0.0)
                head, count, pulled, take = _pull(
                    day, wanted, rows[n, 7], rows[n, 8], lag, rate, end, int(rows[n, 6]),
                    born, share, removed, slot, head, count, part,
                )  # fmt: skip
                share[count - 1] += lost
                if taken.shape[1] > 0:
                    taken[d, int(rows[n, 3])] = take
            elif kind == CUT:
                for k in range(head, count):
                    removed[k] = max(removed[k], _grown(day - born[k], lag, rate, end) - value)
            elif lost > LEAST:
                born[count], share[count], removed[count], slot[count] = day, lost, 0.0, int(rows[n, 6])
                count += 1
            continue
        if kind <= COVER and seen_on != day:
            seen, cover = _visible(day, lag, rate, end, born, share, removed, head, count, mean, weight)
            seen_on = day
        if side != int(rows[n, 5]):
            out[d, z, side] += math.log(product)
            side, product = int(rows[n, 5]), 1.0
        if kind == LONGEST:
            longest = 0.0
            if seen > 0:
                longest = _longest(cdf, pdf, mean, weight, seen, spread, TAIL * cover)
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
            product *= _logged(value - traits[d, z, 5] - math.log(max(whole, 1e-6)), WEIGHED_SD)
        elif kind == MINUTES:
            product *= _logged(value - traits[d, z, 6] - math.log(max(take, 1e-6)), MINUTES_SD)
        elif kind == EASE:
            ripe = 0.0
            for k in range(before, pulled):
                ripe += part[k] * _phi(cdf, (age[k] - traits[d, z, 3]) / RIPE_SD)
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
def likelihood_of(
    cdf: Any, pdf: Any, rows: Any, zone_rows: Any, starts: Any, paper: Any, fixed: Any, most: int,
    traits: Any, takes: Any, latent: Any, out: Any,
) -> None:  # fmt: skip
    """ln likelihood of old and new records, ``out`` (draws, zones, 2), for traits (draws, zones, traits)."""
    room = most + 2
    born, share, removed = np.empty(room), np.empty(room), np.empty(room)
    mean, weight, part = np.empty(room), np.empty(room), np.empty(room)
    length, age, taken = np.empty(room), np.empty(room), np.empty((0, 0))
    slot = np.empty(room, dtype=np.int64)
    for d in range(len(traits)):
        for z in range(traits.shape[1]):
            _replay(
                cdf, pdf, rows, zone_rows[z], zone_rows[z + 1], starts, paper, fixed[z, 0], fixed[z, 1],
                traits, takes, latent, d, z,
                born, share, removed, slot, mean, weight, part, length, age, out, taken,
            )  # fmt: skip


@compiled
def stand_of(
    cdf: Any, pdf: Any, rows: Any, zone_rows: Any, starts: Any, paper: Any, fixed: Any, most: int, day: float,
    traits: Any, takes: Any, latent: Any, layers: Any, taken: Any,
) -> None:  # fmt: skip
    """The layers that each draw leads to: ``layers`` (draws, zones, slots, 3) of born day, share and mm removed.

    ``taken`` (draws, pulls) gets what was really pulled.
    """
    room = most + 2
    born, share, removed = np.empty(room), np.empty(room), np.empty(room)
    mean, weight, part = np.empty(room), np.empty(room), np.empty(room)
    length, age, out = np.empty(room), np.empty(room), np.empty((len(traits), traits.shape[1], 2))
    slot = np.empty(room, dtype=np.int64)
    for d in range(len(traits)):
        for z in range(traits.shape[1]):
            count = _replay(
                cdf, pdf, rows, zone_rows[z], zone_rows[z + 1], starts, paper, fixed[z, 0], fixed[z, 1],
                traits, takes, latent, d, z,
                born, share, removed, slot, mean, weight, part, length, age, out, taken,
            )  # fmt: skip
            for k in range(layers.shape[2]):
                layers[d, z, k, 0], layers[d, z, k, 1], layers[d, z, k, 2] = day, 0.0, 0.0
            for k in range(count):
                if share[k] <= LEAST:
                    continue
                layers[d, z, slot[k], 0] = born[k]
                layers[d, z, slot[k], 1] = share[k]
                layers[d, z, slot[k], 2] = removed[k]


@compiled
def _gather(layers: Any, d: int, z: int, born: Any, share: Any, removed: Any) -> int:
    """The layers of one draw that hold hair, oldest first."""
    count = 0
    for k in range(layers.shape[2]):
        if layers[d, z, k, 1] <= LEAST:
            continue
        place = count
        while place > 0 and born[place - 1] > layers[d, z, k, 0]:
            born[place], share[place] = born[place - 1], share[place - 1]
            removed[place] = removed[place - 1]
            place -= 1
        born[place], share[place], removed[place] = layers[d, z, k, 0], layers[d, z, k, 1], layers[d, z, k, 2]
        count += 1
    return count


@compiled
def seen_of(cdf: Any, pdf: Any, layers: Any, traits: Any, day: float, seen: Any) -> None:
    """What comb, ruler and eye should find: ``seen`` (draws, zones, 3) of longest, shortest (mm) and cover."""
    room = layers.shape[2]
    born, share, removed = np.empty(room), np.empty(room), np.empty(room)
    mean, weight = np.empty(room), np.empty(room)
    for d in range(len(traits)):
        for z in range(traits.shape[1]):
            lag, rate, end = traits[d, z, 0], math.exp(traits[d, z, 1]), math.exp(traits[d, z, 2])
            spread = min(math.exp(traits[d, z, 4]), 0.45)
            count = _gather(layers, d, z, born, share, removed)
            count, cover = _visible(day, lag, rate, end, born, share, removed, 0, count, mean, weight)
            seen[d, z, 0], seen[d, z, 1], seen[d, z, 2] = 0.0, 0.0, cover
            if count == 0:
                continue
            seen[d, z, 0] = _longest(cdf, pdf, mean, weight, count, spread, TAIL * cover)
            left = 1.0
            for k in range(count - 1, -1, -1):
                noticed = left * _seen(mean[k], weight[k])
                seen[d, z, 1] += noticed * mean[k] * (1.0 - FIVE * spread)
                left -= noticed
            if left < 1.0:
                seen[d, z, 1] /= 1.0 - left


@compiled
def ahead_of(
    cdf: Any, pdf: Any, layers: Any, traits: Any, fixed: Any, aims: Any, has_aim: Any, last_pull: Any,
    days: Any, counts: Any, takes: Any, day: int, first: int, slack: float, cover: Any, outline: Any, ready: Any,
) -> None:  # fmt: skip
    """Carry out takes from ``day`` on and read the days from ``first`` on, draw by draw.

    ``days`` (zones, most) and ``takes`` (draws, zones, most) hold ``counts`` (zones,) takes each.
    """
    most = days.shape[1]
    room = layers.shape[2] + 2 * most + 2
    born, share, removed = np.empty(room), np.empty(room), np.empty(room)
    part = np.empty(room)
    slot = np.zeros(room, dtype=np.int64)
    starts = np.empty((most + 1, 2), dtype=np.int64)
    offsets = np.empty(most + 2, dtype=np.int64)
    kept = np.empty(((most + 1) * room, 3))
    kept_days = np.empty(3)
    lag_, speed_, end_ = np.empty(1), np.empty(1), np.empty(1)
    for d in range(len(traits)):
        for z in range(traits.shape[1]):
            lag, rate, end = traits[d, z, 0], math.exp(traits[d, z, 1]), math.exp(traits[d, z, 2])
            lag_[0], speed_[0], end_[0] = lag, rate, end
            kept_days[0] = min(math.exp(traits[d, z, 4]), 0.45)
            kept_days[1], kept_days[2] = fixed[z, 0], slack
            blown = lag + end / rate + fixed[z, 0]
            count = _gather(layers, d, z, born, share, removed)
            starts[0, 0], starts[0, 1] = day, last_pull[z]
            head, epochs, used, since = 0, 1, 0, float(day)
            offsets[0] = 0
            for k in range(count):
                kept[used, 0], kept[used, 1], kept[used, 2] = born[k], share[k], removed[k]
                used += 1
            offsets[1] = used
            for n in range(counts[z]):
                when = days[z, n]
                lost = 0.0
                if fixed[z, 1] > 0.0:
                    lost = _shed(when, since, blown, fixed[z, 1], born, share, head, count)
                    since = float(when)
                head, count, _, _ = _pull(
                    when, takes[d, z, n], 1.0, 0.0, lag, rate, end, 0,
                    born, share, removed, slot, head, count, part,
                )  # fmt: skip
                share[count - 1] += lost
                starts[epochs, 0], starts[epochs, 1] = when, when
                for k in range(head, count):
                    kept[used, 0], kept[used, 1], kept[used, 2] = born[k], share[k], removed[k]
                    used += 1
                epochs += 1
                offsets[epochs] = used
            aim = aims[z] if has_aim[z] else aims[z, :0]
            run_zone(
                cdf, pdf, starts[:epochs], offsets[: epochs + 1], kept[:used], kept_days, aim,
                lag_, speed_, end_, first, cover[d : d + 1, z], outline[d : d + 1, z], ready[d : d + 1, z],
            )  # fmt: skip


__all__ = ["CDF", "PDF", "ahead_of", "likelihood_of", "seen_of", "stand_of"]
