"""What is laid out for a visit, and what is done when it is over.

Common practice in the trade, no published source. None of it takes the place of a vet or of a show's rules.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from coatwright.salon.cautions import bare_zones

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

HEAD = ("skull", "foreface", "cheeks", "ears", "throat")
"""Zones of short hair in which a fine knife grips what fingers do not."""


def tools_of(plan: DogPlan, day: date) -> tuple[str, ...]:
    """What a planned visit needs on the table, each in a few words."""
    from coatwright.units import day_of

    takes = plan.takes(day)
    carded = plan.cardings.get(day_of(day), ())
    head = [key for key in HEAD if takes.get(key, 0.0) > 0.0]
    found = []
    if set(takes) - set(HEAD):
        found.append("chalk or rubber finger stalls; a stone where fingers tire")
    if head:
        found.append("fine blunt knife, held flat, for the head")
    if carded:
        found.append(f"carding knife or rake, {len(carded)} {'zone' if len(carded) == 1 else 'zones'}")
    found += ["scissors with blunt ends for the feet", "comb and rule", "mask"]
    return tuple(found)


def aftercare_of(plan: DogPlan, day: date) -> tuple[str, ...]:
    """What is done after a visit, in sentences."""
    found = ["Brush out all chalk, wipe the dog down and look over every zone that was pulled."]
    if bare_zones(plan, day):
        found.append("Shade in the sun and a light jacket in cold and wet while skin shows.")
    return (
        *found,
        "No bath for two days.",
        "Look at the skin again next day: redness that stays, scabs or licking are for a vet.",
        "Log what was taken: the next visit is planned from it.",
    )
