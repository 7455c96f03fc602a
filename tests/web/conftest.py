"""A small salon on a fixed day, and the desk over it."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from coatwright.patterns import pattern
from coatwright.salon.records import (
    Assessment,
    Dog,
    DogLimits,
    DogWish,
    LayerReading,
    Person,
    Show,
    ZoneReading,
)
from coatwright.salon.salon import add_dog, mark_unfit, save_person
from coatwright.salon.store import Store
from coatwright.web.app import create_app
from coatwright.web.planner import Planner

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it would rather have another HTTP library than the one that is locked
    from fastapi.testclient import TestClient

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
ZONES = ("back", "ribs", "croup", "neck", "throat", "skull")
BASE = "http://127.0.0.1:8000"
ORIGIN = {"origin": BASE}
SHOW = Show("fell", "Fell Terrier Day", TODAY + timedelta(weeks=16), "Upper Fell", aim="staged")


def rolled(weeks: tuple[float, ...]) -> ZoneReading:
    """Equal layers pulled so many weeks ago."""
    return ZoneReading(tuple(LayerReading(1.0 / len(weeks), weeks=age) for age in weeks))


def bramble() -> Dog:
    """A rolled Lakeland, six zones read, one cadence: planned in a moment."""
    reading = rolled((0, 2, 4, 6, 8))
    return Dog(
        id="bramble",
        name="Bramble",
        pattern=pattern("lakeland"),
        born=date(2022, 4, 20),
        sex="bitch",
        weight_kg=7.4,
        owner=Person("marl", "Tobias Marlhope", "owner", "01632 960101"),
        limits=DogLimits(minutes=150, cadences=(14,)),
        wish=DogWish(
            ready_from=TODAY + timedelta(weeks=8), horizon_weeks=16, shows=(SHOW,), approach="rolling"
        ),
        assessments=(Assessment("a1", TODAY - timedelta(days=14), dict.fromkeys(ZONES, reading)),),
    )


def filled(place: Path) -> Store:
    """Records of three dogs: one to be planned, one whose coat was never read, one unfit."""
    made = Store.open(place, clock=lambda: NOW)
    add_dog(made, bramble(), today=TODAY)
    add_dog(made, Dog("hob", "Hob", pattern("border")), today=TODAY)
    read = Assessment("w1", TODAY - timedelta(days=3), {"back": rolled((12,))})
    add_dog(made, Dog("wick", "Wick", pattern("cairn"), assessments=(read,)), today=TODAY)
    mark_unfit(made, "wick", "red, itching skin")
    save_person(made, Person("ivo", "Ivo Teaselby", "groomer"))
    return made


@pytest.fixture
def store(tmp_path) -> Iterator[Store]:
    """The records of the small salon."""
    with filled(tmp_path / "salon.db") as made:
        yield made


@pytest.fixture(scope="session")
def planner() -> Iterator[Planner]:
    """One planner for all tests: what one has planned, the next need not."""
    made = Planner()
    yield made
    made.close()


@pytest.fixture
def app(store, planner):
    """The desk on the fixed day."""
    return create_app(store, today=lambda: TODAY, planner=planner, plan_at_start=False)


@pytest.fixture
def client(app) -> Iterator[TestClient]:
    """A browser on this machine, as far as headers go; it sends its Origin as browsers do."""
    with TestClient(app, base_url=BASE, headers=ORIGIN, follow_redirects=False) as made:
        yield made


@pytest.fixture
def planned(app, client) -> TestClient:
    """The same, with Bramble's plan made."""
    desk = app.state.desk
    desk.plan(desk.dog("bramble"), wait=60.0)
    return client


@pytest.fixture(scope="session")
def reader(tmp_path_factory) -> Iterator[TestClient]:
    """A desk with Bramble's plan made, shared by tests that change nothing; its planner knows of no other plan."""
    with filled(tmp_path_factory.mktemp("salon") / "salon.db") as made:
        shared = create_app(made, today=lambda: TODAY, plan_at_start=False)
        desk = shared.state.desk
        desk.plan(desk.dog("bramble"), wait=60.0)
        desk.compare(desk.dog("bramble"), wait=60.0)
        with TestClient(shared, base_url=BASE, headers=ORIGIN, follow_redirects=False) as browser:
            yield browser


@pytest.fixture
def empty(tmp_path) -> Iterator[TestClient]:
    """A desk without any dog."""
    with Store.open(tmp_path / "empty.db", clock=lambda: NOW) as made:
        fresh = create_app(made, today=lambda: TODAY, plan_at_start=False)
        with TestClient(fresh, base_url=BASE, headers=ORIGIN, follow_redirects=False) as browser:
            yield browser
