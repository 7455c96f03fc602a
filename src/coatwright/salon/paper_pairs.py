"""One sheet photographed twice, shaken between or as it lies: a second reading beside a draft, and both as one.

The second photograph is not kept, only what was read from it: it stands beside the draft, and then with the traces of
the accepted test, so that every number can be made again from what is kept. What was marked by hand on the first
photograph goes before what the second says.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from coatwright.errors import FileFormatError, OutOfRange
from coatwright.paper.marks import Hair
from coatwright.paper.pool import Pooled, PooledHair, pool_shaken, pool_unmoved
from coatwright.paper.whole import Progress, SheetRead, read_sheet
from coatwright.salon.attachments import Attachments, write_whole
from coatwright.salon.checks import check_one_of
from coatwright.salon.events import Event
from coatwright.salon.history import PaperCount
from coatwright.salon.paper_drafts import (
    BROKEN,
    DECIMALS,
    NO_HAIR,
    OPEN,
    WHOLE,
    ByHand,
    PaperDraft,
    packed,
    record_of,
    repaired,
)
from coatwright.salon.papers import draft, throw_away
from coatwright.salon.salon import keep_paper
from coatwright.salon.store import Store
from coatwright.units import Millimetres

SHAKEN, UNMOVED = "shaken", "unmoved"
WAYS = (SHAKEN, UNMOVED)
"""Whether the hairs lie elsewhere in the second photograph, or as in the first."""
FOLDER = "pairs"
LEAST_ALIKE = 0.4
"""Where fewer of the hairs than this are seen alike, the two may not be of one sheet: an assumption."""


@dataclass(frozen=True, eq=False)
class Second:
    """What was read from the second photograph of a sheet, and how the sheet was treated between: one of WAYS."""

    read: SheetRead
    way: str

    def as_json(self) -> dict[str, Any]:
        """Numbers, words and lists only."""
        return {"read": self.read.as_json(), "way": self.way}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Second:
        """What :meth:`as_json` wrote. Raises :class:`~coatwright.errors.FileFormatError`."""
        try:
            read, way = SheetRead.from_json(data["read"]), str(data["way"])
        except (KeyError, TypeError) as error:
            raise _unreadable(error) from error
        if way not in WAYS:
            raise FileFormatError("A second photo is of no known kind.", remedy="Send it again.")
        return cls(read, way)


@dataclass(frozen=True, eq=False)
class Pair:
    """Two readings of one sheet as one: the first with what was put right by hand, and the second."""

    first: SheetRead
    by_hand: ByHand
    second: Second

    @cached_property
    def pooled(self) -> Pooled:
        """The hairs of both; those marked as none are left out before."""
        pool = pool_shaken if self.second.way == SHAKEN else pool_unmoved
        return pool([hair for _, hair in self._numbered], self.second.read.hairs)

    @cached_property
    def lengths(self) -> dict[str, tuple[Millimetres, ...]]:
        """Lengths (mm) by what the hairs count as."""
        found: dict[str, list[Millimetres]] = {word: [] for word in (WHOLE, BROKEN, OPEN)}
        for each in self.pooled.hairs:
            found[self._state(each)].append(round(float(each.length_mm), DECIMALS))
        return {word: tuple(lengths) for word, lengths in found.items()}

    @property
    def unlike(self) -> bool:
        """Whether so few hairs are seen alike that the two may not be of one sheet."""
        return self.pooled.agreed < LEAST_ALIKE * min(self.pooled.counts)

    def over(self, record: PaperCount) -> PaperCount:
        """The record of the first photograph with the numbers of both."""
        lengths = self.lengths
        return replace(record, whole_mm=lengths[WHOLE], broken_mm=lengths[BROKEN], open_mm=lengths[OPEN])

    @cached_property
    def _numbered(self) -> Sequence[tuple[int, Hair]]:
        hairs = repaired(self.first, self.by_hand)
        return [(key, hair) for key, hair in sorted(hairs.items()) if self.by_hand.marks.get(key) != NO_HAIR]

    def _state(self, each: PooledHair) -> str:
        place = each.hair if each.photo == 0 else each.other
        if place >= 0:
            marked = self.by_hand.marks.get(self._numbered[place][0])
            if marked is not None:
                return marked
        return OPEN if each.whole is None else WHOLE if each.whole else BROKEN


def add_second(
    store: Store, id: str, data: bytes, *, way: str = SHAKEN, name: str = "", progress: Progress | None = None
) -> Second:
    """Read a second photograph of the sheet of a draft; one that was there before is replaced.

    Raises :class:`~coatwright.paper.photo.PhotoError` when it is refused, and
    :class:`~coatwright.errors.OutOfRange` where it shows another kind of sheet; nothing is kept then.
    """
    check_one_of(way, WAYS, "way")
    found = draft(store, id)
    read = read_sheet(data, name=name, bar_mm=found.head.bar_mm, progress=progress)
    if read.sheet != found.read.sheet:
        raise OutOfRange(
            "The second photo shows another kind of sheet.",
            where=name,
            remedy="Photograph the same sheet again, or send this one as a sheet of its own.",
        )
    second = Second(read, way)
    place = _place(store, id)
    place.parent.mkdir(parents=True, exist_ok=True)
    write_whole(place, gzip.compress(json.dumps(second.as_json(), allow_nan=False).encode(), mtime=0))
    return second


def pair_of(store: Store, found: PaperDraft) -> Pair | None:
    """A draft with the second reading of its sheet; None where there is no second photograph."""
    place = _place(store, found.id)
    try:
        table = json.loads(gzip.decompress(place.read_bytes()))
    except FileNotFoundError:
        return None
    except (OSError, EOFError, ValueError) as error:
        raise _unreadable(error) from error
    return Pair(found.read, found.by_hand, Second.from_json(table))


def drop_second(store: Store, id: str) -> None:
    """Leave the second photograph of a draft out again."""
    _place(store, id).unlink(missing_ok=True)


def record_with(store: Store, found: PaperDraft) -> PaperCount:
    """The test as a draft would be accepted now, with its second photograph where it has one."""
    record = found.record()
    pair = pair_of(store, found)
    return record if pair is None else pair.over(record)


def accept_pair(store: Store, id: str, *, by: str = "", today: date | None = None) -> Event:
    """Keep a draft with two readings as a paper test, both with its traces."""
    found = draft(store, id)
    pair = pair_of(store, found)
    if pair is None:
        raise OutOfRange("There is no second photo of this sheet.", remedy="Accept it as it is.")
    files = Attachments.of(store)
    traces = files.put(packed_pair(pair), "json.gz")
    try:
        event = keep_paper(store, found.head.dog, pair.over(found.record(traces)), by=by, today=today)
    except BaseException:
        files.remove([traces])
        raise
    throw_away(store, id)  # what the event names stays
    drop_second(store, id)
    return event


def packed_pair(pair: Pair) -> bytes:
    """The traces of both readings as they are kept: those of a single one, and the second beside it."""
    table = json.loads(gzip.decompress(packed(pair.first, pair.by_hand)))
    table["second"] = pair.second.as_json()
    return gzip.compress(json.dumps(table, allow_nan=False, separators=(",", ":")).encode(), mtime=0)


def kept_pair(store: Store, paper: PaperCount) -> Pair | None:
    """Both readings of an accepted test; None where it has one photograph, or none."""
    if not paper.traces:
        return None
    try:
        table = json.loads(gzip.decompress(Attachments.of(store).get(paper.traces)))
    except (EOFError, ValueError, gzip.BadGzipFile) as error:
        raise _unreadable(error) from error
    if "second" not in table:
        return None
    return Pair(
        SheetRead.from_json(table), ByHand.from_json(table["by_hand"]), Second.from_json(table["second"])
    )


def recounted_pair(paper: PaperCount, head: Any, pair: Pair) -> PaperCount:
    """The record of a test made again from both of its readings."""
    return pair.over(record_of(head, pair.first, pair.by_hand, paper.photo, paper.traces))


def _place(store: Store, id: str) -> Path:
    if not id or not all(letter.isalnum() or letter == "-" for letter in id):
        raise OutOfRange(f"There is no sheet {id[:40]!r}.", remedy="Read the photo again.")
    return Attachments.of(store).folder / FOLDER / f"{id}.json.gz"


def _unreadable(error: Exception) -> FileFormatError:
    return FileFormatError(
        f"What is kept of a second photo cannot be read ({error}).", remedy="Send the second photo again."
    )
