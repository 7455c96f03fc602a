"""``coatwright pattern``: breeds' lengths, and patterns of one's own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coatwright.cli.options import AsJson, LengthUnit, Unit

if TYPE_CHECKING:
    from coatwright.cli.screen import Page
    from coatwright.patterns import Pattern

app = typer.Typer(name="pattern", help="Breed patterns, and patterns of your own.", rich_markup_mode=None)
Which = Annotated[
    str, typer.Argument(metavar="PATTERN", help="The key of a pattern, or a pattern's TOML file.")
]


@app.callback(invoke_without_command=True)
def pattern(context: typer.Context) -> None:
    """Breed patterns, and patterns of your own."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@app.command("list")
def list_patterns(as_json: AsJson = False) -> None:
    """List the patterns that come with the program."""
    from coatwright.cli.screen import Page, write_json
    from coatwright.cli.words import counted
    from coatwright.patterns import patterns

    found = patterns()
    if as_json:
        write_json([_about(row) for row in found.values()])
        return
    page = Page()
    page.title(counted(len(found), "pattern"), "lengths in mm")
    page.console.print()
    rows = []
    for row in found.values():
        back = row.aims["back"]
        marks = "".join(sorted({band.mark for band in row.aims.values()}))
        rows.append(
            [
                row.name,
                row.key,
                row.build.replace("_", " "),
                "double" if row.double_coat else "single",
                f"{back.lo:g}–{back.hi:g}" if page.letters.none == "·" else f"{back.lo:g}-{back.hi:g}",
                marks,
            ]
        )
    page.table(["breed", "key", "build", "coat", "back", "founded"], rows, left=4, spare=(2, 3))
    _marks(page)


def _marks(page: Page) -> None:
    from coatwright.patterns import MARKS

    page.console.print()
    page.line("; ".join(f"{mark} {words}" for mark, words in MARKS.items()) + ".", style="dim")


@app.command()
def show(which: Which, as_json: AsJson = False, unit: LengthUnit = Unit.MM) -> None:
    """Show each zone's lengths and where they come from."""
    from coatwright.cli.screen import Page, write_json
    from coatwright.cli.words import wide
    from coatwright.patterns import zones
    from coatwright.printing.words import lengths

    found = _find(which)
    if as_json:
        write_json(_whole(found))
        return
    page = Page()
    page.title(found.name, found.key)
    coat = f"double coat, carded every {found.carding_days} days" if found.double_coat else "single coat"
    page.line(
        f"{found.build.replace('_', ' ').capitalize()} build, {found.height_mm:g} mm at the withers, "
        f"{found.weight_kg:g} kg, {coat}. Lengths last checked in {found.year_checked}.",
        start=0,
    )
    page.line(found.practice_note, start=0)
    page.heading("Lengths")
    page.console.print()
    names = {(source.mark, source.text): key for key, source in found.sources.items()}
    page.table(
        ["zone", "key", "aim", "judged", "founded", "source"],
        [
            [
                zones()[key].name,
                key,
                wide(lengths(band.lo, band.hi, unit)),
                "yes" if band.judged else "no",
                band.mark,
                names.get((band.mark, band.source), ""),
            ]
            for key, band in found.aims.items()
        ],
        left=2,
        spare=(1, 3),
    )
    page.heading("Sources")
    for key, source in found.sources.items():
        page.pair(key, f"{source.mark}. {source.text}", column=max(14, len(key) + 4))
    for key, band in found.aims.items():
        if band.note:
            page.pair(zones()[key].name, band.note, column=24)
    _marks(page)


@app.command()
def check(file: Annotated[Path, typer.Argument(metavar="FILE", help="A pattern's TOML file.")]) -> None:
    """Check a pattern of your own.

    Every slip is told with its line and its remedy.
    """
    from coatwright.patterns import read_pattern

    found = read_pattern(file.expanduser())
    base = f", based on {found.based_on}" if found.based_on else ""
    typer.echo(f"{file}: {found.name} ({found.key}){base}: {len(found.aims)} zones, all well.")


@app.command()
def copy(
    which: Which,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FILE", help="The file to write, if not own_PATTERN.toml.")
    ] = None,
    name: Annotated[str | None, typer.Option(metavar="TEXT", help="What your pattern is called.")] = None,
) -> None:
    """Copy a pattern into a file of your own, to change it there."""
    from coatwright.cli.files import write
    from coatwright.errors import InputError
    from coatwright.patterns import copy_with, write_pattern

    original = _find(which)
    target = to or Path(f"own_{original.key}.toml")
    if target.expanduser().exists():
        raise InputError(
            "There is such a file already.", where=str(target), remedy="Give another name with --to FILE."
        )
    own = copy_with(original, name=name)
    typer.echo(
        f'Written: {write(target, write_pattern(own))}. Use it in a dog\'s file: pattern = "{target}".'
    )


def _find(which: str) -> Pattern:
    from coatwright.cli.source import is_file_name
    from coatwright.patterns import pattern as shipped
    from coatwright.patterns import read_pattern

    return read_pattern(Path(which).expanduser()) if is_file_name(which) else shipped(which)


def _about(row: Pattern) -> dict[str, object]:
    return {
        "key": row.key,
        "name": row.name,
        "build": row.build,
        "double_coat": row.double_coat,
        "carding_days": row.carding_days,
        "year_checked": row.year_checked,
    }


def _whole(row: Pattern) -> dict[str, object]:
    return {
        **_about(row),
        "height_mm": row.height_mm,
        "weight_kg": row.weight_kg,
        "based_on": row.based_on or None,
        "aims": {
            key: {
                "lo": band.lo,
                "hi": band.hi,
                "judged": band.judged,
                "mark": band.mark,
                "source": band.source,
                "note": band.note,
            }
            for key, band in row.aims.items()
        },
        "end_mm": dict(row.end_mm),
    }
