"""One change made by hand to the hairs of a reading, as it is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from coatwright.errors import FileFormatError
from coatwright.paper.marks import DECIMALS

KINDS = ("join", "split", "exchange")


def spoken(number: int) -> int:
    """The number by which people know a hair: kept numbers count from 0, sentences and pages from 1."""
    return number + 1


@dataclass(frozen=True)
class Repair:
    """One change made by hand."""

    kind: str
    """One of :data:`KINDS`."""
    hairs: tuple[int, ...]
    """The hairs that were changed, numbers from 0: two, or the one that was split."""
    at: tuple[float, float]
    """Where, mm on the sheet."""
    made: int = -1
    """The number of the hair that a split added; -1 for others. A join leaves only the first of its hairs."""
    way: int = 0
    """Of an exchange: 0, the arms behind the place go over; 1, they go over and turn round."""

    @property
    def touched(self) -> frozenset[int]:
        """Every hair that is another after the repair than before."""
        return frozenset(self.hairs) | ({self.made} if self.made >= 0 else set())

    def as_json(self) -> dict[str, Any]:
        """Numbers, words and lists only."""
        return {
            "kind": self.kind,
            "hairs": list(self.hairs),
            "at": [round(float(v), DECIMALS) for v in self.at],
            "made": self.made,
            "way": self.way,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Repair:
        """The repair that :meth:`as_json` wrote. Raises :class:`FileFormatError`."""
        try:
            kind, hairs = str(data["kind"]), tuple(int(k) for k in data["hairs"])
            x, y = (float(v) for v in data["at"])
            made, way = int(data.get("made", -1)), int(data.get("way", 0))
        except (KeyError, TypeError, ValueError) as error:
            raise FileFormatError(
                f"What is kept of a repair cannot be read ({error}).", remedy="Read the photo again."
            ) from error
        if kind not in KINDS or len(hairs) != (1 if kind == "split" else 2) or way not in (0, 1):
            raise FileFormatError(
                "A repair is of no known kind, or names too few or too many hairs.",
                where="repair",
                remedy=f"Kinds are {', '.join(KINDS)}.",
            )
        return cls(kind, hairs, (x, y), made, way)
