"""How lengths are reported: the form of single-fibre tests, and the length-biased means of wool testing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from coatwright.errors import OutOfRange
from coatwright.paper.share import Floats, check_level
from coatwright.units import Millimetres

SAMPLE = 50
"""Fibres in a sample of ASTM D5103, the single-fibre test of length (from memory)."""


@dataclass(frozen=True, slots=True)
class FibreReport:
    """Lengths of single fibres as ASTM D5103 reports them (form from memory).

    ``count``; ``mean``, ``sd`` (n - 1), ``least``, ``greatest`` and ``median`` in mm; ``cv`` in per cent of the
    mean; ``interval`` of the mean in mm (Student's t); ``enough``: at least 50 fibres.
    """

    count: int
    mean: Millimetres
    sd: Millimetres
    cv: float
    least: Millimetres
    greatest: Millimetres
    median: Millimetres
    interval: tuple[Millimetres, Millimetres]
    enough: bool

    @property
    def range(self) -> Millimetres:
        """Greatest less least, mm."""
        return self.greatest - self.least


def _lengths(lengths: ArrayLike, fewest: int) -> Floats:
    values = np.asarray(lengths, dtype=float)
    if values.size < fewest:
        raise OutOfRange(
            f"{values.size} lengths are too few for this report.", remedy=f"Measure at least {fewest} hairs."
        )
    if not np.all(np.isfinite(values)) or np.any(values <= 0.0):
        raise OutOfRange(
            "A length is not a number above 0 mm.", remedy="Leave out hairs that were not measured."
        )
    return values


def fibre_report(lengths: ArrayLike, level: float = 0.95) -> FibreReport:
    """Report the ``lengths`` (mm, at least 2) of single hairs."""
    values = _lengths(lengths, 2)
    check_level(level)
    n = values.size
    mean, sd = float(values.mean()), float(values.std(ddof=1))
    reach = float(stdtrit(n - 1, 0.5 + 0.5 * level)) * sd / math.sqrt(n)
    return FibreReport(
        count=n,
        mean=mean,
        sd=sd,
        cv=100.0 * sd / mean,
        least=float(values.min()),
        greatest=float(values.max()),
        median=float(np.median(values)),
        interval=(mean - reach, mean + reach),
        enough=n >= SAMPLE,
    )


@dataclass(frozen=True, slots=True)
class HauteurBarbe:
    """Mean length by number of fibres of equal section (Hauteur) and by their mass (Barbe), mm.

    ``cv`` is the coefficient of variation of Hauteur in per cent (of the whole population, n in the divisor):
    ``barbe = hauteur * (1 + cv**2 / 10**4)``.
    """

    hauteur: Millimetres
    cv: float
    barbe: Millimetres


def hauteur_barbe(lengths: ArrayLike) -> HauteurBarbe:
    """Hauteur and Barbe of ``lengths`` (mm) of hairs of equal section: terms of wool-top testing (IWTO)."""
    values = _lengths(lengths, 1)
    hauteur = float(values.mean())
    return HauteurBarbe(
        hauteur, 100.0 * float(values.std()) / hauteur, float((values**2).sum() / values.sum())
    )
