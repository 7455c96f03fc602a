"""One sheet photographed twice, shaken between or as it lies: a second reading beside a draft, and both as one.

The second photograph is not kept, only what was read from it: it stands beside the draft, and then with the traces of
the accepted test, so that every number can be made again from what is kept. What was marked by hand on the first
photograph goes before what the second says.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from coatwright.errors import FileFormatError, OutOfRange, StoreError, UnknownName
from coatwright.paper.marks import Hair
from coatwright.paper.photo import PhotoError, without_place
from coatwright.paper.pool import Pooled, PooledHair, pool_shaken, pool_unmoved
from coatwright.paper.whole import Progress, SheetRead, read_sheet
from coatwright.salon.attachments import Attachments, digest_of, write_whole
from coatwright.salon.checks import check_one_of
from coatwright.salon.history import PaperCount
from coatwright.salon.paper_drafts import (
    BROKEN,
    DECIMALS,
    NO_HAIR,
    OPEN,
    WHOLE,
    ByHand,
    Drafts,
    PaperDraft,
    check_id,
    kept_in,
    packed_table,
    repaired,
    unpacked_table,
)
from coatwright.salon.store import Store
from coatwright.units import Millimetres

SHAKEN, UNMOVED = "shaken", "unmoved"
WAYS = (SHAKEN, UNMOVED)
"""Whether the hairs lie elsewhere in the second photograph, or as in the first."""
FOLDER, ENDING = "pairs", ".json.gz"
SECOND = "second"
"""Where the second reading stands among the traces of an accepted test."""
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
    """Two readings of one sheet as one: the first with what was put right by hand and counts, and the second."""

    first: SheetRead
    by_hand: ByHand
    second: Second

    @cached_property
    def pooled(self) -> Pooled:
        """The hairs of both, but for what was marked as none on the first photograph."""
        pool = pool_shaken if self.second.way == SHAKEN else pool_unmoved
        words = [self.by_hand.marks.get(number) for number, _ in self._numbered]
        none = {place for place, word in enumerate(words) if word == NO_HAIR}
        marked = {place for place, word in enumerate(words) if word is not None} - none
        hairs = [hair for _, hair in self._numbered]
        return pool(hairs, self.second.read.hairs, marked=marked, none=none)

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
        return sorted(repaired(self.first, self.by_hand).items())

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

    Raises :class:`~coatwright.paper.photo.PhotoError` when it is refused, also as the first one sent again, and
    :class:`~coatwright.errors.OutOfRange` where it shows another kind of sheet; nothing is kept then.
    """
    check_one_of(way, WAYS, "way")
    files = Attachments.of(store)
    found = Drafts(files).load(id)
    if digest_of(without_place(data, name=name)) == found.photo[:64]:
        raise PhotoError(
            "This is the first photo again: it says nothing that is not known.",
            where=name,
            remedy="Shake the sheet so that the hairs lie anew, photograph it, and send that photo.",
            code="twice",
        )
    read = read_sheet(data, name=name, bar_mm=found.head.bar_mm, progress=progress)
    if read.sheet != found.read.sheet:
        raise OutOfRange(
            "The second photo shows another kind of sheet.",
            where=name,
            remedy="Photograph the same sheet again, or send this one as a sheet of its own.",
        )
    second, place = Second(read, way), _place(files, id)
    with kept_in(place.parent):
        write_whole(place, packed_table(second.as_json()))
    if not Drafts(files).has(id):
        place.unlink(missing_ok=True)
        raise UnknownName(
            "The sheet was accepted or thrown away while its second photo was read.",
            where=name,
            remedy="Take the test back and send both photos again, if the second is to count.",
        )
    return second


def pair_of(store: Store, found: PaperDraft) -> Pair | None:
    """A draft with the second reading of its sheet; None where there is no second photograph."""
    place = _place(Attachments.of(store), found.id)
    try:
        data = place.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise StoreError(
            f"What was read from the second photo cannot be read: {error.strerror or error}.",
            where=str(place),
            remedy="Leave the second photo out, and send it again.",
        ) from error
    by_hand = found.by_hand.counted(found.head.purpose)
    return Pair(found.read, by_hand, Second.from_json(unpacked_table(data)))


def drop_second(store: Store, id: str) -> None:
    """Leave the second photograph of a draft out again."""
    _place(Attachments.of(store), id).unlink(missing_ok=True)


def record_with(store: Store, found: PaperDraft) -> PaperCount:
    """The test as a draft would be accepted now, with its second photograph where it has one."""
    record = found.record()
    pair = pair_of(store, found)
    return record if pair is None else pair.over(record)


def kept_pair(store: Store, paper: PaperCount) -> Pair | None:
    """Both readings of an accepted test; None where it has one photograph, or none."""
    if not paper.traces:
        return None
    table = unpacked_table(Attachments.of(store).get(paper.traces))
    if SECOND not in table:
        return None
    try:
        by_hand = ByHand.from_json(table["by_hand"]).counted(paper.purpose)
    except KeyError as error:
        raise _unreadable(error) from error
    return Pair(SheetRead.from_json(table), by_hand, Second.from_json(table[SECOND]))


def drop_forlorn(files: Attachments) -> None:
    """Take away second readings whose draft is gone: a program was stopped between the two."""
    drafts = Drafts(files)
    for place in (files.folder / FOLDER).glob(f"*{ENDING}"):
        with suppress(UnknownName, OSError):
            if not drafts.has(place.name.removesuffix(ENDING)):
                place.unlink()


def _place(files: Attachments, id: str) -> Path:
    return files.folder / FOLDER / f"{check_id(id)}{ENDING}"


def _unreadable(error: Exception) -> FileFormatError:
    return FileFormatError(
        f"What is kept of a second photo cannot be read ({error}).", remedy="Send the second photo again."
    )
