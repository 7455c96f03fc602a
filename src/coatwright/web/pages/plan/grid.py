"""The grid of zones and visits, ready for a table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from coatwright.salon.records import FixedVisit, Show
from coatwright.units import Minutes, Share, date_of, day_of
from coatwright.web.changes import SLACK

if TYPE_CHECKING:
    from coatwright.printing.sheet import PlanDocument
    from coatwright.salon.plans import DogPlan


@dataclass(frozen=True, slots=True)
class Column:
    """A visit, or a show between two visits (``show`` is then given and nothing is pulled).

    ``ready`` counts the ready days from a visit until the day before the next; on a show it is 1 or 0.
    ``hand`` is what was set by hand of this visit; ``saves`` is what one more minute would save.
    """

    day: date
    minutes: Minutes = 0.0
    limit: Minutes = 0.0
    saves: Minutes = 0.0
    ready: int = 0
    hand: FixedVisit | None = None
    show: Show | None = None

    @property
    def moved(self) -> bool:
        """Whether the visit was moved here by hand."""
        return self.hand is not None and self.hand.at != self.hand.day

    @property
    def own(self) -> bool:
        """Whether the limit was set for this visit alone."""
        return self.hand is not None and self.hand.minutes is not None


@dataclass(frozen=True, slots=True)
class GridCell:
    """One zone at one visit; ``before`` is what another plan takes there, None where both agree."""

    day: date
    share: Share
    fixed: bool
    carded: bool
    before: Share | None = None


@dataclass(frozen=True, slots=True)
class GridRow:
    """One zone; a cell of None stands under a show."""

    zone: str
    name: str
    tender: bool
    cap: Share
    cells: tuple[GridCell | None, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """Visits across, zones down."""

    columns: tuple[Column, ...]
    rows: tuple[GridRow, ...]

    @property
    def visits(self) -> tuple[Column, ...]:
        """The columns at which something is pulled."""
        return tuple(column for column in self.columns if column.show is None)


def grid_of(
    plan: DogPlan,
    document: PlanDocument,
    before: dict[tuple[str, date], Share] | None,
) -> Grid:
    """The grid of a plan; with the takes ``before`` of another plan, cells that differ say so."""
    problem = plan.option.plan.problem
    ready = plan.option.plan.forecast(plan.option.shown_until - problem.today + 1).ready[0].all(axis=0)
    told = {visit.day: visit for visit in document.visits}
    days = sorted({*told, *_idle(plan)})
    starts = [day_of(day) - problem.today for day in days]
    columns = [
        Column(
            day,
            plan.minutes(day),
            problem.minutes[problem.visits.index(day_of(day))],
            told[day].saves if day in told else 0.0,
            int(ready[a:b].sum()),
            plan.dog.visit_set_on(day),
        )
        for day, a, b in zip(days, starts, [*starts[1:], len(ready)], strict=True)
    ]
    for show in plan.dog.wish.shows:
        if show.day >= plan.today:
            place = day_of(show.day) - problem.today
            columns.append(Column(show.day, ready=int(place < len(ready) and ready[place]), show=show))
    columns.sort(key=lambda column: (column.day, column.show is not None))
    where = {visit.day: number for number, visit in enumerate(document.visits)}
    rows = []
    for zone in document.zones:
        cells: list[GridCell | None] = []
        for column in columns:
            if column.show is not None:
                cells.append(None)
                continue
            number = where.get(column.day)
            share = 0.0 if number is None else zone.takes[number]
            fixed = (zone.key, day_of(column.day)) in plan.case.fixed
            old = None if before is None else before.get((zone.key, column.day), 0.0)
            changed = old if old is not None and abs(old - share) > SLACK else None
            cells.append(
                GridCell(column.day, share, fixed, number is not None and zone.carded[number], changed)
            )
        rows.append(GridRow(zone.key, zone.name, zone.tender, zone.cap, tuple(cells)))
    return Grid(tuple(columns), tuple(rows))


def _idle(plan: DogPlan) -> list[date]:
    """Days of visits that were set by hand and at which nothing is pulled."""
    problem, shown = plan.option.plan.problem, plan.option.shown_until
    set_days = [each.at for each in plan.dog.fixed_visits if not each.dropped]
    set_days += [date_of(day) for _, day in plan.case.fixed]
    return [day for day in set_days if day_of(day) in problem.visits and day_of(day) <= shown]
