"""What a plan leads to: ready windows, shows to come, and the outlook on their days."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from coatwright.coat.forecast import Draws, Forecast, forecast
from coatwright.coat.growth import Growth
from coatwright.coat.readiness import windows
from coatwright.patterns import zones
from coatwright.printing.sheet import Chance, ComingShow, Outlook, ShowOutlook, Window
from coatwright.salon.once import once
from coatwright.units import Day, date_of, day_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from coatwright.coat.growth import Floats
    from coatwright.salon.plans import DogPlan

DRAWS = 1000
"""Draws of the prior behind every band and fan; always the same ones, so that page and paper agree.

With so many, 80 to 81 % of other draws lie between the tenths; with 200 it was 74 or 81 %, by the luck of the seed.
"""
LEVELS = (0.1, 0.25, 0.5, 0.75, 0.9)
"""Edges of a fan: 8 of 10 coats that this may turn out to be lie between the outermost, half between the inner."""


def prior_draws(growths: Sequence[Growth]) -> Draws:
    """What dogs may be like of which no more is known than ``growths``."""
    return Draws.prior(growths, DRAWS, np.random.default_rng(1))


def draws_ahead(plan: DogPlan, first: Day, days: int) -> Forecast:
    """The coat on ``days`` days from ``first`` under a plan, in every draw: the one source of all bands and fans.

    The draws are those of what is known of the dog, missed by a groomer's hand as hands do (see
    :func:`coatwright.salon.chances.ahead_of`); where nothing was learnt, those of what such dogs may be like.
    """
    from coatwright.salon.chances import ahead_of

    if plan.learnt is not None:
        return ahead_of(plan.learnt, plan.option.plan, first, days)
    whole = plan.option.plan
    growths = [task.growth for task in whole.problem.zones]
    return forecast(whole.epochs, growths, first, days, draws=prior_draws(growths))


def fan_of(plan: DogPlan, zone: str) -> tuple[Day, Floats]:
    """The first day, and the outline of a zone day by day at :data:`LEVELS`, (levels, days), as far as is shown."""

    def make() -> tuple[Day, Floats]:
        first = plan.option.plan.problem.today
        found = draws_ahead(plan, first, plan.option.shown_until - first + 1)
        return found.first, np.quantile(found.outline, LEVELS, axis=0).astype(np.float32)

    first, values = once(plan, ("fans",), make)
    keys = [task.key for task in plan.option.plan.problem.zones]
    fan: Floats = values[:, keys.index(zone)].astype(float)
    return first, fan


def name_of(key: str) -> str:
    """The name of a zone."""
    return zones()[key].name


def windows_of(plan: DogPlan) -> tuple[tuple[Window, ...], list[tuple[Window, ...]]]:
    """Ready windows of the dog and of each zone, as far as the plan is shown."""
    whole = plan.option.plan
    first = whole.problem.today
    ready = whole.forecast(plan.option.shown_until - first + 1).ready[0]
    visits = frozenset(whole.visits)
    quiet = max((zone.aim.quiet for zone in whole.problem.zones if zone.aim), default=0)
    rows = [ready.all(axis=0), *ready]
    found = [ready_windows(row, first, visits, quiet) for row in rows]
    return found[0], found[1:]


def ready_windows(
    flags: NDArray[np.bool_], first: Day, visits: Iterable[Day], quiet: int
) -> tuple[Window, ...]:
    """Runs of ready days; a pause of at most ``quiet`` days that begins at a visit does not end a run."""
    pulled = set(visits)
    joined: list[Window] = []
    for a, b in windows(range(first, first + len(flags)), flags.tolist()):
        last = joined[-1] if joined else None
        gap = day_of(last.last) + 1 if last else a
        if last and gap in pulled and a - gap <= quiet:
            joined[-1] = Window(last.first, date_of(b), last.rests + 1)
        else:
            joined.append(Window(date_of(a), date_of(b)))
    return tuple(joined)


def coming_shows(plan: DogPlan, since: date) -> tuple[ComingShow, ...]:
    """Shows on or after ``since`` and how the plan stands on their days."""
    shown = []
    for show in plan.dog.wish.shows:
        if show.day < since:
            continue
        judged = plan.option.plan.judged(day_of(show.day))
        missing = tuple(name_of(key) for key, state in judged.items() if not state.ready)
        shown.append(
            ComingShow(
                show.id,
                show.name,
                show.day,
                show.place,
                show.closing,
                show.aim,
                not missing,
                missing,
                _chance(plan, show.id),
            )
        )
    return tuple(shown)


def _chance(plan: DogPlan, show: str) -> Chance | None:
    from coatwright.salon.known import chance_at, expected_ready, is_measured_of

    found = chance_at(plan, show)
    if found is None or not found.zones:
        return None
    return Chance(found.chance, expected_ready(found), len(found.zones), is_measured_of(plan))


def outlooks(plan: DogPlan) -> tuple[ShowOutlook, ...]:
    """Every show to come, with the outline of each judged zone, its band over the draws, and its chance."""
    from coatwright.salon.known import chance_at

    shows = coming_shows(plan, plan.today)
    if not shows:
        return ()
    whole = plan.option.plan
    tasks = whole.problem.zones
    found = []
    for show in shows:
        judged = whole.judged(day_of(show.day))
        low, _, high = draws_ahead(plan, day_of(show.day), 1).band("outline")
        chance = chance_at(plan, show.key)
        rows = tuple(
            Outlook(
                name_of(task.key),
                task.aim.lo,
                task.aim.hi,
                judged[task.key].outline,
                float(low[row, 0]),
                float(high[row, 0]),
                judged[task.key].cover,
                judged[task.key].ready,
                None if chance is None else chance.zones.get(task.key),
            )
            for row, task in enumerate(tasks)
            if task.aim is not None
        )
        found.append(ShowOutlook(show, rows))
    return tuple(found)
