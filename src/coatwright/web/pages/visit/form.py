"""The form of a visit: filled in with what was planned, and read back as what was done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from coatwright.errors import OutOfRange
from coatwright.patterns.zones import Zone, zones
from coatwright.salon.coats import coat_of, growth_of, is_double
from coatwright.salon.events import new_id
from coatwright.salon.records import EASES, Dog, Take, Visit
from coatwright.units import Share, day_of
from coatwright.web.forms import Fields

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

STEP = 5
REACTIONS = ("", "calm", "restless", "flinched", "cried or snapped")
TOOLS = ("fingers", "fingers and chalk", "stone", "blunt knife", "fine knife", "scissors")
"""Offered, never forced: any word may be written."""
EASE_WORDS = {
    "": "not said",
    "easy": "easily",
    "firm": "with a firm pull",
    "hard": "only with a hard pull",
}
"""How the hair came, as a record and as a reader has it."""


@dataclass(frozen=True, slots=True)
class Line:
    """One zone of the form: what is planned there, what stands and can be pulled, and whether it is carded."""

    zone: Zone
    planned: Share
    standing: Share
    card: bool
    undercoat: bool

    @property
    def offered(self) -> bool:
        """Whether the zone stands in the first part of the form."""
        return self.planned > 0.0


def lines_of(dog: Dog, plan: DogPlan | None, day: date) -> tuple[Line, ...]:
    """The zones whose coat is known on the day, in working order."""
    from coatwright.coat.measures import cover

    takes = plan.takes(day) if plan is not None else {}
    carded = set(plan.cardings.get(day_of(day), ())) if plan is not None else set()
    coats = coat_of(dog, day)
    found = []
    for key, zone in zones().items():
        if key in coats and (zone.work != "scissors" or key in takes):
            found.append(
                Line(
                    zone,
                    takes.get(key, 0.0),
                    cover(coats[key], day_of(day), growth_of(dog, key)),
                    key in carded,
                    is_double(dog) and zone.undercoat,
                )
            )
    return tuple(found)


def filled(dog: Dog, lines: tuple[Line, ...], plan: DogPlan | None, day: date) -> Fields:
    """The form as it is first shown: all as planned."""
    last = dog.visits[-1] if dog.visits else None
    tools = {key: take.tool for key, take in last.takes.items()} if last is not None else {}
    values: dict[str, object] = {
        "id": new_id(),
        "day": day,
        "minutes": round(plan.minutes(day)) if plan is not None and plan.minutes(day) else None,
        "groomer": last.groomer if last is not None else None,
        "carded": [line.zone.key for line in lines if line.card],
    }
    for line in lines:
        values[f"take.{line.zone.key}"] = round(100 * line.planned)
        values[f"planned.{line.zone.key}"] = round(100 * line.planned)
        values[f"tool.{line.zone.key}"] = tools.get(line.zone.key) or "fingers"
    return Fields.of(values)


def read(fields: Fields, today: date) -> Visit:
    """The visit that a form tells of. Zones left at 0 % that were not planned do not count as taken."""
    day = fields.day("day", "day of the visit", needed=True) or today
    takes: dict[str, Take] = {}
    for key, zone in zones().items():
        if f"take.{key}" not in fields:
            continue
        take = _take(fields, key, zone.name)
        if take.share > 0.0 or (take.planned or 0.0) > 0.0 or take.cut_to_mm is not None:
            takes[key] = take
    carded = fields.choices("carded", "carded", zones())
    visit = Visit(
        id=fields.text("id", "id") or new_id(),
        day=day,
        takes=takes,
        carded=carded,
        minutes=fields.number("minutes", "minutes of the visit", low=0, high=1440, unit="min"),
        note=fields.text("note", "note", lines=True),
        groomer=fields.text("groomer", "groomer"),
    )
    if not any(take.share > 0.0 or take.cut_to_mm is not None for take in takes.values()) and not carded:
        raise OutOfRange(
            "Nothing was pulled, cut or carded.",
            where="takes",
            remedy="Give what was done in at least one zone; a visit that did not take place needs no log.",
        )
    return visit


def _take(fields: Fields, key: str, name: str) -> Take:
    label = name.lower()
    share = fields.whole(f"take.{key}", f"take of the {label}", low=0, high=100, unit="%") or 0
    planned = fields.whole(f"planned.{key}", f"planned take of the {label}", low=0, high=100, unit="%")
    if share % STEP:
        raise OutOfRange(
            f"{share} % is no step of 5 %.", where=f"take of the {label}", remedy="Give 0, 5, 10 ... 100 %."
        )
    return Take(
        share=share / 100.0,
        planned=None if planned is None else planned / 100.0,
        tool=fields.text(f"tool.{key}", f"tool for the {label}") if share else "",
        minutes=fields.number(f"minutes.{key}", f"minutes for the {label}", low=0, high=600, unit="min"),
        broken=fields.share(f"broken.{key}", f"broken hair of the {label}") or 0.0,
        reaction=fields.text(f"reaction.{key}", f"reaction at the {label}"),
        skin=fields.text(f"skin.{key}", f"skin of the {label}"),
        grams=fields.number(f"grams.{key}", f"pulled hair of the {label}", low=0.01, high=500, unit="g"),
        ease=fields.choice(f"ease.{key}", f"how the hair of the {label} came", EASES),
    )
