"""How surely each joint of a hair was chosen, and what the best other way was.

A joint is one pair of ends among several that might have gone on into each other. Set against it is the best other
way to join the ends concerned: leave the two loose, or lead one of them into another end, which may set free that
end's mate; the mate is then led on into what is left where the score allows it. The margin is the difference of the
summed log odds.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from coatwright.paper.joints import Chain, Pairs, Pieces
from coatwright.paper.link import Joined
from coatwright.paper.marks import Joint

OPEN_MARGIN = 4.0
"""An end that stays loose with a greater margin than this is not told of."""
ALONG_MM = 1.0
"""How far from the joint the point lies that names the other way's line."""


class _Ways:
    """The candidate pairs of every end and the pair that was chosen there."""

    def __init__(self, pairs: Pairs, joined: Joined) -> None:
        self.score = joined.score
        self.of: dict[int, list[tuple[int, int]]] = {}
        for pair, (i, j) in enumerate(zip(pairs.i.tolist(), pairs.j.tolist(), strict=True)):
            self.of.setdefault(i, []).append((j, pair))
            self.of.setdefault(j, []).append((i, pair))
        self.mate: dict[int, tuple[int, int]] = {}
        for chain in joined.chains:
            for pair in chain.pairs:
                i, j = int(pairs.i[pair]), int(pairs.j[pair])
                self.mate[i], self.mate[j] = (j, pair), (i, pair)

    def best_pair(self, a: int, b: int) -> float:
        """What joining two ends brings, nothing where they cannot be joined."""
        return max((float(self.score[pair]) for end, pair in self.of.get(a, []) if end == b), default=0.0)

    def others(self, end: int, freed: int) -> list[tuple[float, int]]:
        """(gain, end) of every other way to lead ``end`` on, ``freed`` being the end that it leaves alone (or -1)."""
        found = []
        for other, pair in self.of.get(end, []):
            if other == freed:
                continue
            gain = float(self.score[pair])
            if other in self.mate:
                lost, by = self.mate[other]
                gain -= float(self.score[by])
                if freed >= 0:
                    gain += max(0.0, self.best_pair(freed, lost))
            found.append((gain, other))
        return found


def joints_of(made: Pieces, pairs: Pairs, joined: Joined, chains: Sequence[Chain]) -> list[tuple[Joint, ...]]:
    """The joints of every chain, along it: those taken, and at its two ends those that were not.

    ``chains`` may share stretches (:mod:`coatwright.paper.shared`).
    """
    ways = _Ways(pairs, joined)
    tips = made.ends[:, 9:11]
    out = []
    for chain in chains:
        first = 2 * chain.pieces[0] + chain.turned[0]
        last = 2 * chain.pieces[-1] + (not chain.turned[-1])
        row = _loose(made, ways, first)
        for pair in chain.pairs:
            i, j = int(pairs.i[pair]), int(pairs.j[pair])
            at = _point((tips[i] + tips[j]) / 2)
            options = [(0.0, -1)]
            if (
                ways.mate.get(i, (-1, -1))[1] == pair
            ):  # else two hairs share the stretch: leave it, or nothing
                options += [*ways.others(i, j), *ways.others(j, i)]
            gain, other = max(options, key=lambda one: (one[0], -one[1]))
            named = at if other < 0 else _along(made, other)
            row.append(Joint(at, float(joined.score[pair]) - gain, named, joined=True))
        out.append(tuple(row + _loose(made, ways, last)))
    return out


def _loose(made: Pieces, ways: _Ways, end: int) -> list[Joint]:
    """What a loose end might have been led on into; nothing where that is unlikely."""
    if end in ways.mate:  # the line goes on along a stretch that another hair shares
        return []
    gain, other = max(ways.others(end, -1), default=(-np.inf, -1))
    if -gain > OPEN_MARGIN:
        return []
    return [Joint(_point(made.ends[end, 9:11]), -gain, _along(made, other), joined=False)]


def _along(made: Pieces, end: int) -> tuple[float, float]:
    """A point of a piece, ``ALONG_MM`` from one of its ends, or its middle where it is short."""
    points = made.pieces[end // 2].mm[:: -1 if end % 2 else 1]
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return _point(points[int(np.searchsorted(s, min(ALONG_MM, s[-1] / 2)))])


def _point(xy: np.ndarray) -> tuple[float, float]:
    return float(xy[0]), float(xy[1])
