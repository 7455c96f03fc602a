"""What plans, forecasts and visit sheets say, as plain values: the JSON of the command line and of the pages.

Dates are written as ISO 8601, lengths in mm, times in minutes, shares as 0 to 1. ``docs/reference/json.md`` tells
every key, and the schemas in ``coatwright/schemas`` hold it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from coatwright.errors import OutOfRange, UnknownName
from coatwright.units import Day, Millimetres, Share, date_of, day_of

if TYPE_CHECKING:
    from coatwright.coat.aims import Aim
    from coatwright.coat.forecast import Epochs, Forecast
    from coatwright.coat.growth import Floats, Growth
    from coatwright.planning.compare import Option
    from coatwright.printing.sheet import PlanDocument, Sheet, Window
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog

VERSION = 1
"""Version of the shape of these values; it rises when a key changes its meaning or goes."""
LONGEST_DAYS = 730
"""A coat is not forecast further ahead than two years."""
MOST_DRAWS = 10_000


@dataclass(frozen=True)
class ZoneAhead:
    """One zone through a forecast: its coat between pulls, how it grows, and what is asked of it.

    ``aim`` is None where nothing is asked; ``floor`` is the cover below which the zone should not fall.
    """

    key: str
    name: str
    growth: Growth
    aim: Aim | None
    floor: Share
    epochs: Epochs


@dataclass(frozen=True)
class DogForecast:
    """A dog's coat through time, from ``today`` on, zone by zone in working order.

    ``expected`` is the coat of the dog's own growth values, arrays of shape (1, zones, days); ``draws`` the
    coats of as many dogs like it as were asked for, shape (draws, zones, days), or None. ``plan`` is the plan
    that is carried out on the way, None where nothing is pulled.
    """

    dog: Dog
    today: date
    zones: tuple[ZoneAhead, ...]
    expected: Forecast
    draws: Forecast | None
    plan: DogPlan | None
    seed: int = 0

    @property
    def days(self) -> tuple[date, ...]:
        """The days, in order; the last axis of every array."""
        return tuple(date_of(day) for day in self.expected.days)

    def number(self, zone: str) -> int:
        """Position of a zone, or :class:`UnknownName`."""
        keys = [each.key for each in self.zones]
        if zone not in keys:
            raise UnknownName.of("zone in this forecast", zone, keys, where=self.dog.name)
        return keys.index(zone)

    def windows(self, zone: str) -> tuple[Window, ...]:
        """Days on which a zone is ready; the quiet days after a visit do not end a window."""
        return self._windows(self.expected.ready[0, self.number(zone)])

    def dog_windows(self) -> tuple[Window, ...]:
        """Days on which every judged zone is ready at once."""
        return self._windows(self.expected.ready[0].all(axis=0))

    def chance(self) -> Floats | None:
        """Share of the draws in which every judged zone is ready at once, shape (days,); None without draws."""
        if self.draws is None:
            return None
        return self.draws.dog_chance([n for n, zone in enumerate(self.zones) if zone.aim is not None])

    def _windows(self, flags: Any) -> tuple[Window, ...]:
        from coatwright.salon.outlooks import ready_windows

        visits: tuple[Day, ...] = () if self.plan is None else self.plan.option.plan.visits
        quiet = max((zone.aim.quiet for zone in self.zones if zone.aim is not None), default=0)
        return ready_windows(flags, self.expected.first, visits, quiet)


def forecast_dog(
    dog: Dog,
    today: date,
    *,
    plan: DogPlan | None = None,
    days: int | None = None,
    draws: int = 1,
    seed: int = 0,
) -> DogForecast:
    """The coat from ``today`` on, with a plan carried out, or left alone where there is none.

    ``days`` counts from today, that day included; without it the forecast reaches as far as the plan is shown,
    or as the dog's wish. More than one draw adds coats of the prior (see
    :meth:`coatwright.coat.forecast.Draws.prior`) from a random generator with this ``seed``.
    Raises :class:`OutOfRange` for fewer than 1 or too many days or draws.
    """
    import numpy as np

    from coatwright.coat.forecast import Draws, forecast
    from coatwright.planning.plan import TELLING

    zones, last = _left_alone(dog, today) if plan is None else _planned(plan)
    count = days if days is not None else last - day_of(today) + 1
    if not 1 <= count <= LONGEST_DAYS:
        raise OutOfRange(
            f"A forecast of {count} days was asked for.",
            where=f"from {today} on",
            remedy=f"Ask for 1 to {LONGEST_DAYS} days, up to {today + timedelta(days=LONGEST_DAYS - 1)}.",
        )
    if not 1 <= draws <= MOST_DRAWS:
        raise OutOfRange(
            f"A forecast of {draws} draws was asked for.",
            where="draws",
            remedy=f"Ask for 1 to {MOST_DRAWS} draws; 200 tell a band well.",
        )
    growths = [zone.growth for zone in zones]

    def ahead(sample: Draws | None) -> Forecast:
        return forecast(
            [zone.epochs for zone in zones],
            growths,
            day_of(today),
            count,
            aims=[zone.aim for zone in zones],
            draws=sample,
            slack=TELLING,
        )

    sample = Draws.prior(growths, draws, np.random.default_rng(seed)) if draws > 1 else None
    many = None if sample is None else ahead(sample)
    return DogForecast(dog, today, zones, ahead(None), many, plan, seed)


def _planned(plan: DogPlan) -> tuple[tuple[ZoneAhead, ...], Day]:
    """The zones of a plan that is carried out, and the last day shown."""
    whole = plan.option.plan
    zones = tuple(
        ZoneAhead(task.key, _name(task.key), task.growth, task.aim, max(task.look, task.welfare), epochs)
        for task, epochs in zip(whole.problem.zones, whole.epochs, strict=True)
    )
    return zones, plan.option.shown_until


def _left_alone(dog: Dog, today: date) -> tuple[tuple[ZoneAhead, ...], Day]:
    """The zones of a coat from which nothing is pulled, and the last day of the wish."""
    from coatwright.coat.forecast import carry_out
    from coatwright.planning.approach import aim_for, natural
    from coatwright.salon.coats import cover_floor
    from coatwright.salon.plans import case_of

    case = case_of(dog, today)
    staged = natural(case) == "staged"
    zones = tuple(
        ZoneAhead(
            zone.key,
            _name(zone.key),
            zone.growth,
            aim_for(zone, staged=staged, look=case.look),
            cover_floor(dog, zone.key),
            carry_out(zone.coat, case.today, (), zone.growth),
        )
        for zone in case.zones
    )
    return zones, case.last


def plan_result(
    plan: DogPlan, document: PlanDocument | None = None, options: Sequence[Option] | None = None
) -> dict[str, Any]:
    """A plan as plain values. ``options`` are the approaches side by side, where they were worked out."""
    from coatwright.salon.sheets import plan_document_of

    page = document if document is not None else plan_document_of(plan)
    whole = plan.option.plan
    return {
        **_about("plan", plan.dog),
        "made": _iso(page.made),
        "until": _iso(page.until),
        "approach": page.approach,
        "cadence_days": page.cadence or None,
        "possible": whole.possible,
        "visits": [
            {
                "day": _iso(visit.day),
                "minutes": round(visit.minutes, 1),
                "limit_minutes": round(visit.limit, 1),
                "minute_saves": round(visit.saves, 2),
                "takes": {key: round(share, 4) for key, share in plan.takes(visit.day).items()},
                "fixed": [zone.key for zone in page.zones if zone.fixed[number]],
                "carded": list(plan.cardings.get(day_of(visit.day), ())),
            }
            for number, visit in enumerate(page.visits)
        ],
        "zones": [
            {
                "key": zone.key,
                "name": zone.name,
                "tender": zone.tender,
                "cap": round(zone.cap, 4),
                "aim_mm": _aim(task.aim),
                "ready": _windows(zone.windows) if task.aim is not None else None,
            }
            for zone, task in zip(page.zones, whole.problem.zones, strict=True)
        ],
        "ready": _windows(page.windows),
        "shows": _shows(plan),
        "answers": [
            {
                "zone": answer.zone or None,
                "limit": answer.limit,
                "cause": answer.cause,
                "first": _iso(date_of(answer.first)),
                "last": _iso(date_of(answer.last)),
                "by": round(answer.worst, 4),
                "earliest": None if answer.earliest is None else _iso(date_of(answer.earliest)),
                "sentence": answer.sentence(
                    _name(answer.zone) if answer.zone else "", lambda day: _iso(date_of(day))
                ),
                "remedies": [remedy.sentence() for remedy in answer.remedies],
            }
            for answer in plan.answers
        ],
        "figures": {
            **_option(plan.option),
            "thinnest_zone": whole.thinnest(plan.option.shown_until)[0] or None,
            "thinnest_day": _iso(page.thinnest_day),
            "price_per_hour": page.price_per_hour,
            "cost": round(whole.objective, 3),
            "bound": round(whole.bound, 3),
            "gap": round(whole.gap, 5),
        },
        "cadences": [
            {"cadence_days": each.cadence or None, **_option(each)}
            for each in sorted(plan.cadences, key=lambda each: each.cadence)
        ],
        "approaches": None
        if options is None
        else [
            {"approach": each.approach, "cadence_days": each.cadence or None, **_option(each)}
            for each in options
        ],
        "cautions": [{"level": note.level, "title": note.title, "text": note.text} for note in page.cautions],
    }


def forecast_result(ahead: DogForecast, zones: Sequence[str] = ()) -> dict[str, Any]:
    """A forecast as plain values: of these zones, or of all. Arrays hold one value per day from ``first``."""
    chance = ahead.chance()
    return {
        **_about("forecast", ahead.dog),
        "made": _iso(ahead.today),
        "first": _iso(ahead.days[0]),
        "last": _iso(ahead.days[-1]),
        "plan": None
        if ahead.plan is None
        else {
            "approach": ahead.plan.option.approach,
            "cadence_days": ahead.plan.option.cadence or None,
            "until": _iso(date_of(ahead.plan.option.shown_until)),
            "visits": [_iso(day) for day in ahead.plan.visits],
        },
        "draws": 1 if ahead.draws is None else len(ahead.draws.cover),
        "seed": ahead.seed,
        "zones": _zones_ahead(ahead, [ahead.number(key) for key in zones] or range(len(ahead.zones))),
        "ready": _windows(ahead.dog_windows()),
        "chance": None if chance is None else _row(chance, 4),
    }


def _zones_ahead(ahead: DogForecast, numbers: Iterable[int]) -> list[dict[str, Any]]:
    bands = {}
    if ahead.draws is not None:
        bands = {"cover": ahead.draws.band("cover"), "outline": ahead.draws.band("outline")}
        chance = ahead.draws.chance()
    rows = []
    for n in numbers:
        zone = ahead.zones[n]
        rows.append(
            {
                "key": zone.key,
                "name": zone.name,
                "aim_mm": _aim(zone.aim),
                "floor": round(zone.floor, 4),
                "cover": _row(ahead.expected.cover[0, n], 4),
                "cover_low": _row(bands["cover"][0][n], 4) if bands else None,
                "cover_high": _row(bands["cover"][2][n], 4) if bands else None,
                "outline_mm": _row(ahead.expected.outline[0, n], 2),
                "outline_mm_low": _row(bands["outline"][0][n], 2) if bands else None,
                "outline_mm_high": _row(bands["outline"][2][n], 2) if bands else None,
                "ready": None if zone.aim is None else _windows(ahead.windows(zone.key)),
                "chance": None if zone.aim is None or not bands else _row(chance[n], 4),
            }
        )
    return rows


def sheet_result(sheet: Sheet) -> dict[str, Any]:
    """A visit's sheet as plain values: its own fields, numbers rounded to what a hand can do."""
    from coatwright.printing.sheet import plain

    fields = _rounded(plain(sheet))
    dog = {"id": fields.pop("dog_id"), "name": fields.pop("dog"), "pattern_name": fields.pop("pattern")}
    return {
        "kind": "sheet",
        "version": VERSION,
        "dog": {**dog, "weight_kg": fields.pop("weight_kg")},
        **fields,
    }


def _about(kind: str, dog: Dog) -> dict[str, Any]:
    return {
        "kind": kind,
        "version": VERSION,
        "dog": {"id": dog.id, "name": dog.name, "pattern": dog.pattern.key, "pattern_name": dog.pattern.name},
    }


def _option(option: Option) -> dict[str, Any]:
    return {
        "visits": option.visits,
        "minutes": round(option.minutes, 1),
        "ready_days": option.ready_days,
        "thinnest": round(option.thinnest, 4),
        "price": None if option.price is None else round(option.price, 2),
    }


def _shows(plan: DogPlan) -> list[dict[str, Any]]:
    from coatwright.salon.known import chance_at, expected_ready, is_measured_of

    rows = []
    for show in plan.dog.wish.shows:
        if show.day < plan.today:
            continue
        chance = chance_at(plan, show.id)
        judged = plan.option.plan.judged(day_of(show.day))
        rows.append(
            {
                "id": show.id,
                "name": show.name,
                "day": _iso(show.day),
                "place": show.place,
                "closing": None if show.closing is None else _iso(show.closing),
                "ready": all(state.ready for state in judged.values()),
                "chance": None if chance is None else round(chance.chance, 3),
                "zones_expected": None if chance is None else round(expected_ready(chance), 1),
                "measured": is_measured_of(plan),
                "zones": [
                    {
                        "key": key,
                        "ready": state.ready,
                        "chance": None if chance is None else round(chance.zones[key], 3),
                        "outline_mm": round(state.outline, 2),
                        "cover": round(state.cover, 4),
                        "misses": {name: round(by, 4) for name, by in state.misses},
                    }
                    for key, state in judged.items()
                ],
            }
        )
    return rows


def _windows(windows: Sequence[Window]) -> list[dict[str, Any]]:
    return [{"first": _iso(w.first), "last": _iso(w.last), "rests": w.rests} for w in windows]


def _aim(aim: Aim | None) -> list[Millimetres] | None:
    return None if aim is None else [round(aim.lo, 2), round(aim.hi, 2)]


def _row(values: Any, digits: int) -> list[float]:
    return [round(float(value), digits) for value in values]


def _rounded(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return round(value, 4) if isinstance(value, float) else value


def _name(key: str) -> str:
    from coatwright.patterns import zones

    return zones()[key].name


def _iso(day: date) -> str:
    return day.isoformat()
