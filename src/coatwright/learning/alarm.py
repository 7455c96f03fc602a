"""When a coat does not do what it could: slow regrowth, nothing after months, a zone that thins.

A reading is compared with what the draws *before it* said, errors of reading included. Failure to regrow three to
four months after hair was taken is abnormal and a matter for a vet (Univ. of Minnesota, Small Animal Dermatology,
ch. 1.13).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.learning.evidence import Look
from coatwright.learning.outlook import Coats
from coatwright.learning.priors import LOOK_EDGES, LOOKS, RULER_SD
from coatwright.units import Days, Share

SLOW: Share = 0.025
"""A reading that only this share of what the coat could do lies below is slow regrowth."""
NOTHING_AFTER: Days = 98.0
"""Fourteen weeks: hair that was pulled so long ago must show."""
MUCH: Share = 0.3
"""... where at least this share of the zone's hairs is that old."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a zone's reading lies among what was thought possible: the share of draws below it, 0 to 1."""

    zone: int
    reading: str
    value: float
    expected: float
    below: Share


def placed(before: Coats, zone: int, look: Look, rng: np.random.Generator) -> list[Placed]:
    """Each length of a reading against the draws of the coat before it."""
    seen = before.seen(look.day)[:, zone]
    found = []
    for column, name, value in ((0, "longest", look.longest), (1, "shortest", look.shortest)):
        if value is None:
            continue
        could = seen[:, column] + RULER_SD * rng.standard_normal(len(seen))
        found.append(
            Placed(zone, name, value, float(np.median(seen[:, column])), float((could < value).mean()))
        )
    return found


def slow_zones(readings: Sequence[Placed], zones: int) -> list[Placed]:
    """Readings that are slower than nearly all that the coat could do, so many zones being read at once.

    With many zones one of them is low by chance: the share is divided by the number of readings of that day
    (Bonferroni). See :func:`slow_dog` for what they say together.
    """
    return [each for each in readings if each.below < SLOW / max(zones, 1)]


def slow_dog(before: Coats, looks: Sequence[tuple[int, Look]], rng: np.random.Generator) -> Share:
    """Share of what the dog could do that lies below all of a day's shortest visible hairs taken together.

    0.5 where there is nothing to compare. The draws keep what zones share, so that a dog whose growth was not
    known is not called slow.
    """
    told = [(zone, look) for zone, look in looks if look.shortest is not None]
    if not told:
        return 0.5
    zones = [zone for zone, _ in told]
    seen = before.seen(told[0][1].day)[:, zones, 1]
    could = (seen + RULER_SD * rng.standard_normal(seen.shape)).mean(axis=1)
    read = float(np.mean([look.shortest for _, look in told if look.shortest is not None]))
    return float((could < read).mean())


def nothing_came(before: Coats, zone: int, look: Look) -> bool:
    """Whether a zone is bare though much of its hair was pulled fourteen weeks ago and longer."""
    bare = look.look == LOOKS[0] or (look.cover is not None and look.cover < LOOK_EDGES[0])
    if not (bare or look.longest == 0.0):
        return False
    old = look.day - before.layers[:, zone, :, 0] >= NOTHING_AFTER
    share = (before.layers[:, zone, :, 1] * old).sum(axis=1)
    return float(np.median(share)) >= MUCH


def thinner(cover: Floats, floor: Share) -> Share:
    """Chance that a zone's cover (draws,) lies below a floor."""
    return float((np.asarray(cover) < floor - 1e-6).mean())
