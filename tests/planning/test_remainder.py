"""What given columns leave: found row by row, the same as the solver finds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.planning.oldest import oldest_first
from coatwright.planning.program import build
from coatwright.planning.solve import solve
from coatwright.programs import INF, Program, Remainder, Solver
from tests.planning.random_problems import random_problem


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_takes_cost_what_the_solver_says_they_cost(seed):
    """Rounded takes, and the same with some of them left out, weighed both ways."""
    problem = random_problem(seed).with_(futures=None)
    coat = build(problem)
    assert coat.matrix is not None
    columns = np.concatenate([coat.takes.ravel(), *(zone.columns.flow for zone in coat.zones)])
    remainder, solver = Remainder(coat.matrix, columns, coat.lengths), Solver(coat.matrix)
    takes = solve(problem).takes
    rng = np.random.default_rng(seed)
    less = np.where(rng.random(takes.shape) < 0.3, 0.0, takes)
    losing = any(zone.growth.loss for zone in problem.zones)  # there, less early can leave less to take later
    for tried in (takes,) if losing else (takes, less):
        flows = [oldest_first(zone, row) for zone, row in zip(coat.zones, tried, strict=True)]
        values = np.concatenate([tried.ravel(), *flows])
        cost, x = remainder.weigh(values)
        solver.limit_columns(columns, values, values)
        assert cost == pytest.approx(solver.solve().objective, rel=1e-7, abs=1e-6)
        assert x[columns] == pytest.approx(values)


def test_a_row_is_satisfied_by_its_cheapest_columns_first():
    """By hand: 3 are missing; 1 at a price of 2, the rest at a price of 5, is 12. One too many costs 7."""
    program = Program()
    (given_column,) = program.add_columns(1)
    least, most = program.add_rows(1, low=4.0), program.add_rows(1, high=0.0)
    program.put(np.concatenate([least, most]), given_column, 1.0)
    program.put(least, program.add_columns(1, cost=5.0), 1.0)
    program.put(least, program.add_columns(1, cost=2.0, high=1.0), 1.0)
    program.put(most, program.add_columns(1, cost=7.0), -1.0)
    remainder = Remainder(program.build(), np.array([given_column]), np.zeros((2, 0), np.int64))
    cost, x = remainder.weigh(np.array([1.0]))
    assert cost == 2.0 + 2 * 5.0 + 7.0
    assert x.tolist() == [1.0, 2.0, 1.0, 1.0]
    assert remainder.weigh(np.array([0.0]))[0] == 2.0 + 3 * 5.0


def test_a_program_of_another_kind_is_refused():
    program = Program()
    given_column, shared = program.add_columns(1), program.add_columns(1, cost=1.0)
    rows = program.add_rows(2, low=1.0, high=INF)
    program.put(rows, shared, 1.0)
    program.put(rows, given_column, 1.0)
    with pytest.raises(ValueError, match="neither given, nor defined"):
        Remainder(program.build(), given_column, np.zeros((2, 0), np.int64))


def test_a_remembered_start_leads_to_the_same_optimum():
    from coatwright.planning.solve import PlanSession
    from coatwright.programs import forget_bases

    problem = random_problem(7)
    forget_bases()
    first = PlanSession(problem).plan()
    again = PlanSession(problem).plan()
    assert again.objective == pytest.approx(first.objective, rel=1e-9, abs=1e-9)
    assert (again.takes == first.takes).all()
