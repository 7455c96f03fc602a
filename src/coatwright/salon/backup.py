"""A copy of the records in one file, made while they are in use, and the way back.

The file is an SQLite database of its own, whatever the records are kept in, so that it opens anywhere. It holds the
kept files that events name too: photographs and traces. What is not accepted yet is not in it.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sqlalchemy.engine import URL

from coatwright.errors import FileFormatError, NotKept, StoreError
from coatwright.salon import backup_files
from coatwright.salon.attachments import Attachments
from coatwright.salon.engines import told
from coatwright.salon.store import Store

MAGIC = b"SQLite format 3\x00"
BESIDE = ("-journal", "-wal", "-shm")
"""Files that SQLite may keep beside a database while it is in use."""


@dataclass(frozen=True, slots=True)
class Report:
    """What a backup holds."""

    path: Path
    events: int
    dogs: int
    people: int
    shows: int
    bytes: int
    files: int = 0
    missing: int = 0
    """Files that events name and that are not there."""


def back_up(store: Store, to: str | Path) -> Report:
    """Copy the records to a file, as they are at one moment, and check the copy.

    The file appears only when it is whole and on the disk; one of the same name is replaced. Raises
    :class:`~coatwright.errors.NotKept` when it cannot be written, and leaves no half of it.
    """
    return _write(store.rows(), Path(to), Attachments.of(store))


def check_backup(path: str | Path) -> Report:
    """Whether a file is a sound backup that this program can read; the file stays as it is.

    Raises :class:`FileFormatError` when it is none, and :class:`StoreError` when it was made by a newer
    program.
    """
    file = Path(path)
    _check_file(file)
    with _opened(file) as copy:
        salon, rows = copy.state(), copy.rows()
    if salon.set_aside and not salon.dogs:
        raise FileFormatError(
            f"What it holds cannot be used: {salon.set_aside[0].why}",
            where=str(file),
            remedy="Choose another backup.",
        )
    counts = len(salon.dogs), len(salon.people), len(salon.shows)
    kept = backup_files.check(file), backup_files.missing(file, rows)
    return Report(file, len(rows), *counts, file.stat().st_size, *kept)


def restore(store: Store, path: str | Path, *, safety: str | Path | None = None) -> Report:
    """Put the records of a backup in the place of the present ones: all of them or, if it fails, none.

    The backup is checked first, and its files are kept before its events count. ``safety`` is a file to which the
    present records are backed up before they go; it must be given unless there are none.
    """
    report = check_backup(path)
    with _opened(Path(path)) as copy:
        rows = copy.rows()

    def keep(present: Sequence[dict[str, Any]]) -> None:
        if not present:
            return
        if safety is None:
            raise StoreError(
                f"The {len(present)} events kept here would be lost.",
                where=store.place,
                remedy="Name a file to which they are backed up first.",
            )
        _write(present, Path(safety), files)

    files = Attachments.of(store)
    backup_files.unpack(report.path, files)
    store.replace_all(rows, first=keep)
    return report


def _write(rows: Sequence[dict[str, Any]], path: Path, files: Attachments) -> Report:
    part = path.absolute().with_name(f".{path.name}.part")
    try:
        with told(URL.create("sqlite", database=str(path)), writing=True):
            _remove(part)
            with Store.open(part) as copy:
                copy.replace_all(rows)
            backup_files.pack(part, rows, files)
            with closing(sqlite3.connect(part)) as connection:
                connection.execute("PRAGMA journal_mode = DELETE")
            report = check_backup(part)
            _flush(part)
            part.replace(path)
            _flush(path.absolute().parent)
    except (FileFormatError, StoreError) as error:
        raise NotKept(error.what, where=str(path), remedy=error.remedy) from error
    finally:
        with suppress(OSError):
            _remove(part)
    return replace(report, path=path)


def _remove(part: Path) -> None:
    for left in (part, *(part.with_name(part.name + end) for end in BESIDE)):
        left.unlink(missing_ok=True)


def _flush(path: Path) -> None:
    """Put a file, or the list of a folder, on the disk; Windows has no such call for folders."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _check_file(file: Path) -> None:
    try:
        with file.open("rb") as stream:
            start = stream.read(len(MAGIC))
    except OSError as error:
        raise FileFormatError(
            f"The backup cannot be read: {error.strerror or error}.",
            where=str(file),
            remedy="Check its name and place, and that you may read it.",
        ) from error
    if start != MAGIC:
        raise FileFormatError(
            "This is no backup of the records.", where=str(file), remedy="Choose a file that was made as one."
        )
    try:
        with closing(
            sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
        ) as connection:
            found = connection.execute("PRAGMA integrity_check").fetchall()
            tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    except sqlite3.Error as error:
        raise _damaged(file, str(error)) from error
    if found != [("ok",)]:
        raise _damaged(file, str(found[0][0]))
    if not {"events", "alembic_version"} <= tables:
        raise FileFormatError(
            "This is a database, but not one of ours.", where=str(file), remedy="Choose another file."
        )


def _damaged(file: Path, said: str) -> FileFormatError:
    said = said.strip().splitlines()[0] if said.strip() else "unreadable"
    return FileFormatError(
        f"The backup is damaged: {said}.", where=str(file), remedy="Choose an earlier backup."
    )


@contextmanager
def _opened(file: Path) -> Iterator[Store]:
    """The backup as records of its own, in a copy whose schema is brought up to date."""
    with tempfile.TemporaryDirectory(prefix="coatwright-") as folder:
        copy = Path(folder) / "copy.db"
        try:
            shutil.copyfile(file, copy)
        except OSError as error:
            raise StoreError(
                f"The backup cannot be copied: {error.strerror or error}.",
                where=str(file),
                remedy="Make room in the folder for temporary files, then try again.",
            ) from error
        with Store.open(copy) as store:
            yield store
