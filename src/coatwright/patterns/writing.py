"""A pattern written as TOML text that reads back equal."""

from __future__ import annotations

import json
import re

from coatwright.patterns.model import Band, Pattern
from coatwright.patterns.reading import EVERYWHERE


def write_pattern(pattern: Pattern) -> str:
    """The TOML text of a pattern, whole: it needs no other file to be read, unless it is based on one."""
    keys = {(source.mark, source.text): key for key, source in reversed(list(pattern.sources.items()))}
    lines = [f"key = {_text(pattern.key)}", f"name = {_text(pattern.name)}"]
    if pattern.based_on:
        lines.append(f"based_on = {_text(pattern.based_on)}")
    lines += [
        f"build = {_text(pattern.build)}",
        f"ears = {_text(pattern.ears)}",
        f"tail = {_text(pattern.tail)}",
        f"height_mm = {_number(pattern.height_mm)}",
        f"weight_kg = {_number(pattern.weight_kg)}",
        f"colours = [{', '.join(_text(colour) for colour in pattern.colours)}]",
        f"double_coat = {_flag(pattern.double_coat)}",
        f"carding_days = {pattern.carding_days}",
        f"year_checked = {pattern.year_checked}",
        f"practice_note = {_text(pattern.practice_note)}",
        "",
        "[sources]",
    ]
    lines += [
        f"{_key(key)} = {{ mark = {_text(source.mark)}, text = {_text(source.text)} }}"
        for key, source in pattern.sources.items()
    ]
    lines += ["", "[end_mm]", *_ends(pattern), "", "[aims]"]
    lines += [f"{zone} = {_band(band, keys)}" for zone, band in pattern.aims.items()]
    return "\n".join(lines) + "\n"


def _ends(pattern: Pattern) -> list[str]:
    values = list(pattern.end_mm.values())
    usual = max(values, key=values.count)
    others = [f"{zone} = {_number(mm)}" for zone, mm in pattern.end_mm.items() if mm != usual]
    return [f"{EVERYWHERE} = {_number(usual)}", *others]


def _band(band: Band, keys: dict[tuple[str, str], str]) -> str:
    parts = [
        f"lo = {_number(band.lo)}",
        f"hi = {_number(band.hi)}",
        f"judged = {_flag(band.judged)}",
        f"source = {_text(keys[band.mark, band.source])}",
    ]
    if band.note:
        parts.append(f"note = {_text(band.note)}")
    return f"{{ {', '.join(parts)} }}"


def _text(value: str) -> str:
    """A TOML basic string: JSON's escapes are TOML's, save that TOML escapes DEL too."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")


def _key(value: str) -> str:
    return value if re.fullmatch(r"[A-Za-z0-9_-]+", value) else _text(value)


def _number(value: float) -> str:
    return str(int(value)) if float(value).is_integer() else repr(float(value))


def _flag(value: bool) -> str:
    return "true" if value else "false"
