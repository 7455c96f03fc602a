"""The answer to a wish that cannot be met: which zone, which limit, by how much, and the earliest day it could be."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from coatwright.planning.approach import TAIL, Case, problem_for
from coatwright.planning.cadence import CADENCES
from coatwright.planning.plan import Plan, Shortfall
from coatwright.planning.problem import STEP, Problem
from coatwright.planning.solve import PlanSession
from coatwright.units import Day, Millimetres, Minutes, Share, date_of

SEARCH_WEEKS = 40
"""How far after the wished day an earliest possible day is looked for."""
TABLE_MINUTES: Minutes = 180.0
"""Longest that a dog should stand on the table in a day (common practice)."""
MORE_MINUTES: Minutes = 30.0
LONGER_MM: Millimetres = 3.0
LEAST_LOOK: Share = 0.3
"""What is offered at a time: minutes more at every visit, length more in a zone; and no thinner look than this."""

_LIMITS = {
    "cover": "thinner than the wish allows: {by:.0f} % of its hairs too few above the skin",
    "top": "not in its band: {by:.0f} % of its hairs too few between the shortest and the longest length",
    "over": "overgrown: {by:.0f} % of its hairs too many beyond the longest length",
    "welfare": "barer than its welfare floor allows, by {by:.0f} % of its hairs",
}


@dataclass(frozen=True, slots=True)
class Remedy:
    """Something that helps: in words, and as a change of the wish or the limits that a desk can make at once.

    All but ``show`` and ``rest`` can be made by a program.

    ``kind`` and what ``value`` is:

        minutes     limit of every visit, min
        ready_from  first day of the rolling wish, day number
        cadence     days between visits
        look        least cover of the look, share
        longer      mm more in the aim of ``zone``
        free        None: takes fixed by hand in ``zone`` ("" all) are freed
        show        day number from which a show could be served
        rest        None
    """

    kind: str
    text: str
    zone: str = ""
    value: float | None = None

    def sentence(self, day_text: Callable[[Day], str] | None = None) -> str:
        """The remedy in words; ``day_text`` writes a day as the reader writes dates (default: ISO 8601)."""
        if self.kind not in ("ready_from", "show") or self.value is None:
            return self.text
        return self.text.format(day=(day_text or day_words)(int(self.value)))


@dataclass(frozen=True, slots=True)
class Answer:
    """One thing that could not be had.

    ``zone`` and ``limit`` as in :class:`Shortfall`; ``worst`` is a share, or minutes for ``minutes``.
    ``earliest`` is the first day (in steps of a week after the wished one) on which this zone's wish can be met
    with the same visits going on, None where it cannot within 40 weeks or where no day would help.
    ``cause``: ``coat`` (the hair cannot do it), ``time`` (the visits' minutes cannot), ``steps`` (only takes in
    whole steps of 5 % miss it).
    """

    zone: str
    limit: str
    first: Day
    last: Day
    worst: float
    earliest: Day | None
    remedies: tuple[Remedy, ...]
    cause: str = "coat"

    def sentence(self, zone_name: str, day_text: Callable[[Day], str]) -> str:
        """The answer in plain words; ``day_text`` writes a day as the reader writes dates."""
        when = (
            f"on {day_text(self.first)}"
            if self.first == self.last
            else f"from {day_text(self.first)} to {day_text(self.last)}"
        )
        if self.limit == "minutes":
            text = f"The visits have too little time {when}: {self.worst:.0f} minutes too few."
        elif self.limit == "futures":
            text = f"In the slowest and fastest coats this dog may turn out to have, the plan fails {when}."
        else:
            text = f"{zone_name} would be {_LIMITS[self.limit].format(by=100 * self.worst)} {when}."
        if self.cause == "steps":
            text += " Only the whole steps of 5 % miss it: a take between two steps would do."
        elif self.cause == "time":
            text += " The hair would allow it; the minutes of the visits do not."
        elif self.earliest is not None:
            text += f" The earliest day on which this wish can be met is {day_text(self.earliest)}."
        return text


def explain(
    case: Case, plan: Plan, approach: str, cadence: int, *, until: Day | None = None
) -> tuple[Answer, ...]:
    """An answer for every shortfall of a plan up to ``until``; none when everything that was wished holds."""
    answers = []
    shown = plan.problem.last_day if until is None else until
    for miss in sorted(plan.shortfalls, key=lambda s: (s.first, s.zone)):
        if miss.first > shown:
            continue
        earliest, cause = None, "coat"
        if (miss.zone, miss.limit) not in {(s.zone, s.limit) for s in plan.unavoidable}:
            cause = "time" if float(plan.minute_price.max(initial=0.0)) > 1.0 else "steps"
        elif miss.limit in ("cover", "top", "over") and approach != "strip":
            weeks = weeks_until_possible(case, approach, cadence, miss)
            wished = wished_day(case, miss)
            cause = "time" if weeks == 0 else "coat"
            earliest = wished + 7 * weeks if weeks else None
        answers.append(
            Answer(
                miss.zone,
                miss.limit,
                miss.first,
                min(miss.last, shown),
                miss.worst,
                earliest,
                _remedies(case, plan, miss, cadence, earliest),
                cause,
            )
        )
    return tuple(answers)


def weeks_until_possible(case: Case, approach: str, cadence: int, miss: Shortfall) -> int | None:
    """Weeks after the wished day at which the zone that misses could be ready; None within 40 weeks.

    The zone is solved on its own, without the other zones' minutes, so this is a bound: no plan of the whole dog
    with these visits is ready earlier, and where minutes do not bind it is exact. 0 means that this zone alone
    could be ready on the wished day.
    """
    alone = tuple(zone for zone in case.zones if zone.key == miss.zone)
    if not alone:
        return None
    for weeks in range(SEARCH_WEEKS + 1):
        day = wished_day(case, miss) + 7 * weeks
        if weeks > 0 and day <= miss.last < case.last - 28:
            continue  # it still misses then, and stops later
        moved = case.with_(
            zones=alone,
            fixed={cell: share for cell, share in case.fixed.items() if cell[0] == miss.zone},
            previous={},
            futures=None,
            shows=(day,) if case.shows and approach != "rolling" else (),
            ready_from=day if case.ready_from is not None or approach == "rolling" else None,
            horizon=max(case.horizon, day - case.today + (TAIL if approach == "rolling" else 0)),
            own_visits=(),
        )
        if _holds(problem_for(moved, approach, cadence), day):
            return weeks
    return None


def wished_day(case: Case, miss: Shortfall) -> Day:
    """The wished day that a shortfall belongs to: the first show it touches, or the start of the rolling wish."""
    touched = [day for day in case.shows if miss.first <= day <= miss.last]
    if touched:
        return min(touched)
    if case.ready_from is not None:
        return case.ready_from
    return min(case.today + 16 * 7, case.last)


def _holds(problem: Problem, day: Day) -> bool:
    """Whether a one-zone problem misses nothing, relaxed, from ``day`` on."""
    free = replace(problem, minutes=tuple(1.0e6 for _ in problem.visits))
    return not [s for s in PlanSession(free).shortfalls_relaxed() if s.last >= day]


def _remedies(
    case: Case, plan: Plan, miss: Shortfall, cadence: int, earliest: Day | None
) -> tuple[Remedy, ...]:
    """What the groomer may change, most telling first."""
    found: list[Remedy] = []
    if miss.limit == "welfare":
        return (Remedy("rest", "Let the coat come back before the next pull."),)
    if miss.limit == "minutes":
        found += _more_minutes(case, miss.worst)
        if case.fixed:
            found.append(Remedy("free", "Free the takes fixed by hand."))
        return tuple(found)
    if earliest is not None:
        found.append(
            Remedy("show", "Choose a show on {day} or later.", value=earliest)
            if wished_day(case, miss) in case.shows
            else Remedy("ready_from", "Wish it from {day} on.", value=earliest)
        )
    closer = max((days for days in CADENCES if days < cadence), default=None)
    if closer is not None and miss.limit in ("cover", "over"):
        text = f"Plan visits every {closer} days, with smaller takes."
        found.append(Remedy("cadence", text, value=closer))
    if miss.limit == "cover" and case.look > LEAST_LOOK:
        look = max(case.look - STEP * math.ceil(miss.worst / STEP), LEAST_LOOK)
        text = f"Allow a thinner coat on the way: {100 * look:.0f} % cover."
        found.append(Remedy("look", text, value=round(look, 2)))
    if miss.limit == "over":
        text = "Allow slightly longer hair in this zone."
        found.append(Remedy("longer", text, zone=miss.zone, value=LONGER_MM))
    if float(plan.minute_price.max(initial=0.0)) > 1.0:
        found += _more_minutes(case, MORE_MINUTES)
    if any(cell[0] == miss.zone for cell in case.fixed):
        found.append(Remedy("free", "Free the takes fixed by hand in this zone.", zone=miss.zone))
    return tuple(found)


def _more_minutes(case: Case, more: Minutes) -> tuple[Remedy, ...]:
    """More minutes at every visit, in fives, as far as a dog should stand on the table."""
    limit = min(5.0 * math.ceil((case.calendar.minutes + more) / 5.0), TABLE_MINUTES)
    if limit <= case.calendar.minutes:
        return ()
    return (Remedy("minutes", f"Allow {limit:.0f} minutes at every visit.", value=limit),)


def day_words(day: Day) -> str:
    """A day as ISO 8601 writes it; the screens bring their own."""
    return date_of(day).isoformat()


def sentences(answers: Sequence[Answer], zone_names: dict[str, str]) -> list[str]:
    """All answers in plain words with ISO dates."""
    return [answer.sentence(zone_names.get(answer.zone, answer.zone), day_words) for answer in answers]
