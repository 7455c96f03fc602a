"""Bringing the schema up to date: step after step, each in one transaction that holds the write lock."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, inspect, text

from coatwright.errors import StoreError
from coatwright.salon.schema import HEAD

if TYPE_CHECKING:
    from alembic.config import Config

FOLDER = Path(__file__).parent / "migrations"


def revision_of(connection: Connection) -> str | None:
    """The revision of a database's schema; ``None`` for an empty database."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def steps() -> list[str]:
    """All revisions, oldest first."""
    from alembic.script import ScriptDirectory

    script = ScriptDirectory.from_config(_config())
    return [step.revision for step in reversed(list(script.walk_revisions()))]


def migrate(writer: Engine, reader: Engine, place: str, to: str = HEAD) -> list[str]:
    """Run the steps that are missing and return their revisions.

    A step that fails leaves the schema of the step before. Raises :class:`StoreError` when the database was
    made by a newer program.
    """
    done: list[str] = []
    with reader.begin() as connection:
        current = revision_of(connection)
    while current != to:
        _following(current, place)
        with writer.begin() as connection:
            current = revision_of(connection)  # another program may have been quicker
            if current != to:
                current = _following(current, place)
                _step(connection, current)
                done.append(current)
    return done


def _following(current: str | None, place: str) -> str:
    order = steps()
    if current is None:
        return order[0]
    if current not in order:
        raise StoreError(
            f"The records were written by a newer Coatwright (schema {current}).",
            where=place,
            remedy="Update Coatwright on this machine.",
        )
    return order[order.index(current) + 1]


def _step(connection: Connection, revision: str) -> None:
    from alembic import command

    config = _config()
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def _config() -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    return config
