"""Learned scores: boosted shallow trees kept as plain numbers in JSON, one file each, made by ``tools/paper``.

A score is the logarithm of odds. A file holds the names of the features in order, and for each tree of depth d
its 2^d - 1 questions (feature, threshold: above goes right) and 2^d leaves; the score is the sum of one leaf of each
tree and a constant (J. H. Friedman, "Greedy function approximation: a gradient boosting machine", Annals of
Statistics 29 (2001), 1189-1232).
"""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

import numpy as np

from coatwright.paper.contrast import compiled


@dataclass(frozen=True)
class Scorer:
    """A sum of trees, all of one depth."""

    names: tuple[str, ...]
    base: float
    feature: np.ndarray
    """(trees, 2^d - 1) int32."""
    threshold: np.ndarray
    """(trees, 2^d - 1) float32."""
    leaf: np.ndarray
    """(trees, 2^d) float32."""

    def log_odds(self, rows: np.ndarray) -> np.ndarray:
        """Scores of rows (n, features)."""
        if rows.shape[1] != len(self.names):
            raise ValueError(f"{rows.shape[1]} features given, {len(self.names)} learned")
        out = np.full(len(rows), self.base)
        _add_trees(np.ascontiguousarray(rows, np.float32), self.feature, self.threshold, self.leaf, out)
        return out

    def probability(self, rows: np.ndarray) -> np.ndarray:
        """The same as probabilities."""
        return np.asarray(1 / (1 + np.exp(-np.clip(self.log_odds(rows), -30, 30))))


@compiled
def _add_trees(rows: Any, feature: Any, threshold: Any, leaf: Any, out: Any) -> None:
    inner = feature.shape[1]
    for i in range(len(rows)):
        total = 0.0
        for t in range(len(feature)):
            node = 0
            while node < inner:
                node = 2 * node + (2 if rows[i, feature[t, node]] > threshold[t, node] else 1)
            total += leaf[t, node - inner]
        out[i] += total


def from_json(text: str) -> Scorer:
    """Read what ``tools/paper`` wrote."""
    kept = json.loads(text)
    return Scorer(
        tuple(kept["names"]),
        float(kept["base"]),
        np.array(kept["feature"], np.int32),
        np.array(kept["threshold"], np.float32),
        np.array(kept["leaf"], np.float32),
    )


@functools.cache
def load(name: str) -> Scorer:
    """A scorer that comes with the program, by name."""
    return from_json((files("coatwright.paper") / "scorers" / f"{name}.json").read_text("utf-8"))
