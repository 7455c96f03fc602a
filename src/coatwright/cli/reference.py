"""The parts of the reference that the program itself knows: every command's help, every key of the JSON.

``python -m coatwright.cli.reference docs/reference`` writes them anew into the pages of that folder, between the
marks; a test holds that they are as the program has them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

BEGIN, END = "<!-- begin: written by the program -->", "<!-- end -->"
WIDTH = 80
KINDS = ("plan", "forecast", "sheet", "paper", "thread", "error")


def pages() -> dict[str, str]:
    """What belongs between the marks, by the name of the page."""
    return {"command-line.md": commands_block(), "json.md": json_block()}


def commands_block() -> str:
    """The help of every command, as it is shown on a terminal of 80 columns."""
    parts = []
    for name, text in helps():
        parts.append(f"## `{name}`\n\n```text\n{text.rstrip()}\n```\n")
    return "\n".join(parts)


def helps() -> Iterator[tuple[str, str]]:
    """Every command with its help, groups before what is in them."""
    import typer

    from coatwright.cli.main import app

    def walk(command: Any, name: str, parent: Any) -> Iterator[tuple[str, str]]:
        settings = {**command.context_settings, "terminal_width": WIDTH}
        context = command.context_class(command, info_name=name, parent=parent, **settings)
        yield context.command_path, command.get_help(context)
        for key, inner in getattr(command, "commands", {}).items():
            yield from walk(inner, key, context)

    yield from walk(typer.main.get_command(app), "coatwright", None)


def schema_of(kind: str) -> dict[str, Any]:
    """One of the schemas that come with the program."""
    text = files("coatwright").joinpath("schemas", f"{kind}.schema.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def json_block() -> str:
    """A table for every object of every schema."""
    parts = []
    for kind in KINDS:
        schema = schema_of(kind)
        inner = schema.get("$defs", {})
        parts.append(f"## {schema['title']}\n\n{schema['description']}\n\n{_table(schema, inner)}")
        for name, each in inner.items():
            parts.append(f"### {schema['title']}: {name}\n\n{each['description']}\n\n{_table(each, inner)}")
    return "\n".join(parts)


def _table(schema: Mapping[str, Any], inner: Mapping[str, Any]) -> str:
    lines = ["| key | value | meaning |", "| --- | --- | --- |"]
    for key, value in schema["properties"].items():
        lines.append(f"| `{key}` | {_kind(value)} | {_meaning(value, inner)} |")
    return "\n".join(lines) + "\n"


def _kind(value: Mapping[str, Any]) -> str:
    """The kind of a value in words."""
    if "$ref" in value:
        return str(value["$ref"]).rpartition("/")[2]
    if "anyOf" in value:
        return " or ".join(_kind(each) for each in value["anyOf"])
    if "const" in value:
        return f"`{json.dumps(value['const'])}`"
    if "enum" in value:
        return ", ".join(f"`{json.dumps(each)}`" for each in value["enum"])
    kinds = value["type"] if isinstance(value["type"], list) else [value["type"]]
    return " or ".join(_word(kind, value) for kind in kinds)


def _word(kind: str, value: Mapping[str, Any]) -> str:
    if kind == "array" and "prefixItems" in value:
        return "two numbers"
    if kind == "array":
        inner = _kind(value["items"])
        return f"list of {'numbers' if inner == 'number' else 'shares' if inner == 'share' else inner}"
    if kind == "string":
        return "date" if value.get("format") == "date" else "text"
    if kind == "number" and value.get("maximum") == 1:
        return "share"
    return {"boolean": "true or false", "integer": "whole number"}.get(kind, kind)


def _meaning(value: Mapping[str, Any], inner: Mapping[str, Any]) -> str:
    """What a key means: said beside it, or by the object that it holds."""
    if value.get("description"):
        return str(value["description"])
    held = [value, *value.get("anyOf", [])]
    names = [each["$ref"].rpartition("/")[2] for each in held if "$ref" in each]
    return str(inner[names[0]]["description"])


def filled(page: str, block: str) -> str:
    """A page with the block between its marks."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{block}\n{END}{after}"


def main(folder: Path) -> None:
    """Write the blocks into the pages of a folder."""
    for name, block in pages().items():
        file = folder / name
        file.write_text(filled(file.read_text(encoding="utf-8"), block), encoding="utf-8")


if __name__ == "__main__":
    import sys

    main(Path(sys.argv[1]))
