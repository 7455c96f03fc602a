"""What the page of a dog shows, gathered from the records, the coat and the plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from coatwright.errors import CoatwrightError, InputError, OutOfRange, UnknownName
from coatwright.patterns.zones import zones
from coatwright.salon.events import new_id
from coatwright.salon.known import advice_of, alarms_of
from coatwright.salon.records import Dog, Visit
from coatwright.units import Share
from coatwright.web import charts, coat_days, pictures
from coatwright.web.changes import Missed, missed
from coatwright.web.coats import ZoneState, drawn, first_day, states
from coatwright.web.desk import Desk
from coatwright.web.documents import cautions, document, reasons
from coatwright.web.forms import Fields, day_of_text
from coatwright.web.history import last_change
from coatwright.web.planner import Refused
from coatwright.web.words import Words
from coatwright.web.workshop import Working

if TYPE_CHECKING:
    from coatwright.drawing.shade import Scale, ZoneValue
    from coatwright.salon.cautions import Caution
    from coatwright.salon.plans import DogPlan

FARTHEST = 800
"""Days before and after today that a page may ask for."""


@dataclass(frozen=True, slots=True)
class PastVisit:
    """A visit in one line: how many zones were pulled, the least and the most of one, and what was not as planned."""

    zones: int
    least: Share
    most: Share
    other: tuple[Missed, ...]

    @classmethod
    def of(cls, visit: Visit) -> PastVisit:
        """The line of a visit."""
        shares = [take.share for take in visit.takes.values() if take.share > 0.0]
        return cls(len(shares), min(shares, default=0.0), max(shares, default=0.0), missed(visit))


def plan_or_none(state: DogPlan | Working | Refused) -> DogPlan | None:
    """The plan, when there is one."""
    return None if isinstance(state, Working | Refused) else state


def day_asked(desk: Desk, dog: Dog, fields: Fields) -> date:
    """The day that an address asks for: a date, or a number of days from today; never before the coat is known."""
    today = desk.today()
    text = fields.text("day", "day")
    if not text:
        return today
    if text.lstrip("-+").isdigit() and len(text) < 6:
        day = today + timedelta(days=max(-FARTHEST, min(FARTHEST, int(text))))
    else:
        day = day_of_text(text, "day")
    if abs((day - today).days) > FARTHEST:
        raise OutOfRange(
            f"The coat cannot be told on {day}.",
            where="day",
            remedy=f"Ask for at most {FARTHEST} days from today.",
        )
    return max(day, first_day(dog) or day)


def zone_asked(dog: Dog, fields: Fields, known: Mapping[str, ZoneState]) -> str:
    """The zone that an address asks for; the first one that is judged without it."""
    key = fields.text("zone", "zone")
    if key and key not in zones():
        raise UnknownName.of("zone", key[:60], zones(), where="zone")
    if key in known:
        return key
    judged = [zone for zone, state in known.items() if state.aim is not None]
    return next(iter(judged or known), "")


def dog_view(desk: Desk, dog: Dog, fields: Fields, words: Words, *, whole: bool = True) -> dict[str, Any]:
    """Everything that the page of a dog shows; without ``whole`` only what follows the picture.

    Charts take as long as the rest of the page and stand below it: they are fetched once it is seen, unless its
    address asks for them (``?charts=1``) or for a zone.
    """
    charts_asked = "charts" in fields
    today = desk.today()
    day = day_asked(desk, dog, fields)
    state = desk.plan(dog) if dog.assessments and not dog.unfit else None
    plan = plan_or_none(state) if state is not None else None
    trouble: CoatwrightError | None = None
    believed = drawn(dog, plan)
    try:
        found = states(believed, plan, day, today) if dog.assessments else {}
    except InputError as error:
        found, trouble = {}, error
    zone = zone_asked(dog, fields, found)
    first, last = charts.span(believed, plan, today)
    by = fields.choice("by", "by", ("", "take", "cover", "outline", "age"))
    seen = {
        "today": today,
        "day": day,
        "first": first,
        "last": last,
        "order": charts.date_words(words).order,
        "zone": zone,
        "states": found,
        "by": by,
        "mark": coat_days.mark_of(desk, dog, plan),
        "hits": _hits(believed, found, zone, day, by, words, today),
        "size": pictures.size_of(dog, 96 if by else 0),
        "unread": [zones()[key].name.lower() for key in pictures.unread(believed, found)],
        "next_takes": _next_takes(plan),
        "trouble": trouble,
        "plan": plan,
        "state": state,
        "spoken": picture_words(found, words),
        **_zone(dog, plan, zone, found, words, today, chart=not whole or charts_asked or "zone" in fields),
    }
    if whole:
        seen |= _rest(desk, dog, plan, words)
        seen |= charts_view(desk, dog, plan, words) if charts_asked else {"ribbons": None, "covers": None}
        seen["fetched"] = charts_asked or not dog.assessments
    return seen


def charts_view(desk: Desk, dog: Dog, plan: DogPlan | None, words: Words) -> dict[str, Any]:
    """The charts of the whole dog: ready days and cover through time."""
    today, believed = desk.today(), drawn(dog, plan)
    return {
        "ribbons": None if plan is None else charts.ribbons_shown(document(plan), plan, today, words),
        "covers": charts.cover_shown(believed, plan, today, words) if dog.assessments else None,
    }


def _zone(
    dog: Dog,
    plan: DogPlan | None,
    zone: str,
    found: Mapping[str, ZoneState],
    words: Words,
    today: date,
    *,
    chart: bool,
) -> dict[str, Any]:
    """The chosen zone, the ``chart`` of its layers drawn or left to be fetched."""
    return {
        "chart": charts.layers_shown(drawn(dog, plan), plan, zone, today, words)
        if chart and zone in found
        else None,
        "zone_names": {key: row.name for key, row in zones().items()},
        "fresh": new_id(),
        "readings": [each for each in reversed(dog.readings) if each.zone == zone][:5],
    }


def _rest(desk: Desk, dog: Dog, plan: DogPlan | None, words: Words) -> dict[str, Any]:
    page = document(plan) if plan is not None else None
    coming = plan.visits[0] if plan is not None and plan.visits else None
    return {
        "document": page,
        "coming": coming,
        "coming_takes": plan.takes(coming) if plan is not None and coming else {},
        "coming_reasons": reasons(plan, coming, words) if plan is not None and coming else (),
        "coming_minutes": plan.minutes(coming) if plan is not None and coming else 0.0,
        "cautions": _cautions(dog, plan, coming, desk.others()),
        "advice": () if plan is None else advice_of(plan),
        "change": last_change(desk, dog.id, words),
        "past": {visit.id: PastVisit.of(visit) for visit in dog.visits},
    }


def _cautions(
    dog: Dog, plan: DogPlan | None, coming: date | None, others: Sequence[Dog]
) -> tuple[Caution, ...]:
    from coatwright.salon.cautions import alarm_cautions, unfit_cautions

    if plan is None:
        return unfit_cautions(dog)
    return cautions(plan, coming, others) if coming else alarm_cautions(alarms_of(plan))


def picture_words(found: Mapping[str, ZoneState], words: Words) -> str:
    """The coat in words, in place of the picture."""
    return "; ".join(
        f"{state.zone.name}: outline {words.length(state.outline).striptags()}, "
        f"cover {words.share(state.cover).striptags()}"
        for state in found.values()
    )


def _hits(
    dog: Dog, found: Mapping[str, ZoneState], zone: str, day: date, by: str, words: Words, today: date
) -> Markup:
    spoken = {
        key: f"{state.zone.name}: outline {words.length(state.outline).striptags()}, "
        f"cover {words.share(state.cover).striptags()}"
        for key, state in found.items()
    }
    rest = (f"&day={day}" if day != today else "") + (f"&by={by}" if by else "")
    link = f"?zone={{zone}}{rest}#zone"
    return pictures.hit_zones(dog, spoken, link, selected=zone, foot=96 if by else 0)


def _next_takes(plan: DogPlan | None) -> dict[str, tuple[date, float]]:
    """The next planned take of each zone."""
    found: dict[str, tuple[date, float]] = {}
    if plan is not None:
        for visit in plan.visits:
            for zone, share in plan.takes(visit).items():
                found.setdefault(zone, (visit, share))
    return found


def shading(
    by: str, dog: Dog, plan: DogPlan | None, found: Mapping[str, ZoneState], day: date, words: Words
) -> tuple[dict[str, ZoneValue], Scale]:
    """The values that zones are shaded by, and the scale beside the picture."""
    from coatwright.drawing.shade import Scale, ZoneValue

    values: dict[str, ZoneValue] = {}
    if by == "take":
        takes = plan.takes(day) if plan is not None else {}
        values = {
            key: ZoneValue(takes.get(key, 0.0), f"{100 * takes.get(key, 0.0):.0f} %")
            for key in found
            if key in takes
        }
        return values, Scale(
            "Take, % of the zone's hairs",
            0.0,
            1.0 if max(takes.values(), default=0) > 0.5 else 0.5,
            "0 %",
            "100 %" if max(takes.values(), default=0) > 0.5 else "50 %",
        )
    if by == "cover":
        values = {key: ZoneValue(state.cover, f"{100 * state.cover:.0f} %") for key, state in found.items()}
        return values, Scale("Cover, % of the hairs above the skin", 0.0, 1.0, "0 %", "100 %")
    if by == "outline":
        values = {
            key: ZoneValue(state.outline, words.length(state.outline).striptags().replace("\u202f", " "))
            for key, state in found.items()
        }
        top = max((value.value for value in values.values()), default=1.0)
        return values, Scale("Outline", 0.0, top, "0", words.length(top).striptags().replace("\u202f", " "))
    ages = {key: (day - state.last_pull).days for key, state in found.items() if state.last_pull is not None}
    values = {key: ZoneValue(float(age), f"{round(age / 7)} wk") for key, age in ages.items()}
    top = max(ages.values(), default=7)
    return values, Scale("Weeks since the last pull", 0.0, float(top), "0 wk", f"{round(top / 7)} wk")
