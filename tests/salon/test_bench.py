"""What is laid out and what is done afterwards: as the visit needs it."""

from dataclasses import replace
from datetime import date

import pytest

from coatwright.demo import demo_dogs
from coatwright.salon.bench import HEAD, aftercare_of, tools_of
from coatwright.salon.cautions import bare_zones
from coatwright.salon.plans import plan_dog
from coatwright.salon.sheets import sheet_of
from coatwright.units import day_of

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def dogs():
    return {dog.id: dog for dog in demo_dogs(TODAY)}


@pytest.fixture(scope="module")
def plans(dogs):
    stripped = replace(dogs["corrie"], wish=replace(dogs["corrie"].wish, approach="strip"))
    return [plan_dog(dog, TODAY) for dog in (dogs["bramble"], dogs["sorrel"], stripped)]


def test_tools_follow_the_zones_and_the_carding_of_the_day(plans):
    seen = set()
    for plan in plans:
        for day in plan.visits:
            said = "; ".join(tools_of(plan, day))
            head = any(zone in HEAD for zone in plan.takes(day))
            body = any(zone not in HEAD for zone in plan.takes(day))
            card = len(plan.cardings.get(day_of(day), ()))
            assert ("fine blunt knife" in said) == head
            assert ("finger stalls" in said) == body
            assert (f"rake, {card} zone" in said) == (card > 0)
            assert said.endswith("mask")
            seen.add((head, body, card > 0))
    assert len(seen) > 2


def test_a_bare_dog_is_kept_from_sun_and_cold_afterwards(plans):
    told = set()
    for plan in plans:
        for day in plan.visits:
            bare = bool(bare_zones(plan, day))
            assert any("light jacket" in line for line in aftercare_of(plan, day)) == bare
            assert any("for a vet" in line for line in aftercare_of(plan, day))
            told.add(bare)
    assert told == {False, True}


def test_the_sheet_carries_both(plans):
    sheet = sheet_of(plans[0])
    assert sheet.tools == tools_of(plans[0], sheet.day)
    assert sheet.aftercare == aftercare_of(plans[0], sheet.day)
