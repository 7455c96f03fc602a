"""Numbers, dates and spans of time for the terminal; what paper and terminal say alike comes from printing."""

from __future__ import annotations

from coatwright.printing.words import APPROACHES, MONTHS, THIN, day_text, listed, rhythm, sentence, short_day
from coatwright.units import Minutes, Share

__all__ = [
    "APPROACHES",
    "counted",
    "day_text",
    "listed",
    "month",
    "percent",
    "rhythm",
    "sentence",
    "short_day",
    "span",
    "visits_words",
    "wide",
]


def percent(share: Share) -> int:
    """A share as a whole number of per cent; halves go up, so that 0.125 is 13 as on paper."""
    return int(100.0 * share + 0.5 + 1e-9)


def span(minutes: Minutes) -> str:
    """``45 min``, ``2 h``, ``11 h 40 min``."""
    hours, rest = divmod(round(minutes), 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def month(number: int) -> str:
    """``Nov``."""
    return MONTHS[number - 1][:3]


def counted(number: int, one: str) -> str:
    """``1 visit``, ``11 visits``."""
    return f"{number} {one}" if number == 1 else f"{number} {one}s"


def visits_words(approach: str, cadence: int) -> str:
    """``staged coat, a visit every 10 days``."""
    return f"{APPROACHES[approach]}, {'a visit ' if cadence else ''}{rhythm(cadence)}"


def wide(text: str) -> str:
    """Ordinary spaces for the narrow ones of print, which few terminals can draw."""
    return text.replace(THIN, " ")
