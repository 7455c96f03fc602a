"""A zone of a coat is a forest of age classes: the planner's network solves published harvest schedules."""

import numpy as np
import pytest

from coatwright.planning.network import add_flow, cohort_network
from coatwright.programs import Program, Solver

LEUSCHNER = (
    "Leuschner 1990, Forest Regulation, Harvest Scheduling and Planning Techniques; data and results also in "
    "Robinson & Hamann 2010, Forest Analytics with R, ch. 9"
)
ACRES = np.array([5000, 5000, 5000, 5000, 30000, 20000, 12000, 2000], dtype=float)
YIELD = dict(
    zip(
        range(30, 160, 10),
        [3.2, 6.1, 8.3, 10.1, 11.6, 12.9, 14.1, 15.1, 16.0, 16.9, 17.7, 18.4, 19.1],
        strict=True,
    )
)


def leuschner() -> tuple[Program, np.ndarray, np.ndarray, np.ndarray]:
    """The eight stands over six periods of ten years: program, flow columns, harvest period and volume per arc.

    Stand s is 30 + 10 (s - 1) years old in the first period; only standing trees are cut, once.
    """
    program = Program()
    periods = 10.0 * np.arange(6)
    born = -(30.0 + 10.0 * np.arange(8))
    network = cohort_network(0.0, born, periods, may_pull=lambda age: age >= 30.0)
    old = network.tail < network.initial
    columns = add_flow(program, network, ACRES)
    volume = np.array(
        [
            YIELD[round(age)] if cut and first else 0.0
            for age, cut, first in zip(network.age, network.pulled, old, strict=True)
        ]
    )
    # one harvest per acre: what is cut is not cut again; what is never cut yields nothing
    program.put(program.add_rows(1, low=0.0, high=0.0), columns.flow[network.pulled & ~old], 1.0)
    program.put(program.add_rows(1, low=0.0, high=0.0), columns.flow[~network.pulled & old], 1.0)
    program.add_cost(columns.flow, -volume)
    return program, columns.flow, network.head, volume


def test_area_control_reaches_the_published_volume() -> None:
    """1,224,600 thousand cubic feet with 14,000 acres each period (Leuschner 1990)."""
    program, flow, period, volume = leuschner()
    rows = program.add_rows(6, low=14000.0, high=14000.0)
    cut = volume > 0
    program.put(rows[period[cut]], flow[cut], 1.0)
    solution = Solver(program.build()).solve()
    assert -solution.objective == pytest.approx(1_224_600, abs=1e-3), LEUSCHNER
    per_period = np.bincount(period[cut], weights=(volume * solution.x[flow])[cut], minlength=6)
    assert per_period / 1000 == pytest.approx([199.4, 197.4, 203.4, 211.4, 217.6, 195.4], abs=0.05)


def test_equal_volume_reaches_the_published_flow() -> None:
    """Six times 203,790.03 (published 203.79 thousand) with even flow."""
    program, flow, period, volume = leuschner()
    even = program.add_columns(1)
    rows = program.add_rows(6, low=0.0, high=0.0)
    cut = volume > 0
    program.put(rows[period[cut]], flow[cut], volume[cut])
    program.put(rows, even, -1.0)
    solution = Solver(program.build()).solve()
    assert -solution.objective == pytest.approx(6 * 203_790.03, abs=0.1), LEUSCHNER
    assert solution.x[even[0]] == pytest.approx(203_790.03, abs=0.01)


def test_without_rules_all_is_cut_in_the_last_period() -> None:
    """1,410,500, recomputed from the same table."""
    program, flow, period, volume = leuschner()
    solution = Solver(program.build()).solve()
    assert -solution.objective == pytest.approx(1_410_500, abs=1e-3)
    used = (volume > 0) & (solution.x[flow] > 1e-6)
    assert set(period[used]) == {5}


# STOCFOR1: Gassmann 1989, Can. J. For. Res. 19:1267-1274; netlib lp/data. Exact optimum: Koch, "The final
# netlib-LP results". The six-digit coefficients of the file.
AREA = np.array([0.241, 0.125, 1.404, 2.004, 9.768, 16.385, 2.815, 61.995])
CUT_YIELD = np.array([0.0, 0.0, 16.0, 107.0, 217.0, 275.0, 298.0, 306.0])
FIRE = 0.06258
DISCOUNT = np.array([1, 0.905063, 0.819139, 0.741372, 0.670989, 0.607287, 0.549633])
STANDING_VALUE = np.array([159.355, 177.186, 198.203, 222.975, 252.173, 281.025, 292.467, 296.446])
SHORTFALL_PRICE = np.array([50, 45.25, 40.96, 37.07, 33.55, 30.36])
STOCFOR1 = -41131.976219436406


def test_stocfor1_has_its_published_optimum_as_an_arc_model() -> None:
    """Fire on the way is a survival factor on the arc; optimum -41131.976219436406 (Koch).

    Every period's fire comes after its cut; what is cut or burnt stands as class 1 a period later.
    """
    program = Program()
    periods = np.arange(1.0, 8.0)
    born = 1.0 - np.arange(1.0, 9.0)  # class c in period 1 is of age c

    def classes(age: np.ndarray) -> np.ndarray:
        return np.clip(np.round(age), 1, 8).astype(int) - 1

    network = cohort_network(
        1.0,
        born,
        periods,
        may_pull=lambda age: age >= 3.0,
        survival=lambda since, age: np.power(1.0 - FIRE, np.maximum(age, 1.0) - np.maximum(since, 1.0)),
        lost_at_next=False,
    )
    stands = network.age > 0.0  # what is cut in the last period has no way left
    assert stands.sum() == 77

    columns = add_flow(program, network, AREA)
    age = classes(network.age)
    purchase = np.where(network.pulled, CUT_YIELD[age] * network.kept, 0.0)
    worth = np.where(network.pulled | ~stands, 0.0, STANDING_VALUE[age] * network.kept)
    program.add_cost(columns.flow, -worth)
    bought = program.add_columns(7, cost=-DISCOUNT)
    rows = program.add_rows(7, low=0.0, high=0.0)
    cut = network.pulled
    program.put(rows[network.head[cut]], columns.flow[cut], purchase[cut])
    program.put(rows, bought, -1.0)
    short = program.add_columns(6, cost=SHORTFALL_PRICE)
    growing = program.add_rows(6, high=0.0)
    program.put(growing, bought[1:], 1.0)
    program.put(growing, bought[:-1], -1.1)
    falling = program.add_rows(6, high=0.0)
    program.put(falling, bought[:-1], 0.9)
    program.put(falling, bought[1:], -1.0)
    program.put(falling, short, -1.0)
    solution = Solver(program.build()).solve()
    assert solution.objective == pytest.approx(STOCFOR1, rel=1e-9)
    assert solution.x[bought] == pytest.approx(
        [6271.711, 5644.540, 5080.086, 4572.077, 4114.869, 3703.383, 3333.044], abs=1e-3
    )
