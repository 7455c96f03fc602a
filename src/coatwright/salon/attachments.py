"""Files kept beside the records: photographs and traces, each under the digest of what is in it.

A file is named by the SHA-256 of its content (FIPS 180-4), so that it can be kept twice and counts once, never
changes, and tells by itself when it is damaged. It appears whole or not at all: written beside its place, put on the
disk, then moved there. Events name the files that they rest on; a backup holds those, and none that nothing names.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import time
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from coatwright.errors import NotKept, OutOfRange, StoreError

if TYPE_CHECKING:
    from coatwright.salon.store import Store

KINDS = ("jpg", "png", "webp", "json.gz")
"""What is kept: pictures, and JSON packed by gzip (RFC 1952)."""
NAME = re.compile(r"[0-9a-f]{64}\.(?:jpg|png|webp|json\.gz)")
DIGEST = re.compile(r"(?<![0-9a-f])[0-9a-f]{64}(?![0-9a-f])")
MOST_BYTES = 80_000_000
FOLDER = "files"
PART = ".part-"
FORGOTTEN_S = 7 * 86400.0
"""A file that nothing names goes after this long: a program was stopped before its event was kept."""
STALE_S = 3600.0
"""A file half written that is older than this was left by a program that was stopped."""


def digest_of(data: bytes) -> str:
    """With which the name of a file begins: the same bytes have the same."""
    return hashlib.sha256(data).hexdigest()


class Attachments:
    """The kept files in a folder. Safe to share between threads and processes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @classmethod
    def of(cls, store: Store) -> Attachments:
        """Those of a store: ``salon-files`` beside ``salon.db``; for a server's database in the data folder."""
        from coatwright.salon.engines import data_folder

        if store.url.get_backend_name() == "sqlite":
            file = Path(str(store.url.database))
            return cls(file.with_name(f"{file.stem}-{FOLDER}"))
        parts = (store.url.host or "local", store.url.port or "", store.url.database or "")
        key = re.sub(r"[^A-Za-z0-9._-]+", "_", "-".join(str(part) for part in parts if part))
        return cls(data_folder() / f"{key}-{FOLDER}")

    def put(self, data: bytes, kind: str) -> str:
        """Keep ``data`` of a ``kind`` (:data:`KINDS`) and tell its name.

        It is on the disk when this returns. Raises :class:`~coatwright.errors.NotKept` when it cannot be kept.
        """
        if kind not in KINDS:
            raise OutOfRange(f"Files of the kind {kind!r} are not kept.", remedy=f"Use {', '.join(KINDS)}.")
        if not 0 < len(data) <= MOST_BYTES:
            raise OutOfRange(
                f"The file has {len(data) / 1e6:.1f} MB.",
                remedy=f"Keep it above 0 and at most {MOST_BYTES / 1e6:.0f} MB.",
            )
        name = f"{digest_of(data)}.{kind}"
        target = self.path(name)
        if target.exists() and _sound(target, name):
            with suppress(OSError):
                os.utime(target)  # wanted again: it is not forgotten
            return name
        with _kept(target):
            target.parent.mkdir(parents=True, exist_ok=True)
            write_whole(target, data)
        return name

    def get(self, name: str) -> bytes:
        """The content of a kept file. Raises :class:`~coatwright.errors.StoreError`: it is gone, or damaged."""
        place = self.path(name)
        try:
            data = place.read_bytes()
        except OSError as error:
            raise StoreError(
                f"A kept file cannot be read: {error.strerror or error}.",
                where=str(place),
                remedy="Restore the last backup, which holds it.",
            ) from error
        if digest_of(data) != name[:64]:
            raise StoreError(
                "A kept file is damaged: it is not what was kept under its name.",
                where=str(place),
                remedy="Restore the last backup, which holds it.",
            )
        return data

    def has(self, name: str) -> bool:
        """Whether a file is kept under this name."""
        return self.path(name).is_file()

    def path(self, name: str) -> Path:
        """Where the file of this name lies, there or not. Raises :class:`~coatwright.errors.OutOfRange`."""
        if NAME.fullmatch(name) is None:
            raise OutOfRange(
                f"{name[:80]!r} is no name of a kept file.", remedy="Use the name under which it was kept."
            )
        return self.folder / name[:2] / name

    def find(self, digest: str) -> str | None:
        """The name under which content of this digest is kept, whatever kind it is of; None where it is not."""
        names = (f"{digest}.{kind}" for kind in KINDS)
        return next((name for name in names if NAME.fullmatch(name) and self.has(name)), None)

    def names(self) -> Iterator[str]:
        """The names of all kept files, in order."""
        for place in sorted(self.folder.glob("??/*")):
            if NAME.fullmatch(place.name):
                yield place.name

    def remove(self, names: Iterable[str]) -> None:
        """Take files away; one that is gone already is no error."""
        for name in names:
            with suppress(OSError):
                self.path(name).unlink(missing_ok=True)

    def sweep(self, wanted: Collection[str] | None = None, *, now: float | None = None) -> int:
        """Take away what a stopped program left: half-written files and, where ``wanted`` digests are given, files
        that are not among them and were kept more than a week ago. Tells how many.
        """
        at, found = time.time() if now is None else now, 0
        forgotten = [] if wanted is None else [name for name in self.names() if name[:64] not in wanted]
        for name in forgotten:
            with suppress(OSError):
                if at - self.path(name).stat().st_mtime > FORGOTTEN_S:
                    self.path(name).unlink()
                    found += 1
        for place in self.folder.rglob(f"{PART}*"):
            with suppress(OSError):
                if at - place.stat().st_mtime > STALE_S:
                    place.unlink()
                    found += 1
        return found


def named_in(text: str) -> set[str]:
    """The digests of kept files that stand in a text, such as an event's data; with or without the kind behind."""
    return set(DIGEST.findall(text))


def named_by_events(store: Store) -> set[str]:
    """The digests of all files that an event names, undone ones too: an undoing can be undone."""
    found: set[str] = set()
    for row in store.rows():
        found |= named_in(str(row["data"]))
    return found


def write_whole(target: Path, data: bytes) -> None:
    """Write a file so that it is there whole, on the disk, or not at all; its folder must be there."""
    handle, part = tempfile.mkstemp(dir=target.parent, prefix=PART)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        Path(part).replace(target)
    except BaseException:
        with suppress(OSError):
            Path(part).unlink(missing_ok=True)
        raise
    _flush_folder(target.parent)


def _flush_folder(folder: Path) -> None:
    """Put the list of a folder on the disk; Windows has no such call."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _sound(place: Path, name: str) -> bool:
    try:
        return digest_of(place.read_bytes()) == name[:64]
    except OSError:
        return False


@contextmanager
def _kept(target: Path) -> Iterator[None]:
    """Turn what the system says into :class:`NotKept`."""
    try:
        yield
    except OSError as error:
        raise NotKept(
            f"The file was not kept: {error.strerror or error}.",
            where=str(target.parent),
            remedy="Make room on the disk, or make the folder writable, and try again.",
        ) from error
