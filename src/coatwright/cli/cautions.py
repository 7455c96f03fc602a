"""Cautions in the terminal."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coatwright.cli.screen import Page
    from coatwright.printing.sheet import Note
    from coatwright.salon.cautions import Caution

STYLES = {"stop": "red", "caution": "yellow", "note": ""}


def show_cautions(page: Page, notes: Iterable[Note | Caution]) -> None:
    """Every caution, gravest first: its level as a word, its title, its text."""
    page.heading("Mind")
    for note in notes:
        page.caution(f"{note.title}: {note.text}", word=note.level.capitalize(), style=STYLES[note.level])
