"""What to measure next: which single reading would narrow the answer most.

Every draw says what a reading would show and how the answer turns out. The variance of the answer that a reading
takes away on average is the variance of its conditional mean (law of total variance); it is read off the draws by
sorting them by the reading, errors of reading included, into groups of equal size.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.learning.outlook import Coats
from coatwright.learning.priors import COVER_SD, LOOK_EDGES, RULER_SD
from coatwright.units import Day, Share

READINGS = ("longest", "shortest", "look", "step")
GROUPS = 30
REPEATS = 4
"""Errors of reading are drawn so many times for each draw."""


@dataclass(frozen=True, slots=True)
class Worth:
    """What a reading is worth: the share of the answer's variance that it takes away on average."""

    zone: int
    reading: str
    share: Share


def worth(coats: Coats, day: Day, answer: Floats, rng: np.random.Generator) -> list[Worth]:
    """Every single reading on ``day``, the most telling first.

    ``answer`` (draws,) is what is asked: ready or not (0 or 1), or any number. Of an answer that is certain
    nothing is to be learnt: every share is 0.
    """
    seen = np.tile(coats.seen(day), (REPEATS, 1, 1))
    apart = np.concatenate([coats.told_apart(day, rng) for _ in range(REPEATS)])
    asked = np.tile(np.asarray(answer, dtype=float), REPEATS)
    found = []
    for zone in range(seen.shape[1]):
        for reading in READINGS:
            shown = _shown(seen[:, zone], apart[:, zone], reading, rng)
            found.append(Worth(zone, reading, _explained(shown, asked, len(coats))))
    return sorted(found, key=lambda each: (-each.share, each.zone, each.reading))


def _shown(seen: Floats, apart: Floats, reading: str, rng: np.random.Generator) -> Floats:
    """What would be read in every draw."""
    noise = rng.standard_normal(len(seen))
    if reading == "look":
        words: Floats = np.searchsorted(LOOK_EDGES, seen[:, 2] + COVER_SD * noise).astype(float)
        return words
    if reading == "step":
        layer: Floats = apart[:, 0] + np.hypot(RULER_SD, apart[:, 1]) * noise
        return layer
    length: Floats = seen[:, READINGS.index(reading)] + RULER_SD * noise
    return length


def _explained(shown: Floats, asked: Floats, draws: int) -> Share:
    """Share of the variance of ``asked`` between groups of like readings, less what chance alone would give."""
    whole = float(asked.var())
    if whole <= 1e-12:
        return 0.0
    values = np.unique(shown)
    if len(values) <= GROUPS:
        group = np.searchsorted(values, shown)
    else:
        edges = np.quantile(shown, np.linspace(0.0, 1.0, GROUPS + 1)[1:-1])
        group = np.searchsorted(edges, shown)
    count = np.bincount(group)
    mean = np.bincount(group, weights=asked) / np.maximum(count, 1)
    between = float(count @ (mean - asked.mean()) ** 2) / len(asked) / whole
    by_chance = (np.count_nonzero(count) - 1) / draws
    return float(np.clip((between - by_chance) / (1.0 - by_chance), 0.0, 1.0))
