"""Numbers, lengths, days and dates as a reader wants to see them: each with its unit, the unit set lighter."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup, escape

from coatwright.units import Millimetres, Minutes, Share, length_text

UNITS = ("mm", "in")
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
MONTH_FIRST = ("en-us", "en-ca", "en-ph", "es-us")
"""Locales that say the month before the day."""
SUNDAY_FIRST = ("en-us", "en-ca", "en-in", "en-za", "en-ph", "es-us", "pt-br", "he", "ja", "ko")
"""Locales whose week starts on Sunday (Unicode CLDR, supplemental week data; from memory)."""


@dataclass(frozen=True, slots=True)
class Words:
    """How one reader wants things told: the locale's order of dates, and mm or inches."""

    month_first: bool = False
    sunday_first: bool = False
    unit: str = "mm"

    # dates ---------------------------------------------------------------------------------------------

    def date(self, day: dt.date | None) -> str:
        """``Thu 3 December 2026``, or ``Thu, December 3, 2026`` where the month comes first."""
        if day is None:
            return "no date"
        weekday, month = WEEKDAYS[day.weekday()][:3], MONTHS[day.month - 1]
        if self.month_first:
            return f"{weekday}, {month} {day.day}, {day.year}"
        return f"{weekday} {day.day} {month} {day.year}"

    def day(self, day: dt.date) -> str:
        """Without the year: ``3 December``."""
        month = MONTHS[day.month - 1]
        return f"{month} {day.day}" if self.month_first else f"{day.day} {month}"

    def near(self, day: dt.date) -> str:
        """A day of these weeks: ``Thu 3 December``."""
        weekday = WEEKDAYS[day.weekday()][:3]
        return f"{weekday}, {self.day(day)}" if self.month_first else f"{weekday} {self.day(day)}"

    def short(self, day: dt.date) -> str:
        """For the head of a column: ``3 Dec``."""
        month = MONTHS[day.month - 1][:3]
        return f"{month} {day.day}" if self.month_first else f"{day.day} {month}"

    def weekday(self, day: dt.date) -> str:
        """``Thursday``."""
        return WEEKDAYS[day.weekday()]

    def weekdays(self) -> tuple[tuple[int, str], ...]:
        """Number (Monday 0) and name of each day, in the order of the reader's week."""
        order = [6, *range(6)] if self.sunday_first else list(range(7))
        return tuple((number, WEEKDAYS[number]) for number in order)

    def away(self, day: dt.date, today: dt.date) -> str:
        """How far a day lies from today: ``today``, ``in 12 days``, ``3 weeks ago``."""
        days = (day - today).days
        if days in (0, 1, -1):
            return {0: "today", 1: "tomorrow", -1: "yesterday"}[days]
        size = abs(days)
        span = f"{size} days" if size < 21 else f"{round(size / 7)} weeks"
        return f"in {span}" if days > 0 else f"{span} ago"

    # numbers -------------------------------------------------------------------------------------------

    def share(self, share: Share | None) -> Markup:
        """``20 %``."""
        return Markup("–") if share is None else _with_unit(f"{100 * share:.0f}", "%")

    def length(self, mm: Millimetres | None) -> Markup:
        """``19 mm`` or ``3/4 in``."""
        return Markup("–") if mm is None else _with_unit(*length_text(mm, self.unit).rsplit(" ", 1))

    def band(self, lo: Millimetres, hi: Millimetres) -> Markup:
        """``13–25 mm``."""
        low, high = (length_text(mm, self.unit).rsplit(" ", 1)[0] for mm in (lo, hi))
        return _with_unit(f"{low}–{high}", self.unit)

    def minutes(self, minutes: Minutes | None) -> Markup:
        """``45 min``, ``1 h 20 min``."""
        if minutes is None:
            return Markup("–")
        hours, rest = divmod(round(minutes), 60)
        parts = [_with_unit(str(hours), "h")] if hours else []
        if rest or not hours:
            parts.append(_with_unit(str(rest), "min"))
        return Markup(" ").join(parts)

    def count(self, number: int, one: str, many: str = "") -> Markup:
        """``1 visit``, ``5 visits``."""
        return Markup("{} {}").format(number, one if number == 1 else many or f"{one}s")

    def money(self, amount: float | None) -> str:
        """An amount in the salon's own currency, which is not named."""
        return "–" if amount is None else f"{amount:.0f}"

    def number(self, value: float, unit: str) -> Markup:
        """A number to at most one decimal, and its unit."""
        return _with_unit(f"{value:.1f}".removesuffix(".0"), unit)

    def listed(self, items: Iterable[str], last: str = "and") -> str:
        """``neck, back and ribs``."""
        words = list(items)
        return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""

    # lengths typed in ----------------------------------------------------------------------------------

    def shown_length(self, mm: Millimetres | None) -> str:
        """A length as the value of a form's field, in the reader's unit."""
        if mm is None:
            return ""
        return f"{mm:g}" if self.unit == "mm" else f"{mm / 25.4:.3f}".rstrip("0").rstrip(".")

    def millimetres(self, typed: float) -> Millimetres:
        """A length typed in the reader's unit, mm."""
        return typed if self.unit == "mm" else typed * 25.4


def words_for(accept_language: str, unit: str | None) -> Words:
    """The words for a reader whose browser sends this ``Accept-Language``, and who chose this unit.

    The pages are in English; what follows the locale is the order of day and month and the first day of
    the week. The first language named decides; weights are taken to fall, as browsers send them.
    """
    first = re.split(r"[,;]", accept_language, maxsplit=1)[0].strip().lower().replace("_", "-")
    return Words(
        month_first=first in MONTH_FIRST,
        sunday_first=first in SUNDAY_FIRST,
        unit=unit if unit in UNITS else "mm",
    )


def lighter(text: str) -> Markup:
    """A text in which a narrow no-break space parts numbers from their units, with the units set lighter."""
    parts = re.split("\u202f(%|[a-z]+)", text)
    marked = [escape(parts[0])]
    for unit, rest in zip(parts[1::2], parts[2::2], strict=True):
        marked += [Markup('<span class="unit">&#8239;{}</span>').format(unit), escape(rest)]
    return Markup("").join(marked)


def _with_unit(number: str, unit: str) -> Markup:
    return Markup('{}<span class="unit">&#8239;{}</span>').format(escape(number), unit)
