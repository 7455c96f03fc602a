"""What is true of traced pieces: which drawn fibre each lies on, and which pairs of ends go on into each other."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from coatwright.paper.joints import Pairs, Pieces
from tests.paper.rendering.photo import Photo

NEAR_MM = 0.25


def owners(photo: Photo, made: Pieces) -> list[dict[int, tuple[float, float]]]:
    """Per piece, the fibres it lies on with where along each (mm) it starts and stops. Hairs first, then others."""
    fibres = [photo.seen(one) for one in [*photo.hairs, *photo.others]]
    places = [np.linspace(0, one.length, len(one.space)) for one in [*photo.hairs, *photo.others]]
    points = np.concatenate(fibres)
    whose = np.concatenate([np.full(len(one), k) for k, one in enumerate(fibres)])
    along = np.concatenate(places)
    heading = np.concatenate([np.gradient(one, axis=0) for one in fibres])
    heading /= np.maximum(np.hypot(*heading.T), 1e-9)[:, None]
    tree = cKDTree(points)
    found: list[dict[int, tuple[float, float]]] = []
    for piece in made.pieces:
        at = np.unique(np.linspace(0, len(piece.mm) - 1, min(len(piece.mm), 24)).astype(int))
        middle = at[1:-1] if len(at) > 4 else at
        steps = np.gradient(piece.mm, axis=0)
        steps /= np.maximum(np.hypot(*steps.T), 1e-9)[:, None]
        votes: dict[int, list[tuple[int, float]]] = {}
        for k, near in zip(middle, tree.query_ball_point(piece.mm[middle], NEAR_MM), strict=True):
            best: dict[int, tuple[float, float]] = {}
            for q in near:
                gap = float(np.hypot(*(points[q] - piece.mm[k])))
                if abs(heading[q] @ steps[k]) > 0.9 and gap < best.get(int(whose[q]), (9.0, 0.0))[0]:
                    best[int(whose[q])] = (gap, float(along[q]))
            for fibre, (_, s) in best.items():
                votes.setdefault(fibre, []).append((int(k), s))
        mine: dict[int, tuple[float, float]] = {}
        for fibre, seen in votes.items():
            if len(seen) < 0.7 * len(middle):
                continue
            k, s = np.array(seen).T
            slope = np.polyfit(k, s, 1) if len(seen) > 1 else None
            if slope is not None:
                mine[fibre] = (float(np.polyval(slope, 0)), float(np.polyval(slope, len(piece.mm) - 1)))
        found.append(mine)
    return found


def truth(owned: list[dict[int, tuple[float, float]]], pairs: Pairs) -> np.ndarray:
    """1 where the two ends of a pair go on into each other on one fibre."""
    out = np.zeros(len(pairs.i))
    for k, (i, j) in enumerate(zip(pairs.i.tolist(), pairs.j.tolist(), strict=True)):
        a, b = owned[i // 2], owned[j // 2]
        for fibre in a.keys() & b.keys():
            leave, other = a[fibre][i % 2], a[fibre][1 - i % 2]
            enter, beyond = b[fibre][j % 2], b[fibre][1 - j % 2]
            way = 1.0 if leave > other else -1.0
            if (
                (beyond - enter) * way > 0
                and -0.8 < (enter - leave) * way < 8.0
                and (beyond - other) * way > 0
            ):
                out[k] = 1.0
    return out
