"""Closed forms of a rotation, derived by hand and published age structures, against network and pull operator."""

import numpy as np
import pytest

from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat, pull
from coatwright.planning.network import Network, add_flow, cohort_network
from coatwright.programs import Program, Solver

CASES = [(8, 10, 40), (12, 3, 40), (6, 20, 30)]


def rotation(R: int, a0: int, V: int) -> tuple[Program, Network, np.ndarray]:
    """One even-aged zone of age a0, visits 1..V, a take of 1/R each time, no hair of age R left standing."""
    program = Program()
    network = cohort_network(
        0.0, np.array([-float(a0)]), np.arange(1.0, V + 1.0), may_pull=lambda age: age > 0.0
    )
    columns = add_flow(program, network, np.ones(1), take_limits=(np.full(V, 1.0 / R), np.full(V, 1.0 / R)))
    abandoned = ~network.pulled & (network.age >= R)
    program.put(program.add_rows(1, low=0.0, high=0.0), columns.flow[abandoned], 1.0)
    return program, network, columns.flow


@pytest.mark.parametrize(("case", "optimum"), list(zip(CASES, [47.5, 18.166667, 309.166667], strict=True)))
def test_cost_at_the_pull(case: tuple[int, int, int], optimum: float) -> None:
    """(1/R) sum over t = 1..R of (a0 + t - R)^2: the old coat goes evenly, every later hair at age R."""
    R, a0, V = case
    program, network, flow = rotation(R, a0, V)
    program.add_cost(flow, np.where(network.pulled, (network.age - R) ** 2, 0.0))
    assert Solver(program.build()).solve().objective == pytest.approx(optimum, abs=1e-6)


@pytest.mark.parametrize(("case", "optimum"), list(zip(CASES, [145.5, 1.666667, 980.0], strict=True)))
def test_cost_for_every_visit_stood(case: tuple[int, int, int], optimum: float) -> None:
    """sum of g(a0 + t) (1 - (t - 1) / R) with g(a) = max(0, a - R)^2, paid at each visit before the pull."""
    R, a0, V = case
    program, network, flow = rotation(R, a0, V)
    visits = np.arange(1.0, V + 1.0)
    born, ends = network.born[network.tail], np.minimum(network.end_time, V)
    stands = (visits[None, :] > born[:, None]) & (visits[None, :] <= ends[:, None])
    g = np.maximum(visits[None, :] - born[:, None] - R, 0.0) ** 2
    program.add_cost(flow, (g * stands).sum(axis=1))
    assert Solver(program.build()).solve().objective == pytest.approx(optimum, abs=1e-6)


def test_paths_and_arcs_are_the_same_program() -> None:
    """A hair's whole life as one variable gives the optimum of the arc form exactly (derived by hand)."""
    R, a0, V = 3, 5, 7
    program, network, flow = rotation(R, a0, V)
    program.add_cost(flow, np.where(network.pulled, (network.age - R) ** 2, 0.0))
    arcs = Solver(program.build()).solve().objective

    lives = [[j + 1 for j in range(V) if mask >> j & 1] for mask in range(2**V)]
    lives = [life for life in lives if V - (life[-1] if life else -a0) < R]
    ages = [np.diff([-a0, *life]) for life in lives]
    paths = Program()
    columns = paths.add_columns(len(lives), cost=[float(((a - R) ** 2).sum()) for a in ages])
    paths.put(paths.add_rows(1, low=1.0, high=1.0), columns, 1.0)
    rows = paths.add_rows(V, low=1.0 / R, high=1.0 / R)
    for column, life in zip(columns, lives, strict=True):
        paths.put(rows[np.array(life, dtype=int) - 1], column, 1.0)
    assert Solver(paths.build()).solve().objective == pytest.approx(arcs, abs=1e-9)


def ages_after(coat: ZoneCoat, day: int) -> tuple[np.ndarray, np.ndarray]:
    return day - coat.born, coat.shares


@pytest.mark.parametrize(
    ("N", "T", "rate", "rotation_days", "mean_age", "bare", "longest"),
    [
        (8, 14, 0.4, 112, 49.0, 2 / 8, 33.6),
        (6, 21, 0.4, 126, 52.5, 1 / 3, 39.2),
        (10, 7, 0.5, 70, 31.5, 4 / 10, 21.0),
    ],
)
def test_equal_takes_settle_into_equal_age_classes(
    N: int, T: int, rate: float, rotation_days: int, mean_age: float, bare: float, longest: float
) -> None:
    """The normal forest in small: rotation N T, mean age (N - 1) T / 2, bare share #{k: k T < L} / N."""
    growth = Growth(lag=28.0, rate=rate)
    coat, day = ZoneCoat.of([Layer(-400, 1.0)]), 0
    for visit in range(3 * N):
        day = visit * T
        done = pull(coat, day, 1.0 / N, growth)
        coat = done.coat
    age, share = ages_after(coat, day)
    assert age @ share == pytest.approx(mean_age)
    assert share[age < 28].sum() == pytest.approx(bare)
    taken = [day - layer.born for layer, _ in done.renewed]
    assert taken == [rotation_days]
    assert growth.rate * (rotation_days - growth.lag) == pytest.approx(longest)


def test_pulling_a_random_eighth_leaves_old_hair() -> None:
    """Renewal theory: mean age 7 visits instead of 3.5, and 11.8 % of the hairs older than 16 visits."""
    growth = Growth(lag=0.0)
    coat, day = ZoneCoat.of([Layer(-1, 1.0)]), 0
    for day in range(200):
        coat = pull(coat, day, 1.0 / 8.0, growth, selectivity=0.0).coat
    age, share = ages_after(coat, day)
    assert age @ share == pytest.approx(7.0, abs=1e-6)
    assert share[age >= 16].sum() == pytest.approx(0.118, abs=5e-4)


def test_a_coat_of_one_age_pulled_at_one_age_never_rolls() -> None:
    """Bernardelli 1941 (in Caswell, Matrix Population Models, 2001): a single age of renewal keeps its waves."""
    bernardelli = np.array([[0, 0, 6], [1 / 2, 0, 0], [0, 1 / 3, 0]])
    assert np.linalg.matrix_power(bernardelli, 3) == pytest.approx(np.eye(3))
    growth = Growth()
    coat = ZoneCoat.of([Layer(0, 1.0)])
    for day in (84, 168, 252, 336):
        coat = pull(coat, day, 1.0, growth).coat
        assert len(coat.layers) == 1
    spread = ZoneCoat.of([Layer(0, 1.0)])
    for day in range(84, 400, 14):
        spread = pull(spread, day, 0.2, growth).coat
    assert len(spread.layers) == 5
