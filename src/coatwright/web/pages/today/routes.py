"""The first page: the dogs that are due, in order, with what is special about each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from coatwright.patterns.zones import zones
from coatwright.salon.cautions import TABLE_MINUTES, bare_zones, young_zones
from coatwright.salon.records import Dog, Show
from coatwright.units import Minutes, Share
from coatwright.web.desk import PATIENCE, Desk
from coatwright.web.layout import desk_of, page, words_of
from coatwright.web.planner import Refused
from coatwright.web.words import Words
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.salon.plans import DogPlan

router = APIRouter(include_in_schema=False)

SHOW_NEAR = 28
"""Days before a show from which it is told beside the dog."""
TOO_MUCH: Share = 0.1
"""A zone is told to rest when at least this much more was taken from it than planned."""
SPECIAL = {"bare": ("bare after it", bare_zones), "young": ("young hair", young_zones)}
"""Cautions that are not the same at every visit: what they are called here, and which zones they are about."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to know before a visit: how grave it is, a word for it, and which zones or what."""

    level: str
    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Due:
    """A dog, the day of its next visit, how long it takes and what to know before it comes."""

    dog: Dog
    day: date
    minutes: Minutes
    takes: int
    remarks: tuple[Remark, ...]


@router.get("/", response_class=HTMLResponse)
def today_page(request: Request) -> HTMLResponse:
    """Dogs due today and this week, then those who come later, and those nothing is planned for."""
    desk, words = desk_of(request), words_of(request)
    today = desk.today()
    dogs = sorted(desk.salon().dogs.values(), key=lambda dog: dog.name)
    due: list[Due] = []
    waiting: list[tuple[Dog, Working]] = []
    without: list[tuple[Dog, str]] = []
    for number, dog in enumerate(dogs):
        if dog.unfit:
            without.append((dog, f"unfit: {dog.unfit}"))
            continue
        if not dog.assessments:
            without.append((dog, "coat not read yet"))
            continue
        plan = desk.plan(dog, wait=PATIENCE if number == 0 else 0.0)
        if isinstance(plan, Working):
            waiting.append((dog, plan))
        elif isinstance(plan, Refused):
            without.append((dog, plan.error.what))
        elif plan.visits:
            due.append(_due(plan, plan.visits[0], words))
        else:
            without.append((dog, "nothing to pull in this plan"))
    due.sort(key=lambda each: (each.day, each.dog.name))
    week = today + timedelta(days=7)
    now = [each for each in due if each.day == today]
    return page(
        request,
        "pages/today/today.html",
        title="Today",
        now=now,
        soon=[each for each in due if today < each.day < week],
        later=[each for each in due if each.day >= week],
        waiting=waiting,
        without=without,
        minutes=sum(each.minutes for each in now),
        any_dogs=bool(dogs),
        shows=_shows(desk, today),
    )


def remarks(plan: DogPlan, day: date, words: Words) -> tuple[Remark, ...]:
    """What is special about a visit: a label that says how grave it is, and a few words."""
    from coatwright.salon.sheets import over_taken

    found: list[Remark] = []
    takes = plan.takes(day)
    rested = [
        key
        for key, over in over_taken(plan.dog, day).items()
        if takes.get(key, 0.0) < over.planned - 1e-9 and over.taken >= over.planned + TOO_MUCH
    ]
    if rested:
        found.append(Remark("caution", "rest", words.listed(_names(rested))))
    tender = [key for key in takes if zones()[key].tender]
    if tender:
        found.append(Remark("caution", "tender", words.listed(_names(tender))))
    for label, zones_of in SPECIAL.values():
        keys = list(zones_of(plan, day))
        if keys:
            found.append(Remark("caution", label, words.listed(_names(keys))))
    if plan.minutes(day) > TABLE_MINUTES:
        found.append(Remark("caution", "long", "more than 3 h on the table: part it, or take breaks"))
    near = [show for show in plan.dog.wish.shows if day <= show.day <= day + timedelta(days=SHOW_NEAR)]
    found += [Remark("note", "show", f"{show.name} {words.away(show.day, plan.today)}") for show in near]
    return tuple(found)


def _names(keys: list[str]) -> list[str]:
    return [zone.name.lower() for key, zone in zones().items() if key in keys]


def _due(plan: DogPlan, day: date, words: Words) -> Due:
    return Due(plan.dog, day, plan.minutes(day), len(plan.takes(day)), remarks(plan, day, words))


def _shows(desk: Desk, today: date) -> list[Show]:
    return sorted(
        (show for show in desk.salon().shows.values() if show.day >= today), key=lambda show: show.day
    )[:3]
