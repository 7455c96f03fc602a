"""Plain values as TOML text."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from typing import Any


def toml_of(table: Mapping[str, Any], header: str = "") -> str:
    """A table as TOML: its values first, then tables and lists of tables under headers of their own."""
    lines: list[str] = []
    below: list[str] = []
    for key, item in table.items():
        name = f"{header}.{key_of(key)}" if header else key_of(key)
        if isinstance(item, Mapping):
            below.append(f"\n[{name}]\n{toml_of(item, name)}")
        elif _tables(item):
            below.extend(f"\n[[{name}]]\n{toml_of(row, name)}" for row in item)
        else:
            lines.append(f"{key_of(key)} = {value_of(item)}\n")
    return "".join([*lines, *below])


def value_of(item: Any) -> str:
    """One value on one line; raises :class:`TypeError` for what TOML does not have."""
    match item:
        case bool():
            return "true" if item else "false"
        case str():
            return json.dumps(item, ensure_ascii=False).replace("\x7f", "\\u007F")
        case int():
            return str(item)
        case float():
            return repr(item)
        case date():
            return item.isoformat()
        case Mapping():
            inside = ", ".join(f"{key_of(key)} = {value_of(part)}" for key, part in item.items())
            return f"{{ {inside} }}" if inside else "{}"
        case list() | tuple():
            return f"[{', '.join(value_of(part) for part in item)}]"
    raise TypeError(f"TOML has no {type(item).__name__}")


def key_of(key: str) -> str:
    """A key, in quotes where it needs them."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else value_of(key)


def _tables(item: Any) -> bool:
    return isinstance(item, list | tuple) and bool(item) and all(isinstance(row, Mapping) for row in item)
