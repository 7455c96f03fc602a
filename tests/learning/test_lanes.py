"""Eight draws at once are worked as one is; functions against NumPy's."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr

from coatwright.learning import lanes, strands
from coatwright.learning.kernel import longest_of, normal
from coatwright.learning.lanes import WIDTH, any_of, compiled, least, most, put, row, where

LAYERS = 6


@compiled
def _functions(given: Any, found: Any) -> None:
    put(found, 0, lanes.exp(row(given, 0)))
    put(found, 1, lanes.log(row(given, 1)))
    put(found, 2, lanes.sqrt(row(given, 1)))
    put(found, 3, lanes.ceil(row(given, 0)))
    put(found, 4, normal(row(given, 2))[0])
    put(found, 5, normal(row(given, 2))[1])


@compiled
def _choices(x: Any, y: Any, found: Any) -> bool:
    a, b = row(x, 0), row(y, 0)
    put(found, 0, where((a < b) & (b <= 1.0) | (a >= 2.0), a - b, 2.0 * b))
    put(found, 1, least(a, 0.5) + most(0.5, b))
    put(found, 2, -a / (1.0 + b * b))
    return any_of(a > 3.0)


@compiled
def _worked(
    born: Any, share: Any, removed: Any, slot: Any, strength: Any, growth: Any, spare: Any, found: Any
) -> None:  # fmt: skip
    """Pull twice, once breaking hair, and read the longest hair."""
    lag, rate, end = row(growth, 0), row(growth, 1), row(growth, 2)
    head, count, _, first = strands.pull(
        400.0, 0.3, row(strength, 0), 0.7, 0.2, lag, rate, end, 7, born, share, removed, slot, 0, LAYERS,
        spare[0],
    )  # fmt: skip
    head, count, _, second = strands.pull(
        420.0, 0.4, row(strength, 1), 1.0, 0.0, lag, rate, end, 8, born, share, removed, slot, head, count,
        spare[0],
    )  # fmt: skip
    seen, cover = strands.visible(
        450.0, lag, rate, end, born, share, removed, head, count, True, spare[1], spare[2]
    )
    put(found, 0, first)
    put(found, 1, second)
    put(found, 2, cover)
    put(found, 3, longest_of(spare[1], spare[2], seen, row(growth, 3), 0.05 * cover))


def columns(*arrays: np.ndarray) -> list[list[np.ndarray]]:
    """What one draw has of arrays in which the last axis is the draws, for each of them."""
    return [[each[..., w].copy() for each in arrays] for w in range(WIDTH)]


def test_functions_are_those_of_numpy_in_every_lane() -> None:
    rng = np.random.default_rng(1)
    for _ in range(200):
        far, positive = rng.uniform(-700.0, 700.0, WIDTH), np.exp(rng.uniform(-600.0, 600.0, WIDTH))
        given = np.stack([far, positive, rng.normal(0.0, 3.0, WIDTH)])
        found = np.empty((6, WIDTH))
        _functions(given, found)
        assert found[0] == pytest.approx(np.exp(given[0]), rel=1e-13)
        assert found[1] == pytest.approx(np.log(given[1]), rel=1e-14, abs=1e-15)
        assert found[2] == pytest.approx(np.sqrt(given[1]), rel=1e-15)
        assert (found[3] == np.ceil(given[0])).all()
        assert found[4] == pytest.approx(ndtr(given[2]), abs=1e-7)
        assert found[5] == pytest.approx(np.exp(-0.5 * given[2] ** 2) / np.sqrt(2.0 * np.pi), rel=1e-13)


def test_where_numbers_end_functions_stay_finite() -> None:
    found = np.empty((6, WIDTH))
    _functions(np.array([[-1e9, 1e9] * 4, [0.0, 1.0, -1.0, np.nan] * 2, [-1e3, 1e3] * 4]), found)
    assert np.isfinite(np.delete(found, 2, axis=0)).all()  # but for the root of a negative number
    assert found[0, 0] == pytest.approx(0.0, abs=1e-300)
    assert (found[1, [0, 2, 3]] < -700.0).all()  # improbable, whatever went wrong
    assert (found[1, 1], found[2, 0]) == (0.0, 0.0)
    assert found[4, :2] == pytest.approx([0.0, 1.0], abs=1e-300)


@pytest.mark.parametrize("seed", range(20))
def test_choices_are_made_lane_by_lane(seed: int) -> None:
    x, y = np.random.default_rng(seed).normal(0.0, 2.0, (2, 1, WIDTH))
    found = np.empty((3, WIDTH))
    asked = _choices(x, y, found)
    assert asked == (x > 3.0).any()
    assert (found[0] == np.where(((x < y) & (y <= 1.0)) | (x >= 2.0), x - y, 2.0 * y)[0]).all()
    assert (found[1] == np.minimum(x, 0.5)[0] + np.maximum(0.5, y)[0]).all()
    assert found[2] == pytest.approx((-x / (1.0 + y * y))[0], rel=1e-14)


@pytest.mark.parametrize("seed", range(40))
def test_a_coat_is_worked_in_eight_draws_as_in_each_alone(seed: int) -> None:
    rng = np.random.default_rng(seed)
    room = LAYERS + 4
    born, share = np.zeros((room, WIDTH)), np.zeros((room, WIDTH))
    removed, slot = np.zeros((room, WIDTH)), np.zeros((room, WIDTH))
    born[:LAYERS] = np.sort(rng.integers(0, 400, (LAYERS, WIDTH)), axis=0)
    share[:LAYERS] = rng.dirichlet(np.ones(LAYERS), WIDTH).T * (rng.random((LAYERS, WIDTH)) < 0.8)
    removed[:LAYERS] = rng.choice([0.0, 8.0], (LAYERS, WIDTH))
    slot[:LAYERS] = np.arange(LAYERS)[:, None]
    strength = rng.normal(0.0, 0.3, (2, WIDTH))
    smallest, largest = np.array([[10.0, 0.2, 20.0, 0.1], [40.0, 0.6, 70.0, 0.3]])[:, :, None]
    growth = rng.uniform(smallest, largest, (4, WIDTH))
    alone = columns(born, share, removed, slot, strength, growth)
    found = np.empty((4, WIDTH))
    _worked(born, share, removed, slot, strength, growth, np.zeros((3, room, WIDTH)), found)
    for w, given in enumerate(alone):
        one = np.empty(4)
        _worked(*given, np.zeros((3, room)), one)
        assert found[:3, w] == pytest.approx(one[:3], rel=1e-9, abs=1e-9)
        # far layers are left out where no draw needs them
        assert found[3, w] == pytest.approx(one[3], abs=1e-4)
        kept = given[1] > strands.LEAST
        there = share[:, w] > strands.LEAST
        for many, single in ((born, given[0]), (share, given[1]), (removed, given[2]), (slot, given[3])):
            assert many[there, w] == pytest.approx(single[kept], rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_with_the_compiler_switched_off_the_same_comes_out(seed: int) -> None:
    x, y = np.random.default_rng(seed).normal(0.0, 2.0, (2, 1, WIDTH))
    found, slowly = np.empty((2, 3, WIDTH))
    assert _choices(x, y, found) == _choices.py_func(x, y, slowly)
    assert found == pytest.approx(slowly, rel=1e-14)
    pair = np.stack([x[0], y[0]])
    strands._swap.py_func(pair, 1, x[0] < y[0])
    assert (pair == [np.maximum(x, y)[0], np.minimum(x, y)[0]]).all()
    functions = (lanes.exp, np.exp), (lanes.log, np.log), (lanes.sqrt, np.sqrt), (lanes.ceil, np.ceil)
    for ours, known in functions:
        assert (ours(x * x) == known(x * x)).all()


@compiled
def _put_one(array: Any) -> None:
    put(array, 0, 1.0)


def test_rows_of_arrays_with_gaps_and_of_other_numbers_are_refused() -> None:
    with pytest.raises(TypeError, match="without gaps"):
        _functions(np.ones((3, 2 * WIDTH))[:, ::2], np.empty((6, WIDTH)))
    for array in (
        np.ones((3, 2 * WIDTH))[:, :WIDTH],
        np.ones((3, WIDTH), np.float32),
        np.ones((2, 3, WIDTH)),
    ):
        with pytest.raises(TypeError, match="without gaps"):
            _put_one(array)
