"""The schema is brought up to date step by step; a step that fails leaves the schema of the step before."""

import threading

import pytest
from sqlalchemy import event, inspect, text

from coatwright.errors import StoreError
from coatwright.salon import migrate as migrating
from coatwright.salon.engines import address, engines
from coatwright.salon.facts import facts_of
from coatwright.salon.migrate import migrate, revision_of, steps
from coatwright.salon.schema import HEAD, metadata
from coatwright.salon.store import Store
from tests.salon.making import NOON, dog
from tests.salon.test_store import BRAMBLE
from tests.salon.test_store import event as made


@pytest.fixture
def pair(tmp_path):
    writer, reader = engines(address(tmp_path / "salon.db"))
    yield writer, reader
    writer.dispose()
    reader.dispose()


def schema_of(engine):
    with engine.connect() as connection:
        found = inspect(connection)
        columns = {
            table: {(item["name"], str(item["type"]), item["nullable"]) for item in found.get_columns(table)}
            for table in found.get_table_names()
            if table != "alembic_version"
        }
        triggers = connection.execute(
            text("SELECT name FROM sqlite_master WHERE type IN ('trigger', 'index') ORDER BY name")
        )
        return columns, {name for (name,) in triggers if not name.startswith("sqlite_")}


def test_the_newest_step_is_the_one_that_the_program_asks_for():
    assert steps()[-1] == HEAD
    assert steps() == sorted(steps())


def test_an_empty_database_gets_every_step(pair):
    assert migrate(*pair, "here") == steps()
    assert migrate(*pair, "here") == []
    with pair[1].begin() as connection:
        assert revision_of(connection) == HEAD


def test_the_steps_make_what_the_tables_of_the_program_say(pair, tmp_path):
    migrate(*pair, "here")
    writer, reader = engines(address(tmp_path / "made.db"))
    metadata.create_all(writer)
    assert schema_of(pair[0])[0] == schema_of(writer)[0]
    assert "events_stream" in schema_of(pair[0])[1] & schema_of(writer)[1]
    writer.dispose()
    reader.dispose()


def test_records_of_the_previous_schema_are_there_in_the_newest(pair, tmp_path):
    migrate(*pair, "here", to=steps()[-2])
    with pair[0].begin() as connection:
        connection.execute(
            text(
                "INSERT INTO events (id, stream, kind, at, received, by, version, data) VALUES "
                "(:id, 'dog:bramble', 'dog.set', '2026-12-01T08:00:00+00:00', "
                "'2026-12-01T08:00:00+00:00', '', 1, :data)"
            ),
            {"id": BRAMBLE.id, "data": '{"id": "bramble", "name": "Bramble", "pattern": "lakeland"}'},
        )
    with Store.open(tmp_path / "salon.db", clock=lambda: NOON) as store:
        assert store.state().dogs["bramble"] == dog()
        assert store.append([BRAMBLE])[0].outcome == "already"


def test_records_of_a_newer_program_are_left_alone(pair, tmp_path):
    migrate(*pair, "here")
    with pair[0].begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreError, match="newer") as caught:
        Store.open(tmp_path / "salon.db")
    assert "Update" in caught.value.remedy


@pytest.mark.parametrize("step", steps())
def test_a_step_stopped_at_any_statement_leaves_the_schema_before_it(tmp_path, step):
    """Stopped as by a lost machine: the transaction is not ended, the connection just goes."""
    order = steps()
    for stop in range(40):
        path = tmp_path / f"{stop}.db"
        writer, reader = engines(address(path))
        for earlier in order[: order.index(step)]:
            migrate(writer, reader, "here", to=earlier)
        before = schema_of(reader)
        count = iter(range(1000))

        def at_statement(connection, cursor, statement, *_rest, count=count, stop=stop):
            if statement.split()[0].upper() != "SELECT" and next(count) == stop:
                raise RuntimeError("stopped")

        event.listen(writer, "before_cursor_execute", at_statement)
        finished = False
        try:
            migrate(writer, reader, "here", to=step)
            finished = True
        except RuntimeError:
            pass
        event.remove(writer, "before_cursor_execute", at_statement)
        if not finished:
            assert schema_of(reader) == before
        writer.dispose()
        reader.dispose()
        with Store.open(path, clock=lambda: NOON) as store:
            assert store.append([made("dog.set", facts_of(dog()), 0)])[0].outcome == "kept"
        if finished:
            assert stop >= 2
            return
    pytest.fail("the step has more statements than were tried")


def test_two_programs_that_open_a_new_place_at_once_make_one_schema(tmp_path):
    failures = []
    barrier = threading.Barrier(4)

    def open_it():
        try:
            barrier.wait()
            with Store.open(tmp_path / "salon.db", clock=lambda: NOON) as store:
                store.append([BRAMBLE])
        except Exception as error:
            failures.append(error)

    threads = [threading.Thread(target=open_it) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failures
    with Store.open(tmp_path / "salon.db", clock=lambda: NOON) as store:
        assert len(store.events()) == 1


def test_the_migrations_are_part_of_the_package():
    assert (migrating.FOLDER / "env.py").is_file()
    assert len(list((migrating.FOLDER / "versions").glob("m*.py"))) == len(steps())
