"""Where lines meet: fragments cut where another touches, their ends described, pairs of ends that may be one hair.

Everything here is in millimetres on the sheet. An end is numbered 2 k (start) or 2 k + 1 (stop) of piece k. A pair
may span a short gap, or a longer stretch along which both hairs lie upon each other (a shared stretch); then it goes
*via* the points of the line that lies there.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from coatwright.paper.contrast import compiled
from coatwright.paper.trace import Fragment

TOUCH_MM = 0.35
"""An end this near to the inside of another line touches it."""
GAP_MM = 2.2
SHARED_MM = 7.0
"""The longest shared stretch of two hairs."""
FEATURES = (
    "gap", "chord", "alpha", "beta", "energy", "turn", "curvature change", "bend expected",
    "alpha near", "beta near", "energy near", "miss of i", "miss of j",
    "width ratio near", "width ratio far", "colour near", "colour far", "height ratio",
    "least light", "mean light", "followed", "via", "fade i", "fade j", "short", "long",
    "ends around", "better turn of i", "better turn of j", "rank of i", "rank of j", "slope change",
)  # fmt: skip


def cut_at_touches(fragments: list[Fragment]) -> tuple[list[Fragment], list[tuple[int, int]]]:
    """The pieces, and pairs of ends that were one point before the cut."""
    from scipy.spatial import cKDTree

    if not fragments:
        return [], []
    owner = np.concatenate([np.full(len(one.mm), k) for k, one in enumerate(fragments)])
    place = np.concatenate([np.arange(len(one.mm)) for one in fragments])
    points = np.concatenate([one.mm for one in fragments])
    tips = np.concatenate([one.mm[[0, -1]] for one in fragments])
    cuts: dict[int, list[int]] = {}
    along = [np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(one.mm, axis=0).T))]) for one in fragments]
    for tip, near in enumerate(cKDTree(points).query_ball_point(tips, TOUCH_MM)):
        near_array = np.array(near, int)
        gaps = np.hypot(*(points[near_array] - tips[tip]).T)
        for other in np.unique(owner[near_array]):
            mine = near_array[owner[near_array] == other]
            at = int(place[mine[np.argmin(gaps[owner[near_array] == other])]])
            s = along[other]
            if other == tip // 2:
                continue
            if s[at] > TOUCH_MM and s[-1] - s[at] > TOUCH_MM:
                cuts.setdefault(int(other), []).append(at)
    pieces: list[Fragment] = []
    followed: list[tuple[int, int]] = []
    for k, one in enumerate(fragments):
        marks: list[int] = []
        for at in sorted(cuts.get(k, [])):
            if marks and along[k][at] - along[k][marks[-1]] < TOUCH_MM:
                marks[-1] = (marks[-1] + at) // 2
            else:
                marks.append(at)
        bounds = [0, *marks, len(one.mm) - 1]
        for a, b in pairwise(bounds):
            if a:
                followed.append((2 * len(pieces) - 1, 2 * len(pieces)))
            pieces.append(one.part(a, b + 1))
    return pieces, followed


@compiled
def _fit(s: Any, x: Any, y: Any, low: float, high: float, order: int) -> Any:
    """Least squares of x and y as polynomials of s within (low, high); order 1 or 2: 3 + 3 coefficients."""
    m = np.zeros((3, 3))
    r = np.zeros((3, 2))
    count = 0
    for i in range(len(s)):
        if s[i] < low or s[i] > high:
            continue
        count += 1
        p = 1.0
        powers = np.zeros(3)
        for a in range(order + 1):
            powers[a] = p
            p *= s[i]
        for a in range(order + 1):
            r[a, 0] += powers[a] * x[i]
            r[a, 1] += powers[a] * y[i]
            for b in range(order + 1):
                m[a, b] += powers[a] * powers[b]
    for a in range(order + 1):
        m[a, a] += 1e-9
    if order < 2 or count < 4:
        m[2, 2] = 1.0
        m[2, 0] = m[2, 1] = m[0, 2] = m[1, 2] = 0.0
        r[2, 0] = r[2, 1] = 0.0
    if order >= 2:
        m[2, 2] += 0.02 * count  # leans to straight where the piece is short
    return np.linalg.solve(m, r)


@compiled
def _describe(xy: Any, height: Any, width: Any, colour: Any, start: Any, stop: Any, out: Any) -> None:
    """One row per end; columns as in :class:`Ends`."""
    for e in range(2 * len(start)):
        k = e // 2
        n = stop[k] - start[k]
        s = np.zeros(n)
        x, y = np.zeros(n), np.zeros(n)
        h, w = np.zeros(n), np.zeros(n)
        c = np.zeros((n, 3))
        for i in range(n):
            at = start[k] + i if e % 2 == 0 else stop[k] - 1 - i
            x[i], y[i], h[i], w[i] = xy[at, 0], xy[at, 1], height[at], width[at]
            c[i] = colour[at]
            if i:
                s[i] = s[i - 1] + np.hypot(x[i] - x[i - 1], y[i] - y[i - 1])
        total = s[-1]
        skip = min(0.12, 0.2 * total)
        for scale in range(2):
            reach, back, order = ((0.85, 0.2, 1), (2.4, 0.35, 2))[scale]
            back = min(back, 0.5 * total)
            f = _fit(s, x, y, skip, skip + reach, order)
            bx = f[0, 0] + f[1, 0] * back + f[2, 0] * back * back
            by = f[0, 1] + f[1, 1] * back + f[2, 1] * back * back
            tx, ty = -(f[1, 0] + 2 * f[2, 0] * back), -(f[1, 1] + 2 * f[2, 1] * back)
            size = max(1e-9, np.hypot(tx, ty))
            tx, ty = tx / size, ty / size
            o = 4 * scale
            out[e, o], out[e, o + 1], out[e, o + 2], out[e, o + 3] = bx, by, tx, ty
            if scale == 1:
                # positive turns left when going out through the end
                out[e, 8] = (tx * 2 * f[2, 1] - ty * 2 * f[2, 0]) / size
        out[e, 9], out[e, 10] = x[0], y[0]
        sums = np.zeros((4, 6))
        for i in range(n):
            for window in range(4):
                low, high = ((0.2, 1.2), (0.8, 5.0), (0.0, 0.15), (0.35, 1.0))[window]
                if s[i] >= min(low, 0.4 * total) and s[i] <= high:
                    sums[window, 0] += 1
                    sums[window, 1] += w[i]
                    sums[window, 2] += h[i]
                    sums[window, 3:] += c[i]
        for window in range(4):
            count = max(1.0, sums[window, 0])
            if window < 2:
                out[e, 11 + 4 * window] = sums[window, 1] / count
                for j in range(3):
                    out[e, 12 + 4 * window + j] = sums[window, 3 + j] / count
            else:
                out[e, 17 + window] = sums[window, 2] / count
        out[e, 21] = total
        # growth of width away from the end
        f = _fit(s, w, w, min(0.3, 0.3 * total), 8.0, 1)
        out[e, 22] = f[1, 0] / max(0.01, abs(f[0, 0]) + 0.5 * abs(f[1, 0]) * min(8.0, total))


@dataclass
class Pieces:
    """The pieces as flat arrays, and what their ends look like."""

    pieces: list[Fragment]
    followed: set[tuple[int, int]]
    xy: np.ndarray
    start: np.ndarray
    stop: np.ndarray
    ends: np.ndarray
    """One row per end: near base point and outward direction (4), the same farther back (4), curvature, end
    point (2), width and colour near (4) and far (4), height at the end and behind it, length of the piece,
    growth of width."""


def describe(pieces: list[Fragment], followed: list[tuple[int, int]]) -> Pieces:
    """Put the pieces end to end in arrays and describe their ends."""
    sizes = np.array([len(one.mm) for one in pieces])
    stop = np.cumsum(sizes)
    start = stop - sizes
    xy = np.concatenate([one.mm for one in pieces])
    ends = np.zeros((2 * len(pieces), 23))
    _describe(
        xy,
        np.concatenate([one.height for one in pieces]).astype(float),
        np.concatenate([one.width for one in pieces]).astype(float),
        np.concatenate([one.colour for one in pieces]).astype(float),
        start,
        stop,
        ends,
    )
    return Pieces(pieces, set(followed), xy, start, stop, ends)


@dataclass
class Pairs:
    """Pairs of ends that may be one hair."""

    i: np.ndarray
    j: np.ndarray
    via: np.ndarray
    """The piece that carries both hairs between the ends, or -1."""
    features: np.ndarray


@dataclass(frozen=True)
class Chain:
    """Pieces in order, each forwards or turned, and the pair that joins each to the next."""

    pieces: tuple[int, ...]
    turned: tuple[bool, ...]
    pairs: tuple[int, ...]


def pairs_of(made: Pieces, light: Any) -> Pairs:
    """Candidates with their features; ``light(points mm)`` gives the contrast at points (n, 2)."""
    from scipy.spatial import cKDTree

    ends = made.ends
    tips = ends[:, 9:11]
    tree = cKDTree(tips)
    near = tree.query_pairs(GAP_MM, output_type="ndarray")
    near = near[near[:, 0] // 2 != near[:, 1] // 2]
    via = np.full(len(near), -1)
    more = _shared(made, tree)
    if len(more):
        known = {(a, b) for a, b in near.tolist()}
        more = np.array([row for row in more.tolist() if (row[0], row[1]) not in known], int).reshape(-1, 3)
        near = np.concatenate([near, more[:, :2]])
        via = np.concatenate([via, more[:, 2]])
    order = np.lexsort((via, near[:, 1], near[:, 0])) if len(near) else np.zeros(0, int)
    near, via = near[order], via[order]
    i, j = near[:, 0], near[:, 1]
    # both must look towards each other, roughly
    chord = ends[j, 4:6] - ends[i, 4:6]
    size = np.maximum(np.hypot(*chord.T), 1e-6)
    ahead_i = (chord * ends[i, 6:8]).sum(axis=1) / size
    ahead_j = -(chord * ends[j, 6:8]).sum(axis=1) / size
    facing = (ends[i, 6:8] * ends[j, 6:8]).sum(axis=1)
    keep = (ahead_i > 0.3) & (ahead_j > 0.3) & (facing < 0.0)
    i, j, via = i[keep], j[keep], via[keep]
    return Pairs(i, j, via, _features(made, i, j, via, light, tree))


def _shared(made: Pieces, tree: Any) -> np.ndarray:
    """Pairs (i, j, piece between) whose ends lie at the two ends of one piece."""
    found = []
    lengths = made.ends[::2, 21]
    tips = made.ends[:, 9:11]
    for k in np.flatnonzero(lengths <= SHARED_MM):
        sides = [
            [e for e in tree.query_ball_point(tips[2 * k + side], 0.6) if e // 2 != k] for side in (0, 1)
        ]
        found += [(min(a, b), max(a, b), int(k)) for a in sides[0] for b in sides[1] if a // 2 != b // 2]
    return np.array(sorted(set(found)), int).reshape(-1, 3)


def _bend(ends: np.ndarray, i: np.ndarray, j: np.ndarray, column: int) -> tuple[np.ndarray, ...]:
    """Chord between base points, and the angles of the two directions to it (one curve going from i to j)."""
    chord = ends[j, column : column + 2] - ends[i, column : column + 2]
    size = np.maximum(np.hypot(*chord.T), 0.05)
    heading = np.arctan2(chord[:, 1], chord[:, 0])
    out_i = np.arctan2(ends[i, column + 3], ends[i, column + 2])
    into_j = np.arctan2(-ends[j, column + 3], -ends[j, column + 2])
    alpha = (out_i - heading + np.pi) % (2 * np.pi) - np.pi
    beta = (into_j - heading + np.pi) % (2 * np.pi) - np.pi
    return size, alpha, beta


def curve(ends: np.ndarray, i: np.ndarray, j: np.ndarray, count: int) -> np.ndarray:
    """Cubic curves between the far base points of pairs, (pairs, count, 2)."""
    a, b = ends[i, 4:6], ends[j, 4:6]
    size = np.hypot(*(b - a).T)[:, None, None]
    u = np.linspace(0, 1, count)[None, :, None]
    da, db = ends[i, 6:8][:, None, :] * size, -ends[j, 6:8][:, None, :] * size
    points: np.ndarray = (2 * u**3 - 3 * u**2 + 1) * a[:, None, :] + (u**3 - 2 * u**2 + u) * da
    points += (-2 * u**3 + 3 * u**2) * b[:, None, :] + (u**3 - u**2) * db
    return points


def _features(
    made: Pieces, i: np.ndarray, j: np.ndarray, via: np.ndarray, light: Any, tree: Any
) -> np.ndarray:
    ends = made.ends
    size, alpha, beta = _bend(ends, i, j, 4)
    size1, alpha1, beta1 = _bend(ends, i, j, 0)
    gap = np.hypot(*(ends[j, 9:11] - ends[i, 9:11]).T)
    ki, kj = ends[i, 8], -ends[j, 8]
    turn = beta - alpha
    seen = light(curve(ends, i, j, 15).reshape(-1, 2)).reshape(-1, 15)
    height = np.maximum(1e-3, np.minimum(ends[i, 20], ends[j, 20]))
    around = np.array([len(near) for near in tree.query_ball_point(ends[:, 9:11], 0.6)], float)
    followed = np.array([(a, b) in made.followed for a, b in zip(i.tolist(), j.tolist(), strict=True)], float)
    wn, wf = np.maximum(ends[:, 11], 1e-3), np.maximum(ends[:, 15], 1e-3)
    bend = np.abs(alpha) + np.abs(beta)
    best, second, rank = _rivals(len(ends), i, j, bend)
    rival_i = np.where(bend <= best[i] + 1e-12, second[i], best[i])
    rival_j = np.where(bend <= best[j] + 1e-12, second[j], best[j])
    columns = [
        gap, size, np.abs(alpha), np.abs(beta),
        np.log(1e-3 + 4 / size * (alpha**2 + alpha * beta + beta**2)), np.abs(turn),
        np.abs(ki - kj), np.abs(turn - (ki + kj) / 2 * size),
        np.abs(alpha1), np.abs(beta1),
        np.log(1e-3 + 4 / size1 * (alpha1**2 + alpha1 * beta1 + beta1**2)),
        np.abs(size * np.sin(alpha) + ki * size**2 / 2), np.abs(size * np.sin(beta) - kj * size**2 / 2),
        np.abs(np.log(wn[i] / wn[j])), np.abs(np.log(wf[i] / wf[j])),
        np.abs(ends[i, 12:15] - ends[j, 12:15]).sum(axis=1), np.abs(ends[i, 16:19] - ends[j, 16:19]).sum(axis=1),
        np.abs(np.log(np.maximum(ends[i, 20], 1e-3) / np.maximum(ends[j, 20], 1e-3))),
        seen.min(axis=1) / height, seen.mean(axis=1) / height,
        followed, np.where(via >= 0, ends[2 * np.maximum(via, 0), 21], 0.0),
        ends[i, 19] / np.maximum(ends[i, 20], 1e-3), ends[j, 19] / np.maximum(ends[j, 20], 1e-3),
        np.log(0.05 + np.minimum(ends[i, 21], ends[j, 21])), np.log(0.05 + np.maximum(ends[i, 21], ends[j, 21])),
        np.maximum(around[i], around[j]), bend - rival_i, bend - rival_j, rank[0], rank[1],
        np.abs(ends[i, 22] + ends[j, 22]),
    ]  # fmt: skip
    return (
        np.stack(columns, axis=1).astype(np.float32) if len(i) else np.zeros((0, len(FEATURES)), np.float32)
    )


def _rivals(
    count: int, i: np.ndarray, j: np.ndarray, bend: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Least and second bend of every end's candidates (3 where there is none), and each pair's rank at both ends."""
    best, second = np.full(count, 3.0), np.full(count, 3.0)
    rank = np.zeros((2, len(i)))
    seen = np.zeros(count)
    for pair in np.argsort(bend, kind="stable"):
        for side, end in enumerate((i[pair], j[pair])):
            rank[side, pair] = seen[end]
            seen[end] += 1
            if bend[pair] < best[end]:
                best[end], second[end] = bend[pair], best[end]
            elif bend[pair] < second[end]:
                second[end] = bend[pair]
    return best, second, rank
