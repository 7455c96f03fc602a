"""What long hairs lose: ``python -m tests.bench.paper_losses`` prints how often whole hairs are read right.

A whole hair counts as read right when it is found within 1 mm of its length and seen to be whole. The chance is
fitted as exp(-a - c d L): L its length in mm, d the length of all hair over the clear area, mm per mm2; c stands in
``coatwright.salon.evidence``. Photographs of the style used for training; those of the figures' style beside them.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from scipy.optimize import minimize

from coatwright.paper.read import read_hairs
from coatwright.paper.rectify import rectify
from tests.paper.rendering import FIGURES, TRAINING, render
from tests.paper.rendering.styles import Style
from tests.paper.scoring import score

HAIRS = {30: 7, 60: 7, 90: 4, 120: 4, 150: 4}
"""How many photographs of how many hairs."""
CLEAR_MM2 = 170.0 * 108.0
STEPS = (4, 10, 18, 26, 34, 44)
SEED = 7000


def hairs_of(style: Style, count: int, number: int) -> np.ndarray:
    """Of each true whole hair of one photograph: density x length, length, and whether it was read right."""
    coat, quality = ("black", "cream", "grey", "white")[number % 4], ("good", "medium")[number % 2]
    photo = render(style, SEED + number, hairs=count, coat=coat, quality=quality)
    image = photo.image
    found = read_hairs(image, rectify(image)).hairs
    agreed = score(
        [hair.trace.points for hair in found], [hair.length_mm for hair in found],
        [photo.seen(hair) for hair in photo.hairs], [hair.length for hair in photo.hairs], [],
    )  # fmt: skip
    right = {
        j: abs(error) <= 1.0 and found[i].whole is True
        for (i, j), error in zip(agreed.pairs, agreed.errors, strict=True)
    }
    density = sum(hair.length for hair in photo.hairs) / CLEAR_MM2
    return np.array(
        [
            (density * hair.length, hair.length, right.get(j, False))
            for j, hair in enumerate(photo.hairs)
            if not hair.broken
        ]
    )


def fitted(rows: np.ndarray) -> tuple[float, float]:
    """a and c of the law, by likelihood."""

    def minus(values: np.ndarray) -> float:
        a, c = np.exp(values)
        chance = np.clip(np.exp(-a - c * rows[:, 0]), 1e-9, 1 - 1e-9)
        return -float(np.where(rows[:, 2] > 0, np.log(chance), np.log1p(-chance)).sum())

    a, c = np.exp(minimize(minus, [-3.0, -3.0], method="Nelder-Mead").x)
    return float(a), float(c)


def main() -> None:
    """Print the tables of both styles."""
    for style in (TRAINING, FIGURES):
        print(f"style {style.name}: whole hairs read right, % (of how many)")
        print("hairs " + "".join(f"{low:>8}-{high:<4}" for low, high in pairwise(STEPS)))
        everything = []
        for count, photos in HAIRS.items():
            rows = np.concatenate([hairs_of(style, count, number) for number in range(photos)])
            everything.append(rows)
            cells = []
            for low, high in pairwise(STEPS):
                here = rows[(rows[:, 1] >= low) & (rows[:, 1] < high), 2]
                cells.append(f"{100 * here.mean():>6.0f} ({len(here)})" if len(here) else "-")
            print(f"{count:>5} " + "".join(f"{cell:>13}" for cell in cells), flush=True)
        a, c = fitted(np.concatenate(everything))
        print(f"exp(-{a:.3f} - {c:.4f} d L), from {sum(map(len, everything))} whole hairs")


if __name__ == "__main__":
    main()
