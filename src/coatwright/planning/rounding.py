"""Bring takes to steps of 5 % ("5 % or nothing") without a single integer variable.

Two ideas are tried for each zone, each in three tempers (to the nearest step, sooner, later). Rounding the
*running total* keeps it within half a step of the relaxed plan, so that coats convert on time; rounding *each take
by itself* lets an even plan stay even, since a rotation may well be a little faster than it need be. Each zone
keeps what costs it least. The relaxed plan is a bound, so the distance from the best possible is known (exact
binaries took 3.5 s for the same; coat model, section 3).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from coatwright.coat.growth import Floats
from coatwright.planning.oldest import ROUNDING, standing_share, under_skin
from coatwright.planning.problem import STEP
from coatwright.planning.standing import ZoneFlow
from coatwright.programs import Ints

TEMPERS = ((0.5, 1.0), (0.75, 1.0), (0.25, 1.0), (0.5, 0.0), (0.9, 0.0))
"""Where between two steps a take is rounded up, and how much of the running difference is carried on."""

Pricing = Callable[[Floats], tuple[float, Floats]]


def round_takes(
    zones: Sequence[ZoneFlow], relaxed: Floats, low: Floats, high: Floats, room: Floats, price: Pricing
) -> tuple[Floats, float]:
    """Takes in whole steps near ``relaxed`` (zones, visits), within ``low`` and ``high``.

    ``room`` (visits,) is the minutes of pulling that each visit has. Cells fixed by hand keep their value, in whole
    steps or not. ``price(takes)`` gives the cost of the dog and
    per zone of such takes. Returns the takes and the dog's cost.
    """
    most = _Most(zones, relaxed)
    candidates = [
        _rounded(zones, relaxed, low, high, room, most, up=up, carry=carry) for up, carry in TEMPERS
    ]
    priced = [price(takes) for takes in candidates]
    choice = np.argmin(np.array([own for _, own in priced]), axis=0)
    mixed = np.array([candidates[c][z] for z, c in enumerate(choice)])
    mixed = keep_time(zones, mixed, relaxed, low, room)
    options = [*zip((total for total, _ in priced), candidates, strict=True), (price(mixed)[0], mixed)]
    cost, takes = min(options, key=lambda option: option[0])
    return takes, cost


def keep_time(zones: Sequence[ZoneFlow], takes: Floats, relaxed: Floats, low: Floats, room: Floats) -> Floats:
    """Take back steps at visits that rounding has made too long, first where most was rounded up."""
    takes = takes.copy()
    for j in range(takes.shape[1]):
        _within(zones, takes, relaxed[:, j], low, room, j)
    return takes


def _within(
    zones: Sequence[ZoneFlow], takes: Floats, wanted: Floats, low: Floats, room: Floats, j: int
) -> None:
    """Take back steps at visit j until it is no longer than its room, or than the relaxed plan makes it."""
    minutes = np.array([zone.task.minutes for zone in zones])
    most = max(float(room[j]), float(minutes @ wanted)) + 1e-6
    while float(minutes @ takes[:, j]) > most:
        loose = (takes[:, j] - STEP >= low[:, j] - 1e-9) & (minutes > 0.0)
        z = int(np.argmax(np.where(loose, takes[:, j] - wanted, -np.inf)))
        if not loose[z]:
            return
        takes[z, j] = max(takes[z, j] - STEP, 0.0)


def move_steps(
    row: Floats, low: Floats, high: Floats, where: Ints, price: Callable[[Floats], float], *, passes: int = 2
) -> Floats:
    """Better a zone's takes by moving single steps, to or from a visit or between two that follow each other.

    Only the visits numbered in ``where`` are tried. Stops when a pass over them gains nothing.
    """
    best, cost = row.copy(), price(row)
    moves = [(1,), (-1,), (1, -1), (-1, 1)]
    for _ in range(passes):
        before = cost
        for j in where:
            for move in moves:
                tried = best.copy()
                tried[j : j + len(move)] += STEP * np.array(move[: len(row) - j])
                if (tried < low - 1e-9).any() or (tried > high + 1e-9).any():
                    continue
                tried_cost = price(tried)
                if tried_cost < cost - 1e-6:
                    best, cost = tried, tried_cost
        if cost > before - 1e-6:
            break
    return best


def _rounded(
    zones: Sequence[ZoneFlow],
    relaxed: Floats,
    low: Floats,
    high: Floats,
    room: Floats,
    most: _Most,
    *,
    up: float,
    carry: float,
) -> Floats:
    """Round visit after visit. What a visit has no time for is always carried on to the next."""
    fixed = high - low < 1e-9
    takes = np.where(fixed, low, 0.0)
    behind = np.zeros(len(zones))
    for j in range(relaxed.shape[1]):
        wanted = np.floor((relaxed[:, j] + behind) / STEP + up + 1e-6)
        least = np.ceil(low[:, j] / STEP - 1e-6)
        greatest = np.floor(np.minimum(high[:, j], most.at(j, takes)) / STEP + 1e-6)
        steps = np.maximum(np.minimum(np.maximum(wanted, least), greatest), 0.0)
        takes[:, j] = np.where(fixed[:, j], takes[:, j], steps * STEP)
        before = takes[:, j].copy()
        _within(zones, takes, relaxed[:, j], low, room, j)
        cut = takes[:, j] < before
        behind = np.where(cut, 1.0, carry) * (behind + relaxed[:, j] - takes[:, j])
    return takes


class _Most:
    """The most that may be pulled of each zone at a visit: what stands, and no barer than floor or relaxed plan.

    Cells fixed by hand in the coming four weeks keep the hair they need.
    """

    def __init__(self, zones: Sequence[ZoneFlow], relaxed: Floats) -> None:
        self._zones = zones
        self._losing = [z for z, zone in enumerate(zones) if len(zone.network.lost[0])]
        self._renewed = np.array([1.0 - zone.task.broken for zone in zones])
        skin = [under_skin(zone, zone.task.growth.lag - ROUNDING) for zone in zones]
        cover = [under_skin(zone, zone.task.cover_lag - 1e-9) for zone in zones]
        self._ever = np.array([ever for ever, _ in skin])
        self._recent = np.array([recent for _, recent in skin])
        self._hiding = np.array([hiding for _, hiding in cover])
        self._soon = np.array([_soon(zone) for zone in zones])
        floor = np.array([max(zone.task.look, zone.task.welfare) for zone in zones])
        hidden = np.array([ever for ever, _ in cover])
        told = np.einsum("zji,zi->zj", self._hiding, relaxed) + relaxed
        renewed = self._renewed[:, None]
        self._allowed = np.maximum(1.0 - floor[:, None] - hidden, renewed * told) / renewed

    def at(self, j: int, takes: Floats) -> Floats:
        """The most at visit j after the ``takes`` (zones, visits) before it, shape (zones,)."""
        stands = 1.0 - self._ever[:, j] - self._renewed * (self._recent[:, j] * takes).sum(axis=1)
        for z in self._losing:
            stands[z] = standing_share(self._zones[z], takes[z], j)
        promised = (self._soon[:, j] * takes).sum(axis=1)
        room = self._allowed[:, j] - (self._hiding[:, j] * takes).sum(axis=1)
        most: Floats = np.minimum(stands - promised, room)
        return most


def _soon(zone: ZoneFlow) -> Floats:
    """Which visits follow each visit within the lag: hair pulled now is not above the skin then."""
    visits, lag = zone.network.visits, zone.task.growth.lag
    after = np.triu(visits[None, :] < visits[:, None] + lag - 1e-9, 1)
    return after.astype(float)
