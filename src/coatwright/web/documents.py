"""What stands on paper for a plan, worked out once per plan and shared by the pages that show it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from coatwright.salon.once import once

if TYPE_CHECKING:
    from coatwright.printing.sheet import PlanDocument, Sheet
    from coatwright.salon.cautions import Caution
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.reasons import Reason
    from coatwright.salon.records import Dog
    from coatwright.web.words import Words


def document(plan: DogPlan) -> PlanDocument:
    """The whole plan as it is printed."""
    from coatwright.salon.sheets import plan_document_of

    found: PlanDocument = once(plan, ("document",), lambda: plan_document_of(plan))
    return found


def sheet(plan: DogPlan, day: date, others: Sequence[Dog] = ()) -> Sheet:
    """One visit as it is printed. ``others`` as in :func:`coatwright.salon.cautions.tool_cautions`."""
    from coatwright.salon.sheets import sheet_of

    key = ("sheet", day, _of_tools(plan, others))
    found: Sheet = once(plan, key, lambda: sheet_of(plan, day, others=others))
    return found


def cautions(plan: DogPlan, day: date, others: Sequence[Dog] = ()) -> tuple[Caution, ...]:
    """The cautions of one visit. ``others`` as in :func:`coatwright.salon.cautions.tool_cautions`."""
    from coatwright.salon.cautions import visit_cautions

    key = ("cautions", day, _of_tools(plan, others))
    found: tuple[Caution, ...] = once(plan, key, lambda: visit_cautions(plan, day, others=others))
    return found


def _of_tools(plan: DogPlan, others: Sequence[Dog]) -> tuple[Caution, ...]:
    """What is said of tools, which a test on another dog changes while the plan stays the same."""
    from coatwright.salon.cautions import planned_tool_cautions

    return planned_tool_cautions(plan, others=others)


def reasons(plan: DogPlan, day: date, words: Words) -> tuple[tuple[Reason, ...], ...]:
    """Why each zone is pulled or spared at a visit; zones of one take and one reason stand together.

    The largest takes come first, zones left alone last.
    """
    from coatwright.salon.reasons import reasons_of

    found: tuple[Reason, ...] = once(
        plan,
        ("reasons", day, words.unit, words.locale.order),
        lambda: reasons_of(plan, day, unit=words.unit, day_text=words.day),
    )
    groups: dict[tuple[float, str], list[Reason]] = {}
    for reason in sorted(found, key=lambda each: -each.share):
        groups.setdefault((reason.share, reason.text), []).append(reason)
    return tuple(tuple(group) for group in groups.values())
