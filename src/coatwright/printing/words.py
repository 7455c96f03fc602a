"""Numbers, dates and lengths as paper tells them: units apart from their numbers, halves and eighths as one sign.

A narrow no-break space stands before every unit, so that a line never breaks there and the type setter can make
the unit lighter than its number.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date

from coatwright.errors import OutOfRange
from coatwright.printing.sheet import Chance, Hairs, Window
from coatwright.units import MM_PER_INCH, Millimetres, Minutes, Share

UNWANTED = dict.fromkeys(
    [*range(0x20), *range(0x7F, 0xA0), *range(0x202A, 0x202F), *range(0x2066, 0x206A), 0xFEFF, 0xFFFE, 0xFFFF]
)
"""Control characters, and those that turn the direction of the text around them (UAX 9)."""
UNITS = ("mm", "in")
THIN = "\u202f"
"""Narrow no-break space."""
EIGHTHS = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")
PARTS = (
    (0.18, "a few of"),
    (0.29, "a quarter of"),
    (0.42, "a third of"),
    (0.58, "half of"),
    (0.71, "two thirds of"),
    (0.88, "three quarters of"),
    (0.995, "nearly all of"),
)
"""Parts in words, each up to a share: no second per cent beside that of the take."""
LIKELY = (
    (0.95, "as good as certain"),
    (0.75, "likely"),
    (0.4, "open"),
    (0.1, "unlikely"),
    (0.0, "very unlikely"),
)
"""Chances in a word, each from a share on."""
FRACTIONS = (
    (1 / 50, "a fiftieth"),
    (1 / 30, "a thirtieth"),
    (1 / 20, "a twentieth"),
    (1 / 15, "a fifteenth"),
    (1 / 12, "a twelfth"),
    (1 / 10, "a tenth"),
    (1 / 8, "an eighth"),
    (1 / 6, "a sixth"),
    (1 / 5, "a fifth"),
    (1 / 4, "a quarter"),
    (1 / 3, "a third"),
    (2 / 5, "two fifths"),
    (1 / 2, "half"),
    (2 / 3, "two thirds"),
    (3 / 4, "three quarters"),
    (1.0, "all"),
)
"""Parts in words."""
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
APPROACHES = {
    "rolling": "rolling coat",
    "staged": "staged coat",
    "strip": "full strip",
    "free": "shows in a rolling coat",
}


def plain_line(text: str) -> str:
    """``text`` on one line, composed (Unicode NFC), without control characters and turns of direction."""
    return " ".join(unicodedata.normalize("NFC", text).split()).translate(UNWANTED)


def check_unit(unit: str) -> str:
    """``unit`` if it is mm or in, else :class:`OutOfRange`."""
    if unit not in UNITS:
        raise OutOfRange(f"Lengths cannot be told in {unit!r}.", remedy=f"Use {' or '.join(UNITS)}.")
    return unit


def day_text(day: date) -> str:
    """``Thu 26 Nov 2026``; months in letters, so that no reader takes the day for the month."""
    return f"{WEEKDAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1][:3]} {day.year}"


def long_day(day: date) -> str:
    """``Thursday 26 November 2026``."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def short_day(day: date, near: date | None = None) -> str:
    """``26 Nov``, with the year where it is not that of ``near``."""
    text = f"{day.day} {MONTHS[day.month - 1][:3]}"
    return text if near is None or near.year == day.year else f"{text} {day.year}"


def quantity(number: str, unit: str) -> str:
    """A number and its unit."""
    return f"{number}{THIN}{unit}"


def percent(share: Share) -> str:
    """``20 %``; halves go up."""
    return quantity(str(int(100.0 * share + 0.5 + 1e-9)), "%")


def minutes(value: Minutes) -> str:
    """``128 min``; hours from five hours on."""
    whole = round(value)
    if whole < 300:
        return quantity(str(whole) if whole or value <= 0.0 else "<1", "min")
    hours, rest = divmod(whole, 60)
    return quantity(str(hours), "h") + (f" {quantity(str(rest), 'min')}" if rest else "")


def money(value: float) -> str:
    """An amount in the salon's own money: no sign of a currency, as none is known."""
    return f"{value:,.0f}" if value >= 100 else f"{value:,.2f}"


def inch_number(mm: Millimetres) -> str:
    """Inches to the nearest eighth: ``¾``, ``1⅛``, ``2``; ``<⅛`` for what is less than half of that."""
    eighths = round(mm / MM_PER_INCH * 8)
    if eighths == 0:
        return "<⅛" if mm > 0.0 else "0"
    whole, part = divmod(eighths, 8)
    return (str(whole) if whole else "") + EIGHTHS[part]


def length(mm: Millimetres, unit: str) -> str:
    """``19 mm`` or ``¾ in``."""
    return quantity(inch_number(mm) if unit == "in" else str(round(mm)), unit)


def lengths(low: Millimetres, high: Millimetres, unit: str) -> str:
    """``19–25 mm`` or ``¾–1 in``; one number where both are the same."""
    first, last = length(low, unit), length(high, unit)
    if first == last:
        return first
    return f"{first.split(THIN)[0]}–{last}"


def weeks(first: int, last: int) -> str:
    """``11–14 weeks``."""
    number = str(last) if first == last else f"{first}–{last}"
    return quantity(number, "week" if number == "1" else "weeks")


def part_of(share: Share) -> str:
    """How much of the hair that stands: ``half of the ``; nothing where all of it goes."""
    for most, words in PARTS:
        if share < most:
            return f"{words} the "
    return ""


def hairs(parts: Iterable[Hairs], unit: str) -> str:
    """What to take, longest first: ``19–25 mm, 11–14 weeks; then half of the 16 mm, 9 weeks``."""
    said = []
    for number, part in enumerate(parts):
        some = part_of(part.part) or ("" if number == 0 else "the ")
        size = lengths(part.mm_from, part.mm_to, unit)
        if part.kind == "resting":
            text = f"{some}full-grown, {size}"
        elif part.kind == "cut":
            text = f"{some}blunt hair, {size}"
        else:
            text = f"{some}{size}, {weeks(part.weeks_from, part.weeks_to)}"
        said.append(text + (", young" if part.young else ""))
    return sentence("; then ".join(said))


def chance(share: Share) -> str:
    """``78 %``; ``below 1 %`` and ``above 99 %`` at the ends, since no draw proves a certainty."""
    if share < 0.01:
        return f"below {quantity('1', '%')}"
    return f"above {quantity('99', '%')}" if share > 0.99 else percent(share)


def likely(share: Share) -> str:
    """A chance in a word."""
    return next(word for least, word in LIKELY if share >= least)


def chance_line(found: Chance) -> str:
    """The chance of a show: of all zones at once, how many are ready on average, and what the chance is of."""
    text = f"{chance(found.all)} ({likely(found.all)})"
    if found.judged > 1:
        text += f" for all zones at once, on average {found.ready:.0f} of {found.judged} are ready"
    return text + ("" if found.measured else ", by what dogs of its kind may be")


def nearly(share: Share) -> str:
    """A part in words: ``a tenth``, ``two thirds``; the nearest by ratio."""
    return min(FRACTIONS, key=lambda each: abs(math.log(max(share, 1e-6) / each[0])))[1]


def windows(spans: Sequence[Window], near: date, most: int) -> str:
    """``1 to 5 Dec; 20 Dec 2026 to 14 Mar 2027; 2 more``; years are told where they change."""
    if not spans:
        return "on no day of this plan"
    said, year = [], near.year
    for span in spans[:most]:
        first, last = span.first, span.last
        text = short_day(last, last if last.year == year else near)
        if first != last and (first.year, first.month) == (last.year, last.month):
            text = f"{first.day} to {text}"
        elif first != last:
            text = f"{short_day(first, last if first.year == last.year or first.year == year else near)} to {text}"
        said.append(text)
        year = last.year
    more = f"; {len(spans) - most} more" if len(spans) > most else ""
    return "; ".join(said) + more


def listed(words: Iterable[str]) -> str:
    """``back, ribs and croup``."""
    found = list(words)
    return " and ".join([", ".join(found[:-1]), found[-1]] if len(found) > 1 else found)


def sentence(words: str) -> str:
    """With a capital letter in front."""
    return words[:1].upper() + words[1:]


def rhythm(cadence: int) -> str:
    """``every 14 days``; a strip has no cadence."""
    if cadence == 0:
        return "in sessions on following days"
    return "every week" if cadence == 7 else f"every {cadence} days"
