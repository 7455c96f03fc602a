"""What dogs of a kind, and dogs of one groomer, say of each other.

Every dog is first learnt by itself, from the prior of any dog. What its own records say of it is then the posterior
with the prior taken out (both nearly normal), and these add up:

    own records of a dog      a ~ N(m, v)            precision 1/posterior - 1/prior
    kind given these dogs     k, with a ~ N(k, dog)  precision sum 1/(v + dog^2) + 1/kind^2

A dog is judged by what the *others* of its kind say, so nothing is counted twice. Formulas: normal given normal
(Gelman et al., Bayesian Data Analysis, ch. 5, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.learning.priors import BIAS_SD, DOG_SD, KIND_SD, Belief, Prior
from coatwright.learning.state import State

_LEAST_PRECISION = 1e-6


@dataclass(frozen=True, slots=True)
class Said:
    """What one dog's own records say of a number: its value and the variance of that, per trait or groomer."""

    value: Floats
    var: Floats


def said_of_dog(state: State, prior: Prior) -> Said:
    """What a dog's own records say of what its zones share, arrays of shape (traits,)."""
    mean = state.weight @ state.dog
    var = state.weight @ (state.dog - mean) ** 2
    return _without_prior(mean, var, prior.mean, prior.dog_sd**2)


def said_of_habits(state: State, prior: Prior) -> Said:
    """What a dog's own records say of its groomers' habits, arrays of shape (groomers,)."""
    mean = state.weight @ state.bias
    var = state.weight @ (state.bias - mean) ** 2
    middle = np.zeros_like(mean) + prior.bias_mean
    return _without_prior(mean, var, middle, np.zeros_like(mean) + np.square(prior.bias_sd))


def kind_of(dogs: Sequence[Said]) -> Belief:
    """What is known of a kind from these dogs; of none, the start."""
    precision = 1.0 / KIND_SD**2
    weighted = np.zeros_like(precision)
    for said in dogs:
        own = 1.0 / (said.var + DOG_SD**2)
        precision = precision + own
        weighted = weighted + own * said.value
    return Belief(weighted / precision, 1.0 / precision)


def habit_of(dogs: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """A groomer's habit from (value, variance) of each dog: mean and sd of ln(true take / judged take)."""
    precision = 1.0 / BIAS_SD**2 + sum(1.0 / var for _, var in dogs)
    return sum(value / var for value, var in dogs) / precision, precision**-0.5


def pooled(state: State, was: Prior, now: Prior) -> State:
    """The draws under another prior, by weighing them anew.

    Ask :attr:`State.effective` whether enough of them are left; else learn from the new prior.
    """
    change = _log_density(state.dog, now.mean, now.dog_sd) - _log_density(state.dog, was.mean, was.dog_sd)
    change += _log_density(state.bias, now.bias_mean, now.bias_sd)
    change -= _log_density(state.bias, was.bias_mean, was.bias_sd)
    weight = state.weight * np.exp(change - change.max())
    return replace(state, weight=weight / weight.sum())


def _without_prior(mean: Floats, var: Floats, middle: Floats, prior_var: Floats) -> Said:
    precision = np.maximum(1.0 / var - 1.0 / prior_var, _LEAST_PRECISION)
    return Said((mean / var - middle / prior_var) / precision, 1.0 / precision)


def _log_density(draws: Floats, mean: Floats | float, sd: Floats | float) -> Floats:
    wide = np.zeros(draws.shape[1]) + sd
    off = (draws - mean) / wide
    found: Floats = -0.5 * (off**2).sum(axis=1) - np.log(wide).sum()
    return found
