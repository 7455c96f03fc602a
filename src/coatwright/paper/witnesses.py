"""Both witnesses of one sheet: each alone, both together hair by hair, and whether they contradict each other.

The two are not multiplied: both speak of the same hairs, so that a sheet which happens to hold many broken ones
moves both. Together means one draw in which each hair has its length and its judged ends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from coatwright.errors import OutOfRange
from coatwright.paper.compare import difference
from coatwright.paper.share import Floats, ShareBelief
from coatwright.paper.witness_ends import Misjudged, ends_belief
from coatwright.paper.witness_lengths import SHORTEST_MM, SWEEPS, Fingers, Layers, lengths_belief
from coatwright.units import Millimetres

CONTRADICTION = 0.99
"""The witnesses contradict each other when this interval of their difference leaves out 0."""
_FREE_OF_ERROR = Misjudged(10**6, 0, 10**6, 0)


@dataclass(frozen=True, slots=True, eq=False)
class Testimony:
    """What a sheet says of its break share.

    ``ends`` and ``lengths``: each witness alone, None when it was not heard; ``belief``: all that was heard, hair by
    hair; ``heard``: how many hairs spoke, by their ends, their length or both; ``chance`` (n,): chance that each hair
    is broken, NaN where unknown; ``contradicted``: the two witnesses cannot both be right. ``judged`` hairs spoke by
    their ends, ``measured`` ones by their length, 0 where that witness was not heard.
    """

    ends: ShareBelief | None
    lengths: ShareBelief | None
    belief: ShareBelief
    heard: int
    chance: Floats
    contradicted: bool
    judged: int
    measured: int


def hear(
    rng: np.random.Generator,
    *,
    lengths: ArrayLike | None = None,
    control: Fingers | Layers | None = None,
    judged: ArrayLike | None = None,
    misjudged: Misjudged | None = None,
    shortest: Millimetres = SHORTEST_MM,
    sweeps: int = SWEEPS,
) -> Testimony:
    """Hear whichever witnesses there are for the n hairs of a sheet.

    ``lengths`` (n,) in mm with a ``control``; ``judged`` (n,) 1 broken, 0 whole, -1 not judged, with the counts of
    ``misjudged`` hairs (none: the judgement is taken as free of error). A length of NaN is one not known.
    """
    marks = None if judged is None else np.asarray(judged, dtype=np.int64)
    if marks is not None and not np.any(marks >= 0):
        marks = None
    ends, by_ends = None, 0
    if marks is not None:
        by_ends = int((marks >= 0).sum())
        ends = ends_belief(int((marks == 1).sum()), by_ends, misjudged)
    if lengths is None or control is None:
        if marks is None or ends is None:
            raise OutOfRange(
                "Neither ends nor lengths can be heard.",
                remedy="Judge the ends, or give the lengths with a control pulled by fingers.",
            )
        return Testimony(ends, None, ends, by_ends, _by_ends(marks, ends, misjudged), False, by_ends, 0)
    y = np.asarray(lengths, dtype=float)
    alone = lengths_belief(y, control, rng, shortest=shortest, sweeps=sweeps)
    known = np.asarray(y >= shortest)
    measured = int(known.sum())
    if marks is None or ends is None:
        return Testimony(None, alone.belief, alone.belief, measured, alone.chance, False, 0, measured)
    errs = misjudged or _FREE_OF_ERROR
    both = lengths_belief(y, control, rng, judged=marks, misjudged=errs, shortest=shortest, sweeps=sweeps)
    low, high = difference(ends, alone.belief, CONTRADICTION).interval
    heard = int((known | (np.isnan(y) & (marks >= 0))).sum())
    contradicted = not low <= 0.0 <= high
    return Testimony(ends, alone.belief, both.belief, heard, both.chance, contradicted, by_ends, measured)


def _by_ends(marks: np.ndarray, belief: ShareBelief, misjudged: Misjudged | None) -> Floats:
    """Chance that each hair is broken from its judgement and the share alone; NaN where not judged."""
    se, sp = (1.0, 1.0) if misjudged is None else (misjudged.sensitivity, misjudged.specificity)
    p = belief.mean
    called = p * se / max(p * se + (1.0 - p) * (1.0 - sp), 1e-12)
    missed = p * (1.0 - se) / max(p * (1.0 - se) + (1.0 - p) * sp, 1e-12)
    return np.where(marks == 1, called, np.where(marks == 0, missed, np.nan))
