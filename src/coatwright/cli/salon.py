"""``coatwright salon``: who is kept, what happened, and the records themselves."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coatwright.cli.options import AsJson, Data, Today

if TYPE_CHECKING:
    from coatwright.salon.backup import Report
    from coatwright.salon.events import Event
    from coatwright.salon.records import Dog as Record
    from coatwright.salon.store import Store

app = typer.Typer(
    name="salon", help="The salon's records: its dogs, what happened, backups.", rich_markup_mode=None
)
Dog = Annotated[str, typer.Argument(metavar="DOG", help="The name or id of a dog of the salon.")]


@app.callback(invoke_without_command=True)
def salon(context: typer.Context) -> None:
    """The salon's records: its dogs, what happened, backups."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@app.command()
def fill(today: Today = None, data: Data = None) -> None:
    """Fill an empty salon with the demo's invented dogs."""
    from coatwright.cli.source import calendar_day, open_salon
    from coatwright.demo import fill as fill_demo
    from coatwright.errors import InputError

    with open_salon(data, create=True) as store:
        kept = fill_demo(store, today or calendar_day())
        if not kept:
            raise InputError(
                "This salon has dogs already, and stays as it is.",
                where=store.place,
                remedy="Give another folder with --data.",
            )
        typer.echo(f"{len(store.state().dogs)} dogs and {kept} events are now in {store.place}.")


@app.command()
def dogs(as_json: AsJson = False, data: Data = None) -> None:
    """List the dogs of the salon."""
    from coatwright.cli.screen import Page, write_json
    from coatwright.cli.source import open_salon
    from coatwright.cli.words import counted, day_text

    with open_salon(data, create=False) as store:
        salon, place = store.state(), store.place
    if as_json:
        write_json([_dog_row(dog) for dog in salon.dogs.values()])
        return
    page = Page()
    page.title(counted(len(salon.dogs), "dog"), place)
    page.console.print()
    rows = []
    for dog in sorted(salon.dogs.values(), key=lambda each: each.name):
        shows = dog.wish.shows
        last = dog.visits[-1].day if dog.visits else None
        rows.append(
            [
                dog.name,
                dog.id,
                dog.pattern.name,
                day_text(last) if last else "no visit yet",
                "unfit" if dog.unfit else day_text(shows[0].day) if shows else "",
            ]
        )
    page.table(["name", "id", "pattern", "last visit", "first show"], rows, left=3, spare=(3, 2))
    for aside in salon.set_aside:
        page.console.print()
        page.caution(f"{aside.stream}, event {aside.event}: {aside.why}", word="Set aside")


def _dog_row(dog: Record) -> dict[str, object]:
    return {
        "id": dog.id,
        "name": dog.name,
        "pattern": dog.pattern.key,
        "unfit": dog.unfit or None,
        "last_visit": dog.visits[-1].day.isoformat() if dog.visits else None,
        "shows": [{"id": show.id, "name": show.name, "day": show.day.isoformat()} for show in dog.wish.shows],
    }


@app.command()
def add(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A dog's TOML file.")],
    today: Today = None,
    data: Data = None,
) -> None:
    """Take a dog from its file into the salon.

    Its history, its people and its shows come with it. A dog of the same id must not be there yet.
    """
    from coatwright.cli.source import find_dog, open_salon
    from coatwright.cli.words import counted
    from coatwright.salon.salon import add_dog

    found = find_dog(str(file) if file.suffix == ".toml" else f"./{file}", today=today)
    with open_salon(data, create=True) as store:
        events = add_dog(store, found.dog, today=found.today)
        typer.echo(f"{found.dog.name} is now in {store.place}, in {counted(len(events), 'event')}.")


@app.command()
def export(
    dog: Dog,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FILE", help="The file, instead of the standard output.")
    ] = None,
    data: Data = None,
) -> None:
    """Write a dog of the salon as a TOML file.

    `salon add`, `plan`, `forecast` and `sheet` read it again.
    """
    from coatwright.cli.files import write
    from coatwright.cli.source import dog_named, open_salon
    from coatwright.salon.dogwrite import write_dogfile

    with open_salon(data, create=False, seeking=dog) as store:
        text = write_dogfile(dog_named(store.state(), dog))
    if to is None:
        typer.echo(text, nl=False)
    else:
        typer.echo(f"Written: {write(to, text)}")


@app.command()
def events(
    dog: Annotated[
        str | None, typer.Argument(metavar="DOG", help="Only those of a dog, by its name or id.")
    ] = None,
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """List what happened, and what was undone.

    Oldest first. What was undone stays in the list and no longer counts.
    """
    from coatwright.cli.screen import Page, write_json
    from coatwright.cli.source import dog_named, open_salon
    from coatwright.cli.words import counted
    from coatwright.salon.events import stream_of, to_json
    from coatwright.salon.salon import history

    with open_salon(data, create=False) as store:
        if dog is None:
            streams = list(dict.fromkeys(event.stream for _, event in store.events()))
        else:
            streams = [stream_of("dog", dog_named(store.state(), dog).id)]
        found = [pair for stream in streams for pair in history(store, stream)]
        place = store.place
    found.sort(key=lambda pair: (pair[0].at, pair[0].id))
    if as_json:
        write_json([{**to_json(event), "counts": counts} for event, counts in found])
        return
    page = Page()
    page.title(counted(len(found), "event"), place)
    page.console.print()
    rows = [
        [
            event.id[:8],
            event.at.astimezone().strftime("%Y-%m-%d %H:%M"),
            event.stream if dog is None else "",
            _what(event) + ("" if counts else "  (undone)"),
        ]
        for event, counts in found
    ]
    page.table(["event", "when", "of" if dog is None else "", "what"], rows, left=4)


def _what(event: Event) -> str:
    """An event in a few words."""
    from coatwright.salon.events import KINDS

    words = {
        "person.set": "person kept",
        "show.set": "show kept",
        "dog.set": "facts kept",
        "assessment.set": "coat read",
        "visit.logged": "visit logged",
        "visit.corrected": "visit corrected",
        "reading.taken": "comb and ruler",
        "paper.read": "paper test",
        "plan.kept": "plan kept",
        "cell.fixed": "take fixed",
        "cell.freed": "take freed",
        "dog.unfit": "marked unfit",
        "dog.fit": "marked fit",
        "printer.set": "printer measured",
        "thread.checked": "thread check",
        "tool.sharpened": "tool sharpened",
        "undone": "undone",
    }
    told = words.get(event.kind, event.kind if event.kind in KINDS else f"unknown: {event.kind}")
    if event.kind == "undone":
        return f"{told}: {str(event.data.get('event', ''))[:8]}"
    detail = event.data.get("day") or event.data.get("name") or ""
    return f"{told}, {detail}" if detail else told


@app.command()
def undo(
    event: Annotated[
        str, typer.Argument(metavar="EVENT", help="The event's id, or the first letters of it.")
    ],
    data: Data = None,
) -> None:
    """Take an event back.

    Nothing is deleted: an undoing is an event too, and can itself be undone.
    """
    from coatwright.cli.source import open_salon
    from coatwright.salon.salon import undo as take_back

    with open_salon(data, create=False) as store:
        known = _event(store, event)
        done = take_back(store, known.stream, known.id)
        typer.echo(f"Undone: {_what(known)} ({known.stream}). To take that back: undo {done.id[:8]}.")


def _event(store: Store, start: str) -> Event:
    from coatwright.errors import UnknownName

    found = {event.id: event for _, event in store.events() if event.id.startswith(start)}
    if len(found) == 1:
        return next(iter(found.values()))
    if not found or not start:
        raise UnknownName(
            f"There is no event {start!r}.",
            where=store.place,
            remedy="`coatwright salon events` lists them all.",
        )
    raise UnknownName(
        f"{len(found)} events begin with {start!r}.",
        where=store.place,
        remedy=f"Give more letters: {', '.join(sorted(found)[:4])}.",
    )


@app.command()
def backup(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="The file to write; an older one is replaced.")
    ],
    data: Data = None,
) -> None:
    """Copy the records into one file, and check it.

    They may be in use meanwhile. The file appears only when it is whole.
    """
    from coatwright.cli.source import open_salon
    from coatwright.salon.backup import back_up

    with open_salon(data, create=False) as store:
        report = back_up(store, file.expanduser())
    typer.echo(f"{_held(report)}: {file}")


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A backup.")],
    safety: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Where the present records are backed up before they go."),
    ] = None,
    data: Data = None,
) -> None:
    """Put a backup in the place of the records.

    All of it or, if that fails, nothing. Present records are never thrown away: --safety says where they go.
    """
    from coatwright.cli.source import open_salon
    from coatwright.salon.backup import check_backup
    from coatwright.salon.backup import restore as put_back

    check_backup(file.expanduser())
    with open_salon(data, create=True) as store:
        report = put_back(store, file.expanduser(), safety=safety.expanduser() if safety else None)
        typer.echo(f"{_held(report)}: now in {store.place}")
        if safety is not None and safety.expanduser().exists():
            typer.echo(f"The records before are in {safety}")


def _held(report: Report) -> str:
    from coatwright.cli.words import counted

    held = [counted(report.dogs, "dog"), counted(report.events, "event")]
    held += [counted(report.files, "kept file")] if report.files else []
    held += [f"{report.missing} more named but not there"] if report.missing else []
    return f"{', '.join(held)}, {report.bytes / 1000:,.0f} kB"
