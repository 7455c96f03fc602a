"""The coat picture of a dog's plan on a day: as the coat stands, or shaded by what a visit takes.

Pages and paper draw from the same looks (:func:`looks_of_coats`), so that they agree.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from datetime import date, timedelta
from typing import TYPE_CHECKING

from coatwright.salon.coats import coat_of, growth_of
from coatwright.salon.sheets import visit_day
from coatwright.units import Millimetres, Share, date_of, day_of

if TYPE_CHECKING:
    from coatwright.coat.layers import ZoneCoat
    from coatwright.drawing.figure import Figure
    from coatwright.drawing.looks import ZoneLook
    from coatwright.planning.compare import Option
    from coatwright.planning.plan import Plan
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog

SHORT_MM: Millimetres = 10.0
"""Length of a scissored zone that nobody has read, mm: only for the picture."""
PRINTED = 38.0
"""Size of the words on the zones in print, units of the view box: 7 pt and more on a sheet."""
SCALE_TOP: Share = 0.5
"""A scale of takes ends here, or at the largest take where that is more: pictures of one plan can be compared."""


def figure_of(dog: Dog) -> Figure:
    """The figure of a dog: its pattern's build, and its own ears, tail and height where they are given."""
    from coatwright.drawing.figure import figure

    pattern = dog.pattern
    return figure(
        pattern.build, dog.ears or pattern.ears, dog.tail or pattern.tail, dog.height_mm or pattern.height_mm
    )


def unread_zones(dog: Dog, known: Container[str]) -> tuple[str, ...]:
    """Zones that are drawn although nobody has read their coat."""
    return tuple(zone for zone in figure_of(dog).zones if zone not in known)


def usual_length(dog: Dog, zone: str) -> Millimetres:
    """The length at which a zone is drawn that nobody has read: the middle of its aim, short where it has none."""
    band = dog.pattern.aims.get(zone)
    return SHORT_MM if band is None else band.middle


def looks_of_coats(
    dog: Dog, coats: Mapping[str, ZoneCoat], day: date, turns: Mapping[str, Share]
) -> dict[str, ZoneLook]:
    """How every zone looks on a day: of its coat where that is known, else as it usually is.

    ``turns`` is the share of each zone that was pulled before (see :class:`~coatwright.drawing.looks.ZoneLook`).
    """
    import numpy as np

    from coatwright.drawing.looks import ZoneLook, look_of

    at = day_of(day)
    found = {
        key: look_of(key, coat, at, growth_of(dog, key), turn=turns.get(key, 0.0))
        for key, coat in coats.items()
    }
    for key in unread_zones(dog, coats):
        found[key] = ZoneLook(key, np.array([usual_length(dog, key)]), np.ones(1))
    return found


def turns_on(dog: Dog, whole: Plan | None, day: date) -> dict[str, Share]:
    """The share of each zone that is pulled up to the evening of a day: what was done, then what is planned."""
    found: dict[str, Share] = {}
    for visit in dog.visits:
        if visit.day <= day:
            for key, take in visit.takes.items():
                found[key] = found.get(key, 0.0) + take.share
    if whole is not None:
        for task, epochs in zip(whole.problem.zones, whole.epochs, strict=True):
            pulls = zip(epochs.starts, epochs.pulls, strict=True)
            ahead = sum(
                pulled.taken for start, pulled in pulls if pulled is not None and start <= day_of(day)
            )
            found[task.key] = found.get(task.key, 0.0) + ahead
    return found


def coats_on(dog: Dog, whole: Plan, day: date, *, before: bool = False) -> dict[str, ZoneCoat]:
    """The coat of a day of a plan: as it makes it, and left to grow in zones that it does not pull.

    ``before``: in the morning, before the visit of the day.
    """
    at = day_of(day)
    found = dict(coat_of(dog, min(day, date_of(whole.problem.today)), before=before))
    for task, epochs in zip(whole.problem.zones, whole.epochs, strict=True):
        found[task.key] = epochs.before(at) if before else epochs.at(at)
    return found


def looks_on(dog: Dog, whole: Plan, day: date, *, before: bool = False) -> dict[str, ZoneLook]:
    """How each zone looks on the evening of a day of a plan; ``before``: in the morning, before its visit."""
    turns = turns_on(dog, whole, day - timedelta(days=1) if before else day)
    return looks_of_coats(dog, coats_on(dog, whole, day, before=before), day, turns)


def take_picture(plan: DogPlan, day: date | None = None, *, theme: str = "print") -> str:
    """The dog with each zone shaded by what the visit of a day (the next one) takes from it, as SVG."""
    from coatwright.drawing.coat_picture import coat_picture
    from coatwright.drawing.shade import Scale, ZoneValue
    from coatwright.drawing.shaded import SIZE
    from coatwright.patterns import zones

    day = visit_day(plan, day)
    takes = plan.takes(day)
    top = max(SCALE_TOP, *takes.values())
    return coat_picture(
        figure_of(plan.dog),
        looks_on(plan.dog, plan.option.plan, day, before=True),
        plan.dog.colour or plan.dog.pattern.colours[0],
        mode="shade",
        values={key: ZoneValue(share, f"{100 * share:.0f} %") for key, share in takes.items()},
        scale=Scale("Take today, share of the hairs", 0.0, top, "0 %", f"{100 * top:.0f} %"),
        title=f"What to take from {plan.dog.name}",
        theme=theme,
        names={key: zone.name for key, zone in zones().items()},
        letters=PRINTED if theme == "print" else SIZE,
    )


def coat_picture_on(plan: DogPlan, day: date, *, theme: str = "print") -> str:
    """The dog as its coat stands on the evening of a day of the plan, as SVG."""
    return option_picture(plan.dog, plan.option, day, theme=theme)


def option_picture(dog: Dog, option: Option, day: date, *, title: str = "", theme: str = "print") -> str:
    """The dog as one way to work its coat leaves it on the evening of a day, as SVG."""
    from coatwright.drawing.coat_picture import coat_picture
    from coatwright.patterns import zones

    return coat_picture(
        figure_of(dog),
        looks_on(dog, option.plan, day),
        dog.colour or dog.pattern.colours[0],
        title=title or f"The coat of {dog.name}",
        theme=theme,
        names={key: zone.name for key, zone in zones().items()},
    )
