"""Numbers, lengths, days and dates as a reader wants to see them: each with its unit, the unit set lighter."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup, escape

from coatwright.units import MM_PER_INCH, Millimetres, Minutes, Share, inches, length_text
from coatwright.web.locales import HERE, Locale

UNITS = ("mm", "in")
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)


@dataclass(frozen=True, slots=True)
class Words:
    """How one reader wants things told: what the locale says of dates, numbers and weeks, and mm or inches."""

    locale: Locale = HERE
    unit: str = "mm"

    @property
    def month_first(self) -> bool:
        """Whether the month is said before the day."""
        return self.locale.order == "mdy"

    # dates ---------------------------------------------------------------------------------------------

    def date(self, day: dt.date | None) -> str:
        """``Thu 3 December 2026``; ``Thu, December 3, 2026`` and ``2026 December 3, Thu`` in other orders."""
        if day is None:
            return "no date"
        weekday, month = WEEKDAYS[day.weekday()][:3], MONTHS[day.month - 1]
        if self.locale.order == "mdy":
            return f"{weekday}, {month} {day.day}, {day.year}"
        if self.locale.order == "ymd":
            return f"{day.year} {month} {day.day}, {weekday}"
        return f"{weekday} {day.day} {month} {day.year}"

    def day(self, day: dt.date) -> str:
        """Without the year: ``3 December``."""
        return self._ordered(day.day, MONTHS[day.month - 1])

    def near(self, day: dt.date) -> str:
        """A day of these weeks: ``Thu 3 December``."""
        weekday = WEEKDAYS[day.weekday()][:3]
        return f"{weekday} {self.day(day)}" if self.locale.order == "dmy" else f"{weekday}, {self.day(day)}"

    def short(self, day: dt.date) -> str:
        """For the head of a column: ``3 Dec``."""
        return self._ordered(day.day, MONTHS[day.month - 1][:3])

    def _ordered(self, day: int, month: str) -> str:
        return f"{day} {month}" if self.locale.order == "dmy" else f"{month} {day}"

    def weekday(self, day: dt.date) -> str:
        """``Thursday``."""
        return WEEKDAYS[day.weekday()]

    def weekdays(self) -> tuple[tuple[int, str], ...]:
        """Number (Monday 0) and name of each day, in the order of the reader's week."""
        order = [(self.locale.week_start + step) % 7 for step in range(7)]
        return tuple((number, WEEKDAYS[number]) for number in order)

    def week_of(self, day: dt.date) -> dt.date:
        """The first day of the reader's week in which a day lies."""
        return day - dt.timedelta(days=(day.weekday() - self.locale.week_start) % 7)

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

    def shown_number(self, mm: Millimetres) -> str:
        """A length without its unit: ``19``, ``3/4``."""
        return length_text(mm, self.unit).rsplit(" ", 1)[0]

    def lengths(self, several: Iterable[Millimetres]) -> Markup:
        """``8, 22 and 40 mm``."""
        return _with_unit(
            self.listed(length_text(mm, self.unit).rsplit(" ", 1)[0] for mm in several), self.unit
        )

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
        return _with_unit(self.decimal(value), unit)

    def decimal(self, value: float, places: int = 1) -> str:
        """A number to at most so many decimals, with the reader's mark: ``7.4`` or ``7,4``."""
        text = f"{value:.{places}f}"
        return (text.rstrip("0").rstrip(".") if places else text).replace(".", self.locale.mark)

    def listed(self, items: Iterable[str], last: str = "and") -> str:
        """``neck, back and ribs``."""
        words = list(items)
        return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""

    # lengths typed in ----------------------------------------------------------------------------------

    def typed(self, value: float | None) -> str:
        """A number as the value of a form's field, with the reader's decimal mark."""
        return "" if value is None else f"{value:.10g}".replace(".", self.locale.mark)

    def shown_length(self, mm: Millimetres | None) -> str:
        """A length as the value of a form's field, in the reader's unit: inches in eighths where it is one."""
        if mm is None or self.unit == "mm":
            return self.typed(mm)
        eighth = length_text(mm, "in").removesuffix(" in")
        if abs(inches(mm) * 8 - round(inches(mm) * 8)) < 0.005:
            return eighth
        return self.decimal(inches(mm), 3)

    def millimetres(self, typed: float) -> Millimetres:
        """A length typed in the reader's unit, mm."""
        return typed if self.unit == "mm" else typed * MM_PER_INCH


def lighter(text: str) -> Markup:
    """A text in which a narrow no-break space parts numbers from their units, with the units set lighter."""
    parts = re.split("\u202f(%|[a-z]+)", text)
    marked = [escape(parts[0])]
    for unit, rest in zip(parts[1::2], parts[2::2], strict=True):
        marked += [Markup('<span class="unit">&#8239;{}</span>').format(unit), escape(rest)]
    return Markup("").join(marked)


def _with_unit(number: str, unit: str) -> Markup:
    return Markup('{}<span class="unit">&#8239;{}</span>').format(escape(number), unit)
