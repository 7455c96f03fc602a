"""The charts of a plan, from what its document says: the same for pages and paper."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from coatwright.units import day_of

if TYPE_CHECKING:
    from coatwright.drawing.ribbons import Ribbons
    from coatwright.printing.sheet import PlanDocument, Window


def ribbons_of(document: PlanDocument, last: date | None = None) -> Ribbons:
    """When the dog and each judged zone are ready, by the plan, up to ``last`` (all that is answered for without it).

    Visits stand on the row of the dog, pulls on those of the zones.
    """
    from coatwright.drawing.layer_tracks import DayMark
    from coatwright.drawing.ribbons import Ribbon, Ribbons
    from coatwright.drawing.ribbons import Window as Span

    last = last or document.until
    visits = [day_of(visit.day) for visit in document.visits]

    def spans(windows: tuple[Window, ...]) -> tuple[Span, ...]:
        return tuple(Span(day_of(each.first), day_of(each.last)) for each in windows)

    rows = [Ribbon("Whole dog", spans(document.windows), tuple(visits), whole=True)]
    for zone in document.zones:
        if zone.judged:
            pulls = [day for day, take in zip(visits, zone.takes, strict=True) if take > 0.0]
            rows.append(Ribbon(zone.name, spans(zone.windows), tuple(pulls)))
    made = day_of(document.made)
    shows = [each.show for each in document.shows if document.made <= each.show.day <= last]
    return Ribbons(
        first=made,
        last=day_of(last),
        today=made,
        rows=tuple(rows),
        shows=tuple(DayMark(day_of(show.day), show.name) for show in shows),
    )


def printed_ribbons(document: PlanDocument) -> str:
    """The ready ribbons of a plan for its PDF, as SVG."""
    from coatwright.drawing.ribbons import ribbons

    return ribbons(ribbons_of(document), title="Ready days")
