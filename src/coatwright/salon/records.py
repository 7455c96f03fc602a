"""What is kept of a dog: who it is, its coat as read, what was pulled, and what is wished.

Every record checks itself when it is made and says what is wrong, where, and what to do. Dates are calendar
dates here; the model turns them into day numbers. A dog is the same record whether it was read from one file
or folded from the salon's events.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from coatwright.errors import OutOfOrder, OutOfRange, check_share
from coatwright.salon.checks import (
    check_dates,
    check_growth,
    check_looks,
    check_name,
    check_number,
    check_one_of,
    check_sorted,
    check_text,
    check_unique,
    check_zones,
)
from coatwright.salon.history import (
    EASES,
    LOOKS,
    MOMENTS,
    Assessment,
    LayerReading,
    PaperCount,
    Photo,
    Reading,
    Take,
    Visit,
    ZoneReading,
)
from coatwright.units import Millimetres, Minutes, Share

if TYPE_CHECKING:
    from coatwright.patterns.model import Pattern

ROLES = ("owner", "handler", "groomer")
STYLES = ("staged", "rolling")
APPROACHES = ("free", "rolling", "staged", "strip")
ENTRIES = ("shares", "strip")
CADENCES = (7, 10, 14, 21, 28)
QUIET = 2
"""Days up to and with a show on which no visit is planned: the coat needs quiet (see ``coat.aims.Aim.quiet``)."""
SEXES = ("", "dog", "bitch")
HISTORY: Mapping[str, str] = {
    "assessments": "assessment",
    "visits": "visit",
    "readings": "reading",
    "papers": "paper test",
}
"""The parts of a dog's history, and what one record of each is called."""

__all__ = [
    "APPROACHES",
    "CADENCES",
    "EASES",
    "ENTRIES",
    "HISTORY",
    "LOOKS",
    "MOMENTS",
    "QUIET",
    "ROLES",
    "SEXES",
    "STYLES",
    "Assessment",
    "Dog",
    "DogLimits",
    "DogWish",
    "FixedVisit",
    "LayerReading",
    "PaperCount",
    "Person",
    "Photo",
    "Reading",
    "Show",
    "Take",
    "Visit",
    "ZoneReading",
]


def check_rhythm(days: int | None, where: str = "rhythm") -> None:
    """Days between visits, when there are some: one of :data:`CADENCES`."""
    if days is not None and days not in CADENCES:
        raise OutOfRange(
            f"Visits every {days} days are not planned.",
            where=where,
            remedy=f"Use {', '.join(map(str, CADENCES))} days.",
        )


@dataclass(frozen=True, slots=True)
class Person:
    """An owner, a handler or a groomer."""

    id: str
    name: str
    role: str = "owner"
    phone: str = ""
    email: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        check_name(self.id, "A person's id")
        check_name(self.name, "A person's name")
        check_one_of(self.role, ROLES, "role", where=self.name)
        for key in ("phone", "email", "note"):
            check_text(getattr(self, key), key, where=self.name)


@dataclass(frozen=True, slots=True)
class Show:
    """A day on which a dog is judged, and the style of coat that it is shown in."""

    id: str
    name: str
    day: date
    place: str = ""
    closing: date | None = None
    aim: str = "staged"

    def __post_init__(self) -> None:
        check_name(self.id, "A show's id")
        check_name(self.name, "A show's name")
        check_text(self.place, "place", where=self.name)
        check_one_of(self.aim, STYLES, "aim", where=self.name)
        if self.closing is not None and self.closing > self.day:
            raise OutOfOrder(
                f"Entries close on {self.closing}, after the show on {self.day}.",
                where=self.name,
                remedy="Give a closing date on or before the day of the show.",
            )


@dataclass(frozen=True, slots=True)
class DogLimits:
    """What a visit may cost the dog, and when it can come.

    ``minutes``      per visit; a dog is not kept on the table for more than 3 h a day (common practice)
    ``cadences``     days between visits, of 7, 10, 14, 21, 28; empty: the plan chooses
    ``first_visit``  the day from which visits count
    ``away``         spans of dates, both ends included, in which the dog cannot come
    ``days_off``     weekdays without visits, 0 is Monday
    ``no_bare``      spans in which the owner rules out a bare dog
    """

    minutes: Minutes = 180.0
    cadences: tuple[int, ...] = ()
    first_visit: date | None = None
    away: tuple[tuple[date, date], ...] = ()
    days_off: tuple[int, ...] = ()
    no_bare: tuple[tuple[date, date], ...] = ()

    def __post_init__(self) -> None:
        for key in ("cadences", "days_off"):
            object.__setattr__(self, key, tuple(sorted(set(getattr(self, key)))))
        for key in ("away", "no_bare"):
            spans = tuple(sorted((first, last) for first, last in getattr(self, key)))
            object.__setattr__(self, key, spans)
            check_dates(spans, key)
        check_number(self.minutes, "minutes", 5.0, 600.0, "min")
        for days in self.cadences:
            check_rhythm(days, "cadences")
        for weekday in self.days_off:
            check_number(weekday, "days_off", 0, 6)
        if len(self.days_off) == 7:
            raise OutOfRange(
                "Every weekday is a day off.", where="days_off", remedy="Leave at least one day for visits."
            )


@dataclass(frozen=True, slots=True)
class FixedVisit:
    """A visit of the plan that is set by hand.

    ``day``      the day on which the plan's rhythm has it; of an added visit its own
    ``on``       the day to which it is moved; ``None`` leaves it where it is
    ``dropped``  whether it is left out
    ``added``    whether it comes besides the rhythm
    ``minutes``  limit of this visit, set-up included; ``None`` is that of every visit
    """

    day: date
    on: date | None = None
    dropped: bool = False
    added: bool = False
    minutes: Minutes | None = None

    def __post_init__(self) -> None:
        if self.dropped and (self.added or self.on is not None or self.minutes is not None):
            raise OutOfRange(
                f"The visit of {self.day} is dropped and still has a day or minutes.",
                where="fixed_visits",
                remedy="Drop the visit, or move it and give it minutes.",
            )
        check_number(self.minutes, "minutes", 0.0, 600.0, "min", where="fixed_visits")

    @property
    def at(self) -> date:
        """The day on which the visit takes place."""
        return self.on or self.day


@dataclass(frozen=True, slots=True)
class DogWish:
    """What the owner wants of the coat.

    ``approach``        ``free`` lets the plan choose; ``rolling``, ``staged`` and ``strip`` fix it by hand
    ``entry``           way into a rolling coat: by ``shares`` from a full coat, or after a full ``strip``
    ``ready_from``      a rolling coat is wished from this day on
    ``shows``           days on which the dog is judged, in order of their dates
    ``look_cover``      least cover of every zone all year in a rolling coat (common practice 0.5 to 0.6)
    ``horizon_weeks``   how far to plan, weeks
    ``price_per_hour``  in the salon's own currency
    """

    approach: str = "free"
    entry: str = "shares"
    ready_from: date | None = None
    shows: tuple[Show, ...] = ()
    look_cover: Share = 0.6
    horizon_weeks: int = 26
    price_per_hour: float | None = None

    def __post_init__(self) -> None:
        check_one_of(self.approach, APPROACHES, "approach")
        check_one_of(self.entry, ENTRIES, "entry")
        object.__setattr__(self, "shows", tuple(sorted(self.shows, key=lambda show: (show.day, show.id))))
        check_unique([show.id for show in self.shows], "show", where="shows")
        check_share(self.look_cover, "The cover of the look", where="look_cover")
        check_number(self.horizon_weeks, "horizon_weeks", 1, 104, "weeks")
        check_number(self.price_per_hour, "price_per_hour", 0.0, 1e7)


@dataclass(frozen=True, slots=True)
class Dog:
    """One dog with its pattern, its coat's history, its limits and its owner's wish.

    ``colour``, ``ears``, ``tail``  how it is drawn; "" is as in the pattern
    ``growth``, ``zone_growth``     growth values of the whole dog and of single zones, named as in
                                    :class:`coatwright.coat.growth.Growth`
    ``shape_mm``                    mm added to a zone's aim (more on the ribs of a lean dog)
    ``unfit``                       why nothing may be planned; "" when the dog is fit
    ``single_coat``                 whether it has no undercoat; ``None`` is as in the pattern
    ``fixed``                       takes set by hand, by zone and day of the visit; of a moved visit the
                                    day on which the rhythm has it
    ``fixed_visits``                visits moved, dropped, added or given minutes of their own by hand
    ``rhythm``                      days between the visits that were set by hand; the plan keeps to it as
                                    long as one of them is to come, ``None`` leaves the choice to the plan
    ``speed``                       min for pulling a whole zone of this dog
    ``welfare_cover``               least cover of a zone without undercoat: 0.3 is this program's own
                                    assumption and can be set otherwise
    """

    id: str
    name: str
    pattern: Pattern
    born: date | None = None
    sex: str = ""
    weight_kg: float | None = None
    height_mm: Millimetres | None = None
    colour: str = ""
    ears: str = ""
    tail: str = ""
    owner: Person | None = None
    handler: Person | None = None
    growth: Mapping[str, float] = field(default_factory=dict)
    zone_growth: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    shape_mm: Mapping[str, Millimetres] = field(default_factory=dict)
    unfit: str = ""
    single_coat: bool | None = None
    limits: DogLimits = field(default_factory=DogLimits)
    wish: DogWish = field(default_factory=DogWish)
    assessments: tuple[Assessment, ...] = ()
    visits: tuple[Visit, ...] = ()
    readings: tuple[Reading, ...] = ()
    papers: tuple[PaperCount, ...] = ()
    fixed: Mapping[tuple[str, date], Share] = field(default_factory=dict)
    fixed_visits: tuple[FixedVisit, ...] = ()
    rhythm: int | None = None
    speed: Mapping[str, Minutes] = field(default_factory=dict)
    welfare_cover: Share = 0.3
    notes: str = ""

    def __post_init__(self) -> None:
        check_name(self.id, "A dog's id")
        check_name(self.name, "A dog's name")
        for key in ("growth", "shape_mm", "fixed", "speed"):
            object.__setattr__(self, key, dict(getattr(self, key)))
        overrides = {zone: dict(values) for zone, values in self.zone_growth.items() if values}
        object.__setattr__(self, "zone_growth", overrides)
        for key in HISTORY:
            object.__setattr__(self, key, tuple(getattr(self, key)))
        by_day = sorted(self.fixed_visits, key=lambda visit: visit.day)
        object.__setattr__(self, "fixed_visits", tuple(by_day))
        self._check_body()
        self._check_zones()
        self._check_fixed_visits()
        self._check_history()

    def visit_set_on(self, day: date) -> FixedVisit | None:
        """What is set by hand of the visit that takes place on a day, None where the plan chose all of it."""
        return next((each for each in self.fixed_visits if each.at == day and not each.dropped), None)

    def rhythm_day(self, day: date) -> date:
        """The day on which the rhythm has the visit of a day: another one where it was moved by hand."""
        moved = self.visit_set_on(day)
        return day if moved is None else moved.day

    def _check_body(self) -> None:
        check_one_of(self.sex, SEXES, "sex")
        check_number(self.weight_kg, "weight_kg", 1.0, 100.0, "kg")
        check_number(self.height_mm, "height_mm", 150.0, 1000.0, "mm")
        check_looks(self.colour, self.ears, self.tail)
        check_text(self.unfit, "unfit", most=500)
        check_text(self.notes, "notes")
        check_share(self.welfare_cover, "The welfare cover", where="welfare_cover")

    def _check_zones(self) -> None:
        for key in ("zone_growth", "shape_mm", "speed"):
            check_zones(getattr(self, key), where=key)
        check_zones([zone for zone, _ in self.fixed], where="fixed")
        check_growth(self.growth, where="growth")
        for zone, overrides in self.zone_growth.items():
            check_growth(overrides, where=f"zone_growth, {zone}")
        for zone, mm in self.shape_mm.items():
            check_number(mm, zone, -100.0, 100.0, "mm", where="shape_mm")
            if zone not in self.pattern.aims:
                raise OutOfRange(
                    f"The pattern {self.pattern.key!r} has no aim for {zone}, so it cannot be shaped.",
                    where=f"shape_mm, {zone}",
                    remedy="Leave it out, or give the zone an aim in a pattern of your own.",
                )
        for zone, minutes in self.speed.items():
            check_number(minutes, zone, 0.1, 600.0, "min", where="speed")
        for (zone, day), share in self.fixed.items():
            check_share(share, "The fixed take", where=f"fixed, {zone} on {day}")

    def _check_fixed_visits(self) -> None:
        check_unique(
            [visit.day.isoformat() for visit in self.fixed_visits], "fixed visit", where="fixed_visits"
        )
        check_rhythm(self.rhythm)

    def _check_history(self) -> None:
        for key, kind in HISTORY.items():
            records = getattr(self, key)
            check_unique([record.id for record in records], kind, where=key)
            check_sorted([record.day for record in records], kind, where=key)
        if self.visits and (not self.assessments or self.visits[0].day < self.assessments[0].day):
            first = f"the first is of {self.assessments[0].day}" if self.assessments else "there is none"
            raise OutOfOrder(
                f"The visit of {self.visits[0].day} has no assessment of the coat before it: {first}.",
                where="visits",
                remedy="Give an assessment on or before the day of the first visit.",
            )
        if self.born is not None:
            for key in HISTORY:
                for record in getattr(self, key):
                    if record.day < self.born:
                        raise OutOfOrder(
                            f"{self.name} is born on {self.born}, after {record.day} in {key}.",
                            where="born",
                            remedy="Correct the birth date or the other date.",
                        )
