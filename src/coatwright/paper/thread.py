"""The thread check: sewing thread cut to known lengths, read like hairs, proves a phone and a printer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from coatwright.errors import FileFormatError, OutOfRange
from coatwright.units import Millimetres

CUTS: tuple[Millimetres, ...] = (10.0, 20.0, 40.0)
LEAST_THREADS = 3
"""Threads of each length."""
GOOD_SHARE, GOOD_MM = 0.01, 0.5
"""Off by at most this share on average, and spread by at most this: half a millimetre is what scissors hold."""
REACH = 0.25
"""A trace further than this share from every cut is not one of the threads."""


@dataclass(frozen=True)
class CutRead:
    """The threads cut to one length, mm."""

    cut: Millimetres
    count: int
    bias: Millimetres
    """Mean of read less cut."""
    spread: Millimetres
    """Standard deviation of what was read (n - 1)."""


@dataclass(frozen=True)
class ThreadCheck:
    """What the threads say of one phone and one printer."""

    phone: str
    printer: str
    cuts: tuple[CutRead, ...]
    scale: float
    """Read over cut, over all threads (least squares through nought)."""
    scale_error: float
    """Standard error of ``scale``."""
    odd: int
    """Traces that were near no cut."""
    verdict: str
    """good, off (lengths are too long or too short throughout) or rough (they scatter)."""

    @property
    def words(self) -> str:
        """The result in a sentence."""
        percent = 100 * (self.scale - 1)
        if self.verdict == "good":
            return f"Lengths are right to {abs(percent):.1f} %: this phone and printer can be trusted."
        if self.verdict == "off":
            side = "long" if percent > 0 else "short"
            return f"Lengths come out {abs(percent):.1f} % too {side}: measure the printed bar again."
        worst = max(self.cuts, key=lambda one: one.spread)
        return (
            f"Threads of {worst.cut:g} mm scatter by {worst.spread:.1f} mm: "
            "straighten and spread them, cut them anew, and take a sharper photo."
        )

    def as_json(self) -> dict[str, Any]:
        """Numbers and words only."""
        return {
            "phone": self.phone,
            "printer": self.printer,
            "cuts": [vars(one) for one in self.cuts],
            "scale": self.scale,
            "scale_error": self.scale_error,
            "odd": self.odd,
            "verdict": self.verdict,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> ThreadCheck:
        """What :meth:`as_json` wrote. Raises :class:`~coatwright.errors.FileFormatError`."""
        try:
            return cls(**{**data, "cuts": tuple(CutRead(**one) for one in data["cuts"])})
        except (KeyError, TypeError) as error:
            raise FileFormatError(
                f"The thread check cannot be read ({error}).", remedy="Check again."
            ) from error


def check_threads(
    lengths_mm: Sequence[Millimetres], *, phone: str, printer: str, cuts: Sequence[Millimetres] = CUTS
) -> ThreadCheck:
    """The check from traced lengths, mm; each belongs to the cut nearest to it by ratio.

    Raises :class:`~coatwright.errors.OutOfRange` below three threads of a length.
    """
    read = np.asarray(lengths_mm, dtype=float)
    read = read[np.isfinite(read) & (read > 0)]
    known = np.asarray(sorted(cuts), dtype=float)
    ratio = read[:, None] / known[None, :]
    nearest = np.abs(np.log(ratio)).argmin(axis=1)
    near = np.abs(ratio[np.arange(len(read)), nearest] - 1) <= REACH
    groups = [read[near & (nearest == k)] for k in range(len(known))]
    for cut, group in zip(known, groups, strict=True):
        if len(group) < LEAST_THREADS:
            raise OutOfRange(
                f"Only {len(group)} threads of {cut:g} mm were found; {LEAST_THREADS} of each length are needed.",
                where="thread check",
                remedy="Cut five threads of each length, lay them apart, and take the photo again.",
            )
    rows = tuple(
        CutRead(float(cut), len(group), float(group.mean() - cut), float(group.std(ddof=1)))
        for cut, group in zip(known, groups, strict=True)
    )
    true, seen = known[nearest[near]], read[near]
    scale = float(true @ seen / (true @ true))
    left = seen - scale * true
    error = float(np.sqrt(left @ left / (len(seen) - 1) / (true @ true)))
    verdict = "good"
    if abs(scale - 1) > GOOD_SHARE + 2 * error:
        verdict = "off"
    elif max(row.spread for row in rows) > GOOD_MM:
        verdict = "rough"
    elif abs(scale - 1) > GOOD_SHARE:
        verdict = "off"
    return ThreadCheck(phone, printer, rows, scale, error, int((~near).sum()), verdict)
