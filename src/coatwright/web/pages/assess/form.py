"""The form of an assessment: rows of zones, shares and ages, from the whole dog to the single zone."""

from __future__ import annotations

from datetime import date

from coatwright.coat.layers import UNDERCOATS
from coatwright.errors import InputError, OutOfRange, UnknownName
from coatwright.patterns.zones import zones
from coatwright.salon.coats import is_double
from coatwright.salon.events import new_id
from coatwright.salon.records import Assessment, Dog, LayerReading, ZoneReading
from coatwright.units import Millimetres, Share
from coatwright.web.forms import Fields, day_of_text, number_of
from coatwright.web.words import Words

LONGEST = 10_000
"""Greatest number that a row may give; the records hold closer limits of their own."""
ROWS = 14
"""Rows of the form."""
AGES = {
    "": "",
    "weeks": "weeks since the pull",
    "pulled": "pulled on (date)",
    "length": "length of whole hair",
    "resting": "full-grown",
}
GROUPS: dict[str, tuple[str, tuple[str, ...]]] = {
    "all": ("Whole dog", ()),
    "jacket": ("Jacket", ("back", "ribs", "croup", "shoulders", "neck")),
    "front": ("Front", ("forechest", "throat", "chest")),
    "rear_part": ("Rear and tail", ("rear", "tail", "thighs", "under_tail", "inner_thighs")),
    "legs": ("Legs and underline", ("forelegs", "hocks", "underline", "belly", "feet", "hind_feet")),
    "head": ("Head", ("skull", "cheeks", "ears", "foreface", "beard", "brows")),
}
"""Names for several zones at once; a smaller group goes before a larger one, a single zone before both."""
STARTS: dict[str, tuple[str, tuple[tuple[str, str, str], ...]]] = {
    "full": ("A full, old coat", (("100", "resting", ""),)),
    "stripped": ("Fully stripped some weeks ago", (("100", "weeks", "8"),)),
    "rolling": (
        "A rolling coat, a fifth every two weeks",
        (
            ("20", "weeks", "2"),
            ("20", "weeks", "4"),
            ("20", "weeks", "6"),
            ("20", "weeks", "8"),
            ("20", "weeks", "10"),
        ),
    ),
    "mixed": (
        "Pulled now and then",
        (("50", "resting", ""), ("30", "weeks", "12"), ("20", "weeks", "5")),
    ),
}
"""Coats to begin from, each as rows for the whole dog: share in %, how its age is told, and the age."""


def started(key: str, today: date) -> Fields:
    """The form as it is first shown; with a ``key`` of :data:`STARTS`, filled in for the whole dog."""
    values: dict[str, object] = {"id": new_id(), "day": today, "undercoat": "some"}
    rows = STARTS[key][1] if key in STARTS else ()
    for number, (share, age, value) in enumerate(rows):
        values |= {
            f"zones.{number}": "all",
            f"share.{number}": share,
            f"age.{number}": age,
            f"value.{number}": value,
        }
    return Fields.of(values)


def read(fields: Fields, dog: Dog, words: Words, today: date) -> Assessment:
    """The assessment that a form tells of."""
    day = fields.day("day", "day", needed=True) or today
    undercoat = fields.choice("undercoat", "undercoat", UNDERCOATS, default="some")
    groups: dict[str, list[LayerReading]] = {}
    for number in range(ROWS):
        row = _row(fields, number, words)
        if row is not None:
            groups.setdefault(row[0], []).append(row[1])
    if not groups:
        raise OutOfRange(
            "No row is filled in.",
            where="rows",
            remedy="Give at least one row for the whole dog: which share of the hair, and how old it is.",
        )
    readings: dict[str, ZoneReading] = {}
    for key in sorted(groups, key=lambda name: (name in zones(), name != "all")):
        covered = zones() if key == "all" else (key,) if key in zones() else GROUPS[key][1]
        for zone in covered:
            state = undercoat if is_double(dog) and zones()[zone].undercoat else "none"
            try:
                readings[zone] = ZoneReading(_whole(groups[key], key), state)
            except InputError as error:
                raise error.at(_name(key)) from error
    ordered = {key: readings[key] for key in zones() if key in readings}
    return Assessment(fields.text("id", "id") or new_id(), day, ordered)


def _row(fields: Fields, number: int, words: Words) -> tuple[str, LayerReading] | None:
    place = f"row {number + 1}"
    share = fields.share(f"share.{number}", f"share, {place}")
    if share is None:
        if fields.text(f"value.{number}", place):
            raise OutOfRange("The row has no share.", where=place, remedy="Give the share of the hairs in %.")
        return None
    where = fields.text(f"zones.{number}", f"zones, {place}") or "all"
    if where not in zones() and where not in GROUPS:
        raise UnknownName.of("zone", where[:60], [*GROUPS, *zones()], where=place)
    age = fields.choice(f"age.{number}", f"age, {place}", AGES)
    text = fields.text(f"value.{number}", place)
    try:
        return where, _layer(share, age, text, words)
    except InputError as error:
        raise error.at(place) from error


def _layer(share: Share, age: str, text: str, words: Words) -> LayerReading:
    if age == "resting":
        return LayerReading(share, resting=True)
    if not age or not text:
        raise OutOfRange(
            "The row does not say how old this hair is.", remedy="Choose how it is told, and give it."
        )
    if age == "pulled":
        return LayerReading(share, pulled=day_of_text(text, "pulled on"))
    mark, told = words.locale.mark, AGES[age]
    value = number_of(text, told, mark, fractions=age == "length" and words.unit == "in")
    if not 0.0 <= value <= LONGEST:
        raise OutOfRange(
            f"{text[:40]} cannot be.", where=told, remedy=f"It must lie between 0 and {LONGEST}."
        )
    if age == "weeks":
        return LayerReading(share, weeks=value)
    length: Millimetres = words.millimetres(value)
    return LayerReading(share, length_mm=length)


def _whole(layers: list[LayerReading], key: str) -> tuple[LayerReading, ...]:
    total = sum(layer.share for layer in layers)
    if abs(total - 1.0) > 0.0101:
        raise OutOfRange(
            f"The shares add up to {100 * total:.0f} %.",
            remedy="The rows of one part of the dog must add up to 100 %: what is not standing is under the skin "
            "(0 weeks since the pull).",
        )
    return tuple(layers)


def _name(key: str) -> str:
    return GROUPS[key][0] if key in GROUPS else zones()[key].name
