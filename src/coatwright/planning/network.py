"""The cohort network of one zone: which hairs may be pulled when, and how what is pulled comes back.

A *birth* is a layer: first those on the dog today, then one per visit. An *arc* leads from a birth to the visit
at which those hairs are pulled next, or to the end where they are left standing. The flow on an arc is the share
of the zone's hairs that takes this way, measured at its birth.

Nothing here knows about coats: a forest of age classes cut period by period is the same network, and the tests
solve published harvest schedules with it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coatwright.programs import Floats, Ints, Program

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Network:
    """Births, visits and arcs of one zone.

    ``born``      (births,)         time of birth; the first ``initial`` stand at the start
    ``visits``    (visits,)         times of the visits
    ``tail``      (arcs,)           birth of each arc
    ``head``      (arcs,)           visit of each arc; ``len(visits)`` for left standing at the end
    ``kept``      (arcs,)           share of the arc's flow that still stands when the arc ends
    ``lost``      (losses,) x 3     arc, visit and share: what is lost on the way and born again at that visit
    """

    born: Floats
    visits: Floats
    initial: int
    tail: Ints
    head: Ints
    kept: Floats
    lost: tuple[Ints, Ints, Floats]

    @property
    def pulled(self) -> Bools:
        """Arcs that end in a pull, shape (arcs,)."""
        return self.head < len(self.visits)

    @property
    def end_time(self) -> Floats:
        """Time at which each arc ends; infinity for the arcs left standing, shape (arcs,)."""
        return np.append(self.visits, np.inf)[self.head]

    @property
    def age(self) -> Floats:
        """Age at the end of each arc; for the arcs left standing, age at the last visit. Shape (arcs,)."""
        ends = np.append(self.visits, self.visits[-1])[self.head]
        return ends - self.born[self.tail]


def cohort_network(
    start: float,
    born: Floats,
    visits: Floats,
    *,
    may_pull: Callable[[Floats], Bools],
    survival: Callable[[Floats, Floats], Floats] | None = None,
    lost_at_next: bool = True,
) -> Network:
    """Build the network of one zone.

    ``born`` are the births that stand at ``start``; the visits add theirs. ``may_pull(age)`` says at which ages
    hair may be pulled. ``survival(age_from, age_to)`` is the share that stands on its own between two ages
    (None: all of it). What is lost between two visits is born again at the later of them, or at the earlier
    one with ``lost_at_next=False`` (a forest that burns after the cut).
    """
    count = len(visits)
    births = np.concatenate([born, visits])
    from_day = np.maximum(births, start)
    initial = len(born)
    order = np.arange(initial + count)
    first_visit = np.maximum(order - initial + 1, 0)
    age = visits[None, :] - births[:, None]
    later = np.arange(count)[None, :] >= first_visit[:, None]
    allowed = np.concatenate([later & may_pull(age), np.ones((len(births), 1), dtype=bool)], axis=1)
    tail, head = np.nonzero(allowed)

    if survival is None:
        nothing = np.zeros(0, np.int64)
        return Network(
            births, visits, initial, tail, head, np.ones(len(tail)), (nothing, nothing, np.zeros(0))
        )
    stands = np.where(later, survival((from_day - births)[:, None] + 0.0 * age, np.maximum(age, 0.0)), 1.0)
    last = np.minimum(head, count - 1)
    before = np.concatenate([np.ones((len(births), 1)), stands[:, :-1]], axis=1)
    drop = np.where(later, before - stands, 0.0)
    arc, visit = np.nonzero((np.arange(count)[None, :] <= last[:, None]) & (drop[tail] > 0.0))
    node = visit if lost_at_next else visit - 1
    kept = stands[tail, last]
    return Network(births, visits, initial, tail, head, kept, (arc, node, drop[tail[arc], visit]))


@dataclass(frozen=True, slots=True)
class FlowColumns:
    """Columns of one zone in the program: the flow per arc and the take per visit; and the birth rows."""

    flow: Ints
    take: Ints
    birth_rows: Ints


def add_flow(
    program: Program,
    network: Network,
    shares: Floats,
    *,
    renewed: float = 1.0,
    take_limits: tuple[Floats, Floats] | None = None,
) -> FlowColumns:
    """Add the flow of one zone: columns for arcs and takes, rows that conserve hairs.

    ``shares`` (initial births,) stand at the start. A take of x pulls at x of the hairs but renews only
    ``renewed * x``; the rest breaks and stays where it was.

        out of an initial birth   sum_j y[i,j] = m_i
        out of a visit's birth    sum_k y[j,k] = renewed x[j] + what was lost and is born again at j
        take                      renewed x[j] = sum_i kept[i,j] y[i,j]
    """
    count = len(network.visits)
    low, high = take_limits if take_limits is not None else (np.zeros(count), np.full(count, np.inf))
    flow = program.add_columns(len(network.tail))
    take = program.add_columns(count, low=low, high=high)
    targets = np.concatenate([shares, np.zeros(count)])
    births = program.add_rows(len(targets), low=targets, high=targets)
    program.put(births[network.tail], flow, 1.0)
    program.put(births[network.initial :], take, -renewed)
    arc, node, part = network.lost
    program.put(births[network.initial + node], flow[arc], -part)
    takes = program.add_rows(count, low=0.0, high=0.0)
    pulled = np.flatnonzero(network.pulled)
    program.put(takes[network.head[pulled]], flow[pulled], network.kept[pulled])
    program.put(takes, take, -renewed)
    return FlowColumns(flow, take, births)
