"""Power cuts, full disks and places that cannot be written: nothing acknowledged is lost, nothing half saved.

``COATWRIGHT_KILLS`` and ``COATWRIGHT_WRITES`` make the first test as long as the promise in the reference of
reliability: 30 kills during 10,000 acknowledged writes.
"""

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import event as sqlalchemy_event

from coatwright.errors import NotKept, StoreError
from coatwright.salon.backup import back_up
from coatwright.salon.events import event_of
from coatwright.salon.facts import facts_of
from coatwright.salon.records import Reading
from coatwright.salon.salon import events_of
from coatwright.salon.store import Store
from tests.salon.making import NOON, at, dog, old_coat
from tests.salon.test_store import BRAMBLE, COAT, reading

ROOT = Path(__file__).parents[2]
WRITER = Path(__file__).with_name("writer.py")
KILLS = int(os.environ.get("COATWRIGHT_KILLS", "4"))
WRITES = int(os.environ.get("COATWRIGHT_WRITES", "120"))


def herd(store):
    """Ten dogs for the writer to write about."""
    for number in range(10):
        name = f"bramble{number}"
        facts = facts_of(dog(id=name, name=name))
        store.append([event_of("dog.set", f"dog:{name}", facts, at=at(0), id=f"dog-{number}")])


def integrity(path):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("PRAGMA integrity_check").fetchone()[0]


def test_a_killed_program_loses_nothing_that_it_acknowledged(tmp_path):
    path = tmp_path / "salon.db"
    with Store.open(path, clock=lambda: NOON) as store:
        herd(store)
    acknowledged: set[str] = set()
    slowest = 0.0
    for kill in range(KILLS):
        want = WRITES // KILLS
        writer = subprocess.Popen(
            [sys.executable, str(WRITER), str(path), str(kill * 100_000), str(10 * want)],
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        )
        for _ in range(want):
            outcome, id = writer.stdout.readline().split()
            assert outcome == "kept"
            acknowledged.add(id)
        writer.kill()
        rest, _ = writer.communicate()
        # What was printed before the kill arrived was acknowledged too; the last line may be cut off.
        acknowledged |= {line.split()[1] for line in rest.splitlines()[:-1]}
        began = time.perf_counter()
        with Store.open(path, clock=lambda: NOON) as store:
            kept = {each.id for _, each in store.events()}
            state = store.state()
        slowest = max(slowest, time.perf_counter() - began)
        assert acknowledged <= kept
        assert len(state.dogs) == 10
        assert integrity(path) == "ok"
    assert slowest < 3.0
    print(f"{KILLS} kills, {len(acknowledged)} acknowledged, none lost, open again within {slowest:.2f} s")


@contextmanager
def without_rights():
    """Leave the rights of the system's administrator aside, whom no permission stops."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def open_folder():
    """A folder that other users can look into."""
    folder = Path(tempfile.mkdtemp(prefix="coatwright-"))
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


needs_permissions = pytest.mark.skipif(not hasattr(os, "geteuid"), reason="permissions of another kind here")


@needs_permissions
def test_records_that_cannot_be_written_can_be_read_and_say_so(open_folder):
    path = open_folder / "salon.db"
    with Store.open(path, clock=lambda: NOON) as store:
        store.append([BRAMBLE])
    path.chmod(0o444)
    open_folder.chmod(0o555)
    try:
        with without_rights(), Store.open(path, clock=lambda: NOON) as store:
            assert set(store.state().dogs) == {"bramble"}
            with pytest.raises(NotKept) as caught:
                store.append([COAT])
            assert "Nothing was saved" in caught.value.what
            assert "writable" in caught.value.remedy
            assert caught.value.where == str(path)
            assert store.state().dogs["bramble"].assessments == ()
    finally:
        open_folder.chmod(0o755)
    assert [name.name for name in open_folder.iterdir()] == ["salon.db"]


@needs_permissions
def test_a_folder_that_cannot_be_written_gets_no_records_and_says_so(open_folder):
    open_folder.chmod(0o555)
    try:
        with without_rights():
            for place in (open_folder / "salon.db", open_folder / "deeper" / "salon.db"):
                with pytest.raises(StoreError) as caught:
                    Store.open(place)
                assert caught.value.remedy
                assert str(open_folder) in caught.value.where
    finally:
        open_folder.chmod(0o755)
    assert list(open_folder.iterdir()) == []


@needs_permissions
def test_a_backup_into_a_folder_that_cannot_be_written_says_so(open_folder, store):
    store.append([BRAMBLE])
    open_folder.chmod(0o555)
    try:
        with without_rights(), pytest.raises(NotKept) as caught:
            back_up(store, open_folder / "copy.db")
        assert str(open_folder / "copy.db") == caught.value.where
    finally:
        open_folder.chmod(0o755)
    assert list(open_folder.iterdir()) == []


def fill_until_full(store):
    """Append readings until nothing more is kept; the number kept, and the error."""
    for number in range(5000):
        try:
            store.append([reading(number)])
        except NotKept as error:
            return number, error
    pytest.fail("the disk never became full")


def test_a_full_disk_keeps_what_was_acknowledged_and_nothing_half(store, clock, tmp_path):
    store.append([BRAMBLE, COAT])

    def small(connection, _record):
        connection.execute("PRAGMA max_page_count = 16")

    sqlalchemy_event.listen(store._writer, "connect", small)
    store._writer.dispose()
    kept, error = fill_until_full(store)
    assert kept > 0
    assert "Nothing was saved" in error.what
    assert "room on the disk" in error.remedy
    assert len(store.state().dogs["bramble"].readings) == kept
    big = dog(
        id="big",
        name="Big",
        assessments=(old_coat(),),
        readings=tuple(Reading(f"r{n}", date(2027, 1, 1), "back", 20.0) for n in range(200)),
    )
    with pytest.raises(NotKept):
        store.change(lambda _: events_of(big, at=at(0)))
    assert set(store.state().dogs) == {"bramble"}
    assert integrity(tmp_path / "salon.db") == "ok"
    with Store.open(tmp_path / "salon.db", clock=clock) as again:
        assert len(again.state().dogs["bramble"].readings) == kept
        assert again.append([reading(9000)])[0].outcome == "kept"


LIMITED = """
import resource, signal, sys
from coatwright.errors import NotKept
from coatwright.salon.store import Store
from tests.salon.making import NOON
from tests.salon.test_store import reading

signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with Store.open(sys.argv[1], clock=lambda: NOON) as store:
    resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, resource.RLIM_INFINITY))
    for number in range(5000):
        try:
            store.append([reading(number)])
        except NotKept as error:
            print(number, error.remedy)
            break
    assert len(store.state().dogs["bramble"].readings) == number
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    assert store.append([reading(9000)])[0].outcome == "kept"
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no limit on the size of files there")
def test_a_file_that_may_not_grow_is_a_full_disk(tmp_path):
    path = tmp_path / "salon.db"
    with Store.open(path, clock=lambda: NOON) as store:
        store.append([BRAMBLE, COAT])
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    kept = int(done.stdout.split()[0])
    assert kept > 0
    assert "room on the disk" in done.stdout
    assert integrity(path) == "ok"
    with Store.open(path, clock=lambda: NOON) as store:
        assert len(store.state().dogs["bramble"].readings) == kept + 1


def test_a_locked_database_is_said_to_be_busy_and_nothing_is_kept(store, monkeypatch):
    store.append([BRAMBLE])

    def impatient(connection, _record):
        connection.execute("PRAGMA busy_timeout = 50")

    sqlalchemy_event.listen(store._writer, "connect", impatient)
    store._writer.dispose()
    with closing(sqlite3.connect(store.url.database, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(NotKept, match="locked") as caught:
            store.append([COAT])
        assert "try again" in caught.value.remedy
        other.execute("ROLLBACK")
    assert store.append([COAT])[0].outcome == "kept"
