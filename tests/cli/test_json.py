"""What ``--json`` writes is what the schemas and the reference say."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from coatwright.cli.reference import KINDS, pages, schema_of
from tests.cli.conftest import OVERDONE, QUICK, ROOT, Coatwright

VARIANTS = {
    "staged": QUICK,
    "overdone": OVERDONE,
    "unpriced": QUICK.replace("price_per_hour = 30", "").replace("closing = 2027-05-15", ""),
    "fixed": QUICK + '\n[[fixed]]\nzone = "back"\nday = 2027-03-20\nshare = 0.15\n',
}
COMMANDS = {
    "plan": ("plan", "--compare"),
    "forecast": ("forecast", "--draws", "20"),
    "forecast alone": ("forecast", "--unpulled", "--days", "30"),
    "sheet": ("sheet",),
}


def errors(kind: str, value: Any) -> list[str]:
    """Where a value departs from a schema, checked by the reference implementation jsonschema."""
    checker = Draft202012Validator(schema_of(kind), format_checker=Draft202012Validator.FORMAT_CHECKER)
    return [f"{error.json_path}: {error.message[:200]}" for error in checker.iter_errors(value)]


@pytest.mark.parametrize("kind", KINDS)
def test_every_schema_is_a_schema_of_the_draft_that_it_names(kind: str) -> None:
    schema = schema_of(kind)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("variant", VARIANTS)
@pytest.mark.parametrize("command", COMMANDS)
def test_real_output_fits_its_schema(
    coatwright: Coatwright, tmp_path: Path, variant: str, command: str
) -> None:
    file = tmp_path / "dog.toml"
    file.write_text(VARIANTS[variant], encoding="utf-8")
    name, *options = COMMANDS[command]
    ran = coatwright(name, file, "--json", *options)
    assert ran.code == 0, ran.err
    assert errors(name, json.loads(ran.out)) == []


def test_errors_fit_their_schema(coatwright: Coatwright) -> None:
    for arguments in (
        ("plan", "nowhere.toml"),
        ("plan",),
        ("plan", "Quill"),
        ("forecast", "x.toml", "--nothing"),
    ):
        ran = coatwright(*arguments, "--json")
        assert ran.code == 2
        assert errors("error", json.loads(ran.err)) == []


def test_the_error_schema_names_every_kind_of_error() -> None:
    import coatwright.errors as module

    kinds = [
        name for name, each in vars(module).items() if isinstance(each, type) and issubclass(each, Exception)
    ]
    assert sorted(schema_of("error")["properties"]["error"]["enum"]) == sorted(kinds)


def test_a_schema_that_is_not_met_is_noticed(coatwright: Coatwright, quick: Path) -> None:
    plan = json.loads(coatwright("plan", quick, "--json").out)
    del plan["visits"][0]["minutes"]
    plan["zones"][0]["cap"] = 1.4
    plan["until"] = "30 February"
    found = errors("plan", plan)
    assert len(found) == 3
    assert any("minutes" in each for each in found)
    assert any("1.4" in each for each in found)
    assert any("30 February" in each for each in found)


def test_the_command_schema_writes_the_schema(coatwright: Coatwright) -> None:
    for kind in KINDS:
        assert json.loads(coatwright("schema", kind).out) == schema_of(kind)


def keys(schema: Any) -> Iterator[str]:
    """Every key that a schema allows."""
    if isinstance(schema, dict):
        yield from schema.get("properties", {})
        for inner in schema.values():
            yield from keys(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from keys(inner)


def objects(schema: Any) -> Iterator[dict[str, Any]]:
    """Every object that a schema describes by its keys."""
    if isinstance(schema, dict):
        if "properties" in schema:
            yield schema
        for inner in schema.values():
            yield from objects(inner)


@pytest.mark.parametrize("kind", KINDS)
def test_the_reference_names_every_key_with_its_meaning(kind: str) -> None:
    page = (ROOT / "docs" / "reference" / "json.md").read_text(encoding="utf-8")
    schema = schema_of(kind)
    for key in set(keys(schema)):
        assert f"| `{key}` |" in page
    for each in objects(schema):
        assert each["required"] == list(each["properties"])
        assert each["additionalProperties"] is False
        assert each["description"]


def test_the_reference_is_as_the_program_has_it() -> None:
    page = (ROOT / "docs" / "reference" / "json.md").read_text(encoding="utf-8")
    assert pages()["json.md"] in page, "python -m coatwright.cli.reference docs/reference"
    assert not [line for line in page.splitlines() if line.endswith("|  |")]


def test_lists_of_plain_values_stand_on_one_line(coatwright: Coatwright, quick: Path) -> None:
    text = coatwright("forecast", quick, "--json", "--zone", "back", "--days", "20").out
    told = json.loads(text)
    line = next(line for line in text.splitlines() if '"cover":' in line)
    assert json.loads("{" + line.strip().rstrip(",") + "}")["cover"] == told["zones"][0]["cover"]
    assert text.isascii() or text.encode("utf-8").decode("utf-8") == text
