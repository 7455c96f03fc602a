"""``coatwright schema``: the JSON Schema of what ``--json`` writes."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer


class Kind(StrEnum):
    """What ``--json`` writes."""

    PLAN = "plan"
    FORECAST = "forecast"
    SHEET = "sheet"
    PAPER = "paper"
    THREAD = "thread"
    ERROR = "error"


def schema(kind: Annotated[Kind, typer.Argument(help="Which of them.")]) -> None:
    """Write the JSON Schema of what --json writes."""
    from importlib.resources import files

    text = files("coatwright").joinpath("schemas", f"{kind}.schema.json").read_text(encoding="utf-8")
    typer.echo(text, nl=False)
