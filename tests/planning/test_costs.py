"""Each cost moves the plan: none of them is inert."""

import numpy as np
import pytest

from coatwright.coat.aims import rolling_aim, staged_aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.planning.problem import Costs, Problem, Wish, ZoneTask
from coatwright.planning.solve import PlanSession

TODAY = 740_000
OLD = ZoneCoat.of([Layer(TODAY - 200, 1.0)])


def takes(problem: Problem) -> np.ndarray:
    session = PlanSession(problem)
    return session.relaxed().x[session.takes_columns]


def rolling(costs: Costs, **changes: object) -> Problem:
    """Two neighbouring zones of an old coat, wished ready from week 16, with little time at each visit."""
    visits = tuple(TODAY + 14 * k for k in range(16))
    zones = tuple(
        ZoneTask(
            key, OLD, Growth(), rolling_aim(lo, hi, Growth()), look=0.5, welfare=0.0, neighbours=("ribs",)
        )
        for key, lo, hi in (("back", 12, 24), ("ribs", 15, 30))
    )
    problem = Problem(
        TODAY, visits, (35.0,) * 16, zones, Wish(every_from=TODAY + 112), setup=20.0, costs=costs
    )
    return problem.with_(**changes)


def staged(costs: Costs) -> Problem:
    visits = tuple(TODAY + 7 * k for k in range(18))
    zone = ZoneTask("back", OLD, Growth(), staged_aim(10, 30), welfare=0.0)
    return Problem(TODAY, visits, (300.0,) * 18, (zone,), Wish(days=(TODAY + 126,)), costs=costs)


@pytest.mark.parametrize(
    ("cost", "value"),
    [("minute", 60.0), ("overdue", 200.0), ("uneven", 0.0), ("short", 1.0), ("order", 400.0)],
)
def test_a_changed_cost_changes_a_rolling_plan(cost: str, value: float) -> None:
    base = takes(rolling(Costs()))
    changed = takes(rolling(Costs().with_(**{cost: value})))
    assert np.abs(base - changed).max() > 0.01


def test_comfort_keeps_the_plan_from_pulling_young_hair() -> None:
    """With nothing to pay for it, a thin wish of short hair is met by pulling unripe hair."""
    task = ZoneTask("back", OLD, Growth(), rolling_aim(2, 13, Growth(), cover=0.3), look=0.2, welfare=0.0)
    changes = {"zones": (task,), "minutes": (300.0,) * 16}

    def young(costs: Costs) -> float:
        session = PlanSession(rolling(costs, **changes))
        solution = session.relaxed()
        zone = session.program.zones[0]
        early = zone.network.pulled & (zone.network.age < 56)
        return float(solution.x[zone.columns.flow][early].sum())

    cheap = Costs(young=0.0, overdue=100.0, order=0.0, minute=0.0)
    assert young(cheap.with_(young=2000.0)) < young(cheap) - 0.01


def test_cut_hair_is_taken_earlier_when_it_costs_more() -> None:
    coat = ZoneCoat.of([Layer(TODAY - 90, 0.5, removed=10.0), Layer(TODAY - 200, 0.5)])
    zones = (ZoneTask("back", coat, Growth(), rolling_aim(12, 24, Growth()), look=0.5, welfare=0.0),)

    def standing(costs: Costs) -> float:
        session = PlanSession(rolling(costs, zones=zones, minutes=(300.0,) * 16))
        x = session.relaxed().x
        zone = session.program.zones[0]
        cut = zone.removed[zone.network.tail] > 0
        ends = np.minimum(zone.network.end_time, TODAY + 300) - TODAY
        return float((x[zone.columns.flow] * ends)[cut].sum())

    assert standing(Costs(cut=200.0)) < standing(Costs(cut=0.0)) - 1.0


def test_the_middle_of_the_band_is_aimed_at_in_a_staged_coat() -> None:
    def days_before(costs: Costs) -> float:
        taken = takes(staged(costs))[0]
        return float(taken @ (126 - 7 * np.arange(18)) / taken.sum())

    growth = Growth()
    middle = growth.lag + 20 / growth.speed
    assert days_before(Costs()) == pytest.approx(middle, abs=4)
    assert abs(days_before(Costs(middle=0.0)) - middle) > 4


def test_neighbours_are_drawn_together() -> None:
    """A finished zone beside an old one: the step between them costs, and the finished one moves."""
    done = ZoneCoat.even(TODAY, 14, 8)
    growth = Growth()
    zones = (
        ZoneTask(
            "back", done, growth, rolling_aim(5, 30, growth), look=0.3, welfare=0.0, neighbours=("ribs",)
        ),
        ZoneTask("ribs", OLD, growth, rolling_aim(15, 60, growth), look=0.3, welfare=0.0),
    )
    base = takes(rolling(Costs(step=0.0), zones=zones, minutes=(300.0,) * 16))
    drawn = takes(rolling(Costs(step=5.0), zones=zones, minutes=(300.0,) * 16))
    assert np.abs(base - drawn).max() > 0.01


def test_the_plan_before_is_kept_to_where_it_costs_little() -> None:
    previous = {("back", TODAY + 14 * k): 0.15 for k in range(3)}
    free = takes(rolling(Costs(change=0.0), previous=previous))[0, :3]
    held = takes(rolling(Costs(change=500.0), previous=previous))[0, :3]
    assert np.abs(held - 0.15).max() < 1e-6
    assert np.abs(free - 0.15).max() > 0.01


def test_welfare_stands_above_readiness() -> None:
    """A wish that only a bare dog could meet is missed; with no price on harm the dog would be bared."""
    visits = (TODAY, TODAY + 14, TODAY + 28)
    zone = ZoneTask("back", OLD, Growth(), staged_aim(10, 20), welfare=0.3)
    problem = Problem(TODAY, visits, (300.0,) * 3, (zone,), Wish(days=(TODAY + 70,)))
    assert takes(problem).max() <= 0.7 + 1e-6
    bare = takes(problem.with_(costs=Costs(harm=0.0)))
    assert bare.max() > 0.75


def test_minutes_bind_while_overtime_has_a_price() -> None:
    """Visits of eight minutes of pulling are held, and overrun where overtime costs nothing."""
    short = {"minutes": (28.0,) * 16}
    held, loose = takes(rolling(Costs(), **short)), takes(rolling(Costs(overtime=0.0), **short))
    assert (30.0 * held.sum(axis=0)).max() <= 8.0 + 1e-6
    assert (30.0 * loose.sum(axis=0)).max() > 9.0


def test_a_miss_that_nobody_can_see_is_cheaper_than_a_real_one() -> None:
    """The first 2 % over the longest length has a price of its own."""
    zone = ZoneTask("leg", OLD, Growth(), rolling_aim(30, 50, Growth()), look=0.5, welfare=0.0)
    free = takes(rolling(Costs(slight=0.0), zones=(zone,)))
    strict = takes(rolling(Costs(slight=2.0e4), zones=(zone,)))
    assert np.abs(free - strict).max() > 0.001
