"""What a form sent, field by field: each value checked, and an error that names the field and the remedy."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from coatwright.errors import InputError, OutOfRange, UnknownName
from coatwright.units import Share
from coatwright.web.layout import words_of

FRACTION = re.compile(r"(?:(\d{1,4})[ -]+)?(\d{1,4})\s*/\s*(\d{1,4})")


class Fields:
    """The values of a form, or of an address, by name. Every value is a text; several may share a name."""

    def __init__(self, pairs: Iterable[tuple[str, str]] = (), mark: str = ".") -> None:
        self.mark = mark
        """The decimal mark of who filled it in; see :func:`number_of`."""
        self._values: dict[str, list[str]] = {}
        for key, value in pairs:
            self._values.setdefault(key, []).append(value)

    @classmethod
    def of(cls, values: Mapping[str, Any]) -> Fields:
        """Fields as a form would send these values; None is left out, a list sends each of its items."""
        pairs: list[tuple[str, str]] = []
        for key, value in values.items():
            many = value if isinstance(value, list | tuple) else [value]
            pairs += [(key, str(each)) for each in many if each is not None]
        return cls(pairs)

    def __contains__(self, key: str) -> bool:
        return key in self._values

    def keys(self) -> list[str]:
        """Names of all fields."""
        return list(self._values)

    def first(self, key: str) -> str:
        """A value as it was sent, to be shown again; "" where there is none."""
        return self._values.get(key, [""])[-1]

    def all(self, key: str) -> list[str]:
        """Every value of a field that may stand several times."""
        return [value.strip() for value in self._values.get(key, []) if value.strip()]

    def text(self, key: str, label: str = "", *, needed: bool = False, lines: bool = False) -> str:
        """A text without spaces around it; ``label`` is what the page calls the field."""
        value = self._values.get(key, [""])[-1].strip().replace("\r\n", "\n")
        if "\x00" in value or (not lines and "\n" in value):
            raise OutOfRange(
                "There is a character here that no text has.", where=label or key, remedy="Leave it out."
            )
        if needed and not value:
            raise OutOfRange("Nothing is given here.", where=label or key, remedy="Fill it in.")
        return value

    def number(
        self,
        key: str,
        label: str,
        *,
        low: float = -math.inf,
        high: float = math.inf,
        unit: str = "",
        needed: bool = False,
    ) -> float | None:
        """A number between ``low`` and ``high``, as :func:`number_of` reads it. None when it is left empty."""
        text = self.text(key, label, needed=needed)
        if not text:
            return None
        value = number_of(text, label, self.mark, fractions=unit == "in")
        if not (math.isfinite(value) and low <= value <= high):
            raise OutOfRange(
                f"{text[:40]} {unit}".rstrip() + " cannot be.",
                where=label,
                remedy=f"It must lie between {low:g} and {high:g}" + (f" {unit}." if unit else "."),
            )
        return value

    def whole(
        self, key: str, label: str, *, low: int, high: int, unit: str = "", needed: bool = False
    ) -> int | None:
        """A whole number."""
        value = self.number(key, label, low=low, high=high, unit=unit, needed=needed)
        if value is None:
            return None
        if value != int(value):
            raise OutOfRange(
                f"{value:g} is not a whole number.", where=label, remedy="Leave the fraction out."
            )
        return int(value)

    def share(self, key: str, label: str, *, needed: bool = False) -> Share | None:
        """A share given in %, 0 to 1."""
        value = self.number(key, label, low=0, high=100, unit="%", needed=needed)
        return None if value is None else value / 100.0

    def day(self, key: str, label: str, *, needed: bool = False) -> date | None:
        """A date as the browser's date field sends it."""
        text = self.text(key, label, needed=needed)
        return day_of_text(text, label) if text else None

    def choice(self, key: str, label: str, options: Iterable[str], *, default: str = "") -> str:
        """One of a few words."""
        known = list(options)
        value = self.text(key, label) if key in self else default
        if value not in known:
            raise UnknownName.of("choice", value[:60], known, where=label)
        return value

    def choices(self, key: str, label: str, options: Iterable[str]) -> tuple[str, ...]:
        """Some of a few words, in the order of ``options``."""
        known, given = list(options), self.all(key)
        for value in given:
            if value not in known:
                raise UnknownName.of("choice", value[:60], known, where=label)
        return tuple(option for option in known if option in given)


def number_of(text: str, label: str, mark: str = ".", *, fractions: bool = False) -> float:
    """A number as people write it: with a point or a comma, with ``fractions`` also ``3/4`` and ``1 1/2``.

    Both marks are decimal marks, since nothing asked for here runs into thousands; ``1,250`` with three
    digits behind the mark that is not the reader's own could be either, and is asked for again.
    """
    plain = text.replace("\u202f", "").replace("\xa0", " ").strip()
    if fractions and (split := FRACTION.fullmatch(plain)):
        whole, over, under = split.groups()
        if int(under):
            return int(whole or 0) + int(over) / int(under)
    foreign = "," if mark == "." else "."
    if re.fullmatch(rf"[-+]?[1-9]\d*{re.escape(foreign)}\d{{3}}", plain):
        raise OutOfRange(
            f"{text[:40]!r} can be read in two ways.",
            where=label,
            remedy=f"Write the decimals after {'a point' if mark == '.' else 'a comma'}, thousands without a mark.",
        )
    try:
        return float(plain.replace(",", "."))
    except ValueError as error:
        raise OutOfRange(
            f"{text[:40]!r} is not a number.", where=label, remedy=f"Give digits, such as 20 or 12{mark}5."
        ) from error


def day_of_text(text: str, label: str = "date") -> date:
    """A date from ``2026-12-03``, or an error that says so."""
    try:
        if len(text) != 10:
            raise ValueError(text)
        return date.fromisoformat(text)
    except ValueError as error:
        raise OutOfRange(
            f"{text[:40]!r} is no day of the calendar.",
            where=label,
            remedy="Give it as year-month-day, such as 2026-12-03.",
        ) from error


async def posted(request: Request) -> Fields:
    """The fields of a posted form (a dependency of the pages that take one)."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in ("application/x-www-form-urlencoded", "multipart/form-data"):
        raise InputError(
            "This is not a form.", where="request", remedy="Send it from the page that shows it."
        )
    form: FormData = await request.form(max_files=0, max_fields=2000)
    pairs = ((key, value) for key, value in form.multi_items() if not isinstance(value, UploadFile))
    return Fields(pairs, words_of(request).locale.mark)


def asked(request: Request) -> Fields:
    """The fields of an address, after its question mark."""
    return Fields(request.query_params.multi_items(), words_of(request).locale.mark)
