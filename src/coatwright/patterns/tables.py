"""TOML tables read strictly: every slip is told with its file, its key and, where found, its line."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches
from typing import Any

from coatwright.errors import FileFormatError

_HEADER = re.compile(r"\s*\[\[?\s*([^\[\]#]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=(.*)$""")
_PART = re.compile(r"""[\w-]+|"[^"]*"|'[^']*'""")
_PLACE = re.compile(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)$", re.DOTALL)

Path = tuple[str, ...]

LONGEST_LINE = 4000
"""Longer lines are not searched for keys: an error there is told without its line."""


class Document:
    """One TOML text, the name that errors call it by, and the line of each of its keys."""

    def __init__(self, text: str, name: str) -> None:
        self.name = name
        try:
            self.raw = tomllib.loads(text)
        except RecursionError as error:
            raise FileFormatError(
                "The tables are nested too deeply.", where=name, remedy="Choose a pattern file."
            ) from error
        except ValueError as error:  # a TOMLDecodeError, or a number with thousands of digits
            raise _not_toml(str(error), text, name) from error
        self.lines = _lines(text)

    def error(self, path: Path, what: str, remedy: str = "") -> FileFormatError:
        """The error ``what`` at the key ``path``."""
        line = next((self.lines[path[:n]] for n in range(len(path), 0, -1) if path[:n] in self.lines), None)
        where = [self.name, f"line {line}" if line else "", ".".join(path)]
        return FileFormatError(what, where=", ".join(part for part in where if part), remedy=remedy)


class Table:
    """One table of a document. Values are taken by name and kind; what is left over is an error."""

    def __init__(self, document: Document, path: Path, raw: dict[str, Any]) -> None:
        self.document = document
        self.path = path
        self.raw = raw
        self.asked: set[str] = set()

    def error(self, key: str, what: str, remedy: str = "") -> FileFormatError:
        """The error ``what`` at a key of this table."""
        return self.document.error((*self.path, key), what, remedy)

    def __contains__(self, key: str) -> bool:
        return key in self.raw

    def text(self, key: str, default: str | None = None) -> str:
        """A text."""
        value = self._value(key, default, '"some words"')
        if not isinstance(value, str):
            raise self._wrong(key, value, "a text", 'Put it in quotes: "some words".')
        return value

    def number(self, key: str, default: float | None = None) -> float:
        """A number, whole or not."""
        value = self._value(key, default, "a number such as 20")
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._wrong(key, value, "a number", "Write it without quotes or unit, such as 20 or 12.5.")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise self.error(key, "The number has no end.", "Write a number such as 20 or 12.5.")
        return number

    def whole(self, key: str, default: int | None = None) -> int:
        """A whole number."""
        value = self._value(key, default, "a whole number such as 14")
        if isinstance(value, bool) or not isinstance(value, int):
            raise self._wrong(key, value, "a whole number", "Write it without quotes, unit or point.")
        return value

    def flag(self, key: str, default: bool | None = None) -> bool:
        """True or false."""
        value = self._value(key, default, "true or false")
        if not isinstance(value, bool):
            raise self._wrong(key, value, "true or false", "Write true or false, without quotes.")
        return value

    def texts(self, key: str, default: Sequence[str] | None = None) -> tuple[str, ...]:
        """A list of texts."""
        value = self._value(key, default, 'a list such as ["red", "wheaten"]')
        if not isinstance(value, list | tuple) or not all(isinstance(item, str) for item in value):
            raise self._wrong(key, value, "a list of texts", 'Write it as ["red", "wheaten"].')
        return tuple(value)

    def table(self, key: str, *, needed: bool = True) -> Table:
        """A table within this one; an empty one when it is missing and not ``needed``."""
        value = self._value(key, None if needed else {}, f"a table [{'.'.join((*self.path, key))}]")
        if not isinstance(value, dict):
            raise self._wrong(key, value, "a table", f"Write {key} = {{ ... }} or a header [{key}].")
        return Table(self.document, (*self.path, key), value)

    def known(self, options: Iterable[str], kind: str = "key") -> None:
        """Refuse the first key that is not among ``options``."""
        names = list(options)
        for key in self.raw:
            if key not in names:
                near = get_close_matches(key, names, n=3) or names[:12]
                rest = "" if len(near) == len(names) else ", ..."
                raise self.error(
                    key, f"There is no {kind} called {key!r}.", f"Did you mean: {', '.join(near)}{rest}?"
                )

    def _value(self, key: str, default: Any, example: str) -> Any:
        if key in self.raw:
            return self.raw[key]
        if default is None:
            place = f"in the table {'.'.join(self.path)}" if self.path else "at the top of the file"
            raise self.error(key, f"The key {key} is missing.", f"Add it {place}: {example}.")
        return default

    def _wrong(self, key: str, value: Any, wanted: str, remedy: str) -> FileFormatError:
        shown = repr(value) if len(repr(value)) <= 40 else repr(value)[:37] + "..."
        return self.error(key, f"The value {shown} is not {wanted}.", remedy)


def _not_toml(message: str, text: str, name: str) -> FileFormatError:
    if message.startswith(("Cannot overwrite", "Cannot declare")) and (twice := _twice(text)):
        path, line = twice
        return FileFormatError(
            f"This is not TOML: {'.'.join(path)} is said twice.",
            where=f"{name}, line {line}",
            remedy="Take one of the two out.",
        )
    found = _PLACE.match(message)
    what, line_, column = found.groups() if found else (message, None, None)
    place = f", line {line_}, column {column}" if line_ else ", end of the file" if found else ""
    return FileFormatError(
        f"This is not TOML: {what[0].lower() + what[1:]}.",
        where=f"{name}{place}",
        remedy="Look for a missing quote, comma or bracket there; a key stands before '=', a text in quotes.",
    )


def _lines(text: str) -> dict[Path, int]:
    """The line of each table header and key; keys inside an inline table share their table's line."""
    found: dict[Path, int] = {}
    for path, table, line in _keys(text):
        for n in range(min(table + 1, len(path)), len(path) + 1):
            found.setdefault(path[:n], line)
    return found


def _twice(text: str) -> tuple[Path, int] | None:
    """The first key or header that stands a second time, and that line."""
    seen: set[Path] = set()
    for path, _, line in _keys(text):
        if path in seen:
            return path, line
        seen.add(path)
    return None


def _keys(text: str) -> Iterator[tuple[Path, int, int]]:
    """Path, length of the path of the table it stands in, and line, of every header and key."""
    table: Path = ()
    closing = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > LONGEST_LINE:
            continue
        if closing:
            if closing in line:
                closing = ""
            continue
        if header := _HEADER.match(line):
            table = _parts(header[1])
            yield table, len(table), number
        elif key := _KEY.match(line):
            yield (*table, *_parts(key[1])), len(table), number
            closing = next((q for q in ('"""', "'''") if key[2].count(q) == 1), "")


def _parts(dotted: str) -> Path:
    return tuple(part.strip("\"'") for part in _PART.findall(dotted))
