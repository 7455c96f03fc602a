"""What the rest of a line says about a joint: thick to thin, one club, one curl, one colour, a likely length.

For a pair of ends, each side's line is followed away from the joint as it is joined so far; what is seen on the two
sides is laid side by side. A hair is thinner at its root than in its middle and thinnest at its tip, has one club at
most, bends evenly, and is about as long as the photograph's other hairs.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from coatwright.paper.contrast import compiled
from coatwright.paper.joints import Chain, Pairs, Pieces

SIDE = 19
CONTEXT = (
    "score", "best rival of i", "best rival of j", "margin",
    "shorter side", "longer side", "total", "total to usual",
    "width near", "width middle", "width far", "colour long", "slope agreement", "slope sum",
    "bend agreement", "bend agreement long", "club i", "club j", "both clubs", "tip i", "tip j", "both tips",
    "width at ends", "club to thick", "height long",
)  # fmt: skip


@compiled
def _sides(
    xy: Any, width: Any, height: Any, colour: Any, order: Any, first: Any, last: Any, place: Any, out: Any
) -> None:
    """One row per end: what lies beyond it. ``order`` lists the points of all chains; ``place[e]`` is where in it the
    end lies, ``first`` and ``last`` bound its chain, and the walk goes up when the end is a beginning."""
    for e in range(len(place)):
        at = place[e]
        step = 1 if out[e, 0] > 0 else -1
        stop = last[e] if step > 0 else first[e] - 1
        n = (stop - at) * step
        s = np.zeros(max(1, n))
        for k in range(1, n):
            a, b = order[at + k * step], order[at + (k - 1) * step]
            s[k] = s[k - 1] + np.hypot(xy[a, 0] - xy[b, 0], xy[a, 1] - xy[b, 1])
        total = s[-1]
        sums = np.zeros((7, 6))
        corner = np.zeros((5, 2))
        marks = (0.25, 2.0, 4.5, 9.0)
        have = np.zeros(4, np.int64)
        for k in range(n):
            p = order[at + k * step]
            back = total - s[k]
            for window in range(7):
                if window == 0:
                    inside = s[k] >= 0.25 and s[k] <= 3.0
                elif window == 1:
                    inside = s[k] >= 3.0 and s[k] <= 8.0
                elif window == 2:
                    inside = s[k] >= 8.0 and s[k] <= 16.0
                elif window == 3:
                    inside = back >= 0.05 and back <= 0.5
                elif window == 4:
                    inside = back >= 0.9 and back <= 2.2
                elif window == 5:
                    inside = back >= 4.0 and back <= 7.0
                else:
                    inside = s[k] >= 0.25 and s[k] <= 12.0
                if inside:
                    sums[window, 0] += 1
                    sums[window, 1] += width[p]
                    sums[window, 2] += height[p]
                    for c in range(3):
                        sums[window, 3 + c] += colour[p, c]
            for m in range(4):
                if have[m] == 0 and s[k] >= marks[m]:
                    have[m] = 1
                    corner[m, 0], corner[m, 1] = xy[p, 0], xy[p, 1]
        for window in range(7):
            out[e, 1 + window] = sums[window, 1] / sums[window, 0] if sums[window, 0] > 0 else -1.0
        out[e, 8] = total
        for c in range(3):
            out[e, 9 + c] = sums[6, 3 + c] / max(1.0, sums[6, 0])
        out[e, 12] = sums[6, 2] / max(1.0, sums[6, 0])
        # turning per mm between chords, positive to the left going in
        for m in range(2):
            if have[m] and have[m + 1] and have[m + 2]:
                ax, ay = corner[m + 1, 0] - corner[m, 0], corner[m + 1, 1] - corner[m, 1]
                bx, by = corner[m + 2, 0] - corner[m + 1, 0], corner[m + 2, 1] - corner[m + 1, 1]
                turn = np.arctan2(ax * by - ay * bx, ax * bx + ay * by)
                out[e, 13 + m] = turn / (0.5 * (marks[m + 2] - marks[m]))
                out[e, 15 + m] = 1.0


def sides(made: Pieces, chains: list[Chain]) -> np.ndarray:
    """Per end of a piece: widths of windows (7), length, colour (3), height, turning (2), turning known (2)."""
    order, first, last = [], np.zeros(2 * len(made.pieces), int), np.zeros(2 * len(made.pieces), int)
    place = np.zeros(2 * len(made.pieces), int)
    out = np.zeros((2 * len(made.pieces), SIDE))
    filled = 0
    for chain in chains:
        begun = filled
        ends = []
        for piece, turned in zip(chain.pieces, chain.turned, strict=True):
            points = np.arange(made.start[piece], made.stop[piece])
            order.append(points[::-1] if turned else points)
            enter, leave = 2 * piece + turned, 2 * piece + (not turned)
            place[enter], out[enter, 0] = filled, 1.0
            place[leave], out[leave, 0] = filled + len(points) - 1, -1.0
            filled += len(points)
            ends += [enter, leave]
        first[ends], last[ends] = begun, filled
    width = np.concatenate([one.width for one in made.pieces]).astype(float)
    height = np.concatenate([one.height for one in made.pieces]).astype(float)
    colour = np.concatenate([one.colour for one in made.pieces]).astype(float)
    _sides(made.xy, width, height, colour, np.concatenate(order), first, last, place, out)
    return out


def context_features(pairs: Pairs, score: np.ndarray, side: np.ndarray, usual: float) -> np.ndarray:
    """Rows of ``CONTEXT`` for every pair; ``usual`` is the photograph's usual length of a hair, mm."""
    i, j = pairs.i, pairs.j
    count = len(side)
    best, second = np.full(count, -12.0), np.full(count, -12.0)
    for pair in np.argsort(score, kind="stable"):
        for end in (i[pair], j[pair]):
            second[end], best[end] = best[end], max(-12.0, score[pair])
    rival_i = np.where(score >= best[i] - 1e-12, second[i], best[i])
    rival_j = np.where(score >= best[j] - 1e-12, second[j], best[j])
    a, b = side[i], side[j]

    def ratio(column: int) -> np.ndarray:
        known = (a[:, column] > 0) & (b[:, column] > 0)
        value = np.log(np.maximum(a[:, column], 1e-3) / np.maximum(b[:, column], 1e-3))
        return np.where(known, np.abs(value), -0.2)

    def slope(rows: np.ndarray) -> np.ndarray:
        known = (rows[:, 1] > 0) & (rows[:, 2] > 0)
        return np.where(known, np.log(np.maximum(rows[:, 2], 1e-3) / np.maximum(rows[:, 1], 1e-3)), 0.0)

    def over(rows: np.ndarray, top: int, under: int) -> np.ndarray:
        known = (rows[:, top] > 0) & (rows[:, under] > 0)
        value = np.log(np.maximum(rows[:, top], 1e-3) / np.maximum(rows[:, under], 1e-3))
        return np.where(known, value, 0.0)

    club_i, club_j = over(a, 4, 5), over(b, 4, 5)
    tip_i, tip_j = over(a, 5, 6), over(b, 5, 6)
    total = a[:, 8] + b[:, 8]
    columns = [
        score, rival_i, rival_j, score - np.maximum(rival_i, rival_j),
        np.log(0.1 + np.minimum(a[:, 8], b[:, 8])), np.log(0.1 + np.maximum(a[:, 8], b[:, 8])),
        total, np.log((0.1 + total) / max(1.0, usual)),
        ratio(1), ratio(2), ratio(3),
        np.abs(a[:, 9:12] - b[:, 9:12]).sum(axis=1),
        np.abs(slope(a) + slope(b)), slope(a) + slope(b),
        np.abs(a[:, 13] + b[:, 13]) * np.where((a[:, 15] > 0) & (b[:, 15] > 0), 1, -1),
        np.abs(a[:, 14] + b[:, 14]) * np.where((a[:, 16] > 0) & (b[:, 16] > 0), 1, -1),
        np.minimum(club_i, club_j), np.maximum(club_i, club_j),
        np.minimum(club_i, club_j) + np.abs(club_i - club_j) / 4,
        np.minimum(tip_i, tip_j), np.maximum(tip_i, tip_j), np.maximum(tip_i, tip_j) - np.abs(tip_i - tip_j) / 4,
        ratio(5), np.where(club_i > club_j, over(b, 5, 1), over(a, 5, 1)),
        np.abs(a[:, 12] - b[:, 12]),
    ]  # fmt: skip
    return np.stack(columns, axis=1).astype(np.float32)
