"""A dog's facts as one event holds them: people and shows by id, the pattern by key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from coatwright.salon.patterns import pattern_from, pattern_plain
from coatwright.salon.records import (
    Assessment,
    Dog,
    DogLimits,
    DogWish,
    FixedVisit,
    PaperCount,
    Person,
    Reading,
    Show,
    Visit,
)
from coatwright.units import Millimetres, Minutes, Share

SAME = (
    *("id", "name", "born", "sex", "weight_kg", "height_mm", "colour", "ears", "tail"),
    *("growth", "zone_growth", "shape_mm", "single_coat", "limits", "speed", "welfare_cover", "notes"),
)
"""Fields that a dog and its facts share."""


@dataclass(frozen=True, slots=True)
class DogFacts:
    """What is set of a dog at once; its coat's history, fixed cells and fitness are events of their own.

    ``pattern`` is a key; ``own_pattern`` the TOML text of a pattern that does not come with the program.
    """

    id: str
    name: str
    pattern: str
    own_pattern: str = ""
    born: date | None = None
    sex: str = ""
    weight_kg: float | None = None
    height_mm: Millimetres | None = None
    colour: str = ""
    ears: str = ""
    tail: str = ""
    owner: str | None = None
    handler: str | None = None
    growth: Mapping[str, float] = field(default_factory=dict)
    zone_growth: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    shape_mm: Mapping[str, Millimetres] = field(default_factory=dict)
    single_coat: bool | None = None
    limits: DogLimits = field(default_factory=DogLimits)
    wish: DogWish = field(default_factory=DogWish)
    shows: tuple[str, ...] = ()
    speed: Mapping[str, Minutes] = field(default_factory=dict)
    welfare_cover: Share = 0.3
    notes: str = ""

    def __post_init__(self) -> None:
        dog_from(self)


def facts_of(dog: Dog) -> DogFacts:
    """The facts of a dog."""
    key, text = pattern_plain(dog.pattern)
    return DogFacts(
        **{name: getattr(dog, name) for name in SAME},
        pattern=key,
        own_pattern=text,
        owner=None if dog.owner is None else dog.owner.id,
        handler=None if dog.handler is None else dog.handler.id,
        wish=replace(dog.wish, shows=()),
        shows=tuple(show.id for show in dog.wish.shows),
    )


def dog_from(
    facts: DogFacts,
    *,
    people: Mapping[str, Person] | None = None,
    shows: Mapping[str, Show] | None = None,
    assessments: tuple[Assessment, ...] = (),
    visits: tuple[Visit, ...] = (),
    readings: tuple[Reading, ...] = (),
    papers: tuple[PaperCount, ...] = (),
    fixed: Mapping[tuple[str, date], Share] | None = None,
    fixed_visits: tuple[FixedVisit, ...] = (),
    rhythm: int | None = None,
    unfit: str = "",
) -> Dog:
    """A dog from its facts and history; people and shows that are not known are left out."""
    people, shows = people or {}, shows or {}
    return Dog(
        **{name: getattr(facts, name) for name in SAME},
        pattern=pattern_from(facts.pattern, facts.own_pattern),
        owner=people.get(facts.owner or ""),
        handler=people.get(facts.handler or ""),
        wish=replace(facts.wish, shows=tuple(shows[id] for id in facts.shows if id in shows)),
        assessments=assessments,
        visits=visits,
        readings=readings,
        papers=papers,
        fixed=fixed or {},
        fixed_visits=fixed_visits,
        rhythm=rhythm,
        unfit=unfit,
    )
