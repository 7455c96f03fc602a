"""The patterns that come with the program, patterns from files, and copies with changes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

from coatwright.errors import UnknownName
from coatwright.patterns.model import Band, Pattern
from coatwright.patterns.reading import parse_pattern
from coatwright.patterns.textfile import read_small_text

LARGEST_BYTES = 1_000_000
"""A pattern file is a few kilobytes; more than this is another kind of file."""


@cache
def patterns() -> Mapping[str, Pattern]:
    """Every pattern that comes with the program by key, in alphabetical order of their names; read once."""
    found = {key: pattern(key) for key in _keys()}
    return MappingProxyType(dict(sorted(found.items(), key=lambda item: item[1].name)))


@cache
def pattern(key: str) -> Pattern:
    """One pattern that comes with the program, or :class:`UnknownName` with the nearest names."""
    if key not in _keys():
        raise UnknownName.of("pattern", key, _keys())
    text = files(__package__).joinpath("breeds", f"{key}.toml").read_text(encoding="utf-8")
    return parse_pattern(text, f"{key}.toml", key, pattern)


def read_pattern(path: str | Path) -> Pattern:
    """A user's own pattern from a TOML file.

    Raises :class:`FileFormatError`, naming the file, the line where it can be found, the key and a remedy.
    """
    file = Path(path)
    text = read_small_text(file, thing="a pattern", choose="a pattern file", largest=LARGEST_BYTES)
    key = re.sub(r"[^a-z0-9]+", "_", file.stem.lower()).strip("_")
    return parse_pattern(text, str(file), key, pattern)


def copy_with(
    original: Pattern,
    *,
    key: str | None = None,
    name: str | None = None,
    aims: Mapping[str, Band] | None = None,
    end_mm: Mapping[str, float] | None = None,
    **changes: Any,
) -> Pattern:
    """A pattern of one's own: ``original`` with changes.

    ``aims`` and ``end_mm`` name only the zones that change; any other field of :class:`Pattern` may be
    given by name. The copy is called ``own_...`` unless ``key`` says otherwise and remembers in
    ``based_on`` what it was made from. Raises an :class:`~coatwright.errors.InputError` naming the field.
    """
    allowed = [field.name for field in fields(Pattern)]
    for unknown in changes:
        if unknown not in allowed:
            raise UnknownName.of("field of a pattern", unknown, allowed)
    return replace(
        original,
        **{
            "key": key if key is not None else f"own_{original.key}",
            "name": name if name is not None else f"{original.name}, own",
            "aims": {**original.aims, **(aims or {})},
            "end_mm": {**original.end_mm, **(end_mm or {})},
            "based_on": original.based_on or (original.key if original.key in _keys() else ""),
            **changes,
        },
    )


@cache
def _keys() -> tuple[str, ...]:
    folder = files(__package__).joinpath("breeds")
    return tuple(sorted(item.name[:-5] for item in folder.iterdir() if item.name.endswith(".toml")))
