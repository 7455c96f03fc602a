"""The grid of zones and visits, ready for a table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from coatwright.salon.records import Show
from coatwright.units import Minutes, Share, day_of

if TYPE_CHECKING:
    from coatwright.printing.sheet import PlanDocument
    from coatwright.salon.plans import DogPlan


@dataclass(frozen=True, slots=True)
class Column:
    """A visit, or a show between two visits (``show`` is then given and nothing is pulled).

    ``ready`` counts the ready days from a visit until the day before the next; on a show it is 1 or 0.
    ``own`` says that the limit was set for this visit alone; ``saves`` is what one more minute would save.
    """

    day: date
    minutes: Minutes = 0.0
    limit: Minutes = 0.0
    saves: Minutes = 0.0
    ready: int = 0
    own: bool = False
    show: Show | None = None


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
    own: dict[date, Minutes],
    before: dict[tuple[str, date], Share] | None,
) -> Grid:
    """The grid of a plan; with the takes ``before`` of another plan, cells that differ say so."""
    problem = plan.option.plan.problem
    ready = plan.option.plan.forecast(plan.option.shown_until - problem.today + 1).ready[0].all(axis=0)
    starts = [day_of(visit.day) - problem.today for visit in document.visits]
    ends = [*starts[1:], len(ready)]
    columns = [
        Column(visit.day, visit.minutes, visit.limit, visit.saves, int(ready[a:b].sum()), visit.day in own)
        for visit, a, b in zip(document.visits, starts, ends[: len(starts)], strict=True)
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
            number = where[column.day]
            share = zone.takes[number]
            old = None if before is None else before.get((zone.key, column.day), 0.0)
            changed = old if old is not None and abs(old - share) > 0.025 else None
            cells.append(GridCell(column.day, share, zone.fixed[number], zone.carded[number], changed))
        rows.append(GridRow(zone.key, zone.name, zone.tender, zone.cap, tuple(cells)))
    return Grid(tuple(columns), tuple(rows))
