"""What has been done to a demo dog so far: its first assessment, its visits and readings."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from random import Random

from coatwright.coat.growth import Growth, emerged
from coatwright.coat.layers import ZoneCoat
from coatwright.demo.people import GROOMERS, PEOPLE
from coatwright.demo.sketches import CLOSED, Sketch
from coatwright.patterns import Pattern, Zone, pattern, surface_factor, zones
from coatwright.salon.coats import coat_of, growth_of, is_double
from coatwright.salon.records import (
    Assessment,
    Dog,
    DogLimits,
    DogWish,
    LayerReading,
    Reading,
    Show,
    Take,
    Visit,
    ZoneReading,
)
from coatwright.units import day_of

TOOLS = ("fingers", "coarse stripping stone", "fine knife, blunt")
READ = ("back", "ribs", "thighs")
"""Zones that are measured with comb and ruler after every second visit."""
SET_UP = 15.0
"""Minutes of a visit before and after the pulling."""


def dog_as_it_is(sketch: Sketch, today: date, shows: dict[str, Show], rng: Random) -> Dog:
    """The dog of a sketch with its past up to ``today``."""
    last = _open_day(today - timedelta(days=sketch.ago))
    following = last + timedelta(days=sketch.cadence if sketch.visits else 0)
    days = [last - timedelta(days=sketch.cadence * back) for back in reversed(range(sketch.visits))]
    first = (days[0] if days else last) - timedelta(days=0 if not days else rng.choice((0, 0, 1)))
    dog = _bare(sketch, today, shows, _next_open_day(max(following, today)))
    dog = replace(dog, assessments=(_first_coat(dog, sketch, first, rng),))
    for number, day in enumerate(days):
        visit = _visit(dog, sketch, day, rng, last=number == len(days) - 1)
        dog = replace(dog, visits=(*dog.visits, visit))
        if number % 2 == 1:
            dog = replace(dog, readings=(*dog.readings, *_readings(dog, day, rng)))
    return dog


def _open_day(day: date) -> date:
    while day.weekday() in CLOSED:
        day -= timedelta(days=1)
    return day


def _next_open_day(day: date) -> date:
    while day.weekday() in CLOSED:
        day += timedelta(days=1)
    return day


def _bare(sketch: Sketch, today: date, shows: dict[str, Show], first_visit: date) -> Dog:
    breed = pattern(sketch.pattern)
    ready = None if sketch.ready_weeks is None else today + timedelta(weeks=sketch.ready_weeks)
    return Dog(
        id=sketch.id,
        name=sketch.name,
        pattern=breed,
        born=today - timedelta(days=round(365.25 * sketch.years)),
        sex=sketch.sex,
        weight_kg=sketch.weight_kg or breed.weight_kg,
        height_mm=sketch.height_mm or breed.height_mm,
        colour=sketch.colour,
        ears=sketch.ears or breed.ears,
        tail=sketch.tail or breed.tail,
        owner=PEOPLE[sketch.owner],
        handler=PEOPLE[sketch.handler] if sketch.handler else None,
        growth={} if sketch.rate is None else {"rate": sketch.rate},
        zone_growth={
            key: {"end": 0.95 * breed.aims[key].hi} for key, zone in zones().items() if zone.work == "tidy"
        },  # beard and brows are kept at their length by tidying
        shape_mm=sketch.shape_mm,
        unfit=sketch.unfit,
        single_coat=sketch.single_coat,
        limits=DogLimits(
            minutes=sketch.minutes, cadences=sketch.cadences, first_visit=first_visit, days_off=CLOSED
        ),
        wish=DogWish(
            approach=sketch.approach, ready_from=ready, shows=tuple(shows[id] for id in sketch.shows)
        ),
        notes=sketch.notes,
    )


def _first_coat(dog: Dog, sketch: Sketch, day: date, rng: Random) -> Assessment:
    found = {}
    for key, zone in zones().items():
        coated = is_double(dog) and zone.undercoat
        undercoat = "none" if not coated else "packed" if sketch.coat != "even" else "some"
        found[key] = ZoneReading(_layers(dog, sketch, zone, rng), undercoat)
    return Assessment(f"{dog.id}-coat-{day}", day, found)


def _layers(dog: Dog, sketch: Sketch, zone: Zone, rng: Random) -> tuple[LayerReading, ...]:
    growth = growth_of(dog, zone.key)
    if zone.work == "scissors":
        return (LayerReading(1.0, resting=True, cut_to_mm=12.0),)
    if sketch.coat == "even":
        return _even(dog.pattern, zone.key, growth, sketch.cadence)
    if sketch.coat == "scissored" and zone.work == "pull" and not zone.tender:
        return (
            LayerReading(0.75, resting=True, cut_to_mm=float(rng.choice((16, 18, 20)))),
            LayerReading(0.25, weeks=float(rng.choice((9, 10, 11)))),
        )
    grown = rng.choice((0.2, 0.25, 0.3))
    return (
        LayerReading(1.0 - grown, resting=True),
        LayerReading(grown, weeks=float(rng.choice((11, 13, 15)))),
    )


def _even(breed: Pattern, zone: str, growth: Growth, cadence: int) -> tuple[LayerReading, ...]:
    """Equal layers, a visit apart, of which the oldest is about to reach the end of the aim."""
    count = _count(breed, zone, growth, cadence)
    return tuple(LayerReading(1.0 / count, weeks=cadence * (step + 1) / 7.0) for step in range(count))


def _count(breed: Pattern, zone: str, growth: Growth, cadence: int) -> int:
    """How many layers a rolling zone holds: the age at which its hair leaves the aim over the days between."""
    oldest = growth.lag + 0.85 * breed.aims[zone].hi / growth.speed
    return max(min(round(oldest / cadence), 20), 2)


def _visit(dog: Dog, sketch: Sketch, day: date, rng: Random, *, last: bool) -> Visit:
    coats = coat_of(dog, day)
    scale = surface_factor(dog.weight_kg or dog.pattern.weight_kg)
    takes, minutes = {}, SET_UP
    for key, zone in zones().items():
        if zone.work != "pull":
            continue
        growth = growth_of(dog, key)
        even = 0.05 * round(20.0 / _count(dog.pattern, key, growth, sketch.cadence))
        planned = round(min(even if sketch.coat == "even" else sketch.take, zone.cap), 2)
        done = sketch.over.get(key, planned + rng.choice((0.0, 0.0, 0.0, 0.05, -0.05))) if last else planned
        share = round(min(done, zone.cap, _standing(coats[key], day, growth)), 2)
        if share < 0.05:
            continue
        spent = round(zone.minutes * scale * share * rng.uniform(0.85, 1.25), 1)
        takes[key] = Take(
            share,
            planned=planned,
            tool=TOOLS[0] if zone.tender else rng.choice(TOOLS),
            minutes=spent,
            broken=rng.choice((0.02, 0.03, 0.05)),
            selectivity=rng.choice((0.85, 0.9, 1.0)),
            reaction="moved away once" if zone.tender and rng.random() < 0.2 else "",
        )
        minutes += spent
    carded = [
        key for key, zone in zones().items() if is_double(dog) and zone.undercoat and zone.work == "pull"
    ]
    return Visit(
        f"{dog.id}-visit-{day}",
        day,
        takes,
        tuple(carded),
        round(minutes),
        "More came out along the back and ribs than was planned." if last and sketch.over else "",
        rng.choice(GROOMERS),
    )


def _standing(coat: ZoneCoat, day: date, growth: Growth) -> float:
    """Share of hairs above the skin, rounded down to a hundredth."""
    share = float(coat.shares[emerged(day_of(day) - coat.born, growth)].sum())
    return int(100.0 * share + 1e-6) / 100.0


def _readings(dog: Dog, day: date, rng: Random) -> tuple[Reading, ...]:
    """Comb and ruler after the visit, with the error of a ruler held to a dog that breathes."""
    coats = coat_of(dog, day)
    found = []
    for key in READ:
        growth = growth_of(dog, key)
        lengths = coats[key].lengths(day_of(day), growth)
        longest = 2.0 * round(float(lengths.max()) * (1.0 + 1.2 * growth.spread) / 2.0 + rng.gauss(0.0, 0.5))
        above = lengths[lengths > 0.0]
        shortest = 2.0 * round(float(above.min()) / 2.0) if above.size else None
        seen = 0.05 * round(20.0 * min(_standing(coats[key], day, growth) + rng.gauss(0.0, 0.04), 1.0))
        found.append(
            Reading(
                f"{dog.id}-{key}-{day}",
                day,
                key,
                longest,
                None if shortest is None else min(shortest, longest),
                round(min(max(seen, 0.0), 1.0), 2),
                at_visit="after",
            )
        )
    return tuple(found)
