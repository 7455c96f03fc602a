"""The form of a dog's facts: a dog as fields, and fields as a dog."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace

from coatwright.errors import OutOfRange
from coatwright.patterns.library import pattern, patterns
from coatwright.patterns.model import COLOURS
from coatwright.patterns.shapes import EARS, TAILS
from coatwright.salon.filetables import slug
from coatwright.salon.fold import Salon
from coatwright.salon.records import APPROACHES, CADENCES, ENTRIES, SEXES, Dog, DogLimits, DogWish, Person
from coatwright.web.forms import Fields
from coatwright.web.words import Words

OWN = "(own)"
"""The choice that keeps a dog's own pattern, which did not come with the program."""
COATS = {"": None, "double": False, "single": True}


def fields_of(dog: Dog | None, words: Words) -> Fields:
    """The form of a dog; of a new one without."""
    if dog is None:
        return Fields.of({"approach": "free", "entry": "shares", "look": 60, "horizon": 26, "limit": 180})
    limits, wish = dog.limits, dog.wish
    return Fields.of(
        {
            "name": dog.name,
            "pattern": dog.pattern.key if dog.pattern.key in patterns() else OWN,
            "sex": dog.sex,
            "born": dog.born,
            "weight": words.typed(dog.weight_kg) or None,
            "height": words.shown_length(dog.height_mm) or None,
            "colour": dog.colour,
            "ears": dog.ears,
            "tail": dog.tail,
            "coat": next(word for word, single in COATS.items() if single == dog.single_coat),
            "owner": dog.owner.id if dog.owner else "",
            "handler": dog.handler.id if dog.handler else "",
            "notes": dog.notes,
            "approach": wish.approach,
            "entry": wish.entry,
            "ready_from": wish.ready_from,
            "shows": [show.id for show in wish.shows],
            "look": round(100 * wish.look_cover),
            "horizon": wish.horizon_weeks,
            "price": words.typed(wish.price_per_hour) or None,
            "limit": words.typed(limits.minutes),
            "cadences": list(limits.cadences),
            "days_off": list(limits.days_off),
            "first_visit": limits.first_visit,
            "bare_first": limits.no_bare[0][0] if limits.no_bare else None,
            "bare_last": limits.no_bare[0][1] if limits.no_bare else None,
        }
    )


def dog_of_fields(fields: Fields, before: Dog | None, salon: Salon, words: Words) -> Dog:
    """The dog that a form tells of, over what is kept of it. A new dog may bring a new owner."""
    name = fields.text("name", "name", needed=True)
    chosen = fields.text("pattern", "pattern", needed=True)
    own = before is not None and chosen == OWN
    owner = _owner(fields, salon, new=before is None)
    dog = before or Dog(free_id(name, salon.dogs), name, pattern(chosen))
    people = list(salon.people)
    handler = fields.choice("handler", "handler", ("", *people))
    height = fields.number("height", "height", low=0, unit=words.unit)
    return replace(
        dog,
        name=name,
        pattern=dog.pattern if own else pattern(chosen),
        sex=fields.choice("sex", "sex", SEXES),
        born=fields.day("born", "born"),
        weight_kg=fields.number("weight", "weight", low=1, high=100, unit="kg"),
        height_mm=None if height is None else words.millimetres(height),
        colour=fields.choice("colour", "colour", ("", *COLOURS)),
        ears=fields.choice("ears", "ears", ("", *EARS)),
        tail=fields.choice("tail", "tail", ("", *TAILS)),
        single_coat=COATS[fields.choice("coat", "undercoat", COATS)],
        owner=owner,
        handler=salon.people.get(handler),
        notes=fields.text("notes", "notes", lines=True),
        wish=_wish(fields, salon),
        limits=_limits(fields, dog.limits),
    )


def _wish(fields: Fields, salon: Salon) -> DogWish:
    look = fields.share("look", "cover of the look")
    return DogWish(
        approach=fields.choice("approach", "approach", APPROACHES, default="free"),
        entry=fields.choice("entry", "way into a rolling coat", ENTRIES, default="shares"),
        ready_from=fields.day("ready_from", "ready all the time from"),
        shows=tuple(salon.shows[key] for key in fields.choices("shows", "shows", salon.shows)),
        look_cover=0.6 if look is None else look,
        horizon_weeks=fields.whole("horizon", "weeks to plan", low=1, high=104, unit="weeks") or 26,
        price_per_hour=fields.number("price", "price of an hour", low=0, high=1e7),
    )


def _limits(fields: Fields, before: DogLimits) -> DogLimits:
    first, last = fields.day("bare_first", "not bare from"), fields.day("bare_last", "not bare until")
    if (first is None) != (last is None):
        raise OutOfRange(
            "One end of the time is missing.", where="not bare", remedy="Give both days, or neither."
        )
    minutes = fields.number("limit", "minutes per visit", low=5, high=600, unit="min")
    return replace(
        before,
        minutes=180.0 if minutes is None else minutes,
        cadences=tuple(
            int(days) for days in fields.choices("cadences", "days between visits", map(str, CADENCES))
        ),
        first_visit=fields.day("first_visit", "first visit"),
        days_off=tuple(
            int(day) for day in fields.choices("days_off", "days without visits", map(str, range(7)))
        ),
        no_bare=((first, last), *before.no_bare[1:]) if first and last else (),
    )


def _owner(fields: Fields, salon: Salon, *, new: bool) -> Person | None:
    """The owner chosen, or a new one by the name written."""
    written = fields.text("new_owner", "new owner") if new else ""
    if written:
        return Person(free_id(written, salon.people), written, "owner")
    return salon.people.get(fields.choice("owner", "owner", ("", *salon.people)))


def free_id(name: str, taken: Container[str]) -> str:
    """An id made from a name that none of ``taken`` has."""
    base = slug(name)[:100]
    if base not in taken and base not in RESERVED:
        return base
    return next(f"{base}-{number}" for number in range(2, 100_000) if f"{base}-{number}" not in taken)


RESERVED = frozenset({"new"})
"""Words that stand in an address where an id would."""
