"""What is kept of gear: how long a printer's bar is, what threads said of a phone, when a tool was sharpened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from coatwright.paper.sheet import BAR_LIMITS
from coatwright.salon.checks import check_name, check_number, check_text
from coatwright.units import Millimetres


def gear_key(name: str) -> str:
    """The key of a printer, phone or tool from its name: the same however it is spaced or capitalised."""
    return " ".join(name.split()).casefold()


@dataclass(frozen=True, slots=True)
class Printer:
    """A printer, and what a ruler said of the bar of 100 mm that it printed.

    ``id`` is :func:`gear_key` of its name; ``bar_mm`` the length of the bar, mm.
    """

    id: str
    name: str
    bar_mm: Millimetres
    day: date

    def __post_init__(self) -> None:
        check_name(self.id, "A printer's id")
        check_name(self.name, "A printer's name")
        check_number(self.bar_mm, "bar_mm", *BAR_LIMITS, "mm")


@dataclass(frozen=True, slots=True)
class ThreadKept:
    """A thread check of one phone and one printer: ``check`` as :class:`coatwright.paper.thread.ThreadCheck` has it.

    ``photo`` and ``traces`` are the names of the kept files that it can be worked out again from; ``bar_mm`` is what
    was known of the printer's bar of 100 mm when it was read, mm.
    """

    id: str
    day: date
    phone: str
    printer: str
    check: Mapping[str, Any] = field(default_factory=dict)
    sheet: str = ""
    photo: str = ""
    traces: str = ""
    bar_mm: Millimetres = 100.0

    def __post_init__(self) -> None:
        check_name(self.id, "A thread check's id")
        check_number(self.bar_mm, "bar_mm", *BAR_LIMITS, "mm")
        check_name(self.phone, "A phone's name")
        check_name(self.printer, "A printer's name")


@dataclass(frozen=True, slots=True)
class Sharpened:
    """A tool was sharpened, or its edge renewed: its trend begins anew."""

    tool: str
    day: date
    note: str = ""

    def __post_init__(self) -> None:
        check_name(self.tool, "A tool's name")
        check_text(self.note, "note", most=300)
