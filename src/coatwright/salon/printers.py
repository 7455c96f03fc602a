"""Printers and phones: the length of a printer's bar, and the thread check that proves both together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from coatwright.paper.refusals import check_bar
from coatwright.paper.sheet import BAR_MM
from coatwright.paper.thread import CUTS, ThreadCheck, check_threads
from coatwright.paper.whole import Progress, read_sheet
from coatwright.salon.attachments import Attachments
from coatwright.salon.checks import check_name
from coatwright.salon.events import Event, new_id, stream_of
from coatwright.salon.fold import Salon
from coatwright.salon.gear import Printer, ThreadKept, gear_key
from coatwright.salon.salon import keep, today_of
from coatwright.salon.store import Store
from coatwright.units import Millimetres

STALE_DAYS = 365
"""A thread check older than this is named as old: an assumption; phones' cameras and printers change by updates."""
BAR_SLACK_MM: Millimetres = 0.05
"""Bars that differ by less are the same: a ruler is read to a tenth at best."""
UNPROVEN = (
    "This phone and printer were not checked with thread yet: lengths may be off by what printing stretches."
)


def set_bar(
    store: Store, printer: str, bar_mm: Millimetres, *, by: str = "", day: date | None = None
) -> Event:
    """Keep what a ruler says of the bar of 100 mm that a printer printed, once per printer.

    Raises :class:`~coatwright.errors.OutOfRange` outside 90 to 110 mm.
    """
    check_name(printer, "A printer's name")
    check_bar(bar_mm)
    key = gear_key(printer)
    record = Printer(key, printer.strip(), float(bar_mm), day or today_of(store))
    return keep(store, "printer.set", stream_of("printer", key), by, lambda _: record)


def bar_of(salon: Salon, printer: str) -> Millimetres:
    """The length of a printer's bar, mm; 100 for one that nobody measured."""
    known = salon.printers.get(gear_key(printer))
    return BAR_MM if known is None else known.bar_mm


@dataclass(frozen=True, slots=True)
class KnownPrinter:
    """A printer by its name, and the length of its bar, mm; None where nobody measured it."""

    name: str
    bar_mm: Millimetres | None


def printers_known(salon: Salon) -> tuple[KnownPrinter, ...]:
    """Printers whose bar was measured or that threads were checked with, by name."""
    found = {gear_key(each.printer): KnownPrinter(each.printer, None) for each in salon.threads}
    found |= {each.id: KnownPrinter(each.name, each.bar_mm) for each in salon.printers.values()}
    return tuple(sorted(found.values(), key=lambda each: gear_key(each.name)))


def printer_meant(salon: Salon, named: str) -> tuple[str, str]:
    """The printer of a sheet, and what is to be said of it: the one ``named``, else the only one that is known.

    "" where none is known or several are, of which none is assumed.
    """
    known = printers_known(salon)
    if named.strip() or not known:
        return named.strip(), ""
    if len(known) > 1:
        names = ", ".join(each.name for each in known)
        return (
            "",
            f"No printer was named, and none was assumed of those known: {names}. Name it by --printer.",
        )
    (only,) = known
    bar = "" if only.bar_mm is None else f", with its bar of {only.bar_mm:g} mm"
    return only.name, f"No printer was named: {only.name} is taken, the only one known{bar}."


def thread_check(
    store: Store,
    phone: str,
    printer: str,
    data: bytes,
    *,
    day: date | None = None,
    name: str = "",
    by: str = "",
    progress: Progress | None = None,
) -> tuple[ThreadKept, ThreadCheck]:
    """Read a photographed sheet with sewing thread cut to 10, 20 and 40 mm, and keep what it says.

    ``phone`` is the camera that the file tells where it is "". Raises
    :class:`~coatwright.paper.photo.PhotoError` for a photograph that is refused and
    :class:`~coatwright.errors.OutOfRange` where too few threads were found; nothing is kept then.
    """
    from coatwright.paper.photo import without_place
    from coatwright.salon.paper_drafts import packed

    check_name(printer, "A printer's name")
    bar = bar_of(store.state(), printer)
    read = read_sheet(data, name=name, bar_mm=bar, progress=progress)
    who = phone.strip() or read.camera
    check_name(who, "A phone's name")
    checked = check_threads(
        [hair.length_mm for hair in read.hairs], phone=who, printer=printer.strip(), cuts=CUTS
    )
    files = Attachments.of(store)
    kept = ThreadKept(
        new_id(), day or today_of(store), who, printer.strip(), checked.as_json(), read.sheet,
        files.put(without_place(data), "jpg"), files.put(packed(read), "json.gz"), bar,
    )  # fmt: skip
    keep(store, "thread.checked", stream_of("printer", gear_key(printer)), by, lambda _: kept)
    return kept, checked


def last_check(salon: Salon, phone: str, printer: str) -> ThreadKept | None:
    """The last thread check of a phone with a printer."""
    pair = gear_key(phone), gear_key(printer)
    found = [each for each in salon.threads if (gear_key(each.phone), gear_key(each.printer)) == pair]
    return found[-1] if found else None


def bar_since(salon: Salon, check: ThreadKept, bar_mm: Millimetres | None = None) -> str:
    """That a thread check no longer holds, since lengths now follow another bar; "" where it does.

    ``bar_mm`` is the bar of the sheet whose lengths are meant, mm; that of the printer as it is known now without it.
    """
    bar = bar_of(salon, check.printer) if bar_mm is None else bar_mm
    if abs(bar - check.bar_mm) < BAR_SLACK_MM:
        return ""
    return f"That was with a bar of {check.bar_mm:g} mm; it was measured anew as {bar:g} mm: check again with thread."


def proof_words(
    salon: Salon, phone: str, printer: str, today: date, bar_mm: Millimetres | None = None
) -> str:
    """What is said of a phone and a printer beside every verdict, in a sentence or two.

    ``bar_mm`` is the bar of the sheet, mm; that of the printer as it is known now without it.
    """
    found = last_check(salon, phone, printer)
    if found is None:
        return UNPROVEN
    words = ThreadCheck.from_json(found.check).words
    since = bar_since(salon, found, bar_mm)
    if since:
        return f"{words} {since}"
    if (today - found.day).days > STALE_DAYS:
        return f"{words} That was on {found.day}: check again."
    return f"{words} Checked with thread on {found.day}."
