"""What goes wrong, told on the standard error stream: what, where, and the remedy."""

from __future__ import annotations

import json
import sys

from coatwright.errors import CoatwrightError, InputError

FAILED = 2
"""Exit code of every error that is told."""


def tell(error: CoatwrightError, *, as_json: bool) -> None:
    """Write an error to the standard error stream, in words or as one JSON object."""
    if as_json:
        print(json.dumps(error.as_json(), ensure_ascii=not _unicode()), file=sys.stderr)
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(stderr=True, highlight=False)
    wrapped = console.is_terminal  # in a pipe or a log a path stays on one line
    rows = [
        ("Error", error.what, "bold red"),
        ("Where", error.where, "bold"),
        ("Remedy", error.remedy, "bold"),
    ]
    for label, words, style in rows:
        if not words:
            continue
        first, *others = words.splitlines() or [""]
        console.print(Text.assemble((f"{label:<8}", style), first), soft_wrap=not wrapped)
        for line in others:
            console.print(Text(f"{'':<8}{line}"), soft_wrap=True)


def usage(message: str, command: str) -> CoatwrightError:
    """A slip in the command itself as an error like any other."""
    what = message.strip().replace("Value error, ", "") or "The command is not complete."
    return InputError(what, where=command, remedy=f"See `{command} --help`.")


def _unicode() -> bool:
    return (sys.stderr.encoding or "").lower().replace("-", "") == "utf8"
