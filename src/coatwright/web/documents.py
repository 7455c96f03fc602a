"""What stands on paper for a plan, worked out once per plan and shared by the pages that show it."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from coatwright.printing.sheet import PlanDocument, Sheet
    from coatwright.salon.cautions import Caution
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.reasons import Reason
    from coatwright.web.words import Words

KEPT = 200

_made: OrderedDict[tuple[object, ...], tuple[DogPlan, Any]] = OrderedDict()
_lock = threading.Lock()


def document(plan: DogPlan) -> PlanDocument:
    """The whole plan as it is printed."""
    from coatwright.salon.sheets import plan_document_of

    found: PlanDocument = _once(plan, ("document",), lambda: plan_document_of(plan))
    return found


def sheet(plan: DogPlan, day: date) -> Sheet:
    """One visit as it is printed."""
    from coatwright.salon.sheets import sheet_of

    found: Sheet = _once(plan, ("sheet", day), lambda: sheet_of(plan, day))
    return found


def cautions(plan: DogPlan, day: date) -> tuple[Caution, ...]:
    """The cautions of one visit."""
    from coatwright.salon.cautions import visit_cautions

    found: tuple[Caution, ...] = _once(plan, ("cautions", day), lambda: visit_cautions(plan, day))
    return found


def reasons(plan: DogPlan, day: date, words: Words) -> tuple[tuple[Reason, ...], ...]:
    """Why each zone is pulled or spared at a visit; zones of one take and one reason stand together.

    The largest takes come first, zones left alone last.
    """
    from coatwright.salon.reasons import reasons_of

    found: tuple[Reason, ...] = _once(
        plan,
        ("reasons", day, words.unit, words.locale.order),
        lambda: reasons_of(plan, day, unit=words.unit, day_text=words.day),
    )
    groups: dict[tuple[float, str], list[Reason]] = {}
    for reason in sorted(found, key=lambda each: -each.share):
        groups.setdefault((reason.share, reason.text), []).append(reason)
    return tuple(tuple(group) for group in groups.values())


def _once(plan: DogPlan, what: tuple[object, ...], make: Callable[[], Any]) -> Any:
    key = (id(plan), *what)
    with _lock:
        known = _made.get(key)
        if known is not None and known[0] is plan:
            _made.move_to_end(key)
            return known[1]
    made = make()
    with _lock:
        _made[key] = (plan, made)
        while len(_made) > KEPT:
            _made.popitem(last=False)
    return made
