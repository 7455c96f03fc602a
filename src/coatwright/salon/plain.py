"""Records as plain values and back: the shapes that TOML files and stored events are made of.

Plain means ``dict``, ``list``, ``str``, ``int``, ``float``, ``bool`` and :class:`datetime.date`. Reading is
strict: a key that is not known, or a value of the wrong kind, is an error that knows its *path*, the keys and
positions that lead to it, so that a file's reader can find the line.
"""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime
from functools import cache
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from coatwright.errors import FileFormatError, InputError, UnknownName

KeyPath = tuple[str | int, ...]
T = TypeVar("T")

KINDS = {
    str: "a text in quotes",
    int: "a whole number",
    float: "a number",
    bool: "true or false",
    date: "a date such as 2027-03-01",
}


class Misplaced(Exception):  # noqa: N818 - carries an error to where its place can be told
    """An error together with the path that leads to it."""

    def __init__(self, error: InputError, path: KeyPath) -> None:
        self.error = error
        self.path = path
        super().__init__(error.text)

    def told(self) -> InputError:
        """The error, with the path in words in front of where it happened."""
        place = path_text(self.path)
        where = self.error.where
        return self.error if not place or where.startswith(place) else _moved(self.error, place)


def _moved(error: InputError, place: str) -> InputError:
    return type(error)(error.what, where=place, remedy=error.remedy)


def path_text(path: KeyPath) -> str:
    """A path in words: ``visits[2].takes.back.share`` (positions count from 1)."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else (f".{part}" if text else part)
    return text


@contextmanager
def placed(path: KeyPath) -> Iterator[None]:
    """Give an error raised inside the ``path`` at which it happened."""
    try:
        yield
    except Misplaced:
        raise
    except InputError as error:
        inner = tuple(int(part) - 1 if part.isdigit() else part for part in error.where.split(", ") if part)
        raise Misplaced(error, path + inner) from error


def wrong(what: str, path: KeyPath, remedy: str) -> Misplaced:
    """A value of the wrong shape."""
    return Misplaced(FileFormatError(what, remedy=remedy), path)


def check_keys(data: object, known: tuple[str, ...], path: KeyPath, kind: str = "key") -> dict[str, Any]:
    """``data`` as a table, when it is one and all its keys are known names of a ``kind``."""
    table = _table(data, path)
    for key in table:
        if key not in known:
            error = UnknownName.of(kind, str(key), known)
            raise Misplaced(error, (*path, str(key)))
    return table


def rows(data: object, path: KeyPath) -> list[Any]:
    """``data`` as a list, when it is one."""
    if not isinstance(data, list | tuple):
        raise wrong(
            f"{_name(path)} is {_shown(data)}, but must be a list.", path, "Put it in square brackets."
        )
    return list(data)


def value(kind: type, data: object, path: KeyPath) -> Any:
    """``data`` as a text, number, flag or date."""
    if kind is date:
        return _date(data, path)
    if kind is float and isinstance(data, int) and not isinstance(data, bool):
        return float(data)
    if not isinstance(data, kind) or (isinstance(data, bool) and kind is not bool):
        raise wrong(
            f"{_name(path)} is {_shown(data)}, but must be {KINDS[kind]}.", path, f"Give {KINDS[kind]} here."
        )
    return data


def from_plain(kind: type[T], data: object, path: KeyPath = ()) -> T:
    """A record of ``kind`` (a dataclass) from a table; raises :class:`Misplaced`."""
    hints = _hints(cast(Any, kind))
    table = check_keys(data, tuple(hints), path)
    arguments = {key: _read(hints[key], table[key], (*path, key)) for key in table}
    for item in fields(kind):  # type: ignore[arg-type]
        if item.default is MISSING and item.default_factory is MISSING and item.name not in arguments:
            raise wrong(f"The key {item.name!r} is missing.", path, "Add it.")
    with placed(path):
        return kind(**arguments)


def to_plain(record: Any) -> dict[str, Any]:
    """The table of a record; values that are as by default are left out."""
    table = {}
    for item in fields(record):
        here = getattr(record, item.name)
        default = item.default_factory() if item.default_factory is not MISSING else item.default
        if (item.default is MISSING and item.default_factory is MISSING) or here != default:
            table[item.name] = _write(here)
    return table


def json_ready(data: Any) -> Any:
    """Plain values with dates as texts, as JSON holds them."""
    if isinstance(data, Mapping):
        return {key: json_ready(item) for key, item in data.items()}
    if isinstance(data, list | tuple):
        return [json_ready(item) for item in data]
    return data.isoformat() if isinstance(data, date) else data


def _write(here: Any) -> Any:
    if is_dataclass(here) and not isinstance(here, type):
        return to_plain(here)
    if isinstance(here, Mapping):
        return {key: _write(item) for key, item in here.items()}
    if isinstance(here, list | tuple):
        return [_write(item) for item in here]
    return here


def _read(hint: Any, data: object, path: KeyPath) -> Any:
    if hint is Any:
        return data
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        kinds = [argument for argument in arguments if argument is not type(None)]
        return None if data is None and len(kinds) < len(arguments) else _read(kinds[0], data, path)
    if origin is tuple:
        items = rows(data, path)
        if len(arguments) == 2 and arguments[1] is Ellipsis:
            return tuple(_read(arguments[0], item, (*path, at)) for at, item in enumerate(items))
        if len(items) != len(arguments):
            what = f"{_name(path)} has {len(items)} values."
            raise wrong(what, path, f"Give {len(arguments)}: the first and the last.")
        pairs = zip(arguments, items, strict=True)
        return tuple(_read(kind, item, (*path, at)) for at, (kind, item) in enumerate(pairs))
    if origin is not None and issubclass(origin, Mapping):
        return {key: _read(arguments[1], item, (*path, key)) for key, item in _table(data, path).items()}
    if is_dataclass(hint):
        return from_plain(hint, data, path)  # type: ignore[arg-type]
    return value(hint, data, path)


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _date(data: object, path: KeyPath) -> date:
    if isinstance(data, datetime):
        raise wrong(f"{_name(path)} is a time, but must be a date.", path, "Leave the time out: 2027-03-01.")
    if isinstance(data, date):
        return data
    if isinstance(data, str):
        try:
            return date.fromisoformat(data)
        except ValueError:
            pass
    raise wrong(
        f"{_name(path)} is {_shown(data)}, which is no day of the calendar.",
        path,
        "Give a date as year-month-day, such as 2027-03-01.",
    )


def _table(data: object, path: KeyPath) -> dict[str, Any]:
    if not isinstance(data, Mapping):
        what = f"{_name(path)} is {_shown(data)}, but must be a table of keys."
        raise wrong(what, path, "Give keys and values.")
    return {str(key): item for key, item in data.items()}


def _name(path: KeyPath) -> str:
    names = [part for part in path if isinstance(part, str)]
    return names[-1] if names else "The whole"


def _shown(data: object) -> str:
    if isinstance(data, Mapping):
        return "a table"
    if isinstance(data, list | tuple):
        return "a list"
    text = repr(data)
    return text if len(text) <= 40 else text[:37] + "..."
