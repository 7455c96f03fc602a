"""Gradient boosting of shallow trees on a logistic loss, with features cut into 64 bins."""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from coatwright.paper.contrast import compiled

BINS = 64


@compiled
def _histogram(codes: Any, node: Any, gradient: Any, curvature: Any, nodes: int) -> Any:
    n, features = codes.shape
    out = np.zeros((nodes, features, BINS, 2))
    for i in range(n):
        k = node[i]
        for f in range(features):
            out[k, f, codes[i, f], 0] += gradient[i]
            out[k, f, codes[i, f], 1] += curvature[i]
    return out


@compiled
def _best(hist: Any, ridge: float, least: float) -> Any:
    """Per node: feature and last bin that goes left, gain; the whole node left when nothing is gained."""
    nodes, features, bins, _ = hist.shape
    feature, cut = np.zeros(nodes, np.int32), np.full(nodes, bins - 1, np.int32)
    for k in range(nodes):
        g, h = hist[k, 0, :, 0].sum(), hist[k, 0, :, 1].sum()
        top = 1e-6
        for f in range(features):
            gl = hl = 0.0
            for b in range(bins - 1):
                gl += hist[k, f, b, 0]
                hl += hist[k, f, b, 1]
                if hl < least or h - hl < least:
                    continue
                gain = gl * gl / (hl + ridge) + (g - gl) ** 2 / (h - hl + ridge) - g * g / (h + ridge)
                if gain > top:
                    top, feature[k], cut[k] = gain, f, b
    return feature, cut


def train(
    rows: np.ndarray, labels: np.ndarray, names: tuple[str, ...], *,
    trees: int = 120, depth: int = 4, rate: float = 0.12, ridge: float = 2.0, least: float = 4.0,
    weights: np.ndarray | None = None,
) -> dict[str, Any]:  # fmt: skip
    """A scorer as plain lists; nothing is drawn at random."""
    rows = rows.astype(np.float32)
    weight = np.ones(len(rows)) if weights is None else weights
    edges = [
        np.unique(np.quantile(rows[:, f], np.linspace(0, 1, BINS + 1)[1:-1])) for f in range(rows.shape[1])
    ]
    codes = np.stack(
        [np.searchsorted(edges[f], rows[:, f], side="left") for f in range(rows.shape[1])], axis=1
    )
    codes = codes.astype(np.uint8)
    share = float(np.clip((weight * labels).sum() / weight.sum(), 1e-4, 1 - 1e-4))
    base = float(np.log(share / (1 - share)))
    score = np.full(len(rows), base)
    inner = 2**depth - 1
    kept: dict[str, Any] = {
        "names": list(names),
        "base": round(base, 5),
        "feature": [],
        "threshold": [],
        "leaf": [],
    }
    for _ in range(trees):
        p = 1 / (1 + np.exp(-score))
        gradient, curvature = weight * (labels - p), weight * p * (1 - p)
        features, cuts = np.zeros(inner, np.int32), np.zeros(inner, np.int32)
        node = np.zeros(len(rows), np.int64)
        for level in range(depth):
            begin = 2**level - 1
            f, c = _best(_histogram(codes, node, gradient, curvature, 2**level), ridge, least)
            features[begin : begin + 2**level], cuts[begin : begin + 2**level] = f, c
            node = 2 * node + (codes[np.arange(len(rows)), f[node]] > c[node])
        g = np.bincount(node, gradient, 2**depth)
        h = np.bincount(node, curvature, 2**depth)
        leaf = np.round(rate * g / (h + ridge), 5)
        score += leaf[node]
        kept["feature"].append(features.tolist())
        kept["threshold"].append(
            [
                float(f"{edges[f][c]:.6g}") if c < len(edges[f]) else 1e30
                for f, c in zip(features, cuts, strict=True)
            ]
        )
        kept["leaf"].append(leaf.tolist())
    return kept


def write(kept: dict[str, Any]) -> str:
    """As JSON, a tree a line."""
    parts = [f'"names": {json.dumps(kept["names"])}', f'"base": {kept["base"]}']
    for key in ("feature", "threshold", "leaf"):
        trees = ",\n".join(json.dumps(tree, separators=(",", ":")) for tree in kept[key])
        parts.append(f'"{key}": [\n{trees}\n]')
    return "{\n" + ",\n".join(parts) + "\n}\n"
