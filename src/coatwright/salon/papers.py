"""What people do with a sheet of pulled hair: read it, put it right, accept it or throw it away, or count by hand.

A photograph is read into a *draft* that waits beside the records; accepting it keeps one ``paper.read`` event. What
the sheets say is in :mod:`coatwright.salon.verdicts`, printers and thread checks in :mod:`coatwright.salon.printers`,
tools over time in :mod:`coatwright.salon.tools`.
"""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date

from coatwright.errors import OutOfRange, UnknownName
from coatwright.paper.photo import PhotoError, without_place
from coatwright.paper.repair import Doubt, apply, doubtful, next_number, numbered
from coatwright.paper.repair_record import Repair
from coatwright.paper.whole import Progress, SheetRead, read_sheet
from coatwright.patterns.zones import zones
from coatwright.salon.attachments import Attachments, digest_of, named_by_events, named_in
from coatwright.salon.checks import check_one_of, check_zones
from coatwright.salon.events import Event, new_id
from coatwright.salon.history import PURPOSES, PaperCount
from coatwright.salon.paper_drafts import (
    MARKS,
    NO_HAIR,
    ByHand,
    Drafts,
    PaperDraft,
    SheetHead,
    changed,
    marks_for,
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

_ONE = threading.RLock()
"""Held while a draft is looked up, changed and kept: nothing is lost where two change the same one."""


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
    head = SheetHead(
        new_id(), known.id, zone, when, tool.strip(), groomer.strip(), purpose, phone, printer, bar
    ).checked()  # fmt: skip
    upright = without_place(data, name=name)
    _refuse_twice(store, digest_of(upright), name)
    read = read_sheet(data, name=name, bar_mm=bar, progress=progress)
    return _keep(store, replace(head, phone=phone or read.camera), upright, read, name)


def keep_draft(store: Store, head: SheetHead, data: bytes, read: SheetRead, *, name: str = "") -> PaperDraft:
    """Keep a photograph and what was read from it as a draft: upright, and without the place it was taken.

    Nothing is kept where the head could not be accepted, and where the same photograph waits already or stands
    with a test: its hairs would count twice. The second is told by a
    :class:`~coatwright.paper.photo.PhotoError` with the code "twice"; a test that was taken back does not stand.
    """
    return _keep(store, head, without_place(data, name=name), read, name)


def _keep(store: Store, head: SheetHead, upright: bytes, read: SheetRead, name: str) -> PaperDraft:
    dog_of(store.state(), head.dog)
    head = head.checked()
    files = Attachments.of(store)
    with _ONE:
        _refuse_twice(store, digest_of(upright), name)
        photo = files.put(upright, "jpg")
        reading = files.put(packed(read), "json.gz")
        return Drafts(files).save(PaperDraft(head, photo, reading, read))


def _refuse_twice(store: Store, digest: str, name: str, *, but: str | None = None) -> None:
    """Refuse a photograph that stands with a test already, or waits as a draft; ``but`` is a draft's own id, with
    which only tests are looked at.
    """
    salon = store.state()
    for dog in salon.dogs.values():
        for paper in dog.papers:
            if paper.photo.startswith(digest) and paper.id != but:
                raise sent_twice(
                    f"It is the photo of {_spoken(dog.name, paper.zone, paper.day)}, which is accepted",
                    "Photograph another sheet. If that test is wrong, take it back first, then send the photo.",
                    name,
                )
    for head, photo in Drafts(Attachments.of(store)).photos() if but is None else ():
        if photo.startswith(digest):
            known = salon.dogs.get(head.dog)
            raise sent_twice(
                f"It is the photo of {_spoken(known.name if known else head.dog, head.zone, head.day)}, "
                "which waits to be accepted",
                "Photograph another sheet. If that one is wrong, change it or throw it away first.",
                name,
            )


def _spoken(dog: str, zone: str, day: date) -> str:
    return f"the sheet of {dog}, {zones()[zone].name.lower()}, {day}"


def sent_twice(where_it_is: str, remedy: str, name: str) -> PhotoError:
    """The refusal of a photograph that was sent before: ``where_it_is`` is the sentence that says where."""
    return PhotoError(
        f"This photo was sent before. {where_it_is}; its hairs would count twice.",
        where=name,
        remedy=remedy,
        code="twice",
    )


def draft(store: Store, id: str) -> PaperDraft:
    """A draft by its id. Raises :class:`~coatwright.errors.UnknownName`."""
    return Drafts(Attachments.of(store)).load(id)


def drafts(store: Store, dog: str = "") -> tuple[SheetHead, ...]:
    """The sheets that wait to be accepted, of one dog or of all, in the order of their days."""
    heads = Drafts(Attachments.of(store)).heads()
    return tuple(head for head in heads if not dog or head.dog == dog)


def set_head(store: Store, id: str, **values: object) -> PaperDraft:
    """Put right what a draft is of: ``zone``, ``day``, ``tool``, ``groomer``, ``purpose``, ``phone``."""
    allowed = ("zone", "day", "tool", "groomer", "purpose", "phone")
    for key in values:
        if key not in allowed:
            raise UnknownName.of("value of a sheet", key, allowed)
    with _ONE:
        found = draft(store, id)
        head = replace(found.head, **values).checked()  # type: ignore[arg-type]
        return Drafts(Attachments.of(store)).save(replace(found, head=head))


def mark(store: Store, id: str, hair: int, word: str) -> PaperDraft:
    """Mark a hair of a draft by hand as one of :func:`~coatwright.salon.paper_drafts.marks_for` its purpose; "" takes
    the mark away.
    """
    with _ONE:
        found = draft(store, id)
        state_of(found.hairs, found.by_hand, hair)
        marks = dict(found.by_hand.marks)
        if word:
            check_one_of(word, MARKS, "mark")
            if word not in marks_for(found.head.purpose):
                raise OutOfRange(
                    "This sheet measures how the program judges hairs of known state.",
                    where=f"hair {hair + 1}",
                    remedy=f'Leave what it judged wrong as it is; only "{NO_HAIR}" can be marked.',
                )
            marks[hair] = word
        else:
            marks.pop(hair, None)
        return _save(store, found, replace(found.by_hand, marks=marks))


def doubts(found: PaperDraft) -> list[Doubt]:
    """The joints of a draft that may be wrong, the least sure first, each with the repair that would mend it."""
    return doubtful(found.hairs)


def repair(store: Store, id: str, wanted: Repair) -> PaperDraft:
    """Carry out a repair on a draft, such as a doubt's. Marks of the hairs that it changes are laid aside.

    Raises :class:`~coatwright.errors.InputError` when it cannot be done, and changes nothing then.
    """
    with _ONE:
        found = draft(store, id)
        blur = found.read.place.blur_px
        if wanted.kind == "split":
            made = next_number(numbered(found.read.hairs), found.by_hand.repairs)
            wanted = replace(wanted, made=made)
        done = apply(found.hairs, wanted, blur_px=blur).repair
        return _save(store, found, found.by_hand.with_repair(done))


def take_back(store: Store, id: str, which: int = -1) -> PaperDraft:
    """Take back a repair of a draft by its place in the list (-1 the last), and those that stand on it.

    The marks that they laid aside come back.
    """
    with _ONE:
        found = draft(store, id)
        at = which + len(found.by_hand.repairs) if which < 0 else which
        return _save(store, found, found.by_hand.without_repair(at))


def accept(store: Store, id: str, *, by: str = "", today: date | None = None) -> Event:
    """Keep a draft as a paper test of its dog, with its photograph and the traces of one reading or of both.

    Stopped halfway, the draft is still there and can be accepted again: the same test takes its own place. Refused
    like :func:`keep_draft` where its photograph stands with another test by now.
    """
    with _ONE:
        files = Attachments.of(store)
        found = Drafts(files).load(id)
        _refuse_twice(store, found.photo[:64], "", but=found.id)
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
    with _ONE:
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
