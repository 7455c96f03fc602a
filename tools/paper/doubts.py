"""How likely the other way at a doubtful joint is right: a logistic regression on drawn photographs.

``python -m tools.paper.doubts`` draws photographs in the style TRAINING (seeds from 5001, of which no scorer learns),
tries every doubt's repair alone, and prints the weights kept in ``coatwright.paper.repair`` and how the chances agree
with what was found.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from scipy.optimize import minimize

from coatwright.errors import OutOfRange
from coatwright.paper.marks import Hair
from coatwright.paper.read import read_hairs
from coatwright.paper.rectify import rectify
from coatwright.paper.repair import apply, doubt_features, doubtful, numbered
from tests.paper.rendering import TRAINING, Photo, render
from tests.paper.scoring import score

PHOTOS = (
    (90, "red", "medium"), (120, "black", "good"), (120, "cream", "medium"), (60, "grey", "good"),
    (150, "banded", "medium"), (150, "white", "good"), (120, "black", "medium"), (120, "white", "medium"),
)  # fmt: skip
FIRST_SEED = 5001
BINS = (0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 1.0)


def right(photo: Photo, hairs: dict[int, Hair]) -> int:
    """How many true hairs were found with their length within 1 mm."""
    agreed = score(
        [hair.trace.points for hair in hairs.values()], [hair.length_mm for hair in hairs.values()],
        [photo.seen(one) for one in photo.hairs], [one.length for one in photo.hairs], [],
    )  # fmt: skip
    return int((np.abs(agreed.errors) <= 1).sum())


def rows_of(photo: Photo) -> tuple[list[list[float]], list[bool]]:
    """Features of every doubt, and whether its repair alone puts a hair right."""
    place = rectify(photo.image)
    hairs = numbered(read_hairs(photo.image, place).hairs)
    before = right(photo, hairs)
    rows, good = [], []
    for doubt in doubtful(hairs, least=0.0, most=10_000):
        try:
            after = apply(hairs, doubt.repair, blur_px=place.blur_px).hairs
        except OutOfRange:
            continue
        rows.append(doubt_features(hairs, doubt.repair, doubt.margin, doubt.bend))
        good.append(right(photo, after) > before)
    return rows, good


def main() -> None:
    """Print the weights, and chances against shares."""
    rows: list[list[float]] = []
    good: list[bool] = []
    for seed, (hairs, coat, quality) in enumerate(PHOTOS, FIRST_SEED):
        more, found = rows_of(render(TRAINING, seed, hairs=hairs, coat=coat, quality=quality))
        rows += more
        good += found
    x, y = np.array(rows), np.array(good)

    def loss(weights: np.ndarray) -> float:
        return float(
            np.logaddexp(0, np.where(y, -1, 1) * (x @ weights)).sum() + 0.5 * (weights[1:] ** 2).sum()
        )

    weights = minimize(loss, np.zeros(x.shape[1])).x
    print(f"{len(y)} doubts, {y.sum()} repairs right; weights {np.round(weights, 2).tolist()}")
    chance = 1 / (1 + np.exp(-x @ weights))
    for low, high in pairwise(BINS):
        use = (chance >= low) & (chance < high)
        print(
            f"chance {low:.2f} to {high:.2f}: {use.sum()} doubts, {y[use].mean() if use.any() else 0:.2f} right"
        )


if __name__ == "__main__":
    main()
