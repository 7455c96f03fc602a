"""How places write dates and numbers, and on which day their week starts.

From the Unicode Common Locale Data Repository (date patterns, decimal signs, supplemental week data), from
memory; where a reader's place does otherwise, the settings have the last word.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

MONDAY, SATURDAY, SUNDAY = 0, 5, 6


@dataclass(frozen=True, slots=True)
class Locale:
    """What a place does: ``order`` of a date (``dmy``, ``mdy``, ``ymd``), decimal ``mark``, first day of the week."""

    order: str = "dmy"
    mark: str = "."
    week_start: int = MONDAY


COMMA = Locale(mark=",")
COMMA_SUNDAY = Locale(mark=",", week_start=SUNDAY)
POINT_SUNDAY = Locale(week_start=SUNDAY)
MONTH_FIRST = Locale("mdy", ".", SUNDAY)
YEAR_FIRST = Locale("ymd", ".", SUNDAY)
HERE = Locale()
"""Where nothing is known of a place."""

LOCALES: dict[str, Locale] = {
    "en-us": MONTH_FIRST,
    "en-ca": MONTH_FIRST,
    "en-ph": MONTH_FIRST,
    "en-in": POINT_SUNDAY,
    "en-za": POINT_SUNDAY,
    "en": HERE,
    "es-us": MONTH_FIRST,
    "es-mx": POINT_SUNDAY,
    "pt-br": COMMA_SUNDAY,
    "pt": COMMA_SUNDAY,
    "fr-ca": COMMA_SUNDAY,
    "de-ch": HERE,
    "de-li": HERE,
    "it-ch": HERE,
    **dict.fromkeys(
        (
            *("bg", "ca", "cs", "da", "de", "el", "es", "et", "fi", "fr", "gl", "hr", "is", "it", "lv", "nb"),
            *("nl", "nn", "no", "pl", "ro", "ru", "sk", "sl", "sr", "sv", "tr", "uk"),
        ),
        COMMA,
    ),
    **dict.fromkeys(("eu", "hu", "lt"), Locale("ymd", ",")),
    **dict.fromkeys(("ja", "ko", "zh-tw", "zh-hk"), YEAR_FIRST),
    "zh": Locale("ymd"),
    "he": POINT_SUNDAY,
    "ar": Locale(week_start=SATURDAY),
    "fa": Locale(week_start=SATURDAY),
}
"""By language tag in small letters; a tag of a language and a place goes before one of a language alone."""

OFFERED: dict[str, str] = {
    "en-gb": "the United Kingdom and Ireland",
    "en-us": "the United States",
    "en-ca": "Canada",
    "en-au": "Australia and New Zealand",
    "en-za": "South Africa",
    "de": "Germany and Austria",
    "de-ch": "Switzerland",
    "fr": "France and Belgium",
    "nl": "the Netherlands",
    "it": "Italy and Spain",
    "sv": "Scandinavia and Finland",
    "cs": "Czechia, Poland, Slovakia",
    "pt-br": "Brazil and Portugal",
    "hu": "Hungary",
    "ja": "Japan and Korea",
}
"""Places that a reader may choose from, by tag."""


def locale_of(tag: str) -> Locale:
    """What the place of a language tag does, such as ``de-AT``; :data:`HERE` where nothing is known of it."""
    parts = tag.strip().lower().replace("_", "-").split("-")
    return LOCALES.get("-".join((parts[0], parts[-1]))) or LOCALES.get(parts[0]) or HERE


def asked_locale(accept_language: str) -> Locale:
    """What the place of the first language does that a browser names in ``Accept-Language``.

    Weights are taken to fall, as browsers send them.
    """
    return locale_of(re.split(r"[,;]", accept_language, maxsplit=1)[0])
