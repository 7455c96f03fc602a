"""What people do with a sheet of pulled hair: read it, put it right, accept it or throw it away, or count by hand.

A photograph is read into a *draft* that waits beside the records; accepting it keeps one ``paper.read`` event. What
the sheets say is in :mod:`coatwright.salon.verdicts`, printers and thread checks in :mod:`coatwright.salon.printers`,
tools over time in :mod:`coatwright.salon.tools`.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from coatwright.errors import OutOfRange, UnknownName
from coatwright.paper.repair import Doubt, apply, doubtful, next_number, numbered, taken_back
from coatwright.paper.repair_record import Repair
from coatwright.paper.whole import Progress, SheetRead, read_sheet
from coatwright.salon.attachments import Attachments, named_by_events, named_in
from coatwright.salon.checks import check_one_of, check_zones
from coatwright.salon.events import Event, new_id
from coatwright.salon.history import PURPOSES, PaperCount
from coatwright.salon.paper_drafts import (
    MARKS,
    ByHand,
    Drafts,
    PaperDraft,
    SheetHead,
    changed,
    packed,
    record_of,
    state_of,
    unpacked,
)
from coatwright.salon.paper_pairs import SECOND, drop_forlorn, drop_second, kept_pair, pair_of
from coatwright.salon.printers import bar_of
from coatwright.salon.salon import dog_of, keep_paper, today_of
from coatwright.salon.store import Store
from coatwright.units import Millimetres


def read_photo(
    store: Store,
    dog: str,
    zone: str,
    data: bytes,
    *,
    tool: str = "",
    groomer: str = "",
    day: date | None = None,
    purpose: str = "tool",
    phone: str = "",
    printer: str = "",
    bar_mm: Millimetres | None = None,
    name: str = "",
    progress: Progress | None = None,
) -> PaperDraft:
    """Read the photograph of a sheet of hair pulled from a ``zone`` of a ``dog`` into a draft.

    ``purpose`` is one of :data:`~coatwright.salon.history.PURPOSES`; ``phone`` is the camera that the file tells
    where it is left out; ``bar_mm`` that of the ``printer`` (see :func:`coatwright.salon.printers.set_bar`). Raises
    :class:`~coatwright.paper.photo.PhotoError` with a ``code`` when the photograph is refused; nothing is kept then.
    """
    salon = store.state()
    known = dog_of(salon, dog)
    check_zones([zone], where="zone")
    check_one_of(purpose, PURPOSES, "purpose")
    today = today_of(store)
    when = day or today
    if when > today:
        raise OutOfRange(
            f"The sheet is of {when}, after today, {today}.",
            where=known.name,
            remedy="Give the day on which the hair was pulled.",
        )
    bar = bar_of(salon, printer) if bar_mm is None else bar_mm
    read = read_sheet(data, name=name, bar_mm=bar, progress=progress)
    head = SheetHead(
        new_id(),
        known.id,
        zone,
        when,
        tool.strip(),
        groomer.strip(),
        purpose,
        phone or read.camera,
        printer,
        bar,
    )
    return keep_draft(store, head, data, read)


def keep_draft(store: Store, head: SheetHead, data: bytes, read: SheetRead) -> PaperDraft:
    """Keep a photograph and what was read from it as a draft: upright, and without the place it was taken."""
    from coatwright.paper.photo import without_place

    files = Attachments.of(store)
    photo = files.put(without_place(data), "jpg")
    reading = files.put(packed(read), "json.gz")
    return Drafts(files).save(PaperDraft(head, photo, reading, read))


def draft(store: Store, id: str) -> PaperDraft:
    """A draft by its id. Raises :class:`~coatwright.errors.UnknownName`."""
    return Drafts(Attachments.of(store)).load(id)


def drafts(store: Store, dog: str = "") -> tuple[SheetHead, ...]:
    """The sheets that wait to be accepted, of one dog or of all, in the order of their days."""
    heads = Drafts(Attachments.of(store)).heads()
    return tuple(head for head in heads if not dog or head.dog == dog)


def set_head(store: Store, id: str, **values: object) -> PaperDraft:
    """Put right what a draft is of: ``zone``, ``day``, ``tool``, ``groomer``, ``purpose``, ``phone``."""
    found = draft(store, id)
    allowed = ("zone", "day", "tool", "groomer", "purpose", "phone")
    for key in values:
        if key not in allowed:
            raise UnknownName.of("value of a sheet", key, allowed)
    head = replace(found.head, **values)  # type: ignore[arg-type]
    check_zones([head.zone], where="zone")
    check_one_of(head.purpose, PURPOSES, "purpose")
    return Drafts(Attachments.of(store)).save(replace(found, head=head))


def mark(store: Store, id: str, hair: int, word: str) -> PaperDraft:
    """Mark a hair of a draft by hand: one of :data:`~coatwright.salon.paper_drafts.MARKS`; "" takes the mark away."""
    found = draft(store, id)
    state_of(found.hairs, found.by_hand, hair)
    marks = dict(found.by_hand.marks)
    if word:
        check_one_of(word, MARKS, "mark")
        marks[hair] = word
    else:
        marks.pop(hair, None)
    return _save(store, found, replace(found.by_hand, marks=marks))


def doubts(found: PaperDraft) -> list[Doubt]:
    """The joints of a draft that may be wrong, the least sure first, each with the repair that would mend it."""
    return doubtful(found.hairs)


def repair(store: Store, id: str, wanted: Repair) -> PaperDraft:
    """Carry out a repair on a draft, such as a doubt's. Marks of the hairs that it changes are taken away.

    Raises :class:`~coatwright.errors.InputError` when it cannot be done, and changes nothing then.
    """
    found = draft(store, id)
    blur = found.read.place.blur_px
    if wanted.kind == "split":
        made = next_number(numbered(found.read.hairs), found.by_hand.repairs)
        wanted = replace(wanted, made=made)
    done = apply(found.hairs, wanted, blur_px=blur).repair
    marks = {number: word for number, word in found.by_hand.marks.items() if number not in done.touched}
    return _save(store, found, ByHand((*found.by_hand.repairs, done), marks))


def take_back(store: Store, id: str, which: int = -1) -> PaperDraft:
    """Take back a repair of a draft by its place in the list (-1 the last), and those that stand on it."""
    found = draft(store, id)
    repairs = found.by_hand.repairs
    at = which + len(repairs) if which < 0 else which
    left = tuple(taken_back(repairs, at))
    gone = {number for one in repairs if one not in left for number in one.touched}
    marks = {number: word for number, word in found.by_hand.marks.items() if number not in gone}
    return _save(store, found, ByHand(left, marks))


def accept(store: Store, id: str, *, by: str = "", today: date | None = None) -> Event:
    """Keep a draft as a paper test of its dog, with its photograph and the traces of one reading or of both.

    Stopped halfway, the draft is still there and can be accepted again: the same test takes its own place.
    """
    files = Attachments.of(store)
    found = Drafts(files).load(id)
    pair = pair_of(store, found)
    second = {} if pair is None else {SECOND: pair.second.as_json()}
    traces = files.put(packed(found.read, found.by_hand, **second), "json.gz")
    try:
        record = found.record(traces)
        event = keep_paper(
            store, found.head.dog, record if pair is None else pair.over(record), by=by, today=today
        )
    except BaseException:
        _drop(store, files, {traces})
        raise
    _let_go(store, files, found)
    return event


def throw_away(store: Store, id: str) -> None:
    """Throw a draft away, and its files unless something else names them."""
    files = Attachments.of(store)
    _let_go(store, files, Drafts(files).load(id))


def hand_count(
    store: Store,
    dog: str,
    zone: str,
    *,
    whole: int,
    broken: int,
    tool: str = "",
    groomer: str = "",
    day: date | None = None,
    purpose: str = "tool",
    by: str = "",
    today: date | None = None,
) -> Event:
    """Keep a count under a lens: how many hairs came whole and how many broken. It is taken as free of error."""
    when = day or today or today_of(store)
    record = PaperCount(
        new_id(), when, zone, tool.strip(), groomer.strip(),
        counted_whole=whole, counted_broken=broken, purpose=purpose,
    )  # fmt: skip
    return keep_paper(store, dog, record, by=by, today=today)


def traces_of(store: Store, paper: PaperCount) -> tuple[SheetRead, ByHand]:
    """The kept traces of a test. Raises :class:`~coatwright.errors.UnknownName` for a count by hand."""
    if not paper.traces:
        raise UnknownName(
            "This test was counted by hand: nothing was traced.", remedy="Photograph a printed sheet."
        )
    return unpacked(Attachments.of(store).get(paper.traces))


def recounted(store: Store, dog: str, paper: PaperCount) -> PaperCount:
    """The record of a test made again from its kept traces: the same as ``paper``, or something was changed."""
    read, by_hand = traces_of(store, paper)
    record = record_of(SheetHead.of(dog, paper), read, by_hand, paper.photo, paper.traces)
    pair = kept_pair(store, paper)
    return record if pair is None else pair.over(record)


def _save(store: Store, found: PaperDraft, by_hand: ByHand) -> PaperDraft:
    return Drafts(Attachments.of(store)).save(changed(found, by_hand))


def _let_go(store: Store, files: Attachments, found: PaperDraft) -> None:
    """Take a draft away, its second reading, and those of its files that nothing names."""
    Drafts(files).remove(found.id)
    drop_second(store, found.id)
    _drop(store, files, {found.photo, found.reading})


def _drop(store: Store, files: Attachments, names: set[str]) -> None:
    """Take files away that nothing names any more, and what stopped programs left."""
    wanted = named_by_events(store)
    for _, text in Drafts(files).texts():
        wanted |= named_in(text)
    files.remove(name for name in names if name[:64] not in wanted)
    files.sweep(wanted)
    drop_forlorn(files)
