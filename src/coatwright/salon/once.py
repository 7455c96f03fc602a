"""What is worked out of a plan once and kept as long as the plan is asked for."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

KEPT = 400

_made: OrderedDict[tuple[object, ...], tuple[DogPlan, Any]] = OrderedDict()
_lock = threading.Lock()


def once(plan: DogPlan, what: tuple[object, ...], make: Callable[[], Any]) -> Any:
    """What ``make`` gives, kept under ``what`` for this very plan; the entries asked for longest ago go first."""
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
