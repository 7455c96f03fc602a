"""Two photographs of the same hairs made one reading.

*Shaken between*: the hairs lie elsewhere, so that a crossing that misled one photograph is not there in the other.
Hairs are matched by length, optical width and lightness; the pairs that agree are taken, and what is left of either
photograph fills the count up, the surest first. *Not moved*: hairs are matched by where they lie; where the two
readings differ, that one is taken whose hairs are more surely one hair each. In both, how sure a hair is is its
``score``, which on drawn photographs is very nearly its chance to be read within 1 mm.

A person who looked at the first photograph goes before both readings: a line of it that was marked as no hair takes
its counterpart in the second with it, and a hair that was marked is taken, as it is there.

Counting by mark and recapture (the product of the two counts over the pairs) was tried and left: what is missing in
one photograph is not missing by chance but wrongly joined, and a wrong joint adds hairs as often as it takes some.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from coatwright.paper.marks import Floats, Hair
from coatwright.paper.splice import steps_of
from coatwright.units import Millimetres

LENGTH_MM, WIDTH, LIGHT = 0.10, 0.08, 0.06
"""How far two readings of one hair differ (standard deviations): length, logarithm of width and of lightness."""
AGREE_MM = 1.0
"""Readings of one hair do not differ by more."""
GATE = 10.0
"""Sum of squared deviations beyond which two readings are not of one hair."""
NEAR_MM = 0.4
SAME_SHARE = 0.5
"""Hairs on an unmoved sheet are the same where this share of their joint length lies within 0.4 mm."""


@dataclass(frozen=True)
class PooledHair:
    """One hair, as it is taken from the photograph that shows it more clearly."""

    photo: int
    """0 or 1: the photograph that the trace is of."""
    hair: int
    """Its place in the reading of that photograph."""
    other: int
    """The same hair's place in the other reading; -1 where it has none."""
    length_mm: Millimetres
    whole: bool | None
    """What the ends say; open where the two photographs contradict each other."""


@dataclass(frozen=True)
class Pooled:
    """The hairs of two photographs."""

    hairs: tuple[PooledHair, ...]
    agreed: int
    """How many were seen alike in both."""
    counts: tuple[int, int]
    """How many each photograph gave by itself, without what was marked as no hair."""


def pool_shaken(
    one: Sequence[Hair], two: Sequence[Hair], *, marked: Collection[int] = (), none: Collection[int] = ()
) -> Pooled:
    """The hairs of one sheet photographed, shaken and photographed again. Given the same hairs, the same result.

    ``marked`` are the places in ``one`` of what a person marked as a hair, ``none`` of what was marked as no hair.
    """
    from scipy.optimize import linear_sum_assignment

    pairs: list[tuple[int, int]] = []
    if one and two:
        gain = GATE - _distances(one, two)
        rows, columns = linear_sum_assignment(np.maximum(gain, 0.0), maximize=True)
        pairs = [(int(a), int(b)) for a, b in zip(rows, columns, strict=True) if gain[a, b] > 0]
    taken = [_of_pair(one, two, a, b) for a, b in pairs if a not in none]
    agreed = len(taken)
    counts = len(one) - len(none), len(two)
    count = round((counts[0] + counts[1] - (len(pairs) - agreed)) / 2)
    used = {a for a, _ in pairs} | set(none), {b for _, b in pairs}
    left = [
        (not (photo == 0 and k in marked), -hair.score, photo, k)
        for photo, hairs in enumerate((one, two))
        for k, hair in enumerate(hairs)
        if k not in used[photo]
    ]
    for at, (unmarked, _, photo, k) in enumerate(sorted(left)):
        if not unmarked or agreed + at < count:
            taken.append(_alone((one, two)[photo], photo, k))
    return Pooled(tuple(taken), agreed, counts)


def pool_unmoved(
    one: Sequence[Hair], two: Sequence[Hair], *, marked: Collection[int] = (), none: Collection[int] = ()
) -> Pooled:
    """The hairs of one sheet photographed twice as it lies. Given the same hairs, the same result.

    Hairs of the two readings that share a stretch are looked at together; of each such bundle one reading is taken:
    that of ``one`` where a person marked something in it. ``marked`` and ``none`` as in :func:`pool_shaken`.
    """
    share = _shares(one, two)
    same = {(int(a), int(b)) for a, b in zip(*np.nonzero(share >= SAME_SHARE), strict=True)}
    taken: list[PooledHair] = []
    agreed = 0
    for mine, theirs in _bundles(share):
        if len(mine) == len(theirs) == 1 and (mine[0], theirs[0]) in same:
            if mine[0] not in none:
                taken.append(_of_pair(one, two, mine[0], theirs[0]))
                agreed += 1
            continue
        sure = [_mean_score([hairs[k] for k in some]) for hairs, some in ((one, mine), (two, theirs))]
        photo = int(sure[1] > sure[0] and not any(k in marked or k in none for k in mine))
        taken += [
            _alone((one, two)[photo], photo, k) for k in (mine, theirs)[photo] if photo or k not in none
        ]
    return Pooled(tuple(taken), agreed, (len(one) - len(none), len(two)))


def _distances(one: Sequence[Hair], two: Sequence[Hair]) -> Floats:
    """Sums of squared deviations, (one, two)."""

    def looks(hairs: Sequence[Hair]) -> tuple[Floats, Floats, Floats]:
        return (
            np.array([hair.length_mm for hair in hairs]),
            np.log([max(1e-3, hair.trace.width_mm) for hair in hairs]),
            np.log([0.02 + float(np.mean(hair.trace.colour)) for hair in hairs]),
        )

    (length, width, light), (length2, width2, light2) = looks(one), looks(two)
    width, width2 = width - np.median(width), width2 - np.median(width2)
    light, light2 = light - np.median(light), light2 - np.median(light2)
    apart = np.abs(length[:, None] - length2)
    total = (apart / LENGTH_MM) ** 2
    total += ((width[:, None] - width2) / WIDTH) ** 2 + ((light[:, None] - light2) / LIGHT) ** 2
    return np.where(apart > AGREE_MM, np.inf, total)


def _of_pair(one: Sequence[Hair], two: Sequence[Hair], a: int, b: int) -> PooledHair:
    first, second = one[a], two[b]
    photo = int(second.score > first.score)
    clearer = (first, second)[photo]
    length = clearer.length_mm
    if abs(first.length_mm - second.length_mm) <= AGREE_MM / 2:
        weights = first.score + 1e-6, second.score + 1e-6
        length = Millimetres(
            (weights[0] * first.length_mm + weights[1] * second.length_mm) / (weights[0] + weights[1])
        )
    said = {hair.whole for hair in (first, second)} - {None}
    whole = said.pop() if len(said) == 1 else None
    return PooledHair(photo, (a, b)[photo], (b, a)[photo], length, whole)


def _alone(hairs: Sequence[Hair], photo: int, k: int) -> PooledHair:
    return PooledHair(photo, k, -1, hairs[k].length_mm, hairs[k].whole)


def _mean_score(hairs: Sequence[Hair]) -> float:
    return float(np.mean([hair.score for hair in hairs])) if hairs else -1.0


def _shares(one: Sequence[Hair], two: Sequence[Hair]) -> Floats:
    """The share of the joint length of two hairs along which they lie within 0.4 mm, (one, two)."""
    from scipy.spatial import cKDTree

    found = np.zeros((len(one), len(two)))
    trees = [cKDTree(hair.trace.points) for hair in two]
    lengths = [float(steps_of(hair.trace.points)[-1]) for hair in two]
    for i, hair in enumerate(one):
        points = hair.trace.points
        own = float(steps_of(points)[-1])
        low, high = points.min(axis=0) - NEAR_MM, points.max(axis=0) + NEAR_MM
        for j, other in enumerate(two):
            theirs = other.trace.points
            if (theirs.max(axis=0) < low).any() or (theirs.min(axis=0) > high).any():
                continue
            near = np.isfinite(trees[j].query(points, distance_upper_bound=NEAR_MM)[0]).mean() * own
            found[i, j] = near / max(1e-9, own + lengths[j] - near)
    return found


def _bundles(share: Floats) -> list[tuple[list[int], list[int]]]:
    """Hairs of both readings bound together by sharing a good part of their length, with no others."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    n, m = share.shape
    i, j = np.nonzero(share >= SAME_SHARE / 3)
    graph = coo_array((np.ones(len(i)), (i, j + n)), shape=(n + m, n + m))
    count, label = connected_components(graph, directed=False)
    bundles: list[tuple[list[int], list[int]]] = [([], []) for _ in range(count)]
    for k, at in enumerate(label.tolist()):
        bundles[at][int(k >= n)].append(k if k < n else k - n)
    return bundles
