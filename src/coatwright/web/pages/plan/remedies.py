"""What a plan could not have, in words, and the changes that help, each made by one click."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from coatwright.errors import OutOfRange
from coatwright.patterns.zones import zones
from coatwright.salon.by_hand import free_cell
from coatwright.salon.records import Dog
from coatwright.salon.salon import save_dog
from coatwright.units import date_of
from coatwright.web.desk import Desk
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.planning.explain import Answer, Remedy
    from coatwright.salon.plans import DogPlan

ANSWERS_SHOWN = 4
BY_HAND = ("show", "rest")
"""Remedies that nobody but the groomer can make."""


def answers_of(plan: DogPlan, words: Words) -> dict[str, Any]:
    """What could not be had, the first few in full, and what helps: (remedy, words, whether one click does it)."""

    def said(answer: Answer) -> str:
        name = zones()[answer.zone].name if answer.zone else ""
        return answer.sentence(name, lambda day: words.date(date_of(day)))

    def helps(remedy: Remedy) -> str:
        text = remedy.sentence(lambda day: words.date(date_of(day)))
        return f"{zones()[remedy.zone].name}: {text[0].lower()}{text[1:]}" if remedy.zone else text

    rows = [said(answer) for answer in plan.answers]
    offered = dict.fromkeys(remedy for answer in plan.answers for remedy in answer.remedies)
    first: dict[tuple[str, str], Remedy] = {}
    for remedy in offered:
        first.setdefault((remedy.kind, remedy.zone), remedy)
    return {
        "shown": rows[:ANSWERS_SHOWN],
        "more": rows[ANSWERS_SHOWN:],
        "remedies": [(remedy, helps(remedy), remedy.kind not in BY_HAND) for remedy in first.values()],
    }


def apply_remedy(desk: Desk, dog: Dog, remedy: Remedy) -> None:
    """Change the dog's wish or limits as a remedy says; takes fixed by hand are freed one event each."""
    if remedy.kind == "free":
        for zone, day in dog.fixed:
            if day >= desk.today() and remedy.zone in ("", zone):
                free_cell(desk.store, dog.id, zone, day)
        return
    if remedy.value is None:
        raise OutOfRange("Nothing can be changed by this.", where="remedy", remedy="Choose another remedy.")
    limits, wish, shape = dog.limits, dog.wish, dict(dog.shape_mm)
    match remedy.kind:
        case "minutes":
            limits = replace(limits, minutes=remedy.value)
        case "cadence":
            limits = replace(limits, cadences=(int(remedy.value),))
        case "ready_from":
            wish = replace(wish, ready_from=date_of(int(remedy.value)))
        case "look":
            wish = replace(wish, look_cover=remedy.value)
        case "longer":
            shape[remedy.zone] = shape.get(remedy.zone, 0.0) + remedy.value
        case _:
            raise OutOfRange(
                "Nothing can be changed by this.", where="remedy", remedy="Choose another remedy."
            )
    save_dog(desk.store, replace(dog, limits=limits, wish=wish, shape_mm=shape), today=desk.today())
