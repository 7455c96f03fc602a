"""``coatwright paper``: sheets for pulled hair, photographs of them read, phone and printer checked."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coatwright.cli.options import AsJson, Data, Today, a_date

if TYPE_CHECKING:
    from coatwright.errors import FileFormatError
    from coatwright.paper.photo import PhotoError
    from coatwright.paper.whole import Progress
    from coatwright.salon.paper_drafts import SheetHead
    from coatwright.salon.paper_results import PhotoDone
    from coatwright.salon.records import Dog
    from coatwright.salon.store import Store
    from coatwright.salon.verdicts import Trial

FIRST_PRINTER = "printer"
"""Name of a printer where none was named and none is known."""
ANY_ZONE = "back"
"""Stands in the record of sheets whose zone was not told, which are not kept."""

app = typer.Typer(name="paper", help="The paper test: does this tool break hair?", rich_markup_mode=None)


class Kind(StrEnum):
    """Printed sheets."""

    A5 = "a5"
    A5_DARK = "a5-dark"
    A4 = "a4"
    A4_DARK = "a4-dark"
    HALF = "half"
    HALF_DARK = "half-dark"


class OnPage(StrEnum):
    """What a sheet is printed on."""

    A4 = "a4"
    LETTER = "letter"
    OWN = "own"


class Purpose(StrEnum):
    """What a sheet of pulled hair is for."""

    TOOL = "tool"
    FINGERS = "fingers"
    WHOLE = "whole"
    CUT = "cut"


Printer = Annotated[
    str,
    typer.Option(
        metavar="NAME", help="The printer that printed the sheet; left out, the only one that is known."
    ),
]
Phone = Annotated[str, typer.Option(metavar="NAME", help="The phone, if not the camera that the file tells.")]
Bar = Annotated[
    float | None,
    typer.Option(metavar="MM", help="What a ruler says of the printed bar of 100 mm."),
]


@app.callback(invoke_without_command=True)
def paper(context: typer.Context) -> None:
    """The paper test: does this tool break hair?

    Pulled hair on a printed sheet, photographed: how many hairs, how long, whole or broken, and a verdict that knows
    how sure it is.
    """
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@app.command()
def sheet(
    kind: Annotated[
        Kind, typer.Argument(help="The sheet; dark frames are for white and cream hair.")
    ] = Kind.A5,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FILE", help="The file, instead of paper-KIND.pdf.")
    ] = None,
    page: Annotated[
        OnPage, typer.Option(help="The page; own is one sheet on a page of its size.")
    ] = OnPage.A4,
    copies: Annotated[int, typer.Option(metavar="PAGES", help="How many pages.")] = 1,
    dog: Annotated[str, typer.Option(metavar="TEXT", help="Written on the line for the dog.")] = "",
    zone: Annotated[str, typer.Option(metavar="TEXT", help="Written on the line for the zone.")] = "",
    tool: Annotated[str, typer.Option(metavar="TEXT", help="Written on the line for the tool.")] = "",
    today: Today = None,
) -> None:
    """Print a sheet for pulled hair.

    As many to a page as fit. Print at 100 %, not fitted to the page, and measure the bar with a ruler: fitting
    stretches every length by 3 to 6 %.
    """
    from coatwright.cli.files import write
    from coatwright.cli.source import calendar_day
    from coatwright.printing.paper_sheet import NOTE, paper_sheet_pdf

    lines = {"Dog": dog, "Zone": zone, "Tool": tool}
    pdf = paper_sheet_pdf(
        kind.value,
        made=today or calendar_day(),
        page=page.value,
        copies=copies,
        filled={name: text for name, text in lines.items() if text},
    )
    typer.echo(f"Written: {write(to or Path(f'paper-{kind.value}.pdf'), pdf)}")
    typer.echo(NOTE)


@app.command()
def read(
    photos: Annotated[list[Path], typer.Argument(metavar="PHOTO...", help="Photos of sheets of one tool.")],
    fingers: Annotated[
        list[Path] | None,
        typer.Option(
            metavar="PHOTO", help="A sheet of the same zone pulled by bare fingers; may be repeated."
        ),
    ] = None,
    dog: Annotated[
        str, typer.Option(metavar="DOG", help="The dog: its file, or a name or id of the salon.")
    ] = "",
    zone: Annotated[str, typer.Option(metavar="ZONE", help="The zone that was pulled.")] = "",
    tool: Annotated[str, typer.Option(metavar="NAME", help="The tool that pulled.")] = "",
    groomer: Annotated[str, typer.Option(metavar="NAME", help="Who pulled.")] = "",
    day: Annotated[
        date | None, typer.Option(metavar="DATE", parser=a_date, help="The day of the pull, if not today.")
    ] = None,
    purpose: Annotated[
        Purpose,
        typer.Option(help="What the sheets are for: whole and cut hold hairs of known state."),
    ] = Purpose.TOOL,
    phone: Phone = "",
    printer: Printer = "",
    bar: Bar = None,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep what was read in the records of the dog.")
    ] = False,
    traces: Annotated[
        bool, typer.Option("--traces", help="With --json, write the points of every hair.")
    ] = False,
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """Read photos of pulled hair: does the tool break it?

    Counts the hairs, measures them and judges their ends. With a finger-pulled sheet, or a dog whose coat is known,
    the lengths are a second witness. A photo that is refused does not stop the others; the exit code is then 2.
    Nothing is kept without --keep.
    """
    from coatwright.cli.screen import working, write_json
    from coatwright.cli.source import calendar_day, find_dog, is_file_name, zone_key
    from coatwright.errors import InputError, OutOfRange
    from coatwright.salon.paper_results import paper_result
    from coatwright.salon.printers import printer_meant

    key = zone_key(zone) if zone else ""
    if (dog and not key) or (keep and not dog):
        raise InputError(
            "Sheets are kept, or held against a coat, by dog and zone.",
            where="coatwright paper read",
            remedy="Give both: --dog NAME --zone back.",
        )
    if keep and is_file_name(dog):
        raise InputError(
            "Paper tests are kept in the salon.",
            where=dog,
            remedy="Take the dog into the salon first: `coatwright salon add`.",
        )
    today = calendar_day()
    if day is not None and day > today:
        raise OutOfRange(
            f"The sheets are of {day}, after today, {today}.",
            where="--day",
            remedy="Give the day on which the hair was pulled.",
        )
    found = find_dog(dog, data=data).dog if dog else None
    work = [(photo, purpose.value) for photo in photos] + [(photo, "fingers") for photo in fingers or ()]
    with _maybe_salon(data) as store, working("Reading") as progress:
        meant, note = (printer, "") if store is None else printer_meant(store.state(), printer)
        head = _head(store, found, key, tool, groomer, day or today, phone, meant, bar).checked()
        sent: dict[str, str] = {}
        done = [
            _read(store if keep else None, photo, head, what, f"{number} of {len(work)}", progress, sent)
            for number, (photo, what) in enumerate(work, start=1)
        ]
        salon = None if store is None else store.state()
        trial = _trial(salon.dogs[found.id] if keep and salon and found else found, key, done)
        if as_json:
            write_json(
                paper_result(
                    done,
                    trial,
                    dog=found,
                    zone=key,
                    salon=salon,
                    today=today,
                    traces=traces,
                    printer_note=note,
                )
            )
        else:
            from coatwright.cli.paper_view import show_read

            show_read(done, trial, dog=found, salon=salon, today=today, printer_note=note)
    refused = [one.error for one in done if one.error is not None]
    for error in refused:
        _tell(error, as_json=as_json)
    if refused:
        raise typer.Exit(2)


@app.command()
def check(
    photo: Annotated[
        Path | None,
        typer.Argument(
            metavar="[PHOTO]", help="A sheet with sewing thread cut to 10, 20 and 40 mm, five of each."
        ),
    ] = None,
    printer: Printer = "",
    phone: Phone = "",
    bar: Bar = None,
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """Prove a phone and a printer with sewing thread.

    Cut five threads each of 10, 20 and 40 mm, lay them on a sheet like hair, and photograph it. The result is kept
    and told beside every verdict. --bar keeps what a ruler says of the printer's bar, with or without a photo. Where
    no printer is named and none is known, it is called "printer".
    """
    from coatwright.cli.screen import Page, working, write_json
    from coatwright.cli.source import open_salon
    from coatwright.errors import InputError
    from coatwright.paper.photo import PhotoError
    from coatwright.salon.paper_results import thread_result
    from coatwright.salon.printers import bar_of, printer_meant, set_bar, thread_check

    if photo is None and (bar is None or as_json):
        raise InputError(
            "There is nothing to check.",
            where="coatwright paper check",
            remedy="Give a photo of cut threads, or --bar with what a ruler says of the printed bar.",
        )
    content = None if photo is None else _bytes(photo)
    with open_salon(data, create=True) as store:
        meant, note = printer_meant(store.state(), printer)
        if note and not meant:
            raise InputError(
                "It is not said which printer is meant.",
                where="coatwright paper check",
                remedy=note,
            )
        printer = meant or FIRST_PRINTER
        if bar is not None:
            set_bar(store, printer, bar)
        if content is None:
            typer.echo(f"The bar of {printer} has {bar:g} mm: every length is allowed for it from now on.")
            return
        try:
            with working("Reading") as progress:
                kept, found = thread_check(store, phone, printer, content, name=str(photo), progress=progress)
        except PhotoError as error:
            raise _plain(error) from error
        if as_json:
            write_json(thread_result(kept, found.words))
            return
        from coatwright.cli.paper_view import show_thread

        show_thread(Page(), kept, found, bar_of(store.state(), printer))


def _maybe_salon(data: Path | None) -> AbstractContextManager[Store | None]:
    """The salon where there is one; printers and thread checks are kept there."""
    from coatwright.cli.source import open_salon, salon_file
    from coatwright.salon.engines import address

    url = address(salon_file(data))
    if url.get_backend_name() == "sqlite" and not Path(str(url.database)).exists():
        return nullcontext()
    return open_salon(data, create=False)


def _head(
    store: Store | None,
    dog: Dog | None,
    zone: str,
    tool: str,
    groomer: str,
    day: date,
    phone: str,
    printer: str,
    bar: float | None,
) -> SheetHead:
    """What all the sheets of this call are of. Without a zone the lengths belong to none."""
    from coatwright.paper.refusals import check_bar
    from coatwright.paper.sheet import BAR_MM
    from coatwright.salon.paper_drafts import SheetHead
    from coatwright.salon.printers import bar_of

    known = BAR_MM if store is None else bar_of(store.state(), printer)
    return SheetHead(
        "sheet", dog.id if dog else "", zone or ANY_ZONE, day, tool.strip(), groomer.strip(), "tool", phone, printer,
        check_bar(known if bar is None else bar),
    )  # fmt: skip


def _read(
    store: Store | None,
    photo: Path,
    head: SheetHead,
    purpose: str,
    which: str,
    progress: Progress,
    sent: dict[str, str],
) -> PhotoDone:
    """One photograph, read, and kept where there is a ``store``; or why it was refused.

    ``sent`` are the digests of the files of this call before it, with their names: none is read twice.
    """
    from hashlib import sha256

    from coatwright.cli.source import calendar_day
    from coatwright.errors import CoatwrightError
    from coatwright.paper.photo import PhotoError
    from coatwright.paper.whole import read_sheet
    from coatwright.salon.events import new_id
    from coatwright.salon.paper_results import PhotoDone
    from coatwright.salon.papers import accept, keep_draft, sent_twice, throw_away

    def tell(what: str, done: int, total: int) -> None:
        progress(f"{which}, {what}", done, total)

    try:
        content = _bytes(photo)
        digest = sha256(content).hexdigest()
        if digest in sent:
            raise sent_twice(f"It is the same as {sent[digest]}", "Name every photo once.", str(photo))
        sent[digest] = str(photo)
        read = read_sheet(content, name=str(photo), bar_mm=head.bar_mm, progress=tell)
        mine = replace(head, id=new_id(), purpose=purpose, phone=head.phone or read.camera)
        kept = store is not None and bool(read.hairs)
        if store is not None and kept:
            keep_draft(store, mine, content, read, name=str(photo))
    except PhotoError as error:
        return PhotoDone(str(photo), purpose, error=error)
    if store is not None and kept:
        try:
            accept(store, mine.id, today=calendar_day())
        except CoatwrightError as error:
            throw_away(store, mine.id)
            refused = PhotoError(error.what, where=str(photo), remedy=error.remedy, code="not kept")
            return PhotoDone(str(photo), purpose, error=refused)
    return PhotoDone(str(photo), purpose, mine, read, kept)


def _bytes(photo: Path) -> bytes:
    """The content of a file; a file that cannot be read is refused like a photo."""
    from coatwright.paper.photo import MOST_BYTES, PhotoError

    try:
        with photo.expanduser().open("rb") as stream:
            return stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise PhotoError(
            f"The photo cannot be read: {error.strerror or error}.",
            where=str(photo),
            remedy="Check its name and place, and that you may read it.",
        ) from error


def _trial(dog: Dog | None, zone: str, done: Sequence[PhotoDone]) -> Trial | None:
    """What the sheets say together; None where none that tests a tool has a hair."""
    from coatwright.salon.paper_drafts import ByHand, record_of
    from coatwright.salon.verdicts import key_of, trial_of, trial_of_sheets

    papers = [
        record_of(one.head, one.read, ByHand(), "", "")
        for one in done
        if one.head is not None and one.read is not None and one.read.hairs
    ]
    tested = [paper for paper in papers if paper.purpose == "tool"]
    if not tested:
        return None
    return trial_of_sheets(papers) if dog is None else trial_of(dog, key_of(dog, tested[0]), papers)


def _plain(error: PhotoError) -> FileFormatError:
    """A refusal as the error that every command tells; its code stands in the result."""
    from coatwright.errors import FileFormatError

    return FileFormatError(error.what, where=error.where, remedy=error.remedy)


def _tell(error: PhotoError, *, as_json: bool) -> None:
    from coatwright.cli.fail import tell

    tell(_plain(error), as_json=as_json)
