"""The coat of a dog on every day that its page shows, packed for the browser that draws it."""

from __future__ import annotations

import hashlib
import json
import threading
from collections import OrderedDict
from collections.abc import Iterable
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from coatwright import __version__
from coatwright.patterns.zones import zones
from coatwright.salon.coats import aim_of, coat_of, growth_of
from coatwright.salon.pictures import figure_of
from coatwright.salon.records import Dog
from coatwright.units import Share, day_of
from coatwright.web import charts
from coatwright.web.coats import drawn, last_pull, style_of
from coatwright.web.pictures import colour_of, usual_length
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.coat.layers import ZoneCoat
    from coatwright.drawing.axes import DateWords
    from coatwright.drawing.day_strip import Mark
    from coatwright.drawing.motion import Track
    from coatwright.salon.plans import DogPlan
    from coatwright.web.desk import Desk

LOOK_BACK_DAYS = 7
"""Between visits blown hair falls out by itself: the past is looked at again after so many days."""
CHANGED: Share = 0.005
"""A coat that differs from the one before by less than this share of its hairs has not changed to the eye."""
REMEMBERED = 40
"""Parcels that are kept made: some 200 kB each."""
_LAST: OrderedDict[tuple[str, DateWords], bytes] = OrderedDict()
_LOCK = threading.Lock()


def mark_of(desk: Desk, dog: Dog, plan: DogPlan | None) -> str:
    """What the addresses of pictures change with: the dog as it is kept, today, the plan, the program."""
    cells = {} if plan is None else plan.option.plan.cells()
    believed = desk.planner.fingerprint(drawn(dog, plan))
    seen = (
        desk.planner.fingerprint(dog),
        believed,
        desk.today(),
        plan is None,
        sorted(cells.items()),
        __version__,
    )
    return hashlib.sha256(repr(seen).encode()).hexdigest()[:16]


def packed(desk: Desk, dog: Dog, plan: DogPlan | None, words: Words) -> bytes:
    """The parcel of a dog as JSON text; the last ones that were asked for are remembered."""
    key = mark_of(desk, dog, plan), charts.date_words(words)
    with _LOCK:
        if key in _LAST:
            _LAST.move_to_end(key)
            return _LAST[key]
    made = days_of(drawn(dog, plan), plan, desk.today(), words)
    text = json.dumps(made, allow_nan=False, separators=(",", ":")).encode()
    with _LOCK:
        _LAST[key] = text
        while len(_LAST) > REMEMBERED:
            _LAST.popitem(last=False)
    return text


def days_of(dog: Dog, plan: DogPlan | None, today: date, words: Words) -> dict[str, Any]:
    """The parcel of a dog (see :mod:`coatwright.drawing.motion`), from the first to the last day of its page.

    The same coats as those of :func:`coatwright.web.coats.states`: up to today what was read and pulled, after
    today what the plan makes of it. Raises :class:`~coatwright.errors.OutOfOrder` before the first assessment.
    """
    from coatwright.drawing.motion import motion

    first, last = charts.span(dog, plan, today)
    return motion(
        figure_of(dog),
        colour_of(dog),
        tracks_of(dog, plan, first, today),
        day_of(first),
        day_of(last),
        today=day_of(today),
        title=f"The coat of {dog.name}",
        names={key: zone.name for key, zone in zones().items()},
        marks=marks_of(dog, plan, today),
        dates=charts.date_words(words),
    )


def tracks_of(dog: Dog, plan: DogPlan | None, first: date, today: date) -> list[Track]:
    """One track per zone: those whose coat is known, in working order, then those that nobody has read."""
    from coatwright.drawing.motion import still

    past = _past(dog, first, today)
    known = past[-1][1]
    found = [_track(dog, plan, zone, past, today) for zone in zones() if zone in known]
    unread = [zone for zone in figure_of(dog).zones if zone not in known]
    return found + [still(zone, usual_length(dog, zone), day_of(first)) for zone in unread]


def marks_of(dog: Dog, plan: DogPlan | None, today: date) -> list[Mark]:
    """Visits, done and planned, and shows, for the strip below the slider."""
    from coatwright.drawing.day_strip import Mark

    done = [Mark(day_of(visit.day), "visit") for visit in dog.visits]
    coming = [] if plan is None else [Mark(day_of(day), "planned") for day in plan.visits if day >= today]
    return done + coming + [Mark(day_of(show.day), "show", show.name) for show in dog.wish.shows]


def _track(
    dog: Dog, plan: DogPlan | None, zone: str, past: list[tuple[date, dict[str, ZoneCoat]]], today: date
) -> Track:
    """The track of a zone. What is planned for today is not done yet: it shows from tomorrow on."""
    from coatwright.drawing.motion import Track

    starts: list[int] = []
    coats: list[ZoneCoat] = []
    for day, stood in past:
        if zone in stood and (not coats or _differs(coats[-1], stood[zone])):
            starts.append(day_of(day))
            coats.append(stood[zone])
    takes = [
        (day_of(visit.day), visit.takes[zone].share)
        for visit in dog.visits
        if zone in visit.takes and visit.takes[zone].share > 0.0 and visit.day <= today
    ]
    aim = aim_of(dog, zone, style_of(dog, plan)) if zones()[zone].aimed else None
    planned: list[tuple[int, Share]] = []
    tasks = () if plan is None else plan.option.plan.problem.zones
    for task, epochs in zip(tasks, () if plan is None else plan.option.plan.epochs, strict=True):
        if task.key != zone:
            continue
        aim = task.aim
        rows = zip(epochs.starts, epochs.coats, epochs.pulls, strict=True)
        for start, coat, pulled in list(rows)[1:]:
            starts.append(max(start, day_of(today) + 1))
            coats.append(coat)
            if pulled is not None:
                planned.append((start, pulled.taken))
    before = last_pull(dog, zone, date.fromordinal(starts[0]) - timedelta(days=1))
    return Track(
        zone,
        growth_of(dog, zone),
        tuple(starts),
        tuple(coats),
        takes=tuple(takes),
        planned=tuple(planned),
        last_pull=None if before is None else day_of(before),
        aim=None if aim is None else (aim.lo, aim.hi),
    )


def _past(dog: Dog, first: date, today: date) -> list[tuple[date, dict[str, ZoneCoat]]]:
    """The coat of every zone on the days, from ``first`` to today, on which it may have become another one."""
    days = {first, today, *_every(first, today, LOOK_BACK_DAYS)}
    days |= {each.day for each in dog.assessments} | {each.day for each in dog.visits}
    return [(day, coat_of(dog, day)) for day in sorted(days) if first <= day <= today]


def _every(first: date, last: date, step: int) -> Iterable[date]:
    return (first + timedelta(days=k) for k in range(0, (last - first).days + 1, step))


def _differs(one: ZoneCoat, other: ZoneCoat) -> bool:
    """Whether two coats of a zone look different: in their undercoat or in the shares of their layers."""
    if one.undercoat != other.undercoat:
        return True
    shares = {(layer.born, layer.removed): layer.share for layer in one.layers}
    for layer in other.layers:
        key = layer.born, layer.removed
        shares[key] = shares.get(key, 0.0) - layer.share
    return sum(abs(share) for share in shares.values()) / 2.0 > CHANGED
