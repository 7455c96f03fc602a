"""Plans are made once, in the background, and never twice for the same question."""

from __future__ import annotations

import threading
import time
import weakref
from dataclasses import replace
from datetime import timedelta

import pytest

from coatwright.errors import OutOfRange
from coatwright.web import planner as planning
from coatwright.web.planner import Planner, Refused, cells_of
from coatwright.web.workshop import WAITING, Job, Working, Workshop
from tests.web.conftest import TODAY, bramble


@pytest.fixture
def fresh():
    made = Planner(workers=1)
    yield made
    made.close()


def test_a_plan_is_made_once_and_remembered(fresh):
    first = fresh.plan(bramble(), TODAY, wait=60)
    started = time.monotonic()
    assert fresh.plan(bramble(), TODAY, wait=60) is first, "an equal dog has the same plan"
    assert time.monotonic() - started < 0.1


@pytest.mark.parametrize(
    "changed",
    [
        lambda dog: replace(dog, name="Other"),
        lambda dog: replace(dog, weight_kg=9.0),
        lambda dog: replace(dog, fixed={("back", TODAY): 0.1}),
        lambda dog: replace(dog, limits=replace(dog.limits, minutes=100.0)),
    ],
)
def test_whatever_is_kept_of_a_dog_changes_its_mark(fresh, changed):
    dog = bramble()
    assert fresh.fingerprint(dog) == fresh.fingerprint(bramble())
    assert fresh.fingerprint(changed(dog)) != fresh.fingerprint(dog)


def test_another_day_is_another_question(fresh):
    dog = bramble()
    plan = fresh.plan(dog, TODAY, wait=60)
    assert fresh.plan(dog, TODAY + timedelta(days=1), wait=60) is not plan


def test_while_a_plan_is_made_its_progress_is_told(fresh, monkeypatch):
    import coatwright.salon.plans as plans

    real, go = plans.plan_dog, threading.Event()

    def slow(*given, progress, **named):
        progress("rolling, every 14 days", 2, 5)
        go.wait(30)
        return real(*given, progress=progress, **named)

    monkeypatch.setattr(plans, "plan_dog", slow)
    state = fresh.plan(bramble(), TODAY)
    until = time.monotonic() + 60
    while state != Working("rolling, every 14 days", 2, 5) and time.monotonic() < until:
        time.sleep(0.01)
        state = fresh.plan(bramble(), TODAY)
    assert state == Working("rolling, every 14 days", 2, 5)
    go.set()
    assert fresh.plan(bramble(), TODAY, wait=60).visits


def test_a_page_says_that_a_plan_is_being_made_and_asks_again(client, monkeypatch, app):
    import coatwright.salon.plans as plans

    go = threading.Event()
    real = plans.plan_dog

    def slow(*given, **named):
        go.wait(60)
        return real(*given, **named)

    monkeypatch.setattr(plans, "plan_dog", slow)
    monkeypatch.setattr("coatwright.web.desk.PATIENCE", 0.05)
    desk = app.state.desk
    monkeypatch.setattr(desk, "planner", Planner(workers=1))
    try:
        text = client.get("/dogs/bramble/sheet").text
        assert "is being made" in text
        assert 'hx-get="/dogs/bramble/sheet"' in text
        assert ">Look again</a>" in text
        assert "1 plan is still being made" in client.get("/").text
        assert "being planned" in client.get("/dogs").text
        assert client.get("/api/dogs").json()["dogs"][0]["plan"] == "working"
    finally:
        go.set()
        desk.planner.close()


def test_what_breaks_in_a_plan_is_told_and_the_page_stays(fresh, monkeypatch):
    import coatwright.salon.plans as plans

    def broken(*given, **named):
        raise ZeroDivisionError

    monkeypatch.setattr(plans, "plan_dog", broken)
    state = fresh.plan(bramble(), TODAY, wait=60)
    assert isinstance(state, Refused)
    assert "could not be made" in state.error.what


def test_an_error_of_the_wish_is_given_back(fresh):
    away = replace(bramble(), limits=replace(bramble().limits, away=((TODAY, TODAY + timedelta(days=900)),)))
    state = fresh.plan(away, TODAY, wait=60)
    assert isinstance(state, Refused)
    assert isinstance(state.error, OutOfRange)


def test_a_new_plan_keeps_near_to_the_last_one_and_the_last_one_is_known(fresh):
    dog = bramble()
    first = fresh.plan(dog, TODAY, wait=60)
    assert fresh.before(dog) is None
    fixed = replace(dog, fixed={("neck", first.visits[1]): 0.45})
    second = fresh.plan(fixed, TODAY, wait=60)
    assert second.case.previous, "the first plan is the one to stay near to"
    assert fresh.before(fixed) is first
    assert fresh.plan(dog, TODAY, wait=60) is first, "taken back: the plan is known"
    assert fresh.before(dog) is second
    fresh.plan(fixed, TODAY, wait=60)
    assert fresh.before(fixed) is first, "and done again"
    changed = cells_of(first).keys() | cells_of(second).keys()
    same = [cell for cell in changed if cells_of(first).get(cell) == cells_of(second).get(cell)]
    assert len(same) > 0.6 * len(changed)


def test_old_answers_go_when_there_are_too_many(fresh, monkeypatch):
    monkeypatch.setattr(planning, "KEPT", 3)
    for days in range(6):
        fresh.plan(bramble(), TODAY + timedelta(days=days), wait=60)
    assert len(fresh._jobs) <= 4


def test_what_somebody_waits_for_goes_before_what_nobody_waits_for():
    order: list[str] = []
    go = threading.Event()
    shop = Workshop(1)

    def job(name):
        def make(tell):
            go.wait(10)
            order.append(name)

        return Job(make)

    first, second, third, fourth = (job(name) for name in ("first", "second", "third", "fourth"))
    try:
        for each in (first, second, third):
            shop.give(each, urgent=False)
        until = time.monotonic() + 10
        while first.working is WAITING and time.monotonic() < until:
            time.sleep(0.01)
        shop.give(fourth, urgent=True)
        shop.hurry(third)
        shop.hurry(third)
        go.set()
        for each in (first, second, third, fourth):
            each.future.result(10)
        assert order == ["first", "fourth", "third", "second"], "each once, the hurried ones first"
    finally:
        go.set()
        shop.close()


def test_whoever_waits_stands_behind_no_work_that_nobody_waits_for_and_that_is_done_piece_by_piece():
    go = threading.Event()
    shop = Workshop(3)
    begun: list[str] = []

    def job(name, wait=0.0):
        def make(tell):
            begun.append(name)
            go.wait(wait)

        return Job(make)

    slow = [job(f"slow {number}", 10.0) for number in range(3)]
    try:
        for each in slow:
            shop.give(each, urgent=False)
        until = time.monotonic() + 10
        while not begun and time.monotonic() < until:
            time.sleep(0.01)
        for name in ("hurried", "hurried too", "hurried again"):
            hurried = job(name)
            shop.give(hurried, urgent=True)
            hurried.future.result(5)
        assert begun == ["slow 0", "hurried", "hurried too", "hurried again"]
        go.set()
        for each in slow:
            each.future.result(10)
        assert begun[4:] == ["slow 1", "slow 2"]
    finally:
        go.set()
        shop.close()


@pytest.mark.parametrize("workers", [1, 2])
def test_what_was_hurried_is_let_go_once_it_is_done(workers):
    class Made:
        pass

    shop = Workshop(workers)
    try:
        kept = []
        for _ in range(20):
            job = Job(lambda tell: Made())
            shop.give(job, urgent=True)
            kept.append(weakref.ref(job.future.result(10)))
        last = Job(lambda tell: None)
        shop.give(last, urgent=False)  # by then nothing stands before it
        last.future.result(10)
        del job
        until = time.monotonic() + 10
        while sum(each() is not None for each in kept) > workers and time.monotonic() < until:
            time.sleep(0.01)
        assert sum(each() is not None for each in kept) <= workers
    finally:
        shop.close()


def test_a_closed_workshop_drops_what_waits():
    go = threading.Event()
    shop = Workshop(1)
    busy, waiting, late = Job(lambda tell: go.wait(10)), Job(lambda tell: None), Job(lambda tell: None)
    shop.give(busy, urgent=False)
    shop.give(waiting, urgent=False)
    closing = threading.Thread(target=shop.close)
    closing.start()
    go.set()
    closing.join(20)
    shop.give(late, urgent=True)
    assert busy.future.done()
    assert waiting.future.cancelled()
    assert late.future.cancelled()
