"""A plan that must hold in many ways in which the coat may turn out to grow."""

from datetime import date
from pathlib import Path

import numpy as np

from coatwright.salon.dogfile import read_dogfile
from coatwright.salon.plans import plan_dog

JUNIPER = Path(__file__).parents[2] / "examples" / "juniper.toml"


def test_futures_move_the_staged_plan_and_the_same_seed_gives_the_same_plan() -> None:
    dog = read_dogfile(JUNIPER, today=date(2027, 3, 2)).dog
    middle = plan_dog(dog, date(2027, 3, 2)).option.plan
    first, second = (plan_dog(dog, date(2027, 3, 2), futures=12, seed=4).option.plan for _ in range(2))
    assert np.array_equal(first.takes, second.takes)
    assert first.problem.futures is not None
    assert middle.problem.futures is None
    assert first.visits != middle.visits or not np.array_equal(first.takes, middle.takes)
    # the prior is wide: what its worst tenth misses is told, never hidden
    assert any(miss.limit == "futures" for miss in first.shortfalls)
