"""What the page at the table carries with it: today's dogs, their coats as layers, what is planned, words.

Lengths are mm, shares 0 to 1, days ordinals (1 is 1 January of the year 1); growth and layers are rows of numbers,
so that a day's dogs stay small. The page works out cover from them with the formulas of :mod:`coatwright.coat`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from coatwright.coat.growth import Growth
from coatwright.coat.layers import ZoneCoat
from coatwright.patterns.zones import zones
from coatwright.printing import words as said
from coatwright.printing.sheet_view import hand_line, measure_line, over_line
from coatwright.salon.cautions import (
    AFTER_STOP,
    BARE_COVER,
    STOP_LIST,
    TOOL_DAYS,
    Caution,
    general_cautions,
    unfit_cautions,
)
from coatwright.salon.once import once
from coatwright.salon.records import Dog, Visit
from coatwright.units import Share, day_of
from coatwright.web.desk import Desk
from coatwright.web.pages.reading.scale import LOOK_WORDS, scales_of
from coatwright.web.pages.today.day import HANDS_STOP, HANDS_TIRE, Work, in_order, logged, planned
from coatwright.web.pages.visit.form import TOOLS
from coatwright.web.planner import Refused
from coatwright.web.table.care import (
    EASE_WORDS,
    HEAD,
    REACTION_WORDS,
    SKIN_WORDS,
    care_items,
    working_order,
)
from coatwright.web.words import Words
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.planning.problem import ZoneTask
    from coatwright.printing.sheet import Sheet
    from coatwright.salon.plans import DogPlan

FORM = 1
"""Number of this form of the bundle; a page that knows another one asks to be loaded again."""
COMING = 6
"""Visits to come that are told of each zone."""
WAIT = 0.3
"""Seconds that the bundle waits for the first plan; what is still being made comes with the next asking."""
PHOTOS = 8
"""Most photos of a dog that go along, small."""
BARE_HAND = "fingers"
"""The tool that is tapped for a bare hand."""
OUTLINE_SLACK = 0.15
"""How far a zone's outline may miss its place, in units of 1/100 withers."""


def visit_id(day: date) -> str:
    """The id of a dog's visit of a day: every device names the same one."""
    return f"table-{day.isoformat()}"


def bundle_of(desk: Desk, words: Words) -> dict[str, Any]:
    """Everything that the page needs to work through the day without the desk."""
    today = desk.today()
    dogs = sorted(desk.salon().dogs.values(), key=lambda dog: dog.name)
    works: list[Work] = []
    plans: dict[str, DogPlan] = {}
    waiting: list[Dog] = []
    elsewhere: list[dict[str, str]] = []
    for number, dog in enumerate(dogs):
        if dog.unfit or not dog.assessments:
            why = f"unfit: {dog.unfit}" if dog.unfit else "coat not read yet"
            elsewhere.append(_elsewhere(dog, why))
            continue
        visit = next((each for each in dog.visits if each.day == today), None)
        plan = _plan(desk, dog, today, visit, WAIT if number == 0 else 0.0)
        if isinstance(plan, Working):
            waiting.append(dog)
        elif isinstance(plan, Refused):
            elsewhere.append(_elsewhere(dog, plan.error.what))
        elif today in plan.visits:
            plans[dog.id] = plan
            works.append(planned(plan, today, words))
        elif visit is not None:
            plans[dog.id] = plan
            works.append(logged(dog, visit))
        elif plan.visits:
            elsewhere.append(_elsewhere(dog, f"next visit {words.near(plan.visits[0])}"))
    steps = in_order(works)
    return {
        "form": FORM,
        "day": today.isoformat(),
        "ordinal": day_of(today),
        "date": words.date(today),
        "unit": words.unit,
        "dogs": [
            _dog(desk, plans[step.work.dog.id], today, words, remarks=step.work.remarks, hands=step.after)
            for step in steps
        ],
        "waiting": [dog.name for dog in waiting],
        "waiting_ids": [dog.id for dog in waiting],
        "elsewhere": elsewhere,
        "groomers": _groomers(desk),
        "tools": _tools(desk),
        "hands": {"tire": HANDS_TIRE, "stop": HANDS_STOP, "pulled": _pulled(desk, today)},
        "stops": list(STOP_LIST),
        "after_stop": AFTER_STOP,
        "cautions": [_caution(each) for each in general_cautions()],
        "care": care_items(),
        "looks": [list(pair) for pair in LOOK_WORDS],
        "eases": [list(pair) for pair in EASE_WORDS],
        "reactions": list(REACTION_WORDS),
        "skins": [list(pair) for pair in SKIN_WORDS],
        "bare": BARE_COVER,
    }


def _elsewhere(dog: Dog, why: str) -> dict[str, str]:
    """A dog that is not at the table today, and why."""
    return {"id": dog.id, "name": dog.name, "why": why}


def growth_row(growth: Growth) -> list[float]:
    """lag, rate with the season in it, end, spread, ripe, loss, hold."""
    row = (growth.lag, growth.speed, growth.end, growth.spread, growth.ripe, growth.loss, growth.hold)
    return [round(value, 6) for value in row]


def layer_rows(coat: ZoneCoat) -> list[list[float]]:
    """Per layer, oldest first: day of birth, share, mm taken off."""
    return [[layer.born, round(layer.share, 9), round(layer.removed, 4)] for layer in coat.layers]


def _plan(desk: Desk, dog: Dog, today: date, visit: Visit | None, wait: float) -> DogPlan | Working | Refused:
    """The plan of today as it stood in the morning: a visit that has begun does not move what it was to do."""
    if visit is None:
        return desk.plan(dog, wait=wait)
    morning = replace(
        dog,
        visits=tuple(each for each in dog.visits if each.day != today),
        readings=tuple(each for each in dog.readings if each.day != today),
    )
    return desk.planner.plan(
        morning, today, speed=desk.speed(dog, today), others=desk.others(), remember=False, wait=wait
    )


def _dog(
    desk: Desk, plan: DogPlan, today: date, words: Words, *, remarks: tuple[Any, ...], hands: float
) -> dict[str, Any]:
    """A dog: what follows from its plan is worked out once, what is kept of it since is added."""
    now = desk.salon().dogs.get(plan.dog.id, plan.dog)
    planned_: dict[str, Any] = once(plan, ("table", words), lambda: _of_plan(plan, today, words))
    return {
        **planned_,
        "hands": round(hands, 1),
        "unfit": now.unfit,
        "remarks": [[each.level, each.label, each.text] for each in remarks],
        "cautions": [*map(_caution, unfit_cautions(now)), *planned_["cautions"]],
        "breaking": _breaking(now, today, desk.others()),
        "photos": _photos(now, words),
        "logged": _logged(now, today),
    }


def _of_plan(plan: DogPlan, today: date, words: Words) -> dict[str, Any]:
    from coatwright.salon.reasons import reasons_of
    from coatwright.salon.sheets import sheet_of

    dog, problem = plan.dog, plan.option.plan.problem
    sheet = sheet_of(plan, today) if today in plan.visits else None
    why: dict[str, str] = {}
    if sheet is not None:
        why = {each.zone: each.text for each in reasons_of(plan, today, unit=words.unit)}
    coming = [(day, plan.takes(day)) for day in plan.visits if day > today]
    rows = [_zone(plan, task, today, words, sheet, why, coming) for task in problem.zones]
    taken = [row["key"] for row in rows if row["planned"] > 0.0]
    return {
        "id": dog.id,
        "name": dog.name,
        "about": dog.pattern.name + (f", {dog.weight_kg:g} kg" if dog.weight_kg else ""),
        "owner": dog.owner.name if dog.owner else "",
        "visit": visit_id(today),
        "minutes": round(plan.minutes(today), 1),
        "setup": problem.setup,
        "limit": dog.limits.minutes,
        "notes": dog.notes,
        "order": list(working_order(taken)),
        "zones": rows,
        "coming": [[day_of(day), words.near(day)] for day, _ in coming][:COMING],
        "cautions": [
            {"level": each.level, "title": each.title, "text": each.text}
            for each in (() if sheet is None else sheet.cautions)
        ],
        "aftercare": [] if sheet is None else list(sheet.aftercare),
        "layout": [] if sheet is None else list(sheet.tools),
        "hand": "" if sheet is None or sheet.hand is None else hand_line(sheet.hand),
        "measure": "" if sheet is None or not sheet.measure else measure_line(sheet.measure),
        "picture": _picture(dog),
    }


def _zone(
    plan: DogPlan,
    task: ZoneTask,
    today: date,
    words: Words,
    sheet: Sheet | None,
    why: Mapping[str, str],
    coming: Sequence[tuple[date, Mapping[str, Share]]],
) -> dict[str, Any]:
    zone, at = zones()[task.key], day_of(today)
    spans = [least for first, last, least in plan.option.plan.problem.covered if first <= at <= last]
    row = None if sheet is None else next((each for each in sheet.zones if each.key == task.key), None)
    scales = scales_of(task.coat, today, task.growth, None, words.unit)
    found: dict[str, Any] = {
        "key": task.key,
        "name": zone.name,
        "planned": 0.0 if row is None else round(row.share, 4),
        "whole": round(task.minutes, 1),
        "hold": zone.hold,
        "tip": zone.tip,
        "cap": task.cap,
        "look": round(max(task.look, *spans), 4) if spans else round(task.look, 4),
        "welfare": task.welfare,
        "broken": task.broken,
        "visible": task.visible_from,
        "growth": growth_row(task.growth),
        "layers": layer_rows(task.coat),
        "under": task.coat.undercoat,
        "next": [
            [day_of(day), round(share, 4)]
            for day, takes in coming
            if (share := takes.get(task.key, 0.0)) > 0.0
        ][:COMING],
        "longest": [[mark.value, mark.text] for mark in scales.longest],
        "shortest": [[mark.value, mark.text] for mark in scales.shortest],
    }
    if zone.tender:
        found["tender"] = True
    if task.key in HEAD:
        found["head"] = True
    if task.key in plan.cardings.get(at, ()):
        found["card"] = True
    if task.key in why:
        found["why"] = said.sentence(why[task.key])
    if row is not None:
        found["hairs"] = said.hairs(row.hairs, words.unit)
        if row.judge is not None:
            found["judge"] = row.judge
        if row.over is not None:
            found["over"] = over_line(row.over, today)
    return found


def _caution(each: Caution) -> dict[str, str]:
    return {"key": each.key, "level": each.level, "title": each.title, "text": each.text}


def _logged(dog: Dog, today: date) -> dict[str, Any]:
    """What the desk has of today's visit already, from whatever device."""
    visit = next((each for each in dog.visits if each.day == today), None)
    if visit is None:
        return {}
    return {
        "takes": {key: round(take.share, 4) for key, take in visit.takes.items() if not take.so_far},
        "carded": list(visit.carded),
        "minutes": visit.minutes,
        "groomer": visit.groomer,
    }


def _photos(dog: Dog, words: Words) -> list[dict[str, str]]:
    """The newest photos, the newest first: of each zone one, and one of the whole dog."""
    found: dict[str, dict[str, str]] = {}
    for visit in reversed(dog.visits):
        for each in reversed(visit.photos):
            found.setdefault(
                each.zone, {"photo": each.photo, "zone": each.zone, "on": words.short(visit.day)}
            )
    return list(found.values())[:PHOTOS]


def _picture(dog: Dog) -> dict[str, Any]:
    """Outlines of the zones that are seen from the side, as path data in whole units, the ears last."""
    from coatwright.drawing.canvas import Canvas
    from coatwright.drawing.curves import thin_ring
    from coatwright.salon.pictures import figure_of

    figure = figure_of(dog)
    canvas = Canvas(figure)
    order = sorted(figure.zones, key=lambda zone: 0 if zone == "tail" else 2 if zone == "ears" else 1)
    paths = {}
    for zone in order:
        points = canvas.points(thin_ring(figure.zones[zone], OUTLINE_SLACK * figure.unit))
        steps = [f"{round(x)} {round(y)}" for x, y in points.tolist()]
        paths[zone] = f"M{'L'.join(steps)}Z"
    return {"box": [canvas.width, canvas.height], "zones": paths}


def _groomers(desk: Desk) -> list[str]:
    """Everybody who works: groomers that are kept, then whoever logged a visit."""
    salon = desk.salon()
    names = [each.name for each in salon.people.values() if each.role == "groomer"]
    names += sorted({visit.groomer for dog in salon.dogs.values() for visit in dog.visits if visit.groomer})
    return list(dict.fromkeys(names))


def _pulled(desk: Desk, today: date) -> list[tuple[str, str, float]]:
    """Minutes that were pulled today by the records: dog, groomer, minutes."""
    return [
        (dog.id, visit.groomer, round(logged(dog, visit).pulling, 1))
        for dog in desk.salon().dogs.values()
        for visit in dog.visits
        if visit.day == today
    ]


def _tools(desk: Desk) -> list[str]:
    """Tools that are offered: the usual ones, then whatever was tested."""
    from coatwright.salon.tools import tools_tested

    usual = {name.casefold(): name for name in TOOLS}
    return [*TOOLS, *(name for name in tools_tested(desk.salon()).values() if name.casefold() not in usual)]


def _breaking(dog: Dog, today: date, others: Iterable[Dog] = ()) -> dict[str, str]:
    """What paper tests on this dog, or on ``others``, say against a tool, by its name in small letters."""
    from coatwright.paper.verdict import BREAKS
    from coatwright.salon.tools import broke_elsewhere, kept_off

    since = today - timedelta(days=TOOL_DAYS)
    found = {}
    for name, (other, _) in broke_elsewhere(dog, others, since=since, until=today).items():
        found[name.casefold()] = f"broke hair on {other.name}: try it first"
    for name, trial in kept_off(dog, since=since, until=today).items():
        verdict = trial.verdict
        part = "" if verdict.share is None else f" {said.percent(verdict.share)}"
        breaks = verdict.word == BREAKS
        key = name.casefold() or BARE_HAND
        found[key] = f"breaks{part} of the hair" if breaks else "not cleared by its paper test"
    return found
