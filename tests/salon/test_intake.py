"""One writer for many senders: each gets its own answers, and one that goes wrong harms no other."""

import threading

import pytest

from coatwright.errors import NotKept
from coatwright.salon.intake import Intake
from tests.salon.test_store import BRAMBLE, COAT, outcomes, reading


@pytest.fixture
def intake(store):
    made = Intake(store)
    yield made
    made.close()


def held(store):
    """Hold the writer back while senders queue up."""
    return store._write_lock


def test_what_waits_together_is_written_together_and_answered_apart(store, intake, monkeypatch):
    store.append([BRAMBLE, COAT])
    written = []
    whole = store.append_all
    monkeypatch.setattr(store, "append_all", lambda batches: written.append(len(batches)) or whole(batches))
    with held(store):
        first = intake.submit([reading(0)])
        waiting = [intake.submit([reading(n), reading(n)]) for n in range(1, 6)]
    assert outcomes(first.result(10)) == ["kept"]
    assert [outcomes(each.result(10)) for each in waiting] == [["kept", "already"]] * 5
    assert sum(written) == 6
    assert len(written) <= 2, "six senders, at most two writes to the disk"
    assert len(store.state().dogs["bramble"].readings) == 6


def test_the_same_event_from_two_senders_is_kept_once(store, intake):
    store.append([BRAMBLE, COAT])
    with held(store):
        both = [intake.submit([reading(1)]) for _ in range(2)]
    assert sorted(outcomes(each.result(10))[0] for each in both) == ["already", "kept"]


def test_what_breaks_for_one_sender_is_kept_for_the_others(store, intake):
    store.append([BRAMBLE, COAT])
    with held(store):
        futures = [intake.submit(events) for events in ([reading(1)], [None], [reading(2)])]
    assert outcomes(futures[0].result(10)) == ["kept"]
    with pytest.raises(AttributeError):
        futures[1].result(10)
    assert outcomes(futures[2].result(10)) == ["kept"]


def test_a_sender_that_went_away_is_not_written_for_and_stops_nobody(store, intake):
    store.append([BRAMBLE, COAT])
    with held(store):
        first = intake.submit([reading(0)])
        while not first.running():
            pass
        gone = intake.submit([reading(1)])
        assert gone.cancel()
        last = intake.submit([reading(2)])
    assert outcomes(last.result(10)) == ["kept"]
    assert {each.id for each in store.state().dogs["bramble"].readings} == {"r0", "r2"}


def test_a_disk_that_keeps_nothing_is_told_to_all_who_wait(store, intake, monkeypatch):
    def full(_):
        raise NotKept("Nothing was saved: the disk is full.", remedy="Make room on the disk and try again.")

    monkeypatch.setattr(store, "append_all", full)
    futures = [intake.submit([reading(n)]) for n in range(3)]
    for future in futures:
        with pytest.raises(NotKept):
            future.result(10)


def test_what_waits_is_written_when_the_desk_closes_and_nothing_after(store):
    store.append([BRAMBLE, COAT])
    intake = Intake(store)
    with held(store):
        futures = [intake.submit([reading(n)]) for n in range(20)]
        closing = threading.Thread(target=intake.close)
        closing.start()
    closing.join(10)
    assert [outcomes(each.result(0)) for each in futures] == [["kept"]] * 20
    with pytest.raises(NotKept):
        intake.submit([reading(99)]).result(0)
