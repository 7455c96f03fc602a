"""Draw, trace, learn, write: ``python -m tools.paper`` makes every file in ``src/coatwright/paper/scorers``.

Two thirds of the photographs teach which ends go on into which; the rest, joined by what was learned, teach what is
one hair and what its ends are. All are drawn in the style TRAINING with seeds from 1000 on; figures are drawn in the
style FIGURES with other seeds.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import numpy as np

from coatwright.paper.context import CONTEXT, context_features, sides
from coatwright.paper.ends import END_FEATURES, end_features
from coatwright.paper.filter import STRAND_FEATURES, strand_features
from coatwright.paper.joints import FEATURES, Pairs, Pieces
from coatwright.paper.link import chains_of, match, usual_length
from coatwright.paper.read import see, strands_of
from coatwright.paper.rectify import rectify
from coatwright.paper.scorer import Scorer, from_json, load
from tests.paper.rendering import TRAINING, Photo, render
from tests.paper.rendering.styles import COATS
from tests.paper.scoring import score
from tools.paper.boosting import train, write
from tools.paper.labels import owners, truth

FOLDER = Path(__file__).parents[2] / "src" / "coatwright" / "paper" / "scorers"
PAIR_PHOTOS, STRAND_PHOTOS = 48, 24
FIRST_SEED = 1000
COUNTS = (30, 60, 90, 120, 150, 220)
QUALITIES = ("good", "medium", "good", "medium", "poor")
END_NEAR_MM = 0.7
RIGHT_MM = 1.0


def photographs(first: int, count: int) -> list[Photo]:
    """Drawn photographs of all coats, qualities and crowds."""
    rng = np.random.default_rng(first)
    return [
        render(
            TRAINING,
            first + k,
            hairs=COUNTS[k % 6],
            coat=COATS[int(rng.integers(6))],
            quality=QUALITIES[k % 5],
        )
        for k in range(count)
    ]


class Case:
    """One photograph's pieces and pairs, with the truth of every pair."""

    def __init__(self, photo: Photo) -> None:
        seen = see(photo.image, rectify(photo.image))
        assert seen.made is not None
        assert seen.pairs is not None
        self.made: Pieces = seen.made
        self.pairs: Pairs = seen.pairs
        self.labels = truth(owners(photo, seen.made), seen.pairs)

    def context(self, pair: Scorer, joint: Scorer | None) -> np.ndarray:
        """Features with what whole lines say, the lines joined by ``pair``, and again by ``joint`` where given."""
        pairs, count = self.pairs, len(self.made.pieces)
        first = pair.log_odds(pairs.features)
        weight = first
        for scorer in (joint, None):
            chains = chains_of(count, pairs.i, pairs.j, match(2 * count, pairs.i, pairs.j, weight))
            side = sides(self.made, chains)
            rows = context_features(pairs, first, side, usual_length(self.made, chains))
            rows = np.hstack([pairs.features, rows])
            if scorer is None:
                break
            weight = scorer.log_odds(rows)
        return rows


def learned(kept: dict[str, Any]) -> Scorer:
    """The scorer as the program will read it."""
    return from_json(write(kept))


def keep(name: str, kept: dict[str, Any]) -> None:
    """Write one file."""
    (FOLDER / f"{name}.json").write_text(write(kept), "utf-8")
    load.cache_clear()


def teach_pairs(cases: list[Case]) -> None:
    """A pair by itself, and with its context; the second learns from first scores of photographs not learned from."""
    halves = [cases[0::2], cases[1::2]]
    rows = [np.concatenate([one.pairs.features for one in half]) for half in halves]
    labels = [np.concatenate([one.labels for one in half]) for half in halves]
    pair = [learned(train(x, y, FEATURES)) for x, y in zip(rows, labels, strict=True)]
    keep("pair", train(np.concatenate(rows), np.concatenate(labels), FEATURES, trees=150))
    names = FEATURES + CONTEXT
    once = [np.concatenate([one.context(pair[1 - h], None) for one in halves[h]]) for h in (0, 1)]
    joint = [learned(train(x, y, names, trees=100)) for x, y in zip(once, labels, strict=True)]
    twice = [np.concatenate([one.context(pair[1 - h], joint[1 - h]) for one in halves[h]]) for h in (0, 1)]
    keep("joint", train(np.concatenate(once + twice), np.concatenate(labels + labels), names, trees=180))


def teach_strands(photos: list[Photo]) -> None:
    """What is a hair, what is one hair whole and alone, and what its ends are."""
    rows, ends, hair, one_hair, kinds = [], [], [], [], []
    for photo in photos:
        place = rectify(photo.image)
        seen = see(photo.image, place)
        assert seen.pairs is not None
        strands, joined = strands_of(seen)
        true = [photo.seen(one) for one in photo.hairs]
        agreed = score(
            [s.mm for s in strands], [s.length for s in strands], true, [h.length for h in photo.hairs], []
        )
        is_hair, is_one = np.zeros(len(strands)), np.zeros(len(strands))
        kind = [""] * (2 * len(strands))
        for (i, j), error in zip(agreed.pairs, agreed.errors, strict=True):
            is_hair[i], is_one[i] = 1.0, abs(error) < RIGHT_MM
            for side in (0, 1):
                tip = strands[i].mm[-side]
                for at, name in ((0, photo.hairs[j].root), (-1, photo.hairs[j].tip)):
                    if not kind[2 * i + side] and np.hypot(*(true[j][at] - tip)) < END_NEAR_MM:
                        kind[2 * i + side] = name
        rows.append(strand_features(strands, seen.pairs, joined.score))
        ends.append(end_features(strands, seen.contrast, place.to_px, place.px_per_mm))
        hair.append(is_hair)
        one_hair.append(is_one)
        kinds += kind
    keep(
        "hair",
        train(np.concatenate(rows), np.concatenate(hair), STRAND_FEATURES, trees=60, depth=3, rate=0.1),
    )
    keep(
        "one",
        train(np.concatenate(rows), np.concatenate(one_hair), STRAND_FEATURES, trees=60, depth=3, rate=0.1),
    )
    known = np.array([bool(name) for name in kinds])
    seen_ends = np.concatenate(ends)[known]
    for name in ("club", "taper"):
        labels = np.array([kind == name for kind in kinds])[known].astype(float)
        keep(name, train(seen_ends, labels, END_FEATURES, trees=60, depth=3, rate=0.1))


def main() -> None:
    """Make all files, saying how long it took."""
    begun = time.perf_counter()
    FOLDER.mkdir(exist_ok=True)
    cases = [Case(photo) for k in range(PAIR_PHOTOS) for photo in photographs(FIRST_SEED + 10 * k, 1)]
    teach_pairs(cases)
    print(f"pairs learned from {PAIR_PHOTOS} photographs after {time.perf_counter() - begun:.0f} s")
    teach_strands(photographs(FIRST_SEED + 10 * PAIR_PHOTOS, STRAND_PHOTOS))
    print(f"hairs and ends learned from {STRAND_PHOTOS} more after {time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
