"""What dogs of a kind and of a groomer say of each other."""

from __future__ import annotations

import numpy as np
import pytest

from coatwright.learning.pooling import habit_of, kind_of, pooled, said_of_dog, said_of_habits
from coatwright.learning.priors import BIAS_SD, DOG_SD, KIND_SD, RATE, TRAITS, Belief, Prior
from coatwright.learning.state import State
from coatwright.learning.update import begin, learn, renewed
from tests.learning.simulated import FIRST, dog_of, rolled


def state_of(dog: np.ndarray, bias: np.ndarray) -> State:
    count = len(dog)
    return State(
        FIRST,
        dog,
        bias,
        dog[:, None, :],
        np.zeros((count, 0)),
        np.zeros((count, 0)),
        np.full(count, 1.0 / count),
    )


def test_the_prior_taken_out_of_a_normal_posterior_leaves_what_was_measured() -> None:
    """Normal with known variance, mean 0.3, sd 0.2 measured: the textbook posterior gives the measurement back."""
    rng = np.random.default_rng(1)
    prior = Prior.of()
    var = 1.0 / (1.0 / prior.dog_sd**2 + 1.0 / 0.2**2)
    draws = var * 0.3 / 0.2**2 + np.sqrt(var) * rng.standard_normal((200_000, len(TRAITS)))
    said = said_of_dog(state_of(draws, np.zeros((200_000, 1))), prior)
    assert said.value[RATE] == pytest.approx(0.3, abs=0.005)
    assert np.sqrt(said.var[RATE]) == pytest.approx(0.2, rel=0.01)


def test_a_dog_that_says_nothing_leaves_its_kind_as_it_was() -> None:
    dog = dog_of(np.random.default_rng(2), 3).evidence()
    prior = Prior.of()
    said = said_of_dog(begin(dog, prior, 4000, 1), prior)
    kind = kind_of([said])
    assert kind.mean == pytest.approx(np.zeros(len(TRAITS)), abs=0.05 * KIND_SD.max())
    assert np.sqrt(kind.var) == pytest.approx(KIND_SD, rel=0.03)
    assert kind_of([]).var == pytest.approx(Belief.start().var)


def test_many_well_known_dogs_make_their_kind_known_and_never_a_single_dog_certain() -> None:
    rng = np.random.default_rng(3)
    count = 40
    truth = 0.4 + DOG_SD[RATE] * rng.standard_normal(count)
    dogs = []
    for value in truth:
        draws = np.zeros((2000, len(TRAITS))) + value + 0.02 * rng.standard_normal((2000, len(TRAITS)))
        dogs.append(said_of_dog(state_of(draws, np.zeros((2000, 1))), Prior.of()))
    kind = kind_of(dogs)
    assert kind.mean[RATE] == pytest.approx(truth.mean(), abs=0.03)
    assert np.sqrt(kind.var[RATE]) == pytest.approx(DOG_SD[RATE] / np.sqrt(count), rel=0.1)
    assert (Prior.of(kind).dog_sd > DOG_SD).all()


def test_a_habit_is_told_by_all_dogs_of_a_groomer() -> None:
    mean, sd = habit_of([(0.2, 0.1**2), (0.1, 0.1**2)])
    precision = 1.0 / BIAS_SD**2 + 2.0 / 0.1**2
    assert mean == pytest.approx((0.2 + 0.1) / 0.1**2 / precision)
    assert sd == pytest.approx(precision**-0.5)
    assert habit_of([]) == (0.0, pytest.approx(BIAS_SD))


def test_weighing_anew_gives_what_learning_from_the_other_prior_gives() -> None:
    dog = rolled(np.random.default_rng(4), 3, 3).evidence()
    plain = Prior.of()
    kind = Belief(np.full(len(TRAITS), 0.5) * KIND_SD, 0.25 * KIND_SD**2)
    other = Prior.of(kind, bias_mean=0.1, bias_sd=0.08)
    state = learn(dog, prior=plain, draws=4000, seed=1)
    weighed = pooled(state, plain, other)
    assert 0.2 * len(state) < weighed.effective < len(state)
    told = learn(dog, prior=other, draws=4000, seed=2)
    moved = renewed(state, dog, plain, other, seed=1)
    for found in (weighed, moved):
        for a, b in ((found.dog, told.dog), (found.bias, told.bias)):
            sd = b.std(axis=0)
            assert found.weight @ a == pytest.approx(b.mean(axis=0), abs=0.12 * sd.max())
    assert moved.effective > 0.8 * len(moved)


def test_what_is_said_of_habits_has_one_number_for_each_groomer() -> None:
    rng = np.random.default_rng(5)
    bias = np.array([0.1, -0.2]) + 0.05 * rng.standard_normal((5000, 2))
    said = said_of_habits(
        state_of(np.zeros((5000, len(TRAITS))) + rng.standard_normal((5000, 1)), bias), Prior.of()
    )
    assert said.value.shape == (2,)
    assert said.value[0] > 0.1
    assert said.value[1] < -0.2
