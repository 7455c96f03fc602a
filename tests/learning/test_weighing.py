"""Draws weighed as wholes and zone by zone, against the normal posterior that is known in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from coatwright.learning.evidence import packed
from coatwright.learning.guide import Guide
from coatwright.learning.priors import RATE, Prior
from coatwright.learning.state import State
from coatwright.learning.update import begin
from coatwright.learning.weighing import Apart, Whole
from tests.learning.simulated import FIRST, dog_of

DRAWS, ERROR = 20_000, 0.1


def normal(values: np.ndarray, prior: Prior) -> tuple[np.ndarray, np.ndarray]:
    """Mean and covariance of (the dog's, each zone's) rate after one reading of each zone, good to ERROR.

    Normal given normal (Gelman et al., Bayesian Data Analysis, ch. 3; from memory).
    """
    count = len(values) + 1
    before = np.full((count, count), prior.dog_sd[RATE] ** 2)
    before[1:, 1:] += np.eye(count - 1) * prior.zone_sd[RATE] ** 2
    reads = np.eye(count)[1:]
    gain = before @ reads.T @ np.linalg.inv(reads @ before @ reads.T + ERROR**2 * np.eye(count - 1))
    return gain @ values, before - gain @ reads @ before


def rates(state: State) -> np.ndarray:
    return np.concatenate([state.dog[:, [RATE]], state.zones[:, :, RATE]], axis=1)


@pytest.mark.parametrize("values", [(0.3, 0.2), (0.4, 0.1, 0.35)])
@pytest.mark.parametrize("weighing", ["whole", "apart"])
def test_what_is_left_is_the_posterior_that_is_known(values: tuple[float, ...], weighing: str) -> None:
    told = np.array(values)
    dog = dog_of(np.random.default_rng(1), len(told)).evidence()
    prior = Prior.of()
    state = begin(dog, prior, DRAWS, 3)
    fresh = -0.5 * ((told - state.zones[:, :, RATE]) / ERROR) ** 2
    rng = np.random.default_rng(2)
    if weighing == "whole":
        found = Whole(state, fresh).at(1.0, rng)
    else:
        found = Apart(state, Guide(state, packed(dog, FIRST)), fresh).at(1.0, rng)
    right, among = normal(told, prior)
    drawn, sd = rates(found), np.sqrt(np.diag(among))
    assert np.abs((drawn.mean(axis=0) - right) / sd).max() < 0.1
    assert drawn.std(axis=0) == pytest.approx(sd, rel=0.1)
    assert np.corrcoef(drawn.T) == pytest.approx(among / np.outer(sd, sd), abs=0.1)


def test_zones_without_new_records_keep_their_draws() -> None:
    dog = dog_of(np.random.default_rng(1), 3).evidence()
    state = begin(dog, Prior.of(), 500, 3)
    fresh = np.zeros((500, 3))
    found = Apart(state, Guide(state, packed(dog, FIRST)), fresh).at(1.0, np.random.default_rng(2))
    assert np.array_equal(found.zones, state.zones)
    assert np.array_equal(found.dog, state.dog)


def test_a_step_leaves_as_many_effective_draws_as_were_asked_for() -> None:
    dog = dog_of(np.random.default_rng(1), 4).evidence()
    state = begin(dog, Prior.of(), 2000, 3)
    fresh = -0.5 * ((0.5 - state.zones[:, :, RATE]) / 0.01) ** 2
    for weighing in (Whole(state, fresh), Apart(state, Guide(state, packed(dog, FIRST)), fresh)):
        step = weighing.step(1.0, 0.3)
        assert step < 1.0
        assert weighing.effective(step) >= 0.3
        assert weighing.effective(2.0 * step) < 0.3
