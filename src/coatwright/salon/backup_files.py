"""The kept files in a backup: a table of their own beside the events, each with its name and content."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from coatwright.errors import FileFormatError, StoreError
from coatwright.salon.attachments import NAME, Attachments, digest_of, named_in

TABLE = "files"


def pack(copy: Path, rows: Iterable[Mapping[str, Any]], files: Attachments) -> int:
    """Put the files that the events in ``rows`` name into a copy of the records; how many.

    One that is gone, or no longer what was kept under its name, is left out.
    """
    digests = {digest for row in rows for digest in named_in(str(row["data"]))}
    count = 0
    with closing(sqlite3.connect(copy)) as connection:
        connection.execute(f"CREATE TABLE {TABLE} (name TEXT PRIMARY KEY, data BLOB NOT NULL)")
        for digest in sorted(digests):
            name = files.find(digest)
            if name is None:
                continue
            try:
                data = files.get(name)
            except StoreError:
                continue
            connection.execute(f"INSERT INTO {TABLE} VALUES (?, ?)", (name, data))
            connection.commit()  # one at a time: photographs are large
            count += 1
        connection.commit()
    return count


def missing(copy: Path, rows: Iterable[Mapping[str, Any]]) -> int:
    """How many files the events in ``rows`` name that a backup does not hold."""
    named = {name for row in rows for name in NAME.findall(str(row["data"]))}
    with closing(_read_only(copy)) as connection:
        held = (
            {name for (name,) in connection.execute(f"SELECT name FROM {TABLE}")}
            if _has(connection)
            else set()
        )
    return len(named - held)


def check(copy: Path) -> int:
    """How many files a backup holds. Raises :class:`FileFormatError` when one is not what its name says."""
    count = 0
    with closing(_read_only(copy)) as connection:
        if not _has(connection):  # made before files were kept
            return 0
        for name, data in connection.execute(f"SELECT name, data FROM {TABLE}"):
            if NAME.fullmatch(name) is None or digest_of(data) != name[:64]:
                raise FileFormatError(
                    f"The kept file {name[:80]} in the backup is damaged.",
                    where=str(copy),
                    remedy="Choose an earlier backup.",
                )
            count += 1
    return count


def unpack(copy: Path, files: Attachments) -> None:
    """Keep the files of a backup again; those that are there already stay."""
    with closing(_read_only(copy)) as connection:
        if _has(connection):
            for name, data in connection.execute(f"SELECT name, data FROM {TABLE}"):
                files.put(data, name.partition(".")[2])


def _read_only(copy: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{copy.absolute().as_uri()}?mode=ro&immutable=1", uri=True)


def _has(connection: sqlite3.Connection) -> bool:
    query = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?"
    return connection.execute(query, (TABLE,)).fetchone() is not None
