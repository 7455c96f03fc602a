"""From a dog's records to its plan: the one place where the coat, the pattern, the calendar and the wish meet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from coatwright.errors import OutOfOrder, OutOfRange
from coatwright.salon.coats import coat_of, growth_of, is_double, last_carded
from coatwright.salon.records import QUIET, Dog, FixedVisit
from coatwright.units import Day, Minutes, Share, date_of, day_of

if TYPE_CHECKING:
    from coatwright.planning.approach import Case, ZoneCase
    from coatwright.planning.compare import Option, Progress
    from coatwright.planning.explain import Answer
    from coatwright.salon.chances import Alarm
    from coatwright.salon.learnt import Learnt


@dataclass(frozen=True)
class DogPlan:
    """A dog's plan as every screen shows it.

    ``option`` is the best plan of its approach, ``cadences`` the best at each cadence (the best first),
    ``answers`` say what could not be had, ``cardings`` which zones are carded at which visit. ``dog`` is the dog as
    it is believed to be where something was measured; ``learnt`` is what is known of it, ``alarms`` what the last
    readings say that its coat should not have done.
    """

    dog: Dog
    today: date
    case: Case
    option: Option
    cadences: tuple[Option, ...]
    answers: tuple[Answer, ...]
    cardings: Mapping[Day, tuple[str, ...]]
    learnt: Learnt | None = None
    alarms: tuple[Alarm, ...] = ()

    @property
    def recorded(self) -> Dog:
        """The dog as it was written down, with takes as they were judged."""
        return self.dog if self.learnt is None else self.learnt.dog

    @property
    def visits(self) -> tuple[date, ...]:
        """Days of the visits shown at which something is pulled."""
        shown = self.option.shown_until
        return tuple(date_of(day) for day in self.option.plan.visits if day <= shown)

    def takes(self, day: date) -> dict[str, Share]:
        """What is pulled on a day, zone by zone in working order; zones that are spared are left out."""
        cells = self.option.plan.cells()
        return {
            zone.key: cells[zone.key, day_of(day)]
            for zone in self.case.zones
            if (zone.key, day_of(day)) in cells
        }

    def minutes(self, day: date) -> Minutes:
        """Minutes of a visit, set-up included; 0 without one."""
        plan = self.option.plan
        if day_of(day) not in plan.problem.visits:
            return 0.0
        return float(plan.minutes[plan.problem.visits.index(day_of(day))])


def case_of(
    dog: Dog,
    today: date,
    *,
    previous: Mapping[tuple[str, date], Share] | None = None,
    own_visits: Iterable[date] = (),
    own_minutes: Mapping[date, Minutes] | None = None,
    speed: Mapping[str, Minutes] | None = None,
) -> Case:
    """What the planner needs to know of a dog on ``today``, before that day's visit.

    ``speed`` is what whole zones of this dog take the groomer, as learnt (see :mod:`coatwright.salon.speeds`).

    Raises :class:`OutOfOrder` when the coat was never assessed, :class:`OutOfRange` for a show before today.
    A first visit that is booked wins over the rhythm from the last one.
    The dog's health is not judged here: an unfit dog's case makes no problem (see ``planning.Problem``).
    """
    from coatwright.planning.approach import Case
    from coatwright.planning.cadence import Calendar

    late = [show for show in dog.wish.shows if show.day < today]
    if len(late) == len(dog.wish.shows) > 0 and dog.wish.ready_from is None:
        raise OutOfRange(
            f"The show {late[-1].name!r} on {late[-1].day} lies before today, {today}.",
            where=dog.name,
            remedy="Give a coming show, or a day from which the dog should be ready.",
        )
    shows = tuple(sorted(day_of(show.day) for show in dog.wish.shows if show.day >= today))
    visited = any(visit.day == today for visit in dog.visits)
    first = day_of(max(today, dog.limits.first_visit or today)) + (1 if visited else 0)
    booked = dog.limits.first_visit is not None and dog.limits.first_visit >= today
    placed = [v for v in dog.fixed_visits if not v.dropped and day_of(v.at) >= first]
    fixed = _fixed_cells(dog, first)
    calendar = Calendar(
        first=first,
        minutes=dog.limits.minutes,
        days_off=frozenset(dog.limits.days_off),
        away=tuple((day_of(a), day_of(b)) for a, b in dog.limits.away),
        blocked=frozenset(day - back for day in shows for back in range(QUIET)),
        last_visit=None
        if booked
        else max((day_of(v.day) for v in dog.visits if v.day <= today), default=None),
        own=_own_minutes(dog, own_minutes or {}),
        moved=_moved(placed, fixed),
        dropped=frozenset(day_of(v.day) for v in dog.fixed_visits if v.dropped and day_of(v.day) >= first),
        added=frozenset(day_of(v.at) for v in placed if v.added),
    )
    return Case(
        today=day_of(today),
        zones=zone_cases(dog, today, speed),
        calendar=calendar,
        shows=shows,
        ready_from=None if dog.wish.ready_from is None else day_of(max(dog.wish.ready_from, today)),
        horizon=7 * dog.wish.horizon_weeks,
        look=dog.wish.look_cover,
        bare=dog.welfare_cover,
        covered=tuple((day_of(a), day_of(b)) for a, b in dog.limits.no_bare),
        entry=dog.wish.entry,
        fixed=fixed,
        previous={
            (zone, day_of(day)): share for (zone, day), share in (previous or {}).items() if day >= today
        },
        unfit=dog.unfit,
        own_visits=tuple(sorted(day_of(day) for day in own_visits if day_of(day) >= first)),
    )


def _fixed_cells(dog: Dog, first: Day) -> dict[tuple[str, Day], Share]:
    """Takes set by hand from ``first`` on, on the days on which their visits take place."""
    at = {visit.day: None if visit.dropped else visit.at for visit in dog.fixed_visits}
    found = {(zone, at.get(day, day)): share for (zone, day), share in dog.fixed.items()}
    return {
        (zone, day_of(day)): share
        for (zone, day), share in found.items()
        if day is not None and day_of(day) >= first
    }


def _moved(placed: Iterable[FixedVisit], fixed: Iterable[tuple[str, Day]]) -> dict[Day, Day]:
    """Visits whose day is set by hand. A fixed take holds its visit on its day, though the rhythm may shift."""
    held = {day for _, day in fixed} - {day_of(visit.at) for visit in placed}
    return {day: day for day in held} | {day_of(v.day): day_of(v.at) for v in placed if not v.added}


def _own_minutes(dog: Dog, given: Mapping[date, Minutes]) -> dict[Day, Minutes]:
    set_by_hand = {visit.at: visit.minutes for visit in dog.fixed_visits if visit.minutes is not None}
    return {day_of(day): minutes for day, minutes in {**set_by_hand, **given}.items()}


def cadences_of(dog: Dog, case: Case) -> tuple[int, ...]:
    """Days between visits that are tried: of a plan with something set by hand ahead, those that it was set in."""
    from coatwright.planning.cadence import CADENCES

    calendar = case.calendar
    if dog.rhythm is not None and (case.fixed or calendar.moved or calendar.dropped or calendar.added):
        return (dog.rhythm,)
    return dog.limits.cadences or CADENCES


def zone_cases(dog: Dog, today: date, speed: Mapping[str, Minutes] | None = None) -> tuple[ZoneCase, ...]:
    """The zones that are pulled and whose coat is known, in working order, as they stand on ``today``.

    Minutes set by hand win over those learnt (``speed``), and these over the table's.
    """
    from coatwright.patterns import surface_factor, with_shape, zones
    from coatwright.planning.approach import ZoneCase

    coats = coat_of(dog, today)
    scale = surface_factor(dog.weight_kg or dog.pattern.weight_kg)
    minutes = {**(speed or {}), **dog.speed}
    found = []
    for key, zone in zones().items():
        if zone.work != "pull" or key not in coats:
            continue
        band = dog.pattern.aims.get(key)
        if band is not None:
            band = with_shape(band, dog.shape_mm.get(key, 0.0))
        found.append(
            ZoneCase(
                key=key,
                coat=coats[key],
                growth=growth_of(dog, key),
                band=(band.lo, band.hi) if band is not None and band.judged else None,
                undercoat=is_double(dog) and zone.undercoat,
                tender=zone.tender,
                cap=zone.cap,
                minutes=minutes.get(key, zone.minutes * scale),
                broken=broken_of(dog, key),
                neighbours=zone.neighbours,
            )
        )
    if not found:
        raise OutOfOrder(
            f"No zone of {dog.name}'s coat is known.",
            where=dog.name,
            remedy="Assess the coat: give the layers of at least one zone that is pulled.",
        )
    return tuple(found)


def broken_of(dog: Dog, zone: str) -> Share:
    """Share of pulled hairs that broke at the last visit which pulled this zone; 0 before any."""
    for visit in reversed(dog.visits):
        if zone in visit.takes and visit.takes[zone].share > 0.0:
            return visit.takes[zone].broken
    return 0.0


def plan_dog(
    dog: Dog,
    today: date,
    *,
    approach: str | None = None,
    previous: Mapping[tuple[str, date], Share] | None = None,
    own_visits: Iterable[date] = (),
    own_minutes: Mapping[date, Minutes] | None = None,
    speed: Mapping[str, Minutes] | None = None,
    learnt: Learnt | None = None,
    alarms: tuple[Alarm, ...] = (),
    futures: int = 0,
    seed: int = 0,
    progress: Progress | None = None,
) -> DogPlan:
    """Plan a dog from its coat of today.

    ``approach`` overrides the wish's own; "free" there means whatever the wish amounts to. Cadences are those
    that the dog's limits allow, or all. ``previous`` is the plan before, kept to where it costs little.
    ``speed`` is what whole zones take the groomer, as learnt; without it the table's minutes count.
    With ``learnt`` the plan is made of the dog as it is believed to be, and once its growth is known better than
    beforehand it must also hold in the ways in which it may still turn out (see :mod:`coatwright.salon.believed`);
    ``alarms`` are handed on to whoever tells cautions (see :func:`coatwright.salon.chances.last_alarms`).
    Without, but with ``futures`` above 0, it must hold in so many ways in which this coat may turn out to grow, drawn
    from the prior with ``seed``: covers at the late end of the lag, shows with a bounded shortfall in the worst
    tenth.
    """
    import numpy as np

    from coatwright.planning.approach import natural
    from coatwright.planning.compare import best_cadence
    from coatwright.planning.explain import explain
    from coatwright.planning.problem import Futures
    from coatwright.salon.chances import surer_of

    dog, case = _believed_case(
        dog, today, learnt, previous=previous, own_visits=own_visits, own_minutes=own_minutes, speed=speed
    )
    if futures > 0:
        case = case.with_(futures=Futures.prior(futures, np.random.default_rng(seed)))
    wished = approach or dog.wish.approach
    chosen = natural(case) if wished == "free" else wished
    options = best_cadence(
        case,
        chosen,
        cadences=cadences_of(dog, case),
        price_per_hour=dog.wish.price_per_hour,
        surer=surer_of(learnt) if learnt is not None and learnt.tells_growth else None,
        progress=progress,
    )
    best = options[0]
    return DogPlan(
        dog=dog,
        today=today,
        case=case,
        option=best,
        cadences=tuple(options),
        answers=explain(case, best.plan, best.approach, best.cadence, until=best.shown_until),
        cardings=cardings(dog, today, best.plan.visits),
        learnt=learnt,
        alarms=alarms,
    )


def compare_approaches(
    dog: Dog,
    today: date,
    *,
    speed: Mapping[str, Minutes] | None = None,
    learnt: Learnt | None = None,
    progress: Progress | None = None,
) -> list[Option]:
    """Rolling, staged, strip and free choice side by side, as far as the wish allows them."""
    from coatwright.planning.cadence import CADENCES
    from coatwright.planning.compare import compare

    _, case = _believed_case(dog, today, learnt, speed=speed)
    return compare(
        case,
        cadences=dog.limits.cadences or CADENCES,
        price_per_hour=dog.wish.price_per_hour,
        progress=progress,
    )


def _believed_case(dog: Dog, today: date, learnt: Learnt | None, **asked: Any) -> tuple[Dog, Case]:
    """The dog as it is believed to be, and its case."""
    from coatwright.salon.believed import believed

    if learnt is not None and learnt.measured:
        dog = believed(learnt)
    return dog, case_of(dog, today, **asked)


def cardings(dog: Dog, today: date, visits: Iterable[Day]) -> dict[Day, tuple[str, ...]]:
    """Zones to card at each visit: packed undercoat at the next one, the rest at the pattern's interval.

    A single coat is never carded. A visit up to three days early counts as in time.
    """
    from coatwright.patterns import zones

    if not is_double(dog):
        return {}
    coats = coat_of(dog, today)
    due: dict[str, Day] = {}
    for key, zone in zones().items():
        if zone.work != "pull" or not zone.undercoat or key not in coats or coats[key].undercoat == "none":
            continue
        last = last_carded(dog, key, today)
        at_once = last is None or coats[key].undercoat == "packed"
        due[key] = day_of(today) if at_once or last is None else day_of(last) + dog.pattern.carding_days
    found: dict[Day, tuple[str, ...]] = {}
    for day in sorted(visits):
        now = tuple(key for key, when in due.items() if day >= when - 3)
        if now:
            found[day] = now
            due.update(dict.fromkeys(now, day + dog.pattern.carding_days))
    return found
