"""How well found hairs agree with true ones: matched by overlap, then counted and measured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment
from scipy.spatial import cKDTree

NEAR_MM = 0.4
STEP_MM = 0.2


def _even(points: np.ndarray) -> np.ndarray:
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.linspace(0, s[-1], max(3, round(s[-1] / STEP_MM) + 1))
    return np.column_stack([np.interp(at, s, points[:, 0]), np.interp(at, s, points[:, 1])])


def overlaps(found: list[np.ndarray], true: list[np.ndarray]) -> np.ndarray:
    """Length of both within ``NEAR_MM`` of each other over the length of either, (found, true)."""
    iou = np.zeros((len(found), len(true)))
    a, b = [_even(points) for points in found], [_even(points) for points in true]
    trees_a, trees_b = [cKDTree(points) for points in a], [cKDTree(points) for points in b]
    low_b = np.array([points.min(axis=0) for points in b]).reshape(-1, 2) - NEAR_MM
    high_b = np.array([points.max(axis=0) for points in b]).reshape(-1, 2) + NEAR_MM
    for i, points in enumerate(a):
        low, high = points.min(axis=0), points.max(axis=0)
        for j in np.flatnonzero((low_b <= high).all(axis=1) & (high_b >= low).all(axis=1)):
            in_a = (trees_b[j].query(points, distance_upper_bound=NEAR_MM)[0] < np.inf).sum()
            in_b = (trees_a[i].query(b[j], distance_upper_bound=NEAR_MM)[0] < np.inf).sum()
            both = (in_a + in_b) / 2
            iou[i, j] = both / (len(points) + len(b[j]) - both)
    return iou


@dataclass(frozen=True)
class Score:
    """One photograph's agreement."""

    true: int
    found: int
    matched: int
    errors: np.ndarray
    """Length found less true length of the matched, mm."""
    total_found: float
    total_true: float
    fluff: int
    fluff_taken: int
    pairs: list[tuple[int, int]]
    """(found, true)."""


def score(
    found: list[np.ndarray], lengths: list[float], true: list[np.ndarray], true_lengths: list[float],
    fluff: list[np.ndarray],
) -> Score:  # fmt: skip
    """Match found lines to true ones at an overlap of a half and more."""
    iou = overlaps(found, true)
    rows, columns = linear_sum_assignment(-np.where(iou >= 0.5, iou, 0))
    pairs = [(int(i), int(j)) for i, j in zip(rows, columns, strict=True) if iou[i, j] >= 0.5]
    errors = np.array([lengths[i] - true_lengths[j] for i, j in pairs])
    taken = overlaps(found, fluff) if fluff else np.zeros((len(found), 0))
    return Score(
        len(true), len(found), len(pairs), errors, float(sum(lengths)), float(sum(true_lengths)),
        len(fluff), int((taken.max(axis=0, initial=0) >= 0.5).sum()), pairs,
    )  # fmt: skip
