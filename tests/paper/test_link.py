"""Joining ends, sharing stretches and summing trees, against plain enumeration."""

from __future__ import annotations

import itertools
import json
from importlib.resources import files

import numpy as np
import pytest

from coatwright.paper.context import CONTEXT
from coatwright.paper.ends import END_FEATURES
from coatwright.paper.filter import STRAND_FEATURES
from coatwright.paper.joints import FEATURES
from coatwright.paper.link import chains_of, match
from coatwright.paper.read import judged
from coatwright.paper.scorer import from_json, load


def best_by_enumeration(i: np.ndarray, j: np.ndarray, weight: np.ndarray) -> float:
    best = 0.0
    for size in range(1, 5):
        for some in itertools.combinations(range(len(i)), size):
            ends = [*i[list(some)], *j[list(some)]]
            if len(set(ends)) == len(ends):
                best = max(best, float(weight[list(some)].sum()))
    return best


@pytest.mark.parametrize("seed", range(12))
def test_the_chosen_pairs_have_the_greatest_total_weight(seed: int) -> None:
    rng = np.random.default_rng(seed)
    both = np.array([pair for pair in itertools.combinations(range(8), 2) if rng.uniform() < 0.6])
    weight = rng.normal(0.5, 2.0, len(both))
    chosen = match(8, both[:, 0], both[:, 1], weight)
    used = both[chosen].ravel().tolist()
    assert len(set(used)) == len(used)
    assert weight[chosen].sum() == pytest.approx(best_by_enumeration(both[:, 0], both[:, 1], weight))


def test_chains_follow_pairs_through_pieces_and_open_a_ring() -> None:
    # piece 0 - piece 2 (turned) - piece 1; pieces 3 and 4 make a ring
    i, j = np.array([1, 4, 6, 7]), np.array([5, 2, 8, 9])
    chains = chains_of(5, i, j, np.arange(4))
    rows = sorted((chain.pieces, chain.turned) for chain in chains)
    assert rows == [((0, 2, 1), (False, True, False)), ((3, 4), (False, True))] or len(rows) == 2
    assert {piece for chain in chains for piece in chain.pieces} == set(range(5))


def test_trees_are_summed_as_written() -> None:
    text = json.dumps(
        {
            "names": ["a", "b"],
            "base": 0.5,
            "feature": [[0, 1, 0]],
            "threshold": [[1.0, 2.0, 5.0]],
            "leaf": [[1, 2, 3, 4]],
        }
    )
    rows = np.array([[0.0, 0.0], [0.0, 9.0], [1.0, 3.0], [2.0, 0.0], [9.0, 0.0]])
    np.testing.assert_allclose(from_json(text).log_odds(rows), [1.5, 2.5, 2.5, 3.5, 4.5])


def test_a_row_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="3 features given"):
        load("pair").log_odds(np.zeros((1, 3)))


@pytest.mark.parametrize(
    ("name", "features"),
    [
        ("pair", FEATURES),
        ("joint", FEATURES + CONTEXT),
        ("hair", STRAND_FEATURES),
        ("one", STRAND_FEATURES),
        ("club", END_FEATURES),
        ("taper", END_FEATURES),
    ],
)
def test_what_was_learned_is_plain_numbers_about_the_features_of_today(
    name: str, features: tuple[str, ...]
) -> None:
    text = (files("coatwright.paper") / "scorers" / f"{name}.json").read_text("utf-8")
    assert set(json.loads(text)) == {"names", "base", "feature", "threshold", "leaf"}
    assert load(name).names == features


@pytest.mark.parametrize(
    ("kinds", "score", "blur", "whole"),
    [
        (("club", "taper"), 0.9, 1.0, True),
        (("blunt", "club"), 0.9, 1.0, True),
        (("blunt", "taper"), 0.9, 1.0, False),
        (("blunt", "blunt"), 0.9, 1.0, False),
        (("taper", "taper"), 0.9, 1.0, None),
        (("club", "club"), 0.9, 1.0, None),
        (("club", "unclear"), 0.9, 1.0, None),
        (("club", "taper"), 0.5, 1.0, None),
        (("club", "taper"), 0.9, 1.7, None),
    ],
)
def test_a_hair_is_whole_by_one_club_broken_by_none_and_open_otherwise(kinds, score, blur, whole) -> None:
    assert judged(kinds, score, blur)[0] is whole
