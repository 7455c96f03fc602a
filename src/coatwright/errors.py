"""Every error a user can meet says what is wrong, where, and what to do about it.

    CoatwrightError
    +-- InputError            something the user gave cannot be used
    |   +-- FileFormatError   a file is not what it should be (names file, and line or key)
    |   +-- UnknownName       a zone, pattern, dog or person that does not exist
    |   +-- OutOfRange        a number or date outside its limits
    |   +-- OutOfOrder        a visit or event before one that it must follow
    +-- UnfitDog              no plan is made for this dog: a vet first
    +-- StoreError            the records cannot be read or written
    |   +-- NotKept           nothing was saved; the records are as before
    +-- SolverError           the solver stopped without an answer

A wish that cannot be met is not an error: a plan answers it (see ``coatwright.planning.explain``).
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


class CoatwrightError(Exception):
    """The root. ``what`` happened, ``where``, and the ``remedy``; printed as one sentence each."""

    def __init__(self, what: str, *, where: str = "", remedy: str = "") -> None:
        self.what = what
        self.where = where
        self.remedy = remedy
        super().__init__(self.text)

    @property
    def text(self) -> str:
        """The whole message on one line."""
        place = f"{self.where}: " if self.where else ""
        return f"{place}{self.what}" + (f" {self.remedy}" if self.remedy else "")

    def as_json(self) -> dict[str, str]:
        """The one shape in which errors leave the program as JSON."""
        return {
            "error": type(self).__name__,
            "what": self.what,
            "where": self.where,
            "remedy": self.remedy,
        }

    def at(self, place: str) -> CoatwrightError:
        """The same error, with ``place`` put in front of where it happened."""
        where = f"{place}, {self.where}" if self.where else place
        return type(self)(self.what, where=where, remedy=self.remedy)


class InputError(CoatwrightError):
    """Something the user gave cannot be used."""


class FileFormatError(InputError):
    """A file is not what it should be."""


class UnknownName(InputError):  # noqa: N818 - reads as what it is
    """A zone, pattern, dog or person that does not exist."""

    @classmethod
    def of(cls, kind: str, name: str, known: Iterable[str], *, where: str = "") -> UnknownName:
        """An unknown ``name`` of a ``kind``, with the nearest known names as the remedy."""
        options = sorted(known)
        near = get_close_matches(name, options, n=3) or options[:12]
        rest = "" if len(near) == len(options) else ", ..."
        remedy = f"Did you mean: {', '.join(near)}{rest}?" if near else f"There is no {kind} yet."
        return cls(f"There is no {kind} called {name!r}.", where=where, remedy=remedy)


class OutOfRange(InputError):  # noqa: N818
    """A number or date outside its limits."""


class OutOfOrder(InputError):  # noqa: N818
    """A visit or event before one that it must follow."""


class UnfitDog(CoatwrightError):  # noqa: N818
    """No plan is made for this dog: a vet first."""


class StoreError(CoatwrightError):
    """The records cannot be read or written."""


class NotKept(StoreError):  # noqa: N818
    """Nothing was saved; the records are as before."""


class SolverError(CoatwrightError):
    """The solver stopped without an answer."""


def check_share(value: float, what: str, *, where: str = "") -> float:
    """``value`` if it is a share between 0 and 1, else :class:`OutOfRange`."""
    if not 0.0 <= value <= 1.0:
        raise OutOfRange(
            f"{what} is {100 * value:.0f} %, but must lie between 0 and 100 %.",
            where=where,
            remedy="Give a share such as 0.2 (20 %).",
        )
    return value
