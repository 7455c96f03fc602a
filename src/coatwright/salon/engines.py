"""Connections to the database: SQLite set so that nothing acknowledged is lost, PostgreSQL by address.

SQLite before 3.51.3 can corrupt a database in WAL mode when two connections write and checkpoint at once, so
WAL is used only from 3.51.3 on (or the repaired 3.50.7 and 3.44.6), else the rollback journal. Every
transaction that writes begins with BEGIN IMMEDIATE: a plain BEGIN ends in "database is locked" halfway, and
the driver's own way of beginning loses updates.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from coatwright.errors import NotKept, StoreError

BUSY_SECONDS = 10
"""How long a writer waits for another before it gives up."""
WRITE_LOCK = 0x636F6174
"""Key of the PostgreSQL advisory lock that makes one writer of many."""
DATA_FOLDER = "COATWRIGHT_DATA"
DATABASE = "COATWRIGHT_DATABASE"
FILE_NAME = "salon.db"

REMEDIES = (
    (
        ("full", "no space", "disk i/o", "disk quota", "file too large"),
        "Make room on the disk and try again.",
    ),
    (
        ("readonly", "read-only", "permission"),
        "Make the folder and the file writable, or choose another folder.",
    ),
    (("locked", "busy"), "Another program is writing; try again in a moment."),
    (("not a database", "malformed"), "The file is damaged: restore the last backup."),
    (("unable to open",), "See that the folder exists and is yours, or choose another folder."),
    (
        ("connect", "server", "authentication"),
        "See that the database server runs and that its address is right.",
    ),
)


def wal_is_safe(version: tuple[int, ...]) -> bool:
    """Whether SQLite of this version may use WAL: from 3.51.3, from 3.50.7 in 3.50, from 3.44.6 in 3.44."""
    return version >= (3, 51, 3) or (3, 50, 7) <= version < (3, 51) or (3, 44, 6) <= version < (3, 45)


def data_folder() -> Path:
    """Where the salon is kept: ``COATWRIGHT_DATA``, else the user's data folder of the system."""
    from platformdirs import user_data_path

    told = os.environ.get(DATA_FOLDER)
    return Path(told) if told else user_data_path("coatwright", appauthor=False)


def address(where: str | Path | None) -> URL:
    """The address of a database: an address as given, a file, a folder, or the default place.

    Without a place: ``COATWRIGHT_DATABASE`` when it is set (such as ``postgresql://user@host/salon``), else
    ``salon.db`` in :func:`data_folder`.
    """
    if where is None:
        where = os.environ.get(DATABASE) or data_folder() / FILE_NAME
    text = str(where)
    if "://" in text:
        url = make_url(text)
        if url.drivername in ("postgres", "postgresql"):
            url = url.set(drivername="postgresql+psycopg")
        if url.get_backend_name() not in ("sqlite", "postgresql"):
            raise StoreError(
                f"Records cannot be kept in {url.get_backend_name()}.",
                where=url.render_as_string(),
                remedy="Use a file for SQLite, or postgresql://user@host/name.",
            )
        return url
    path = Path(text).expanduser()
    if path.is_dir():
        path /= FILE_NAME
    return URL.create("sqlite", database=str(path.absolute()))


def shown(url: URL) -> str:
    """A database's address for a reader, without its password."""
    return (
        str(url.database) if url.get_backend_name() == "sqlite" else url.render_as_string(hide_password=True)
    )


def engines(url: URL) -> tuple[Engine, Engine]:
    """An engine whose transactions write and one whose transactions only read."""
    if url.get_backend_name() == "sqlite":
        return _sqlite(url, write=True), _sqlite(url, write=False)
    try:
        import psycopg  # noqa: F401
    except ImportError as error:
        raise StoreError(
            "PostgreSQL needs a driver that is not installed.",
            where=shown(url),
            remedy="Install it: pip install 'coatwright[postgres]'.",
        ) from error
    writer = create_engine(url, pool_pre_ping=True)
    event.listen(writer, "begin", _one_writer)
    reader = create_engine(
        url,
        pool_pre_ping=True,
        execution_options={"postgresql_readonly": True, "isolation_level": "REPEATABLE READ"},
    )
    return writer, reader


@contextmanager
def told(url: URL, *, writing: bool) -> Iterator[None]:
    """Turn what a database says into :class:`NotKept` or :class:`StoreError` with a remedy."""
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error, OSError) as error:
        said = str(error.orig) if isinstance(error, DBAPIError) else str(error)
        said = said.strip().splitlines()[0] if said.strip() else type(error).__name__
        low = said.lower()
        found = [remedy for words, remedy in REMEDIES if any(word in low for word in words)]
        remedy = found[0] if found else "See the message of the database."
        if writing:
            raise NotKept(f"Nothing was saved: {said}.", where=shown(url), remedy=remedy) from error
        raise StoreError(
            f"The records cannot be opened or read: {said}.", where=shown(url), remedy=remedy
        ) from error


def _one_writer(connection: Connection) -> None:
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITE_LOCK})")


def _sqlite(url: URL, *, write: bool) -> Engine:
    engine = create_engine(url, connect_args={"timeout": BUSY_SECONDS, "isolation_level": None})

    def connected(connection: Any, _record: object) -> None:
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout = {BUSY_SECONDS * 1000}")
        cursor.execute("PRAGMA foreign_keys = ON")
        if write:
            mode = "WAL" if wal_is_safe(sqlite3.sqlite_version_info) else "DELETE"
            cursor.execute(f"PRAGMA journal_mode = {mode}")
            cursor.execute("PRAGMA synchronous = FULL")
        else:
            cursor.execute("PRAGMA query_only = ON")
        cursor.close()

    def begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    event.listen(engine, "connect", connected)
    event.listen(engine, "begin", begin)
    return engine
