"""Arguments and options that several commands share."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from coatwright.errors import OutOfRange


class Unit(StrEnum):
    """How lengths are told."""

    MM = "mm"
    IN = "in"


class Paper(StrEnum):
    """Sizes of paper."""

    A4 = "a4"
    LETTER = "letter"


class Approach(StrEnum):
    """The ways to a coat."""

    FREE = "free"
    ROLLING = "rolling"
    STAGED = "staged"
    STRIP = "strip"


def a_date(text: str | date) -> date:
    """A date as year-month-day (ISO 8601), or :class:`OutOfRange`."""
    if isinstance(text, date):
        return text
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise OutOfRange(
            f"{text} is no day of the calendar.", remedy="Give a date as year-month-day, such as 2027-03-01."
        ) from error


DogName = Annotated[
    str, typer.Argument(metavar="DOG", help="A dog's TOML file, or the name or id of a dog of the salon.")
]
Today = Annotated[
    date | None,
    typer.Option(
        metavar="DATE", parser=a_date, help="The day to plan from, instead of today or the file's own."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Write JSON instead of tables.")]
LengthUnit = Annotated[Unit, typer.Option("--unit", help="Unit of lengths in tables and pictures.")]
Svg = Annotated[Path | None, typer.Option(metavar="FILE", help="Also draw it into an SVG file.")]
Pdf = Annotated[Path | None, typer.Option(metavar="FILE", help="Also print it into a PDF file.")]
PaperSize = Annotated[Paper, typer.Option("--paper", help="Size of the paper.")]
Data = Annotated[
    Path | None,
    typer.Option(metavar="DIR", help="The salon's folder, instead of COATWRIGHT_DATA or the usual place."),
]
