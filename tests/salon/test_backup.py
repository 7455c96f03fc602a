"""A backup is one sound file, whole or not there; restoring puts all of it back, or changes nothing."""

import shutil
import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest

from coatwright.errors import CoatwrightError, FileFormatError, NotKept, StoreError
from coatwright.salon.backup import back_up, check_backup, restore
from coatwright.salon.engines import address, engines
from coatwright.salon.events import Unfit
from coatwright.salon.migrate import migrate, steps
from coatwright.salon.store import Store
from tests.salon.making import NOON, OWNER
from tests.salon.test_store import BRAMBLE, COAT, event, reading

SORE = event("dog.unfit", Unfit("a sore"), 50)


@pytest.fixture
def filled(store):
    store.append([event("person.set", OWNER, 0, "person:marl"), BRAMBLE, COAT, reading(1)])
    return store


def assert_only_added(store):
    with (
        closing(sqlite3.connect(store.url.database)) as connection,
        pytest.raises(sqlite3.IntegrityError, match="only added"),
    ):
        connection.execute("DELETE FROM events")


def files(folder):
    return sorted(path.name for path in Path(folder).iterdir())


def test_a_backup_holds_everything_and_comes_back(filled, tmp_path):
    before, events = filled.state(), filled.rows()
    report = back_up(filled, tmp_path / "copy.db")
    assert (report.events, report.dogs, report.people, report.shows) == (4, 1, 1, 0)
    assert report.bytes == (tmp_path / "copy.db").stat().st_size
    assert check_backup(report.path) == report
    filled.append([SORE])
    restore(filled, report.path, safety=tmp_path / "before.db")
    assert filled.state() == before
    assert filled.rows() == events
    assert check_backup(tmp_path / "before.db").events == 5
    assert files(tmp_path) == ["before.db", "copy.db", "salon.db"]


def test_the_records_go_on_after_a_restore(filled, tmp_path, clock):
    back_up(filled, tmp_path / "copy.db")
    with Store.open(tmp_path / "salon.db", clock=clock) as other:
        other.append([SORE])
        assert filled.state().dogs["bramble"].unfit == "a sore"
        restore(other, tmp_path / "copy.db", safety=tmp_path / "before.db")
        assert filled.state().dogs["bramble"].unfit == ""
        assert filled.append([SORE])[0].outcome == "kept"
        assert other.state() == filled.state()
    assert_only_added(filled)


def test_a_backup_is_restored_at_the_first_start_without_more_ado(filled, tmp_path, clock):
    back_up(filled, tmp_path / "copy.db")
    with Store.open(tmp_path / "new" / "salon.db", clock=clock) as fresh:
        restore(fresh, tmp_path / "copy.db")
        assert fresh.state() == filled.state()


def test_present_records_are_not_overwritten_without_a_place_to_keep_them(filled, tmp_path):
    back_up(filled, tmp_path / "copy.db")
    with pytest.raises(StoreError, match="would be lost"):
        restore(filled, tmp_path / "copy.db")
    with pytest.raises(NotKept):
        restore(filled, tmp_path / "copy.db", safety=tmp_path / "copy.db" / "inside-a-file.db")
    assert len(filled.events()) == 4


def test_a_backup_of_the_previous_schema_is_restored_in_the_newest(tmp_path, store):
    writer, reader = engines(address(tmp_path / "old.db"))
    migrate(writer, reader, "here", to=steps()[-2])
    writer.dispose()
    reader.dispose()
    with closing(sqlite3.connect(tmp_path / "old.db")) as connection, connection:
        connection.execute(
            "INSERT INTO events (id, stream, kind, at, received, by, version, data) VALUES ('e', 'dog:bramble', "
            "'dog.set', '2026-12-01T08:00:00+00:00', '2026-12-01T08:00:00+00:00', '', 1, "
            """'{"id": "bramble", "name": "Bramble", "pattern": "lakeland"}')"""
        )
    before = (tmp_path / "old.db").read_bytes()
    restore(store, tmp_path / "old.db")
    assert set(store.state().dogs) == {"bramble"}
    assert (tmp_path / "old.db").read_bytes() == before


def test_every_backup_made_while_others_write_is_sound(filled, tmp_path):
    stop = threading.Event()
    failures = []

    def write():
        number = 100
        try:
            while not stop.is_set() and number < 400:
                filled.append([reading(number)])
                number += 1
        except Exception as error:
            failures.append(error)

    thread = threading.Thread(target=write)
    thread.start()
    counts = [back_up(filled, tmp_path / f"copy{number}.db").events for number in range(6)]
    stop.set()
    thread.join()
    assert not failures
    assert counts == sorted(counts)
    for number, count in enumerate(counts):
        assert check_backup(tmp_path / f"copy{number}.db").events == count


# --- files that are no backup -----------------------------------------------------------------------------


def other_database(path):
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE things (id)")


def damaged(path):
    with Store.open(path, clock=lambda: NOON) as made:
        made.append([BRAMBLE, COAT])
    data = bytearray(path.read_bytes())
    data[4096:8192] = b"\xa5" * 4096
    path.write_bytes(data)


def cut_off(path):
    with Store.open(path, clock=lambda: NOON) as made:
        made.append([BRAMBLE, COAT])
    path.write_bytes(path.read_bytes()[:9000])


def newer(path):
    with Store.open(path, clock=lambda: NOON) as made:
        made.append([BRAMBLE])
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")


def nonsense_inside(path):
    with Store.open(path, clock=lambda: NOON):
        pass
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(
            "INSERT INTO events (id, stream, kind, at, received, by, version, data) VALUES "
            "('e', 'dog:x', 'dog.set', '2026-12-01T08:00:00+00:00', '2026-12-01T08:00:00+00:00', '', 1, '{}')"
        )


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda path: path.write_text("a letter"), "no backup"),
        (lambda path: path.write_bytes(b""), "no backup"),
        (lambda path: path.mkdir(), "cannot be read"),
        (lambda path: None, "cannot be read"),
        (other_database, "not one of ours"),
        (damaged, "damaged"),
        (cut_off, "damaged"),
        (newer, "newer"),
        (nonsense_inside, "cannot be used"),
    ],
)
def test_a_file_that_is_no_sound_backup_changes_nothing(filled, tmp_path, make, words):
    path = tmp_path / "copy.db"
    make(path)
    before = filled.rows()
    with pytest.raises(CoatwrightError, match=words) as caught:
        restore(filled, path, safety=tmp_path / "before.db")
    assert caught.value.remedy
    assert filled.rows() == before


def test_a_restore_that_fails_halfway_leaves_the_records_as_they_were(filled, tmp_path):
    back_up(filled, tmp_path / "copy.db")
    filled.append([SORE])
    rows = [*filled.rows(), {**filled.rows()[0], "id": None}]
    with pytest.raises(NotKept):
        filled.replace_all(rows)
    assert len(filled.events()) == 5
    assert filled.state().dogs["bramble"].unfit == "a sore"
    assert_only_added(filled)


def test_a_backup_that_cannot_be_written_leaves_nothing_and_no_harm(filled, tmp_path):
    good = back_up(filled, tmp_path / "copy.db")
    (tmp_path / "folder").mkdir()
    with pytest.raises(NotKept):
        back_up(filled, tmp_path / "folder")
    assert files(tmp_path) == ["copy.db", "folder", "salon.db"]
    assert check_backup(good.path) == good


def test_a_backup_takes_the_place_of_an_older_one_of_the_same_name(filled, tmp_path):
    back_up(filled, tmp_path / "copy.db")
    filled.append([SORE])
    assert back_up(filled, tmp_path / "copy.db").events == 5
    shutil.copyfile(tmp_path / "copy.db", tmp_path / "carried.db")
    assert check_backup(tmp_path / "carried.db").events == 5


def test_a_wrong_kind_of_file_is_an_input_error(tmp_path):
    (tmp_path / "x.db").write_text("x")
    with pytest.raises(FileFormatError):
        check_backup(tmp_path / "x.db")
