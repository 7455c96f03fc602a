"""A plan's takes as comma-separated values (RFC 4180) for any spreadsheet."""

from __future__ import annotations

import csv
from io import StringIO

from coatwright.printing.sheet import PlanDocument

COLUMNS = (
    "dog", "date", "zone", "zone_name", "take_percent", "minutes_of_visit", "carded", "tender", "cap_percent", "fixed"
)  # fmt: skip
FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a cell that begins so for a formula."""


def takes_csv(document: PlanDocument) -> str:
    """One line per visit and zone that is pulled or carded, CRLF between lines, a header first.

    Cells of words that a spreadsheet would take for a formula begin with an apostrophe; numbers are bare.
    """
    text = StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for number, visit in enumerate(document.visits):
        for zone in document.zones:
            share, carded = zone.takes[number], zone.carded[number]
            if share <= 0.0 and not carded:
                continue
            writer.writerow(
                [
                    harmless(document.dog),
                    visit.day.isoformat(),
                    zone.key,
                    zone.name,
                    f"{100 * share:g}",
                    f"{visit.minutes:.0f}",
                    _yes(carded),
                    _yes(zone.tender),
                    f"{100 * zone.cap:g}",
                    _yes(zone.fixed[number]),
                ]
            )
    return text.getvalue()


def harmless(text: str) -> str:
    """``text``, with an apostrophe in front where a spreadsheet would reckon with it."""
    return f"'{text}" if text.startswith(FORMULA) else text


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"
