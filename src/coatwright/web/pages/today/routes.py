"""The first page: the day's dogs in order with the load on the hands, then the week ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from coatwright.salon.records import Dog, Show
from coatwright.units import Minutes
from coatwright.web.desk import PATIENCE, Desk
from coatwright.web.layout import desk_of, page, words_of
from coatwright.web.pages.today.day import HANDS_STOP, HANDS_TIRE, Work, in_order, logged, planned
from coatwright.web.planner import Refused
from coatwright.web.workshop import Working

router = APIRouter(include_in_schema=False)

AHEAD = 7
"""Days that the week ahead shows, from tomorrow on."""


@dataclass(frozen=True, slots=True)
class Day:
    """A day of the week ahead; ``starts`` where the reader's week begins with it."""

    day: date
    works: tuple[Work, ...]
    shows: tuple[Show, ...]
    starts: bool

    @property
    def pulling(self) -> Minutes:
        """What the hands pull on it, min."""
        return sum(work.pulling for work in self.works)

    @property
    def minutes(self) -> Minutes:
        """Time on the table of all dogs, min."""
        return sum(work.minutes or 0.0 for work in self.works)


@router.get("/", response_class=HTMLResponse)
def today_page(request: Request) -> HTMLResponse:
    """Dogs of today, the days that follow, those who come later, and those nothing is planned for."""
    desk, words = desk_of(request), words_of(request)
    today = desk.today()
    dogs = sorted(desk.salon().dogs.values(), key=lambda dog: dog.name)
    last = today + timedelta(days=AHEAD)
    now = [
        logged(dog, visit, desk.speed(dog, today))
        for dog in dogs
        for visit in dog.visits
        if visit.day == today
    ]
    ahead: list[Work] = []
    later: list[Work] = []
    waiting: list[Dog] = []
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
            waiting.append(dog)
        elif isinstance(plan, Refused):
            without.append((dog, plan.error.what))
        elif plan.visits:
            days = plan.visits
            now += [planned(plan, day, words) for day in days if day == today]
            ahead += [planned(plan, day) for day in days if today < day <= last]
            if days[0] > last:
                later.append(planned(plan, days[0]))
        else:
            without.append((dog, "nothing to pull in this plan"))
    steps = in_order(now)
    week = _week(desk, today, ahead, words.locale.week_start)
    longest = max([*(step.after for step in steps), *(each.pulling for each in week)])
    return page(
        request,
        "pages/today/today.html",
        title="Today",
        steps=steps,
        left=[step for step in steps if step.work.visit is None],
        load=steps[-1].after if steps else 0.0,
        done=max((step.after for step in steps if step.work.visit is not None), default=0.0),
        table=sum(step.work.minutes or 0.0 for step in steps),
        scale=max(HANDS_STOP, longest) + 30.0,
        marks=(HANDS_TIRE, HANDS_STOP),
        week=week,
        later=sorted(later, key=lambda work: (work.day, work.dog.name)),
        waiting=waiting,
        without=without,
        unread=[dog for dog, _ in without if not dog.assessments and not dog.unfit],
        any_dogs=bool(dogs),
        shows=_shows(desk, today),
    )


def _week(desk: Desk, today: date, works: list[Work], week_start: int) -> list[Day]:
    shows = list(desk.salon().shows.values())
    days = [today + timedelta(days=step) for step in range(1, AHEAD + 1)]
    return [
        Day(
            day,
            tuple(step.work for step in in_order(work for work in works if work.day == day)),
            tuple(show for show in shows if show.day == day),
            day.weekday() == week_start,
        )
        for day in days
    ]


def _shows(desk: Desk, today: date) -> list[Show]:
    return sorted(
        (show for show in desk.salon().shows.values() if show.day >= today), key=lambda show: show.day
    )[:3]
