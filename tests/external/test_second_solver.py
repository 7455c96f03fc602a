"""A second solver agrees with ours on random plans.

SciPy's interior-point solver (scipy.optimize.linprog, method "highs-ipm", its own build of HiGHS, another
algorithm) and linopy, a modelling layer that builds the same program from labelled arrays.
"""

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.sparse import csc_array, vstack

from coatwright.planning.program import build
from coatwright.programs import Matrix, Solver
from tests.planning.random_problems import random_problem


def by_scipy(matrix: Matrix) -> float:
    """The optimum of the same matrix by interior points."""
    a = csc_array(
        (matrix.value, matrix.index, matrix.start), shape=(len(matrix.row_low), len(matrix.cost))
    ).tocsr()
    equal = matrix.row_low == matrix.row_high
    upper, lower = ~equal & np.isfinite(matrix.row_high), ~equal & np.isfinite(matrix.row_low)
    found = linprog(
        matrix.cost,
        A_ub=vstack([a[upper], -a[lower]]),
        b_ub=np.concatenate([matrix.row_high[upper], -matrix.row_low[lower]]),
        A_eq=a[equal],
        b_eq=matrix.row_low[equal],
        bounds=np.stack([matrix.low, matrix.high], axis=1),
        method="highs-ipm",
    )
    assert found.status == 0, found.message
    return float(found.fun)


@pytest.mark.parametrize("tens", range(20))
def test_an_interior_point_solver_finds_the_same_optimum_on_200_random_plans(tens: int) -> None:
    for seed in range(10 * tens, 10 * tens + 10):
        matrix = build(random_problem(seed)).matrix
        assert matrix is not None
        ours = Solver(matrix).solve().objective
        assert by_scipy(matrix) == pytest.approx(ours, rel=1e-6, abs=1e-6), seed
