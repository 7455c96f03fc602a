"""Which ends go on into which: the most probable set of pairs at every crossing, taken together.

A pair's weight is the logarithm of its odds. Ends that share candidates form a cluster; within one, the set of pairs
of the greatest total weight, no end used twice, is searched for with a beam (small clusters: exactly).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coatwright.paper.context import context_features, sides
from coatwright.paper.joints import Chain, Pairs, Pieces
from coatwright.paper.scorer import load

BEAM = 48
PASSES = 2


def match(ends: int, i: np.ndarray, j: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """The chosen pairs: numbers into ``i``, ``j``; only pairs of positive weight can be chosen."""
    use = np.flatnonzero(weight > 0)
    if not len(use):
        return use
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(use)), (i[use], j[use])), shape=(ends, ends))
    _, label = connected_components(graph, directed=False)
    group = label[i[use]]
    order = np.argsort(group, kind="stable")
    chosen: list[int] = []
    for part in np.split(use[order], np.flatnonzero(np.diff(group[order])) + 1):
        chosen += part.tolist() if len(part) == 1 else _cluster(part, i, j, weight)
    return np.array(sorted(chosen), int)


def _cluster(part: np.ndarray, i: np.ndarray, j: np.ndarray, weight: np.ndarray) -> list[int]:
    """Beam search over the pairs of one cluster, end by end."""
    of: dict[int, list[int]] = {}
    for pair in part.tolist():
        of.setdefault(int(i[pair]), []).append(pair)
        of.setdefault(int(j[pair]), []).append(pair)
    # ends with the strongest candidates first, so that the beam keeps what matters
    order = sorted(of, key=lambda end: -max(weight[pair] for pair in of[end]))
    bit = {end: 1 << place for place, end in enumerate(order)}
    both = {pair: bit[int(i[pair])] | bit[int(j[pair])] for pair in part.tolist()}
    beam: list[tuple[float, int, tuple[int, ...]]] = [(0.0, 0, ())]  # weight, ends used or left, pairs
    for end in order:
        own = bit[end]
        choices = [(float(weight[pair]), both[pair], pair) for pair in of[end]]
        grown: dict[int, tuple[float, tuple[int, ...]]] = {}
        for score, used, taken in beam:
            options: list[tuple[float, int, tuple[int, ...]]] = [(score, used | own, taken)]
            if not used & own:
                options += [
                    (score + more, used | pair_ends, (*taken, pair))
                    for more, pair_ends, pair in choices
                    if not used & pair_ends
                ]
            for value, state, pairs in options:
                if state not in grown or grown[state][0] < value:
                    grown[state] = (value, pairs)
        beam = sorted(((v, s, p) for s, (v, p) in grown.items()), key=lambda one: (-one[0], one[2]))[:BEAM]
    return list(beam[0][2])


def chains_of(pieces: int, i: np.ndarray, j: np.ndarray, chosen: np.ndarray) -> list[Chain]:
    """Follow the chosen pairs from piece to piece; a ring is opened at its first pair."""
    mate: dict[int, tuple[int, int]] = {}
    for pair in chosen.tolist():
        mate[int(i[pair])] = (int(j[pair]), pair)
        mate[int(j[pair])] = (int(i[pair]), pair)
    left = set(range(pieces))
    chains = []
    starts = [k for k in range(pieces) if 2 * k not in mate or 2 * k + 1 not in mate]
    for first in [*starts, *range(pieces)]:
        if first not in left:
            continue
        entry = 2 * first if 2 * first not in mate else 2 * first + 1
        if entry in mate and 2 * first in mate:
            entry = 2 * first
        row, turned, pairs = [], [], []
        end = entry
        while True:
            piece = end // 2
            left.discard(piece)
            row.append(piece)
            turned.append(end % 2 == 1)
            out = end ^ 1
            if out not in mate or mate[out][0] // 2 not in left:
                break
            end, pair = mate[out]
            pairs.append(pair)
        chains.append(Chain(tuple(row), tuple(turned), tuple(pairs)))
    return chains


def usual_length(made: Pieces, chains: list[Chain]) -> float:
    """The upper quartile of the lengths of lines of 5 mm and more; 25 mm where there is none."""
    lengths = np.array([sum(float(made.ends[2 * k, 21]) for k in chain.pieces) for chain in chains])
    long = lengths[lengths >= 5.0]
    return float(np.percentile(long, 75)) if len(long) else 25.0


@dataclass(frozen=True)
class Joined:
    """Chains, and the last log odds of every pair."""

    chains: list[Chain]
    score: np.ndarray


def join(made: Pieces, pairs: Pairs) -> Joined:
    """Score pairs by themselves, join, then twice more by what the whole lines on both sides say."""
    count = len(made.pieces)
    score = first = load("pair").log_odds(pairs.features)
    chains = chains_of(count, pairs.i, pairs.j, match(2 * count, pairs.i, pairs.j, first))
    for _ in range(PASSES):
        side = sides(made, chains)
        rows = np.hstack([pairs.features, context_features(pairs, first, side, usual_length(made, chains))])
        score = load("joint").log_odds(rows)
        chains = chains_of(count, pairs.i, pairs.j, match(2 * count, pairs.i, pairs.j, score))
    return Joined(chains, score)
