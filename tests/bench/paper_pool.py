"""Two photographs of one sheet made one reading, measured against either alone.

``python -m tests.bench.paper_pool`` prints the table. Sheets are drawn in the style FIGURES, seeds from 41000 on, and
photographed three times: as they lie, as they lie from elsewhere, and after a shake. How readings are matched was set
on sheets of the style TRAINING.
"""

from __future__ import annotations

import argparse

import numpy as np

from coatwright.paper.pool import Pooled, pool_shaken, pool_unmoved
from coatwright.paper.read import read_hairs
from coatwright.paper.rectify import rectify
from tests.paper.pooling import Alone, right_in
from tests.paper.rendering import FIGURES, again, render

SHEETS = tuple(
    (hairs, coat, quality)
    for hairs in (120, 150)
    for coat, quality in (("black", "good"), ("cream", "medium"), ("red", "medium"), ("grey", "good"))
)
FIRST_SEED = 41000


def readings(seed: int, hairs: int, coat: str, quality: str) -> list[Alone]:
    """One sheet's three photographs, read."""
    first = render(FIGURES, seed, hairs=hairs, coat=coat, quality=quality)
    photos = [
        first,
        again(FIGURES, first, seed + 1, quality=quality, shaken=False),
        again(FIGURES, first, seed + 2, quality=quality, shaken=True),
    ]
    return [Alone(first, photo, read_hairs(photo.image, rectify(photo.image)).hairs) for photo in photos]


def main() -> None:
    """Draw, read, pool, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sheets", type=int, default=len(SHEETS))
    options = parser.parse_args()
    rows: dict[tuple[int, str], list[tuple[int, int, int]]] = {}
    for k, (hairs, coat, quality) in enumerate(SHEETS[: options.sheets]):
        one, still, shaken = readings(FIRST_SEED + 10 * k, hairs, coat, quality)
        for name, alone in (("first alone", one), ("again alone", still), ("shaken alone", shaken)):
            rows.setdefault((hairs, name), []).append((hairs, len(alone.hairs), alone.right()))
        pooled: list[tuple[str, Alone, Pooled]] = [
            ("first and again, not moved", still, pool_unmoved(one.hairs, still.hairs)),
            ("first and shaken", shaken, pool_shaken(one.hairs, shaken.hairs)),
        ]
        for name, other, found in pooled:
            rows.setdefault((hairs, name), []).append((hairs, len(found.hairs), right_in(found, one, other)))
    print(
        "| hairs | photographs | sheets | true hairs found within 1 mm | of those told, right | count error, mean |"
    )
    print("| ---: | --- | ---: | ---: | ---: | ---: |")
    for (hairs, name), some in rows.items():
        true, told, right = np.array(some).sum(axis=0)
        error = np.mean([abs(found / there - 1) for there, found, _ in some])
        print(
            f"| {hairs} | {name} | {len(some)} | {right / true:.3f} | {right / told:.3f} | {100 * error:.1f} % |"
        )


if __name__ == "__main__":
    main()
