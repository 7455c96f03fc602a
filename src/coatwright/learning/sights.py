"""What the draws lead to, compiled: the layers that stand, what would be read of them, and the days ahead."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from coatwright.coat.kernel import CDF, PDF, run_zone
from coatwright.learning.kernel import (
    CHOSEN,
    FIVE,
    TAIL,
    gather,
    longest_of,
    noticed_of,
    replay,
    room_for,
    widest_of,
)
from coatwright.learning.lanes import WIDTH, compiled
from coatwright.learning.priors import END, LAG, RATE, SPREAD
from coatwright.learning.strands import LEAST, pull, shed, sort_in, visible


@compiled
def stand_of(
    rows: Any, zone_rows: Any, start_rows: Any, paper: Any, fixed: Any, centre: Any, most: int,
    take_at: Any, take_of: Any, start_at: Any, start_of: Any,
    day: float, zones: Any, takes: Any, starts: Any, first: int, last: int, layers: Any, taken: Any,
) -> None:  # fmt: skip
    """The layers that draws lead to: ``layers`` (draws, zones, slots, 3) of born day, share and mm removed.

    ``taken`` (draws, pulls) gets what was really pulled. In blocks of eight draws from ``first`` to ``last``.
    """
    room = room_for(most)
    widest = widest_of(take_at, start_at)
    own, pulled, told = np.empty((widest, WIDTH)), np.empty((widest, WIDTH)), np.empty((2, WIDTH))
    for block in range(first, last):
        for z in range(zones.shape[1]):
            gather(zones, takes, starts, block, z, take_at, take_of, start_at, start_of, own)
            count = replay(
                rows, zone_rows[z], zone_rows[z + 1], start_rows, paper, fixed[z, 0], fixed[z, 1], centre[z], own,
                room, told, pulled,
            )  # fmt: skip
            for w in range(min(WIDTH, len(zones) - block * WIDTH)):
                d = block * WIDTH + w
                for k in range(take_at[z], take_at[z + 1]):
                    taken[d, take_of[k]] = pulled[k - take_at[z], w]
                for k in range(layers.shape[2]):
                    layers[d, z, k, 0], layers[d, z, k, 1], layers[d, z, k, 2] = day, 0.0, 0.0
                for k in range(count):
                    if room.share[k, w] <= LEAST:
                        continue
                    slot = int(room.slot[k, w])
                    layers[d, z, slot, 0] = room.born[k, w]
                    layers[d, z, slot, 1] = room.share[k, w]
                    layers[d, z, slot, 2] = room.removed[k, w]


@compiled
def _layers_of(layers: Any, d: int, z: int, born: Any, share: Any, removed: Any, slot: Any) -> int:
    """The layers of one draw that hold hair, oldest first."""
    count = 0
    for k in range(layers.shape[2]):
        if layers[d, z, k, 1] <= LEAST:
            continue
        born[count], share[count], removed[count] = layers[d, z, k, 0], layers[d, z, k, 1], layers[d, z, k, 2]
        sort_in(count, 0, born, share, removed, slot)
        count += 1
    return count


@compiled
def _shown(
    layers: Any, traits: Any, d: int, z: int, day: float,
    born: Any, share: Any, removed: Any, slot: Any, mean: Any, weight: Any,
) -> tuple[int, float, float]:  # fmt: skip
    """What stands above the skin of one zone of one draw, in ``mean`` and ``weight``: how many layers, the cover, and
    the spread of lengths in a layer.
    """
    lag, rate, end = traits[d, z, LAG], math.exp(traits[d, z, RATE]), math.exp(traits[d, z, END])
    count = _layers_of(layers, d, z, born, share, removed, slot)
    count, cover = visible(day, lag, rate, end, born, share, removed, 0, count, True, mean, weight)
    return count, cover, min(math.exp(traits[d, z, SPREAD]), 0.45)


@compiled
def seen_of(layers: Any, traits: Any, day: float, seen: Any) -> None:
    """What comb, ruler and eye should find: ``seen`` (draws, zones, 3) of longest, shortest (mm) and cover."""
    room = layers.shape[2]
    born, share, removed, slot = np.empty(room), np.empty(room), np.empty(room), np.empty(room)
    mean, weight = np.empty(room), np.empty(room)
    for d in range(len(traits)):
        for z in range(traits.shape[1]):
            count, cover, spread = _shown(layers, traits, d, z, day, born, share, removed, slot, mean, weight)
            seen[d, z, 0], seen[d, z, 1], seen[d, z, 2] = 0.0, 0.0, cover
            if count == 0:
                continue
            seen[d, z, 0] = longest_of(mean, weight, count, spread, TAIL * cover)
            left = 1.0
            for k in range(count - 1, -1, -1):
                noticed = left * noticed_of(mean[k], weight[k])
                seen[d, z, 1] += noticed * mean[k] * (1.0 - FIVE * spread)
                left -= noticed
            if left < 1.0:
                seen[d, z, 1] /= 1.0 - left


@compiled
def apart_of(layers: Any, traits: Any, day: float, pick: Any, apart: Any) -> None:
    """A layer that the comb tells apart, the one that ``pick`` (draws, zones) in 0..1 meets: any noticed one, in
    proportion to its share. ``apart`` (draws, zones, 2) of its mean length and the sd of a hair chosen in it (mm).
    """
    room = layers.shape[2]
    born, share, removed, slot = np.empty(room), np.empty(room), np.empty(room), np.empty(room)
    mean, weight = np.empty(room), np.empty(room)
    for d in range(len(traits)):
        for z in range(traits.shape[1]):
            count, _, spread = _shown(layers, traits, d, z, day, born, share, removed, slot, mean, weight)
            total = 0.0
            for k in range(count):
                weight[k] *= noticed_of(mean[k], weight[k])
                total += weight[k]
            apart[d, z, 0], apart[d, z, 1] = 0.0, 0.0
            left = pick[d, z] * total
            for k in range(count):
                left -= weight[k]
                if left <= 0.0:
                    apart[d, z, 0], apart[d, z, 1] = mean[k], CHOSEN * spread * mean[k]
                    break


@compiled
def ahead_of(
    cdf: Any, pdf: Any, layers: Any, traits: Any, fixed: Any, aims: Any, has_aim: Any, last_pull: Any,
    days: Any, counts: Any, takes: Any, strength: Any, day: int, first: int, slack: float,
    cover: Any, outline: Any, ready: Any,
) -> None:  # fmt: skip
    """Carry out takes from ``day`` on and read the days from ``first`` on, draw by draw.

    ``days`` and ``takes`` (zones, most) hold ``counts`` (zones,) takes each, ``strength`` (draws, zones, most) how
    strong the hand is that pulls them.
    """
    most = days.shape[1]
    room = layers.shape[2] + 2 * most + 2
    born, share, removed = np.empty(room), np.empty(room), np.empty(room)
    part, slot = np.empty(room), np.empty(room)
    starts = np.empty((most + 1, 2), dtype=np.int64)
    offsets = np.empty(most + 2, dtype=np.int64)
    kept = np.empty(((most + 1) * room, 3))
    kept_days = np.empty(3)
    lag_, speed_, end_ = np.empty(1), np.empty(1), np.empty(1)
    for d in range(len(traits)):
        for z in range(traits.shape[1]):
            lag, rate, end = traits[d, z, LAG], math.exp(traits[d, z, RATE]), math.exp(traits[d, z, END])
            lag_[0], speed_[0], end_[0] = lag, rate, end
            kept_days[0] = min(math.exp(traits[d, z, SPREAD]), 0.45)
            kept_days[1], kept_days[2] = fixed[z, 0], slack
            blown = lag + end / rate + fixed[z, 0]
            count = _layers_of(layers, d, z, born, share, removed, slot)
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
                    lost = shed(when, since, blown, fixed[z, 1], born, share, head, count)
                    since = float(when)
                head, count, _, _ = pull(
                    when, takes[z, n], strength[d, z, n], 1.0, 0.0, lag, rate, end, 0,
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


__all__ = ["CDF", "PDF", "ahead_of", "apart_of", "seen_of", "stand_of"]
