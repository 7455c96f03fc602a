"""Hairs that lie upon each other along a stretch: one traced piece carries two hairs.

After joining, a line may stop at a piece that another line has taken, though the score says that it goes on there.
From every such loose end the taken pieces are followed, pair by pair, to another loose end; the best such ways are
taken, and the pieces on them then belong to two hairs. A line that finds no loose end on the other side ends
within the stretch: it is led on as far as the stretch is seen darker than one hair alone.
"""

from __future__ import annotations

import heapq

import numpy as np

from coatwright.paper.joints import Chain, Pairs, Pieces

FARTHEST_MM = 14.0
MOST_PIECES = 5
MOST_STEPS = 120
"""Ways tried from one loose end, the likeliest first."""
TOLL = 0.6
"""Log odds that each piece taken a second time costs."""
LEAST_SURE = 1.0
DOUBLE = 1.15
"""A stretch is seen as two hairs where its optical width is this many times that of one."""


def _neighbours(pairs: Pairs, score: np.ndarray) -> dict[int, list[tuple[int, int, float]]]:
    of: dict[int, list[tuple[int, int, float]]] = {}
    for pair in np.flatnonzero((score > 0) & (pairs.via < 0)).tolist():
        i, j, value = int(pairs.i[pair]), int(pairs.j[pair]), float(score[pair])
        of.setdefault(i, []).append((j, pair, value))
        of.setdefault(j, []).append((i, pair, value))
    return of


def _ways(made: Pieces, of: dict[int, list[tuple[int, int, float]]], loose: set[int], start: int) -> list[
    tuple[float, tuple[int, ...], tuple[int, ...]]
]:  # fmt: skip
    """Ways from a loose end through taken pieces to other loose ends: (score, entered ends, pairs)."""
    found = []
    queue: list[tuple[float, tuple[int, ...], tuple[int, ...], float]] = [(0.0, (), (), 0.0)]
    for _ in range(MOST_STEPS):
        if not queue:
            break
        cost, entered, used, length = heapq.heappop(queue)
        out = entered[-1] ^ 1 if entered else start
        for end, pair, value in of.get(out, []):
            if end // 2 == start // 2 or any(end // 2 == one // 2 for one in entered):
                continue
            total = cost + TOLL - min(value, 4.0)
            if end in loose and entered:
                found.append((min(value, 4.0) - cost, (*entered, end), (*used, pair)))
            elif len(entered) < MOST_PIECES and end not in loose:
                more = length + float(made.ends[end, 21])
                if more <= FARTHEST_MM:
                    heapq.heappush(queue, (total, (*entered, end), (*used, pair), more))
    return found


def share(made: Pieces, pairs: Pairs, score: np.ndarray, chains: list[Chain]) -> list[Chain]:
    """The chains with the stretches they share."""
    of = _neighbours(pairs, score)
    lengths = made.ends[::2, 21]
    size = {k: float(sum(lengths[q] for q in chain.pieces)) for k, chain in enumerate(chains)}
    home: dict[int, int] = {}
    for k, chain in enumerate(chains):
        if size[k] >= 1.5:
            home[2 * chain.pieces[0] + chain.turned[0]] = k
            home[2 * chain.pieces[-1] + (not chain.turned[-1])] = k
    loose = set(home)
    ways = [(*way, start) for start in loose for way in _ways(made, of, loose, start) if way[1][-1] > start]
    ways.sort(key=lambda way: (-way[0], way[3], way[1]))
    joined: dict[int, tuple[int, tuple[int, ...], tuple[int, ...]]] = {}
    for _, entered, used, start in ways:
        end = entered[-1]
        if start in joined or end in joined or home[start] == home[end]:
            continue
        joined[start] = (end, entered[:-1], used)
        joined[end] = (start, tuple(one ^ 1 for one in entered[-2::-1]), used[::-1])
    led = _led_on(made, of, chains, home, set(loose) - set(joined))
    return _rebuilt(chains, home, joined, led)


def _led_on(
    made: Pieces,
    of: dict[int, list[tuple[int, int, float]]],
    chains: list[Chain],
    home: dict[int, int],
    loose: set[int],
) -> dict[int, tuple[tuple[int, ...], tuple[int, ...]]]:
    """Loose ends that stop within a stretch: the pieces there that are seen as two hairs."""
    usual = {}
    for chain in chains:
        seen = np.concatenate([made.pieces[k].width for k in chain.pieces])
        for k in chain.pieces:
            usual[k] = float(np.percentile(seen, 30))
    out = {}
    for start in sorted(loose):
        entered: list[int] = []
        used: list[int] = []
        leave = start
        while len(entered) < MOST_PIECES:
            options = [one for one in of.get(leave, []) if one[0] not in loose and one[2] > LEAST_SURE]
            options = [
                one
                for one in options
                if one[0] // 2 != start // 2 and one[0] // 2 not in [e // 2 for e in entered]
            ]
            if not options:
                break
            end, pair, _ = max(options, key=lambda one: one[2])
            if float(np.median(made.pieces[end // 2].width)) < DOUBLE * usual[end // 2]:
                break
            entered.append(end)
            used.append(pair)
            leave = end ^ 1
        if entered:
            out[start] = (tuple(entered), tuple(used))
    return out


def _rebuilt(
    chains: list[Chain],
    home: dict[int, int],
    joined: dict[int, tuple[int, tuple[int, ...], tuple[int, ...]]],
    led: dict[int, tuple[tuple[int, ...], tuple[int, ...]]],
) -> list[Chain]:
    out, done = [], set()
    tips = [(2 * c.pieces[0] + c.turned[0], 2 * c.pieces[-1] + (not c.turned[-1])) for c in chains]

    def walk(k: int, enter: int) -> Chain:
        pieces: list[int] = []
        turned: list[bool] = []
        pairs: list[int] = []
        if enter in led:
            ahead, over = led[enter]
            pieces = [one // 2 for one in ahead[::-1]]
            turned = [one % 2 == 0 for one in ahead[::-1]]
            pairs = list(over[::-1])
        while True:
            done.add(k)
            chain = chains[k]
            if tips[k][0] == enter:
                pieces += chain.pieces
                turned += chain.turned
                pairs += chain.pairs
                leave = tips[k][1]
            else:
                pieces += chain.pieces[::-1]
                turned += [not one for one in chain.turned[::-1]]
                pairs += chain.pairs[::-1]
                leave = tips[k][0]
            if leave not in joined or home[joined[leave][0]] in done:
                ahead, over = led.get(leave, ((), ()))
                pieces += [one // 2 for one in ahead]
                turned += [one % 2 == 1 for one in ahead]
                pairs += over
                return Chain(tuple(pieces), tuple(turned), tuple(pairs))
            enter, between, used = joined[leave]
            pieces += [one // 2 for one in between]
            turned += [one % 2 == 1 for one in between]
            pairs += used
            k = home[enter]

    for k, (first, last) in enumerate(tips):
        if k not in done and (first not in joined or last not in joined):
            out.append(walk(k, first if first not in joined else last))
    for k, (first, _) in enumerate(tips):
        if k not in done:
            out.append(walk(k, first))
    return out
