"""Visits: the groomer's rhythm, with days off, days away and show days taken out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from coatwright.errors import OutOfRange
from coatwright.units import Day, Minutes, date_of

CADENCES = (7, 10, 14, 21, 28)
"""Days between visits that are tried, each solved on its own, and the best kept: choosing single dates by
binaries took 20 to 60 s and gained little (coat model, section 3)."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """When this dog can be worked on.

    ``first``     day from which visits may lie
    ``minutes``   limit of a visit, set-up included
    ``days_off``  weekdays without visits, Monday 0 to Sunday 6
    ``away``      spans of days, both ends included, on which the dog cannot come
    ``blocked``   single days without visits (shows)
    ``own``       minutes of single visits that differ
    ``last_visit`` the visit before, from which the rhythm goes on; None where there was none
    ``moved``     visits whose day is set by hand: the day of the rhythm, and the day on which they take place
    ``dropped``   days of the rhythm whose visit is left out by hand
    ``added``     days of visits besides the rhythm
    """

    first: Day
    minutes: Minutes = 180.0
    days_off: frozenset[int] = frozenset()
    away: tuple[tuple[Day, Day], ...] = ()
    blocked: frozenset[Day] = frozenset()
    own: dict[Day, Minutes] = field(default_factory=dict)
    last_visit: Day | None = None
    moved: Mapping[Day, Day] = field(default_factory=dict)
    dropped: frozenset[Day] = frozenset()
    added: frozenset[Day] = frozenset()

    def __post_init__(self) -> None:
        if self.days_off >= frozenset(range(7)):
            raise OutOfRange("Every weekday is a day off.", remedy="Leave at least one weekday for visits.")
        for a, b in self.away:
            if b < a:
                raise OutOfRange("A time away ends before it begins.", remedy="Swap its dates.")

    def open(self, day: Day) -> bool:
        """Whether a visit of the rhythm may lie on this day."""
        return self.can_come(day) and date_of(day).weekday() not in self.days_off

    def can_come(self, day: Day) -> bool:
        """Whether a visit set by hand may lie on this day: a day off does not stand against it."""
        return day >= self.first and day not in self.blocked and not any(a <= day <= b for a, b in self.away)

    def minutes_on(self, day: Day) -> Minutes:
        """Limit of a visit on this day, min."""
        return self.own.get(day, self.minutes)


def visit_days(calendar: Calendar, cadence: int, last: Day) -> tuple[Day, ...]:
    """Visits every ``cadence`` days from the calendar's first day, or a cadence after the last visit, to ``last``.

    A visit that falls on a closed day moves to the nearest open one, at most half a cadence away and never
    nearer than half a cadence to the visit before; where there is none it is left out. Then what is set by hand
    has its way: see :func:`set_by_hand`.
    """
    if cadence < 1:
        raise OutOfRange(f"Visits every {cadence} days were asked for.", remedy="Give 1 day or more.")
    days: list[Day] = []
    reach = max(cadence // 2, 1)
    begin = calendar.first
    if calendar.last_visit is not None:
        begin = max(begin, calendar.last_visit + cadence)
    for nominal in range(begin, last + 1, cadence):
        for shift in sorted(range(-reach, reach + 1), key=lambda s: (abs(s), s)):
            day = nominal + shift
            if day <= last and calendar.open(day) and (not days or day - days[-1] >= max(reach, 1)):
                days.append(day)
                break
    return set_by_hand(calendar, days, reach, last)


def set_by_hand(calendar: Calendar, days: Iterable[Day], reach: int, last: Day) -> tuple[Day, ...]:
    """Visits moved, dropped and added by hand among those of the rhythm.

    What is set belongs to the visit that is nearest to its day, at most ``reach`` days away: rhythms shift when a
    visit takes place a day early. A visit moved to a day that nobody can keep (the dog is away, a show) is left out.
    """
    left = list(days)

    def nearest(day: Day) -> Day | None:
        near = min(left, key=lambda each: (abs(each - day), each), default=None)
        return near if near is not None and abs(near - day) <= reach else None

    set_days = set(calendar.added)
    for day, to in sorted(calendar.moved.items()):
        found = nearest(day)
        if found is not None:
            left.remove(found)
        set_days.add(to)
    for day in sorted(calendar.dropped):
        found = nearest(day)
        if found is not None:
            left.remove(found)
    return tuple(sorted({*left, *(day for day in set_days if day <= last and calendar.can_come(day))}))


def sessions(calendar: Calendar, start: Day, count: int) -> tuple[Day, ...]:
    """The first ``count`` open days from ``start`` on: the sessions of a full strip, those set by hand included."""
    found: list[Day] = []
    day = start
    while len(found) < count and day < start + 60:
        if calendar.open(day):
            found.append(day)
        day += 1
    own = replace(
        calendar,
        moved={day: to for day, to in calendar.moved.items() if day in found},
        added=frozenset(day for day in calendar.added if found and found[0] <= day <= found[-1] + 3),
    )
    return set_by_hand(own, found, 0, start + 60)
