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
    if len(zone.network.lost[0]):
        return _with_loss(zone, takes)
    net, renewed = zone.network, (1.0 - zone.task.broken) * takes
    born = np.concatenate([[0.0], np.cumsum(np.concatenate([zone.shares, renewed]))])
    pulled = np.concatenate([[0.0], np.cumsum(renewed), [np.inf]])
    # in the queue of all hairs ever born, each pull takes the next ones: a flow is where the two overlap
    overlap = np.minimum(born[net.tail + 1], pulled[net.head + 1]) - np.maximum(
        born[net.tail], pulled[net.head]
    )
    flow: Floats = np.maximum(overlap, 0.0)
    stands = standing_shares(zone, takes)
    beyond = np.flatnonzero((takes > 0.0) & (takes > stands + ROUNDING))
    if len(beyond):
        j = int(beyond[0])
        _refuse(zone, j, float(takes[j]), float(stands[j]))
    return flow


def standing_share(zone: ZoneFlow, takes: Floats, j: int) -> float:
    """Share of a zone's hairs above the skin, and so to be pulled at, at visit j after the takes before it."""
    if len(zone.network.lost[0]):
        return float(_loss_until(zone, takes, j)[1])
    return float(standing_shares(zone, takes)[j])


def standing_shares(zone: ZoneFlow, takes: Floats) -> Floats:
    """:func:`standing_share` at every visit, shape (visits,); only for a zone that loses no hair by itself."""
    ever, recent = under_skin(zone, zone.task.growth.lag - ROUNDING)
    stands: Floats = 1.0 - ever - (1.0 - zone.task.broken) * (recent @ takes)
    return stands


def under_skin(zone: ZoneFlow, lag: float) -> tuple[Floats, Floats]:
    """What hides under the skin at each visit for ``lag`` days after its birth.

    Of today's layers their share, shape (visits,); of the hair born at earlier visits which of those still hide
    (1 or 0), shape (visits, visits).
    """
    net = zone.network
    fresh = net.visits[:, None] - net.born[None, : net.initial] < lag
    recent = np.tril(net.visits[None, :] > net.visits[:, None] - lag, -1)
    return fresh @ zone.shares, recent.astype(float)


def _refuse(zone: ZoneFlow, j: int, take: float, stands: float) -> None:
    raise OutOfRange(
        f"{100 * take:.0f} % is to be pulled, but only {100 * stands:.0f} % of the hairs stand above the skin then.",
        where=f"{zone.task.key}, {date_of(int(zone.network.visits[j]))}",
        remedy="Take less there, or less at the visits in the four weeks before.",
    )


def _with_loss(zone: ZoneFlow, takes: Floats) -> Floats:
    """The same where blown hair falls out on the way."""
    return _loss_until(zone, takes, len(zone.network.visits))[0]


def _loss_until(zone: ZoneFlow, takes: Floats, end: int) -> tuple[Floats, float]:
    """Visit by visit up to visit ``end``: the flow so far, and what stands there before its take."""
    net = zone.network
    visits = len(net.visits)
    arc_of = np.full((zone.births, visits + 1), -1)
    arc_of[net.tail, net.head] = np.arange(len(net.tail))
    kept = np.zeros((zone.births, visits + 1))
    kept[net.tail, net.head] = net.kept
    arc, node, part = net.lost
    drop = np.zeros((zone.births, visits))
    drop[net.tail[arc], node] = part
    left = np.concatenate([zone.shares, np.zeros(visits)])
    flow = np.zeros(len(net.tail))
    for j in range(visits):
        here = net.initial + j
        stands = np.where(arc_of[:here, j] >= 0, left[:here], 0.0) * kept[:here, j]
        if j == end:
            return flow, float(stands.sum())
        wanted = (1.0 - zone.task.broken) * float(takes[j])
        lost = float(left[:here] @ drop[:here, j])
        pulled = np.clip(wanted - np.concatenate([[0.0], np.cumsum(stands)[:-1]]), 0.0, stands)
        if takes[j] > float(stands.sum()) + ROUNDING:
            _refuse(zone, j, float(takes[j]), float(stands.sum()))
        used = np.flatnonzero(pulled > 0.0)
        at_birth = pulled[used] / kept[used, j]
        flow[arc_of[used, j]] = at_birth
        left[used] -= at_birth
        left[here] = wanted + lost
    flow[arc_of[:, visits]] = np.maximum(left, 0.0)
    return flow, 0.0
