"""From a dog's case to a problem: what rolling, staged, strip and free choice ask of the same coat.

    rolling  ready every day from a day on, never thin; quiet before the shows that fall into it
    staged   ready on the show days; a zone may be bare on the way, as far as its welfare floor allows
    strip    all taken in a few days' sessions, once, as near to the show as makes it ready
    free     the wish as it stands: every day and shows together, floors where the wish asks for them

The approach is an outcome of the wish; fixing one by hand shows what it costs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from coatwright.coat.aims import Aim, rolling_aim, staged_aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import ZoneCoat
from coatwright.errors import OutOfRange
from coatwright.planning.cadence import Calendar, sessions, visit_days
from coatwright.planning.problem import BARE_FLOOR, STEP, Cell, Costs, Futures, Problem, Wish, ZoneTask
from coatwright.units import Day, Millimetres, Minutes, Share

APPROACHES = ("free", "rolling", "staged", "strip")

TAIL = 84
"""Days planned beyond the last day shown of a rolling coat, so that its end does not bend the plan. Never shown."""


@dataclass(frozen=True, slots=True)
class ZoneCase:
    """One zone of the dog before any wish. ``band`` is (lo, hi) in mm; None where nothing is asked of it."""

    key: str
    coat: ZoneCoat
    growth: Growth
    band: tuple[Millimetres, Millimetres] | None
    undercoat: bool = True
    tender: bool = False
    cap: Share = 1.0
    minutes: Minutes = 30.0
    broken: Share = 0.0
    neighbours: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """A dog, its calendar and its wish.

    ``shows`` are wished days; ``ready_from`` wishes every day from then on. ``look`` is the cover below which a
    rolling coat should never fall, ``bare`` the welfare floor of zones without undercoat. ``covered`` are spans
    in which the owner rules out a bare dog. ``entry`` is the way into a rolling coat: by ``shares`` from the coat
    as it is, or after a full ``strip``. ``own_visits`` replaces the cadence by days set by hand.
    """

    today: Day
    zones: tuple[ZoneCase, ...]
    calendar: Calendar
    shows: tuple[Day, ...] = ()
    ready_from: Day | None = None
    horizon: int = 182
    look: Share = 0.6
    bare: Share = BARE_FLOOR
    covered: tuple[tuple[Day, Day], ...] = ()
    entry: str = "shares"
    setup: Minutes = 20.0
    fixed: Mapping[Cell, Share] = field(default_factory=dict)
    previous: Mapping[Cell, Share] = field(default_factory=dict)
    futures: Futures | None = None
    costs: Costs = field(default_factory=Costs)
    unfit: str = ""
    own_visits: tuple[Day, ...] = ()

    def __post_init__(self) -> None:
        if self.entry not in ("shares", "strip"):
            raise OutOfRange(f"The way in is {self.entry!r}.", remedy="Use 'shares' or 'strip'.")
        if self.horizon < 1:
            raise OutOfRange("The horizon is not a day long.", remedy="Plan for at least a week.")

    @property
    def last(self) -> Day:
        """The last day shown: the horizon, or the last show if that is later."""
        return max((self.today + self.horizon, *self.shows))

    def with_(self, **changes: object) -> Case:
        """A copy with some parts changed."""
        return replace(self, **changes)  # type: ignore[arg-type]


def natural(case: Case) -> str:
    """The approach that a wish amounts to."""
    if case.ready_from is not None:
        return "free" if case.shows else "rolling"
    return "staged" if case.shows else "rolling"


def problem_for(case: Case, approach: str, cadence: int) -> Problem:
    """The problem that an approach makes of a case, with visits every ``cadence`` days."""
    if approach not in APPROACHES:
        raise OutOfRange(f"There is no approach {approach!r}.", remedy=f"Use one of {', '.join(APPROACHES)}.")
    if approach == "staged" and not case.shows:
        raise OutOfRange("A staged coat needs a show day.", remedy="Add the show, or plan a rolling coat.")
    every = _every_from(case, approach)
    last = case.last + TAIL if every is not None else max(case.shows, default=case.last)
    days = case.own_visits or visit_days(case.calendar, cadence, last)
    if every is None:
        days = tuple(day for day in days if day <= last)
    fixed_days = {day for _, day in case.fixed if day >= case.today}
    days = tuple(sorted({*days, *fixed_days}))
    shows = case.shows
    if approach == "rolling" and every is not None:
        shows = tuple(day for day in case.shows if day >= every)
    fixed = {cell: share for cell, share in case.fixed.items() if cell[1] in days}
    minutes = tuple(case.calendar.minutes_on(day) for day in days)
    if case.entry == "strip" and every is not None and days:
        fixed, days, minutes = _strip_first(case, days, minutes, fixed)
    return Problem(
        today=case.today,
        visits=days,
        minutes=minutes,
        zones=tuple(
            _task(case, zone, staged=every is None, thin=_may_be_thin(case, every)) for zone in case.zones
        ),
        wish=Wish(shows, every),
        setup=case.setup,
        fixed=fixed,
        previous={cell: share for cell, share in case.previous.items() if cell[1] in days},
        futures=case.futures,
        costs=case.costs,
        covered=tuple((a, b, case.look) for a, b in case.covered),
        unfit=case.unfit,
    )


def strip_problem(case: Case, start: Day) -> Problem:
    """A full strip whose sessions begin on ``start``: as many days as the minutes need, and no pull after.

    A tender zone loses no more over all its sessions than at one visit.
    """
    days = _strip_sessions(case, start)
    if not days:
        raise OutOfRange("No open day for a full strip was found.", remedy="Change the days off or away.")
    fixed = _strip_cells(case, days)
    return problem_for(
        case.with_(own_visits=days, fixed=fixed, previous={}, entry="shares"),
        "staged" if case.shows else "free",
        7,
    )


def aim_for(zone: ZoneCase, *, staged: bool, look: Share) -> Aim | None:
    """The aim of a zone. What may not be taken down at once is judged as in a rolling coat in every approach.

    That is a tender zone, with its cap, and one without undercoat, with its floor of cover.
    """
    if zone.band is None:
        return None
    lo, hi = zone.band
    if staged and zone.undercoat and not zone.tender:
        return staged_aim(lo, hi)
    return rolling_aim(lo, hi, zone.growth, cover=look, cap=zone.cap)


def _every_from(case: Case, approach: str) -> Day | None:
    if approach == "staged":
        return None
    if approach in ("free", "strip"):
        return case.ready_from
    if case.ready_from is not None:
        return case.ready_from
    return min(case.today + 16 * 7, case.last)


def _may_be_thin(case: Case, every: Day | None) -> bool:
    """Whether a zone may fall below the look floor on the way."""
    return every is None or case.entry == "strip"


def _task(case: Case, zone: ZoneCase, *, staged: bool, thin: bool) -> ZoneTask:
    aim = aim_for(zone, staged=staged, look=case.look)
    look = 0.0 if thin else min(case.look, 1.0 if aim is None else aim.cover)
    return ZoneTask(
        key=zone.key,
        coat=zone.coat,
        growth=zone.growth,
        aim=aim,
        look=look,
        welfare=0.0 if zone.undercoat else case.bare,
        cap=zone.cap,
        minutes=zone.minutes,
        broken=zone.broken,
        neighbours=zone.neighbours,
    )


def _strip_first(
    case: Case, days: tuple[Day, ...], minutes: tuple[Minutes, ...], fixed: dict[Cell, Share]
) -> tuple[dict[Cell, Share], tuple[Day, ...], tuple[Minutes, ...]]:
    """Begin a rolling coat by a full strip: first sessions on following days, then the cadence goes on."""
    strip = _strip_sessions(case, days[0])
    later = tuple(day for day in days if day > strip[-1] + 3)
    every = (*strip, *later)
    fixed = {**_strip_cells(case, strip), **fixed}
    return fixed, every, tuple(case.calendar.minutes_on(day) for day in every)


def _strip_sessions(case: Case, start: Day) -> tuple[Day, ...]:
    """As many open days from ``start`` on as pulling every zone takes."""
    room = max(case.calendar.minutes - case.setup, 1.0)
    return sessions(case.calendar, start, math.ceil(sum(zone.minutes for zone in case.zones) / room) + 1)


def _strip_cells(case: Case, days: tuple[Day, ...]) -> dict[Cell, Share]:
    """All that may be taken, zone after zone as the time allows; tender zones lose no more than at one visit."""
    left = {day: max(case.calendar.minutes_on(day) - case.setup, 0.0) for day in days}
    cells: dict[Cell, Share] = {(zone.key, day): 0.0 for zone in case.zones for day in days}
    for zone in case.zones:
        under = float(zone.coat.shares[days[0] - zone.coat.born < zone.growth.lag].sum())
        most = min((1.0 if zone.undercoat else 1.0 - case.bare) - under, zone.cap)
        share = max(int(most / STEP + 1e-9), 0) * STEP
        for day in days:
            steps = int(left[day] / max(zone.minutes, 1e-9) / STEP + 1e-9)
            part = min(share, steps * STEP)
            if part > 1e-9:
                cells[zone.key, day] = round(part, 4)
                left[day] -= part * zone.minutes
                share -= part
    return cells
