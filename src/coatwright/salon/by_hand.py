"""What is set by hand in a plan: takes and visits, kept as events and left to the plan again.

Each function looks at the state under the write lock and raises an :class:`~coatwright.errors.InputError` when
something is wrong, as those of :mod:`coatwright.salon.salon` do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from coatwright.errors import OutOfOrder, OutOfRange, UnknownName
from coatwright.planning.problem import STEP
from coatwright.salon.events import Cell, Event, VisitFreed, VisitSet, event_of, stream_of
from coatwright.salon.fold import Fold, Salon
from coatwright.salon.records import QUIET, FixedVisit
from coatwright.salon.salon import dog_of, keep, time_of, today_of
from coatwright.salon.store import Store
from coatwright.units import Share


def fix_cell(
    store: Store,
    dog: str,
    zone: str,
    day: date,
    share: Share,
    *,
    rhythm: int | None = None,
    by: str = "",
    today: date | None = None,
) -> Event:
    """Fix a take of the plan by hand, in steps of 5 %, on a day that is still to come.

    The plan then keeps to the ``rhythm`` in which it was fixed.
    """
    first = today or today_of(store)

    def made(salon: Salon) -> Cell:
        cell = Cell(zone, day, share, rhythm)
        name = dog_of(salon, dog).name
        if abs(share / STEP - round(share / STEP)) > 1e-6:
            raise OutOfRange(
                f"A take of {100 * share:g} % is no step of 5 %.",
                where=f"{name}, {zone} on {day}",
                remedy="Give 0, 5, 10 ... 100 %.",
            )
        if day < first:
            raise OutOfOrder(
                f"The visit of {day} lies before today, {first}.",
                where=f"{name}, {zone}",
                remedy="Log what was done there as a visit instead.",
            )
        return cell

    return keep(store, "cell.fixed", stream_of("dog", dog), by, made)


def free_cell(store: Store, dog: str, zone: str, day: date, *, by: str = "") -> Event:
    """Let the plan choose a take again that was fixed by hand."""

    def made(salon: Salon) -> Cell:
        fixed = dog_of(salon, dog).fixed
        if (zone, day) not in fixed:
            cells = [f"{where} on {when}" for where, when in fixed]
            raise UnknownName.of("fixed take", f"{zone} on {day}", cells, where=dog)
        return Cell(zone, day)

    return keep(store, "cell.freed", stream_of("dog", dog), by, made)


def fix_visit(
    store: Store,
    dog: str,
    visit: FixedVisit,
    *,
    rhythm: int | None = None,
    by: str = "",
    today: date | None = None,
) -> Event:
    """Move, drop or add a visit of the plan, or give it minutes of its own; it must be on a day to come.

    What was set of the same visit before is replaced. Raises :class:`~coatwright.errors.OutOfRange` for a day on
    which the dog is away or shown, or has another visit set by hand.
    """
    first = today or today_of(store)

    def made(salon: Salon) -> VisitSet:
        known = dog_of(salon, dog)
        place = f"{known.name}, visit of {visit.day}"
        if visit.at < first:
            raise OutOfOrder(
                f"{visit.at} lies before today, {first}.", where=place, remedy="Choose a day to come."
            )
        if visit.dropped:
            return VisitSet(visit, rhythm)
        if any(start <= visit.at <= end for start, end in known.limits.away):
            raise OutOfRange(
                f"{known.name} is away on {visit.at}.", where=place, remedy="Choose another day."
            )
        shown = next((show for show in known.wish.shows if 0 <= (show.day - visit.at).days < QUIET), None)
        if shown is not None:
            raise OutOfRange(
                f"{visit.at} is too close to {shown.name!r} on {shown.day}: the coat needs {QUIET} quiet days.",
                where=place,
                remedy="Choose an earlier day, or one after the show.",
            )
        others = [each for each in known.fixed_visits if each.day != visit.day and not each.dropped]
        if visit.at in [each.at for each in others]:
            raise OutOfRange(
                f"Another visit is set by hand on {visit.at}.", where=place, remedy="Choose another day."
            )
        return VisitSet(visit, rhythm)

    return keep(store, "visit.fixed", stream_of("dog", dog), by, made)


def free_visit(store: Store, dog: str, day: date, *, by: str = "") -> Event:
    """Let the plan place a visit again that was set by hand; ``day`` as in :class:`FixedVisit`."""

    def made(salon: Salon) -> VisitFreed:
        known = [each.day.isoformat() for each in dog_of(salon, dog).fixed_visits]
        if day.isoformat() not in known:
            raise UnknownName.of("visit set by hand", day.isoformat(), known, where=dog)
        return VisitFreed(day)

    return keep(store, "visit.freed", stream_of("dog", dog), by, made)


def work_from(
    store: Store,
    dog: str,
    visits: Sequence[FixedVisit],
    fixed: Mapping[tuple[str, date], Share],
    *,
    rhythm: int | None = None,
    by: str = "",
) -> list[Event]:
    """Put what a kept version had set by hand in the place of what is set now; nothing when both are the same."""
    events: list[Event] = []

    def make(fold: Fold) -> Sequence[Event]:
        now, stream = dog_of(fold.state(), dog), stream_of("dog", dog)
        here = {each.day: each for each in now.fixed_visits}
        there = {each.day: each for each in visits}
        parts: list[tuple[str, Any]] = [("visit.freed", VisitFreed(day)) for day in here if day not in there]
        parts += [
            ("visit.fixed", VisitSet(each, rhythm)) for day, each in there.items() if here.get(day) != each
        ]
        parts += [("cell.freed", Cell(zone, day)) for zone, day in now.fixed if (zone, day) not in fixed]
        parts += [
            ("cell.fixed", Cell(zone, day, share, rhythm))
            for (zone, day), share in fixed.items()
            if now.fixed.get((zone, day)) != share
        ]
        at, tick = time_of(store, fold, stream), timedelta(microseconds=1)
        events.extend(
            event_of(kind, stream, made, at=at + number * tick, by=by)
            for number, (kind, made) in enumerate(parts)
        )
        return events

    store.change(make)
    return events
