"""From a dog's plan to what stands on paper: one visit's sheet, the whole plan, and their pictures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from coatwright.coat.growth import Growth, length
from coatwright.coat.layers import Pulled, ZoneCoat, shed
from coatwright.coat.measures import cover
from coatwright.errors import OutOfRange
from coatwright.patterns import zones
from coatwright.printing.sheet import (
    ComingVisit,
    Finish,
    Hairs,
    Hand,
    Measure,
    Note,
    Over,
    PlanDocument,
    PlanVisit,
    PlanZone,
    Refused,
    Rhythm,
    Sheet,
    SheetZone,
    Spared,
)
from coatwright.salon.believed import Habit, judged_for
from coatwright.salon.bench import aftercare_of, tools_of
from coatwright.salon.cautions import AFTER_STOP, STOP_LIST, Caution, plan_cautions, visit_cautions
from coatwright.salon.known import advice_of, habit_of
from coatwright.salon.outlooks import coming_shows, name_of, outlooks, windows_of
from coatwright.units import Day, Share, date_of, day_of

if TYPE_CHECKING:
    from coatwright.coat.forecast import Epochs
    from coatwright.planning.compare import Option
    from coatwright.planning.explain import Answer
    from coatwright.planning.problem import ZoneTask
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog

NEXT_VISITS = 3
"""How many visits to come are named on a sheet."""
SMALL: Share = 0.1
"""What is less than this part of a take is not told: nobody looks for it."""
OVER_SLACK: Share = 0.025
"""A take counts as too much from half a step of 5 % above the plan."""


def sheet_of(plan: DogPlan, day: date | None = None, *, others: Iterable[Dog] = ()) -> Sheet:
    """The sheet of one planned visit; of the next one without ``day``.

    Raises :class:`OutOfRange` when nothing is to be pulled on that day, or on any.
    """
    day = visit_day(plan, day)
    dog, whole, visits = plan.dog, plan.option.plan, plan.visits
    at = day_of(day)
    takes = plan.takes(day)
    carded = set(plan.cardings.get(at, ()))
    overs = over_taken(plan.recorded, day)
    habit = habit_of(plan)
    rows: list[SheetZone] = []
    spared: list[Spared] = []
    for task, epochs in zip(whole.problem.zones, whole.epochs, strict=True):
        share, over = takes.get(task.key, 0.0), overs.get(task.key)
        if share > 0.0:
            spare = over if over is not None and share < over.planned - 1e-9 else None
            rows.append(_zone_row(task, epochs, at, share, task.key in carded, spare, habit))
        else:
            coming = next((each for each in visits if each > day and task.key in plan.takes(each)), None)
            spared.append(Spared(task.key, name_of(task.key), coming, task.key in carded, over))
    number = visits.index(day)
    return Sheet(
        dog_id=dog.id,
        dog=dog.name,
        pattern=dog.pattern.name,
        owner=dog.owner.name if dog.owner else "",
        handler=dog.handler.name if dog.handler else "",
        weight_kg=dog.weight_kg,
        day=day,
        made=plan.today,
        approach=plan.option.approach,
        number=number + 1,
        count=len(visits),
        minutes=plan.minutes(day),
        setup=whole.problem.setup,
        limit=whole.problem.minutes[whole.problem.visits.index(at)],
        zones=tuple(rows),
        spared=tuple(spared),
        finish=_finish(),
        stops=STOP_LIST,
        after_stop=AFTER_STOP,
        cautions=_notes(visit_cautions(plan, day, others=others)),
        next_visits=tuple(
            ComingVisit(each, plan.minutes(each)) for each in visits[number + 1 : number + 1 + NEXT_VISITS]
        ),
        shows=coming_shows(plan, day),
        windows=tuple(window for window in windows_of(plan)[0] if window.last >= day),
        notes=dog.notes,
        tools=tools_of(plan, day),
        aftercare=aftercare_of(plan, day),
        hand=None if habit is None else Hand(habit.groomer, habit.middle, habit.low, habit.high),
        measure=tuple(
            Measure(each.zone, name_of(each.zone), each.reading, each.share, each.what)
            for each in advice_of(plan, day)
        ),
    )


def plan_document_of(plan: DogPlan) -> PlanDocument:
    """The whole plan as it is printed: every visit shown, every zone, and what could not be had."""
    dog, option = plan.dog, plan.option
    whole = option.plan
    problem = whole.problem
    visits = plan.visits
    of_dog, of_zones = windows_of(plan)
    thin_zone, thin_day, thin = whole.thinnest(plan.option.shown_until)
    columns = [problem.visits.index(day_of(day)) for day in visits]
    rows = tuple(
        PlanZone(
            key=task.key,
            name=name_of(task.key),
            tender=zones()[task.key].tender,
            cap=task.cap,
            takes=tuple(float(whole.takes[row, column]) for column in columns),
            fixed=tuple((task.key, day_of(day)) in plan.case.fixed for day in visits),
            carded=tuple(task.key in plan.cardings.get(day_of(day), ()) for day in visits),
            judged=task.aim is not None,
            windows=of_zones[row] if task.aim is not None else (),
        )
        for row, task in enumerate(problem.zones)
    )
    return PlanDocument(
        dog_id=dog.id,
        dog=dog.name,
        pattern=dog.pattern.name,
        owner=dog.owner.name if dog.owner else "",
        handler=dog.handler.name if dog.handler else "",
        made=plan.today,
        until=date_of(option.shown_until),
        approach=option.approach,
        cadence=option.cadence,
        visits=tuple(
            PlanVisit(
                day,
                plan.minutes(day),
                problem.minutes[column],
                max(float(whole.minute_price[column]) - 1e-6, 0.0),
                None if dog.rhythm_day(day) == day else dog.rhythm_day(day),
            )
            for day, column in zip(visits, columns, strict=True)
        ),
        zones=rows,
        minutes=option.minutes,
        ready_days=option.ready_days,
        price=option.price,
        price_per_hour=dog.wish.price_per_hour,
        thinnest=thin,
        thinnest_zone=name_of(thin_zone) if thin_zone else "",
        thinnest_day=date_of(thin_day),
        windows=of_dog,
        shows=outlooks(plan),
        answers=_answers(plan),
        rhythms=tuple(_rhythm(each, each is option) for each in _by_cadence(plan.cadences)),
        cautions=_notes(plan_cautions(plan)),
    )


def over_taken(dog: Dog, day: date) -> dict[str, Over]:
    """Zones of which the last visit before ``day`` took more than it was to take."""
    before = [visit for visit in dog.visits if visit.day < day]
    if not before:
        return {}
    last = before[-1]
    return {
        key: Over(last.day, take.planned, take.share)
        for key, take in last.takes.items()
        if take.planned is not None and take.share > take.planned + OVER_SLACK - 1e-9
    }


def hairs_of(
    pulled: Pulled, before: ZoneCoat, at: Day, growth: Growth, broken: Share = 0.0
) -> tuple[Hairs, ...]:
    """What a pull takes of the coat ``before`` it, longest first: a few parts that a hand can follow.

    Neighbouring layers of one kind that go whole are one part. What is less than :data:`SMALL` of the take is
    left out, as are cut hairs that together are less; other cut hairs are one part. ``broken`` is the share of
    pulled hairs that break.
    """
    standing = {(layer.born, round(layer.removed, 6)): layer.share for layer in before.layers}
    parts: list[Hairs] = []
    for layer, renewed in pulled.renewed:
        share = renewed / max(1.0 - broken, 1e-9)
        age = at - layer.born
        mm = float(length(age, growth, layer.removed))
        kind = "cut" if layer.cut else "resting" if age >= growth.full_age - 1e-9 else "whole"
        stood = max(standing.get((layer.born, round(layer.removed, 6)), share), share)
        weeks = round(age / 7.0)
        parts.append(Hairs(kind, weeks, weeks, mm, mm, share, stood, age < growth.ripe))
    total = sum(part.share for part in parts)
    cut = [part for part in parts if part.kind == "cut"]
    grown = sorted(
        (part for part in parts if part.kind != "cut"), key=lambda part: (-part.weeks_to, -part.mm_to)
    )
    merged = grown[:1]
    for part in grown[1:]:
        last = merged[-1]
        if (last.kind, last.young) == (part.kind, part.young) and min(last.part, part.part) > 0.999:
            merged[-1] = _together([last, part])
        else:
            merged.append(part)
    if sum(part.share for part in cut) >= SMALL * total:
        merged = sorted([*merged, _together(cut)], key=lambda part: -part.weeks_to)
    return tuple(part for part in merged if part.share >= SMALL * total)


def _together(parts: Sequence[Hairs]) -> Hairs:
    return Hairs(
        parts[0].kind,
        min(part.weeks_from for part in parts),
        max(part.weeks_to for part in parts),
        min(part.mm_from for part in parts),
        max(part.mm_to for part in parts),
        sum(part.share for part in parts),
        sum(part.standing for part in parts),
        any(part.young for part in parts) and parts[0].kind != "cut",
    )


def _zone_row(
    task: ZoneTask, epochs: Epochs, at: Day, share: Share, card: bool, over: Over | None, habit: Habit | None
) -> SheetZone:
    number = max(k for k, start in enumerate(epochs.starts) if start == at)
    pulled = epochs.pulls[number]
    before = shed(epochs.coats[number - 1], epochs.starts[number - 1], at, task.growth)
    zone = zones()[task.key]
    return SheetZone(
        key=task.key,
        name=zone.name,
        share=share,
        minutes=task.minutes * share,
        hairs=hairs_of(pulled, before, at, task.growth, task.broken) if pulled else (),
        hold=zone.hold,
        tip=zone.tip,
        tender=zone.tender,
        cap=task.cap,
        card=card,
        cover_before=cover(before, at, task.growth),
        cover_after=cover(epochs.at(at), at, task.growth),
        over=over,
        judge=None if habit is None else judged_for(share, cover(before, at, task.growth), habit),
    )


def visit_day(plan: DogPlan, day: date | None) -> date:
    visits = plan.visits
    if not visits:
        raise OutOfRange(
            "Nothing is to be pulled in this plan.",
            where=plan.dog.name,
            remedy="The coat is ready as it stands: look again at the next reading, or plan further ahead.",
        )
    if day is None:
        return visits[0]
    if day not in visits:
        near = sorted(sorted(visits, key=lambda each: abs((each - day).days))[:3])
        raise OutOfRange(
            f"No visit is planned on {day}.",
            where=plan.dog.name,
            remedy=f"Near it are {', '.join(map(str, near))}.",
        )
    return day


def _finish() -> tuple[Finish, ...]:
    return tuple(
        Finish(zone.key, zone.name, zone.work, zone.hold, zone.tip)
        for zone in zones().values()
        if zone.work != "pull"
    )


def _answers(plan: DogPlan) -> tuple[Refused, ...]:
    """Every answer in words; zones that miss the same limit on the same days by the same share stand together."""
    from coatwright.printing.words import day_text, listed, sentence

    def said(day: Day) -> str:
        return day_text(date_of(day))

    groups: dict[tuple[object, ...], list[Answer]] = {}
    for answer in plan.answers:
        by = round(answer.worst, 2)
        key = (answer.limit, answer.first, answer.last, by, answer.earliest, answer.cause, answer.remedies)
        groups.setdefault(key, []).append(answer)
    found = []
    for alike in groups.values():
        names = sentence(listed(name_of(answer.zone).lower() for answer in alike if answer.zone))
        names = f"Each of {names.lower()}" if len(alike) > 1 else names
        text = alike[0].sentence(names, said)
        found.append(Refused(text, tuple(remedy.sentence(said) for remedy in alike[0].remedies)))
    return tuple(found)


def _by_cadence(options: Sequence[Option]) -> list[Option]:
    return sorted(options, key=lambda option: option.cadence)


def _rhythm(option: Option, chosen: bool) -> Rhythm:
    return Rhythm(
        option.cadence,
        option.visits,
        option.minutes,
        option.ready_days,
        option.thinnest,
        option.price,
        chosen,
    )


def _notes(cautions: Iterable[Caution]) -> tuple[Note, ...]:
    return tuple(Note(each.level, each.title, each.text) for each in cautions)
