"""A photographed sheet between reading and accepting: its hairs as read, put right and marked by hand.

The photograph and the reading are kept files (:mod:`coatwright.salon.attachments`); what was changed by hand is a
list of repairs and marks beside them, so that every hair, length and count can be made again from what is kept.
"""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from coatwright.errors import FileFormatError, NotKept, UnknownName
from coatwright.paper.marks import Hair
from coatwright.paper.repair import Hairs, numbered, replay, taken_back
from coatwright.paper.repair_record import Repair
from coatwright.paper.whole import SheetRead
from coatwright.salon.attachments import Attachments, write_whole
from coatwright.salon.history import PaperCount
from coatwright.salon.plain import Misplaced, from_plain, json_ready, to_plain
from coatwright.units import Millimetres

WHOLE, BROKEN, OPEN, NO_HAIR = "whole", "broken", "unjudged", "not a hair"
MARKS = (WHOLE, BROKEN, OPEN, NO_HAIR)
"""What a hair can be marked as by hand."""
MEASURING = ("whole", "cut")
"""Purposes of sheets that measure how the program judges: what it judged wrong must stand there."""
FOLDER = "drafts"
DECIMALS = 3
"""Digits kept of a length in a record, mm."""


@dataclass(frozen=True)
class SheetHead:
    """Whose hair lies on a sheet, and what it was pulled, printed and photographed with."""

    id: str
    dog: str
    zone: str
    day: date
    tool: str = ""
    groomer: str = ""
    purpose: str = "tool"
    phone: str = ""
    printer: str = ""
    bar_mm: Millimetres = 100.0

    @classmethod
    def of(cls, dog: str, paper: PaperCount) -> SheetHead:
        """That of a kept test of a dog, by the dog's id."""
        return cls(
            paper.id, dog, paper.zone, paper.day, paper.tool, paper.groomer, paper.purpose, paper.phone,
            paper.printer, paper.bar_mm,
        )  # fmt: skip

    def checked(self) -> SheetHead:
        """The same. Raises :class:`~coatwright.errors.InputError` where no test could be kept under it."""
        PaperCount(
            self.id, self.day, self.zone, self.tool, self.groomer, counted_whole=1, purpose=self.purpose,
            phone=self.phone, printer=self.printer, bar_mm=self.bar_mm,
        )  # fmt: skip
        return self


@dataclass(frozen=True, eq=False)
class ByHand:
    """What was put right by hand: repairs in order, and marks by the number of the hair.

    ``laid`` holds, for each repair, the marks that it laid aside: they were of the hairs that it changed, and come
    back when it is taken back.
    """

    repairs: tuple[Repair, ...] = ()
    marks: Mapping[int, str] = field(default_factory=dict)
    laid: tuple[Mapping[int, str], ...] = ()

    def with_repair(self, done: Repair) -> ByHand:
        """The same and one more repair; marks of the hairs that it changes are laid aside."""
        aside = {number: word for number, word in self.marks.items() if number in done.touched}
        kept = {number: word for number, word in self.marks.items() if number not in done.touched}
        return ByHand((*self.repairs, done), kept, (*self._laid, aside))

    def without_repair(self, which: int) -> ByHand:
        """The same without a repair, by its place in the list, and without those that stand on it.

        Marks that were laid aside come back, those of hairs that only the repairs made go. Raises
        :class:`~coatwright.errors.OutOfRange` where there is no such repair.
        """
        left = taken_back(self.repairs, which)
        stays = {id(repair) for repair in left}  # two repairs may be alike
        rows = list(zip(self.repairs, self._laid, strict=True))
        marks = dict(self.marks)
        for repair, aside in reversed(rows):
            if id(repair) not in stays:
                marks = {number: word for number, word in marks.items() if number not in repair.touched}
                marks.update(aside)
        return ByHand(tuple(left), marks, tuple(aside for repair, aside in rows if id(repair) in stays))

    @property
    def _laid(self) -> tuple[Mapping[int, str], ...]:
        """What each repair laid aside; nothing where that was not kept."""
        return self.laid or ({},) * len(self.repairs)

    def counted(self, purpose: str) -> ByHand:
        """What of it counts on a sheet of this purpose: all repairs, and the marks of :func:`marks_for`."""
        known = marks_for(purpose)
        return replace(self, marks={number: word for number, word in self.marks.items() if word in known})

    def as_json(self) -> dict[str, Any]:
        """Numbers and words only."""
        return {
            "repairs": [one.as_json() for one in self.repairs],
            "marks": _plain(self.marks),
            **({"laid": [_plain(aside) for aside in self.laid]} if any(self.laid) else {}),
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> ByHand:
        """What :meth:`as_json` wrote. Raises :class:`~coatwright.errors.FileFormatError`."""
        try:
            marks, *laid = (
                {int(number): str(word) for number, word in each.items()}
                for each in (data["marks"], *data.get("laid", ()))
            )
            repairs = tuple(Repair.from_json(one) for one in data["repairs"])
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise _unreadable(error) from error
        if not {word for each in (marks, *laid) for word in each.values()} <= set(MARKS):
            raise FileFormatError("A hair is marked with a word that is not known.", where="marks")
        if laid and len(laid) != len(repairs):
            raise FileFormatError("Marks were laid aside by a repair that is not there.", where="laid")
        return cls(repairs, marks, tuple(laid))


def _plain(marks: Mapping[int, str]) -> dict[str, str]:
    return {str(number): word for number, word in sorted(marks.items())}


def marks_for(purpose: str) -> tuple[str, ...]:
    """What a hair can be marked as on a sheet of this purpose: only as none where it measures the judging."""
    return (NO_HAIR,) if purpose in MEASURING else MARKS


@dataclass(frozen=True, eq=False)
class PaperDraft:
    """A sheet that was read and is not accepted yet.

    ``photo`` and ``reading`` are the names of the kept files.
    """

    head: SheetHead
    photo: str
    reading: str
    read: SheetRead
    by_hand: ByHand = field(default_factory=ByHand)

    @property
    def id(self) -> str:
        """Its id, which the accepted test keeps."""
        return self.head.id

    @cached_property
    def hairs(self) -> Hairs:
        """The hairs by number after all repairs; those marked as none are still among them."""
        return repaired(self.read, self.by_hand)

    def state(self, number: int) -> str:
        """What a hair counts as: one of :data:`MARKS`, by hand or as read."""
        return state_of(self.hairs, self.by_hand.counted(self.head.purpose), number)

    @cached_property
    def lengths(self) -> dict[str, tuple[Millimetres, ...]]:
        """Lengths of the hairs (mm) by what they count as."""
        return lengths_of(self.read, self.by_hand.counted(self.head.purpose))

    @property
    def counted(self) -> dict[str, int]:
        """How many hairs count as what."""
        return {word: len(lengths) for word, lengths in self.lengths.items()}

    def record(self, traces: str = "") -> PaperCount:
        """The test as it would be accepted now. Raises :class:`~coatwright.errors.OutOfRange` without a hair."""
        return record_of(self.head, self.read, self.by_hand, self.photo, traces)


def repaired(read: SheetRead, by_hand: ByHand) -> dict[int, Hair]:
    """The hairs of a reading by number, after the repairs made by hand."""
    return replay(numbered(read.hairs), by_hand.repairs, blur_px=read.place.blur_px)


def state_of(hairs: Hairs, by_hand: ByHand, number: int) -> str:
    """What a hair counts as. Raises :class:`~coatwright.errors.UnknownName`."""
    if number not in hairs:
        raise UnknownName(
            f"There is no hair {number + 1}.", remedy="It was joined to another, or never read."
        )
    if number in by_hand.marks:
        return by_hand.marks[number]
    whole = hairs[number].whole
    return OPEN if whole is None else WHOLE if whole else BROKEN


def lengths_of(read: SheetRead, by_hand: ByHand) -> dict[str, tuple[Millimetres, ...]]:
    """Lengths (mm) by what the hairs count as, in the order of their numbers."""
    hairs = repaired(read, by_hand)
    found: dict[str, list[Millimetres]] = {word: [] for word in MARKS}
    for number, hair in sorted(hairs.items()):
        found[state_of(hairs, by_hand, number)].append(round(float(hair.length_mm), DECIMALS))
    return {word: tuple(lengths) for word, lengths in found.items()}


def record_of(head: SheetHead, read: SheetRead, by_hand: ByHand, photo: str, traces: str) -> PaperCount:
    """The record of a sheet, worked out from its traces and those marks that count for its purpose."""
    lengths = lengths_of(read, by_hand.counted(head.purpose))
    return PaperCount(
        id=head.id,
        day=head.day,
        zone=head.zone,
        tool=head.tool,
        groomer=head.groomer,
        whole_mm=lengths[WHOLE],
        broken_mm=lengths[BROKEN],
        open_mm=lengths[OPEN],
        purpose=head.purpose,
        sheet=read.sheet,
        photo=photo,
        traces=traces,
        phone=head.phone,
        printer=head.printer,
        bar_mm=head.bar_mm,
    )


def packed(read: SheetRead, by_hand: ByHand | None = None, **more: Any) -> bytes:
    """A reading, what was put right by hand and ``more`` plain values, as they are kept: the same for the same."""
    return packed_table(read.as_json() | ({} if by_hand is None else {"by_hand": by_hand.as_json()}) | more)


def unpacked(data: bytes) -> tuple[SheetRead, ByHand]:
    """What :func:`packed` wrote. Raises :class:`~coatwright.errors.FileFormatError`."""
    table = unpacked_table(data)
    by_hand = table.get("by_hand")
    return SheetRead.from_json(table), ByHand() if by_hand is None else ByHand.from_json(by_hand)


def packed_table(table: Mapping[str, Any]) -> bytes:
    """Plain values as JSON packed by gzip (RFC 1952) without a time in it."""
    return gzip.compress(json.dumps(table, allow_nan=False, separators=(",", ":")).encode(), mtime=0)


def unpacked_table(data: bytes) -> dict[str, Any]:
    """What :func:`packed_table` wrote. Raises :class:`~coatwright.errors.FileFormatError`."""
    try:
        table = json.loads(gzip.decompress(data))
    except (OSError, EOFError, ValueError, zlib.error) as error:
        raise _unreadable(error) from error
    if not isinstance(table, dict):
        raise _unreadable(TypeError("no table"))
    return table


@contextmanager
def kept_in(folder: Path) -> Iterator[None]:
    """Make a folder for what is written within, and tell as :class:`~coatwright.errors.NotKept` what fails."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except OSError as error:
        raise NotKept(
            f"The sheet was not kept: {error.strerror or error}.",
            where=str(folder),
            remedy="Make room on the disk, or make the folder writable, and try again.",
        ) from error


def check_id(id: str) -> str:
    """An id of a sheet, which names files. Raises :class:`~coatwright.errors.UnknownName` for any other text."""
    if not id or not all(letter.isalnum() or letter == "-" for letter in id):
        raise UnknownName(f"There is no sheet {id[:40]!r}.", remedy="Read the photo again.")
    return id


class Drafts:
    """The drafts beside the records, one small file each. They are not in a backup."""

    def __init__(self, files: Attachments) -> None:
        self.files = files
        self.folder = files.folder / FOLDER

    def save(self, draft: PaperDraft) -> PaperDraft:
        """Keep a draft; the one before it stays until this one is on the disk."""
        table = {
            "head": json_ready(to_plain(draft.head)),
            "photo": draft.photo,
            "reading": draft.reading,
            **draft.by_hand.as_json(),
        }
        place = self._path(draft.id)
        with kept_in(self.folder):
            write_whole(place, json.dumps(table, ensure_ascii=False).encode())
        return draft

    def load(self, id: str) -> PaperDraft:
        """A draft by its id. Raises :class:`~coatwright.errors.UnknownName` when there is none."""
        table = self._table(id)
        try:
            head = from_plain(SheetHead, table["head"])
            photo, reading = str(table["photo"]), str(table["reading"])
        except (KeyError, TypeError) as error:
            raise _unreadable(error) from error
        except Misplaced as error:
            raise error.told() from error
        read, _ = unpacked(self.files.get(reading))
        return PaperDraft(head, photo, reading, read, ByHand.from_json(table))

    def heads(self) -> Iterator[SheetHead]:
        """What the drafts are of, in the order of their days and ids."""
        found = []
        for place in self.folder.glob("*.json"):
            with suppress(UnknownName, FileFormatError, KeyError, Misplaced):
                found.append(from_plain(SheetHead, self._table(place.stem)["head"]))
        yield from sorted(found, key=lambda head: (head.day, head.id))

    def photos(self) -> Iterator[tuple[SheetHead, str]]:
        """What each draft is of, and the name of its photograph."""
        for head in self.heads():
            with suppress(UnknownName, FileFormatError, KeyError):
                yield head, str(self._table(head.id)["photo"])

    def has(self, id: str) -> bool:
        """Whether a draft waits under this id."""
        return self._path(id).is_file()

    def remove(self, id: str) -> None:
        """Take a draft away; its files stay."""
        self._path(id).unlink(missing_ok=True)

    def texts(self) -> Iterator[tuple[str, str]]:
        """The id and the text of every draft, to find out which files they name."""
        for place in self.folder.glob("*.json"):
            with suppress(OSError):
                yield place.stem, place.read_text(encoding="utf-8")

    def _path(self, id: str) -> Path:
        return self.folder / f"{check_id(id)}.json"

    def _table(self, id: str) -> dict[str, Any]:
        try:
            table = json.loads(self._path(id).read_text(encoding="utf-8"))
        except OSError as error:
            raise UnknownName(
                f"There is no sheet {id[:40]!r} that waits to be accepted.",
                remedy="It was accepted or thrown away; read the photo again if it was not.",
            ) from error
        except ValueError as error:
            raise _unreadable(error) from error
        if not isinstance(table, dict):
            raise _unreadable(TypeError("no table"))
        return table


def changed(draft: PaperDraft, by_hand: ByHand) -> PaperDraft:
    """The same draft with other repairs and marks."""
    return replace(draft, by_hand=by_hand)


def _unreadable(error: Exception) -> FileFormatError:
    return FileFormatError(
        f"What is kept of a sheet cannot be read ({error}).", remedy="Read the photo again."
    )
