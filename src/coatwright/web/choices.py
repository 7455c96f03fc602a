"""What a reader chooses for this browser: how things are told and looked at. Kept in cookies, one for each choice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from coatwright.web.locales import MONDAY, OFFERED, SATURDAY, SUNDAY, asked_locale, locale_of
from coatwright.web.words import UNITS, Words

CHOICES: dict[str, tuple[str, ...]] = {
    "unit": UNITS,
    "place": ("", *OFFERED),
    "week": ("", "monday", "saturday", "sunday"),
    "contrast": ("", "high"),
    "keys": ("on", "off"),
}
"""Every choice by the name of its cookie, with what may be chosen; the first is what holds without a choice."""
WEEKS = {"monday": MONDAY, "saturday": SATURDAY, "sunday": SUNDAY}


def chosen(cookies: Mapping[str, str]) -> dict[str, str]:
    """Every choice; what a browser keeps that cannot be chosen counts as nothing."""
    return {
        name: cookies[name] if cookies.get(name) in options else options[0]
        for name, options in CHOICES.items()
    }


def words_for(accept_language: str, cookies: Mapping[str, str]) -> Words:
    """The words for a reader whose browser sends this ``Accept-Language`` and keeps these cookies.

    The pages are in English; what follows the locale is the order of day, month and year, the decimal mark
    and the first day of the week.
    """
    choice = chosen(cookies)
    locale = locale_of(choice["place"]) if choice["place"] else asked_locale(accept_language)
    if choice["week"]:
        locale = replace(locale, week_start=WEEKS[choice["week"]])
    return Words(locale, choice["unit"])
