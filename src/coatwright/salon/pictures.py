"""The coat picture of a dog's plan on a day: as the coat stands, or shaded by what a visit takes."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from coatwright.salon.sheets import visit_day
from coatwright.units import Share, day_of

if TYPE_CHECKING:
    from coatwright.drawing.figure import Figure
    from coatwright.drawing.looks import ZoneLook
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog

SCALE_TOP: Share = 0.5
"""A scale of takes ends here, or at the largest take where that is more: pictures of one plan can be compared."""


def figure_of(dog: Dog) -> Figure:
    """The figure of a dog: its pattern's build, and its own ears, tail and height where they are given."""
    from coatwright.drawing.figure import figure

    pattern = dog.pattern
    return figure(
        pattern.build, dog.ears or pattern.ears, dog.tail or pattern.tail, dog.height_mm or pattern.height_mm
    )


def looks_on(plan: DogPlan, day: date, *, before: bool = False) -> dict[str, ZoneLook]:
    """How each planned zone looks on the evening of a day; ``before``: in the morning, before its visit."""
    from coatwright.drawing.looks import look_of

    at = day_of(day)
    whole = plan.option.plan
    return {
        task.key: look_of(
            task.key,
            epochs.before(at) if before else epochs.at(at),
            at,
            task.growth,
            turn=sum(p.taken for s, p in zip(epochs.starts, epochs.pulls, strict=True) if p and s <= at),
        )
        for task, epochs in zip(whole.problem.zones, whole.epochs, strict=True)
    }


def take_picture(plan: DogPlan, day: date | None = None, *, theme: str = "print") -> str:
    """The dog with each zone shaded by what the visit of a day (the next one) takes from it, as SVG."""
    from coatwright.drawing.coat_picture import coat_picture
    from coatwright.drawing.shade import Scale, ZoneValue
    from coatwright.patterns import zones

    day = visit_day(plan, day)
    takes = plan.takes(day)
    top = max(SCALE_TOP, *takes.values())
    return coat_picture(
        figure_of(plan.dog),
        looks_on(plan, day, before=True),
        plan.dog.colour or plan.dog.pattern.colours[0],
        mode="shade",
        values={key: ZoneValue(share, f"{100 * share:.0f} %") for key, share in takes.items()},
        scale=Scale("Take today, share of the hairs", 0.0, top, "0 %", f"{100 * top:.0f} %"),
        title=f"What to take from {plan.dog.name}",
        theme=theme,
        names={key: zone.name for key, zone in zones().items()},
    )


def coat_picture_on(plan: DogPlan, day: date, *, theme: str = "print") -> str:
    """The dog as its coat stands on the evening of a day of the plan, as SVG."""
    from coatwright.drawing.coat_picture import coat_picture
    from coatwright.patterns import zones

    return coat_picture(
        figure_of(plan.dog),
        looks_on(plan, day),
        plan.dog.colour or plan.dog.pattern.colours[0],
        title=f"The coat of {plan.dog.name}",
        theme=theme,
        names={key: zone.name for key, zone in zones().items()},
    )
