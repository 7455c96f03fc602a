"""One dog in one TOML file. The format is told in ``docs/reference/dog-file.md``.

Every error names the file, the line, the key and the remedy.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from coatwright.errors import FileFormatError, InputError
from coatwright.patterns.textfile import read_small_text
from coatwright.salon.coats import check_coat
from coatwright.salon.filetables import DOG_KEYS, KEYS, dog_of_tables
from coatwright.salon.lines import line_at, lines_of
from coatwright.salon.plain import KeyPath, Misplaced, check_keys, path_text, value
from coatwright.salon.records import Dog
from coatwright.salon.timely import check_days

LARGEST_BYTES = 5_000_000
"""A dog's file is a few kilobytes; years of visits are some hundred."""
TOML_PLACE = re.compile(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)$", re.DOTALL)
DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
RECORD = re.compile(r"(assessment|visit) of (\d{4}-\d{2}-\d{2}), (\w+)$")


@dataclass(frozen=True, slots=True)
class DogFile:
    """What a file holds: the dog, and the day to plan from."""

    dog: Dog
    today: date


def read_dogfile(path: str | Path, *, today: date, plan_from: date | None = None) -> DogFile:
    """The dog in a file.

    ``today`` is the calendar's day; the file's own ``today`` takes its place, and ``plan_from`` that of both.
    Raises an :class:`~coatwright.errors.InputError` that names file, line, key and remedy.
    """
    file = Path(path)
    text = read_small_text(file, thing="a dog", choose="the file of one dog", largest=LARGEST_BYTES)
    return parse_dogfile(text, name=str(file), folder=file.parent, today=today, plan_from=plan_from)


def parse_dogfile(
    text: str,
    *,
    today: date,
    name: str = "dog file",
    folder: Path | None = None,
    plan_from: date | None = None,
) -> DogFile:
    """The dog in a TOML text; see :func:`read_dogfile`. A pattern's file is looked for in ``folder``."""
    try:
        raw = tomllib.loads(text)
    except RecursionError as error:
        raise FileFormatError(
            "The tables are nested too deeply.", where=name, remedy="Choose the file of a dog."
        ) from error
    except ValueError as error:  # a TOMLDecodeError, or a number of thousands of digits
        raise _not_toml(str(error), text, name) from error
    lines = lines_of(text)
    dog: Dog | None = None
    try:
        table = check_keys(raw, KEYS[""], ())
        day = value(date, table["today"], ("today",)) if "today" in table else today
        day = plan_from or day
        dog = dog_of_tables(table, folder)
        check_days(dog, day)
        check_coat(dog)
    except Misplaced as misplaced:
        path = _file_path(misplaced.path)
        raise _placed(misplaced.error, name, lines, path) from misplaced
    except InputError as error:
        raise _placed(error, name, lines, _path_of(error, dog)) from error
    return DogFile(dog, day)


def _placed(error: InputError, name: str, lines: dict[KeyPath, int], path: KeyPath) -> InputError:
    if path[:2] == ("coat", 0) and path[:2] not in lines:
        path = ("coat", *path[2:])  # a single [coat] has no number
    line = line_at(lines, path)
    where = [name, f"line {line}" if line else "", path_text(path)]
    return type(error)(error.what, where=", ".join(part for part in where if part), remedy=error.remedy)


def _path_of(error: InputError, dog: Dog | None) -> KeyPath:
    """The path of an error that a check of the whole dog raised."""
    found = RECORD.search(error.where)
    if found and dog is not None:
        kind, day, zone = found.groups()
        days = [record.day for record in (dog.visits if kind == "visit" else dog.assessments)]
        position = days.index(date.fromisoformat(day))
        return ("visits", position, "takes", zone) if kind == "visit" else ("coat", position, "layers", zone)
    parts = [part for part in error.where.split(", ") if part]
    return _file_path(tuple(int(part) - 1 if part.isdigit() else part for part in parts))


def _file_path(path: KeyPath) -> KeyPath:
    """A path through the record of a dog as a path through the file."""
    match path:
        case ("zone_growth", zone, *rest):
            return ("zones", zone, "growth", *rest)
        case ("shape_mm", zone, *rest):
            return ("zones", zone, "shape_mm", *rest)
        case ("speed", zone, *rest):
            return ("zones", zone, "minutes", *rest)
        case ("assessments", *rest):
            return ("coat", *rest)
        case (str() as key, *rest) if key in DOG_KEYS and key != "pattern":
            return ("dog", key, *rest)
    return path


def _not_toml(message: str, text: str, name: str) -> FileFormatError:
    found = TOML_PLACE.match(message)
    what, line, column = found.groups() if found else (message, None, None)
    place = f", line {line}" if line else ", end of the file" if found else ""
    if line and "date" in what.lower():
        day = DATE.search(text.splitlines()[int(line) - 1])
        if day:
            return FileFormatError(
                f"{day[0]} is no day of the calendar.",
                where=f"{name}{place}",
                remedy="Give a date as year-month-day, such as 2027-03-01.",
            )
    return FileFormatError(
        f"This is not TOML: {what[:1].lower() + what[1:]}" + (f" at column {column}." if column else "."),
        where=f"{name}{place}",
        remedy="Look for a missing quote, comma or bracket there; a key stands before '=', a text in quotes.",
    )
