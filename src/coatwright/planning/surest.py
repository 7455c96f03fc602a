"""A plan that keeps its promise more surely: aims drawn in where that makes a zone ready more often.

A plan for the middle of what is known goes right up to its limits, and an uneven hand or another growth tips it over.
Drawing an aim in leaves room. How far is told by trying: each zone takes the margin with which it is ready in most of
the draws (coat model, section 3: a two-sided band takes its share at each quantile). What is shown and judged are the
aims as wished.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from coatwright.coat.aims import STAGED_TOP, Aim
from coatwright.coat.growth import Floats
from coatwright.planning.plan import Plan
from coatwright.planning.problem import Problem
from coatwright.planning.solve import PlanSession

MARGINS = (1.0, 0.9, 0.8)
"""Parts of an aim that are tried; 1 is the aim as wished."""
WORTH = 0.01
"""A margin must make a zone ready in so much more of the draws to be taken."""
LEAST_MM = 1.0
"""No band is drawn in to less."""

Chances = Callable[[Plan], Floats]
"""How surely each zone is ready on the wished days under a plan, (zones,)."""


def surest(session: PlanSession, plan: Plan, chances: Chances) -> tuple[Plan, dict[str, float]]:
    """The plan of a session, or one of the same problem that is surer, and each zone's margin.

    ``chances`` is asked once for every plan that is tried: at most four.
    """
    found = {1.0: (plan, chances(plan))}
    for margin in MARGINS[1:]:
        tried = planned_within(session, dict.fromkeys(_keys(session.problem), margin))
        found[margin] = (tried, chances(tried))
    table = np.array([found[margin][1] for margin in MARGINS])
    best = np.where(table[1:].max(axis=0) > table[0] + WORTH, table[1:].argmax(axis=0) + 1, 0)
    margins = {key: MARGINS[k] for key, k in zip(_keys(session.problem), best.tolist(), strict=True)}
    if all(margin == 1.0 for margin in margins.values()):
        return plan, margins
    mixed = planned_within(session, margins)
    if chances(mixed).sum() <= found[1.0][1].sum() + WORTH:
        return plan, dict.fromkeys(margins, 1.0)
    return mixed, margins


def planned_within(session: PlanSession, margins: Mapping[str, float]) -> Plan:
    """The session's problem planned with aims drawn in, and weighed by the aims as wished."""
    tight = tightened(session.problem, margins)
    return session.weigh(PlanSession(tight).plan(thorough=False).takes)


def tightened(problem: Problem, margins: Mapping[str, float]) -> Problem:
    """The problem with each zone's aim drawn in to this part of it."""
    zones = tuple(
        replace(zone, aim=drawn_in(zone.aim, margins.get(zone.key, 1.0))) if zone.aim else zone
        for zone in problem.zones
    )
    return problem.with_(zones=zones)


def drawn_in(aim: Aim, margin: float) -> Aim:
    """An aim that ends earlier; the band of a staged coat is drawn in towards its middle from both sides."""
    if margin >= 1.0:
        return aim
    if aim.top < STAGED_TOP:
        return replace(aim, hi=max(margin * aim.hi, aim.lo + LEAST_MM))
    half = max(0.5 * margin * (aim.hi - aim.lo), 0.5 * LEAST_MM)
    return replace(aim, lo=max(aim.middle - half, 0.0), hi=aim.middle + half)


def _keys(problem: Problem) -> list[str]:
    return [zone.key for zone in problem.zones]
