"""The flow that given takes make when the groomer pulls the oldest hair, as hands do.

The linear program may pull from any layer; its optimum is nearly always oldest first, since every cost of age is
convex. Where a narrow band would tempt it to spare an old layer and pull a younger one, a plan must still be
judged by what hands will do: takes that are rounded are priced along this flow.
"""

from __future__ import annotations

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.errors import OutOfRange
from coatwright.planning.standing import ZoneFlow
from coatwright.units import date_of

ROUNDING = 1e-7


def oldest_first(zone: ZoneFlow, takes: Floats) -> Floats:
    """Flow per arc (arcs,) of a zone for ``takes`` (visits,), each from the oldest hair above the skin.

    Raises :class:`OutOfRange` when a take is more than stands above the skin on its day.
    """
    net = zone.network
    visits = len(net.visits)
    arc_of = np.full((zone.births, visits + 1), -1)
    arc_of[net.tail, net.head] = np.arange(len(net.tail))
    kept = np.zeros((zone.births, visits + 1))
    kept[net.tail, net.head] = net.kept
    drop = _drops(zone)
    left = np.concatenate([zone.shares, np.zeros(visits)])
    flow = np.zeros(len(net.tail))
    for j in range(visits):
        wanted = (1.0 - zone.task.broken) * float(takes[j])
        born = float(left[: net.initial + j] @ drop[: net.initial + j, j]) + wanted
        if wanted > 0.0:
            reach = np.where(arc_of[: net.initial + j, j] >= 0, left[: net.initial + j], 0.0)
            stands = reach * kept[: net.initial + j, j]
            before = np.concatenate([[0.0], np.cumsum(stands)[:-1]])
            pulled = np.clip(wanted - before, 0.0, stands)
            if wanted > float(stands.sum()) + ROUNDING:
                raise OutOfRange(
                    f"{100 * takes[j]:.0f} % is to be pulled, but only {100 * stands.sum():.0f} % of the hairs stand "
                    "above the skin then.",
                    where=f"{zone.task.key}, {date_of(int(net.visits[j]))}",
                    remedy="Take less there, or less at the visits in the four weeks before.",
                )
            from_birth = np.divide(
                pulled, kept[: net.initial + j, j], out=np.zeros_like(pulled), where=pulled > 0
            )
            used = np.flatnonzero(from_birth > 0.0)
            flow[arc_of[used, j]] = from_birth[used]
            left[used] -= from_birth[used]
        left[net.initial + j] = born
    flow[arc_of[:, visits]] = np.maximum(left, 0.0)
    return flow


def _drops(zone: ZoneFlow) -> Floats:
    """Share of each birth that is lost between one visit and the next and born again there, (births, visits)."""
    net = zone.network
    drop = np.zeros((zone.births, len(net.visits)))
    arc, node, part = net.lost
    drop[net.tail[arc], node] = part
    return drop
