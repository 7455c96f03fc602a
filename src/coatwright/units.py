"""Units used everywhere: millimetres, days, minutes, and shares between 0 and 1.

A *day* inside the model is a whole number: the proleptic Gregorian ordinal of a calendar date, so that
``day - day`` is a number of days and no time zone can move it. Dates appear only at the edges.
"""

from __future__ import annotations

from datetime import date

Millimetres = float
Days = float
Minutes = float
Share = float
Day = int

MM_PER_INCH = 25.4
"""Exact by definition (international yard and pound agreement, 1959)."""


def day_of(when: date) -> Day:
    """The day number of a calendar date."""
    return when.toordinal()


def date_of(day: Day) -> date:
    """The calendar date of a day number."""
    return date.fromordinal(int(day))


def inches(mm: Millimetres) -> float:
    """Millimetres as inches."""
    return mm / MM_PER_INCH


def length_text(mm: Millimetres, unit: str = "mm") -> str:
    """A length for a reader: ``"19 mm"``, or ``"3/4 in"`` to the nearest eighth when ``unit`` is ``"in"``."""
    if unit == "mm":
        return f"{mm:.0f} mm"
    if unit != "in":
        raise ValueError(f"unit must be 'mm' or 'in', not {unit!r}")
    eighths = round(inches(mm) * 8)
    whole, part = divmod(eighths, 8)
    if part == 0:
        return f"{whole} in"
    denominator = 8
    while part % 2 == 0:
        part, denominator = part // 2, denominator // 2
    return f"{whole} {part}/{denominator} in" if whole else f"{part}/{denominator} in"
