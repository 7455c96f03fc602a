"""The tables of a dog's file and what they mean: from plain values to the record of a dog."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any, cast

from coatwright.coat.layers import UNDERCOATS
from coatwright.errors import FileFormatError, InputError, UnknownName
from coatwright.patterns.library import pattern as shipped
from coatwright.patterns.library import read_pattern
from coatwright.patterns.model import Pattern
from coatwright.patterns.reading import TOP_KEYS, parse_pattern
from coatwright.patterns.zones import zones
from coatwright.salon.checks import GROWTH_NAMES, check_zones
from coatwright.salon.plain import KeyPath, Misplaced, check_keys, from_plain, placed, rows, value, wrong
from coatwright.salon.records import (
    Assessment,
    Dog,
    DogLimits,
    DogWish,
    FixedVisit,
    LayerReading,
    PaperCount,
    Person,
    Reading,
    Show,
    Take,
    Visit,
    ZoneReading,
)
from coatwright.salon.toml import toml_of

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
ALL = "all"


def _names(kind: type, *, without: tuple[str, ...] = ()) -> tuple[str, ...]:
    return tuple(item.name for item in fields(kind) if item.name not in without)


DOG_KEYS = (
    *("id", "name", "pattern", "born", "sex", "weight_kg", "height_mm", "colour", "ears", "tail"),
    *("unfit", "single_coat", "welfare_cover", "rhythm", "notes"),
)
DOG_KINDS: Mapping[str, type] = {
    "born": date,
    "weight_kg": float,
    "height_mm": float,
    "single_coat": bool,
    "welfare_cover": float,
    "rhythm": int,
}
KEYS: Mapping[str, tuple[str, ...]] = {
    "": (
        *("today", "dog", "pattern", "growth", "zones", "owner", "handler", "limits", "wish", "shows"),
        *("coat", "visits", "readings", "papers", "fixed", "fixed_visits"),
    ),
    "dog": DOG_KEYS,
    "growth": GROWTH_NAMES,
    "zones": ("shape_mm", "minutes", "growth"),
    "owner": _names(Person),
    "limits": _names(DogLimits),
    "wish": _names(DogWish, without=("shows",)),
    "shows": _names(Show),
    "coat": ("id", "day", "undercoat", "layers"),
    "layers": ("zones", *_names(LayerReading)),
    "visits": _names(Visit),
    "takes": _names(Take),
    "readings": _names(Reading),
    "papers": _names(PaperCount),
    "fixed": ("zone", "day", "share"),
    "fixed_visits": _names(FixedVisit),
}
"""Every key of the file by the table that it belongs to; ``""`` is the top of the file."""


def slug(name: str) -> str:
    """A name as an id: small letters, digits and hyphens."""
    plain = re.sub(r"[^\w]+", "-", name.lower()).strip("-_")
    return plain or "unnamed"


def dog_of_tables(table: dict[str, Any], folder: Path | None) -> Dog:
    """The dog that a file's tables describe; raises :class:`Misplaced` or :class:`InputError`."""
    about = check_keys(table.get("dog", {}), DOG_KEYS, ("dog",))
    if "name" not in about:
        raise wrong("The dog has no name.", ("dog", "name"), 'Add name = "..." under [dog].')
    name = str(value(str, about["name"], ("dog", "name")))
    id = str(value(str, about.get("id", slug(name)), ("dog", "id")))
    kinds = {
        "born": date,
        "weight_kg": float,
        "height_mm": float,
        "single_coat": bool,
        "welfare_cover": float,
    }
    body = {
        key: value(kinds.get(key, str), about[key], ("dog", key))
        for key in about
        if key not in ("id", "name", "pattern")
    }
    pattern = _pattern(table, about, folder)
    double = pattern.double_coat if body.get("single_coat") is None else not body["single_coat"]
    of_zones = _zones(table.get("zones", {}))
    return Dog(
        id=id,
        name=name,
        pattern=pattern,
        **body,
        owner=_person(table, "owner"),
        handler=_person(table, "handler"),
        growth=_numbers(table.get("growth", {}), GROWTH_NAMES, ("growth",)),
        zone_growth=of_zones["growth"],
        shape_mm=of_zones["shape_mm"],
        speed=of_zones["minutes"],
        limits=_limits(table.get("limits", {})),
        wish=_wish(table),
        assessments=_assessments(table.get("coat", []), id, double),
        visits=_visits(table.get("visits", []), id, double),
        readings=tuple(
            from_plain(Reading, {"id": f"{id}-reading-{at + 1}", **_table(row, Reading, path)}, path)
            for at, row, path in _rows(table, "readings")
        ),
        papers=tuple(
            from_plain(PaperCount, {"id": f"{id}-paper-{at + 1}", **_table(row, PaperCount, path)}, path)
            for at, row, path in _rows(table, "papers")
        ),
        fixed=_fixed(table),
        fixed_visits=tuple(
            from_plain(FixedVisit, _table(row, FixedVisit, path), path)
            for _, row, path in _rows(table, "fixed_visits")
        ),
    )


def _rows(table: dict[str, Any], key: str) -> list[tuple[int, Any, KeyPath]]:
    found = rows(table.get(key, []), (key,))
    return [(at, row, (key, at)) for at, row in enumerate(found)]


def _table(data: object, kind: type, path: KeyPath) -> dict[str, Any]:
    return check_keys(data, _names(kind), path)


def _pattern(table: dict[str, Any], about: dict[str, Any], folder: Path | None) -> Pattern:
    path: KeyPath = ("dog", "pattern")
    if "pattern" in table:
        if "pattern" in about:
            raise wrong(
                "The pattern is given twice.",
                path,
                "Leave one out: [dog] pattern or [pattern].",
            )
        own = check_keys(table["pattern"], TOP_KEYS, ("pattern",))
        try:
            return parse_pattern(
                toml_of(own), "", slug(str(own.get("name", "own"))).replace("-", "_"), shipped
            )
        except FileFormatError as error:
            place = error.where.rpartition(", ")[2]
            inner = () if place.startswith("line ") else tuple(place.split("."))
            raise Misplaced(error, ("pattern", *inner)) from error
    if "pattern" not in about:
        raise wrong("The dog has no pattern.", path, 'Add pattern = "..." under [dog], or a table [pattern].')
    key = value(str, about["pattern"], path)
    if key.endswith(".toml"):
        return read_pattern((folder or Path()) / key)
    try:
        return shipped(key)
    except UnknownName as error:
        raise Misplaced(error, path) from error


def _person(table: dict[str, Any], role: str) -> Person | None:
    if role not in table:
        return None
    row = _table(table[role], Person, (role,))
    usual = {"id": slug(str(row.get("name", ""))), "role": role}
    return from_plain(Person, {**usual, **row}, (role,))


def _numbers(data: object, known: tuple[str, ...], path: KeyPath) -> dict[str, float]:
    table = check_keys(data, known, path)
    return {key: value(float, table[key], (*path, key)) for key in table}


def _zones(data: object) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {"shape_mm": {}, "minutes": {}, "growth": {}}
    table = check_keys(data, tuple(zones()), ("zones",), "zone")
    for zone, row in table.items():
        path: KeyPath = ("zones", zone)
        for key, item in check_keys(row, KEYS["zones"], path).items():
            if key == "growth":
                found[key][zone] = _numbers(item, GROWTH_NAMES, (*path, key))
            else:
                found[key][zone] = value(float, item, (*path, key))
    return found


def _limits(data: object) -> DogLimits:
    table = _table(data, DogLimits, ("limits",))
    if "days_off" in table:
        path: KeyPath = ("limits", "days_off")
        table["days_off"] = [
            _weekday(item, (*path, at)) for at, item in enumerate(rows(table["days_off"], path))
        ]
    return from_plain(DogLimits, table, ("limits",))


def _weekday(item: object, path: KeyPath) -> int:
    if isinstance(item, str):
        if item.lower() not in WEEKDAYS:
            raise Misplaced(UnknownName.of("weekday", item, WEEKDAYS), path)
        return WEEKDAYS.index(item.lower())
    return cast(int, value(int, item, path))


def _wish(table: dict[str, Any]) -> DogWish:
    wish = check_keys(table.get("wish", {}), KEYS["wish"], ("wish",))
    shows = []
    for _, row, path in _rows(table, "shows"):
        row = _table(row, Show, path)
        shows.append(from_plain(Show, {"id": slug(str(row.get("name", ""))), **row}, path))
    made = from_plain(DogWish, wish, ("wish",))
    return DogWish(**{**{key: getattr(made, key) for key in KEYS["wish"]}, "shows": tuple(shows)})


def _assessments(data: object, dog: str, double: bool) -> tuple[Assessment, ...]:
    several = isinstance(data, list)
    found: list[Assessment] = []
    for at, row in enumerate(rows(data, ("coat",)) if several else [data]):
        path: KeyPath = ("coat", at) if several else ("coat",)
        table = check_keys(row, KEYS["coat"], path)
        if "day" not in table:
            raise wrong("The coat has no day.", (*path, "day"), "Add the day on which it was read.")
        day = value(date, table["day"], (*path, "day"))
        readings = _zone_readings(table, path, double)
        usual = f"{dog}-coat-{day}" + (f"-{at + 1}" if any(made.day == day for made in found) else "")
        id = value(str, table.get("id", usual), (*path, "id"))
        with placed(path):
            found.append(Assessment(id, day, readings))
    return tuple(found)


def _zone_readings(table: dict[str, Any], path: KeyPath, double: bool) -> dict[str, ZoneReading]:
    """Layers by zone: a zone that a row names takes only rows that name it, the others those for all."""
    named: dict[str, list[LayerReading]] = {}
    for_all: list[LayerReading] = []
    for at, row in enumerate(rows(table.get("layers", []), (*path, "layers"))):
        here: KeyPath = (*path, "layers", at)
        cells = check_keys(row, KEYS["layers"], here)
        which = cells.pop("zones", ALL)
        layer = from_plain(LayerReading, cells, here)
        if which == ALL:
            for_all.append(layer)
        else:
            for zone in _zone_names(which, (*here, "zones")):
                named.setdefault(zone, []).append(layer)
    layers = {**(dict.fromkeys(zones(), for_all) if for_all else {}), **named}
    undercoat = _undercoats(table.get("undercoat", "some"), (*path, "undercoat"), double)
    found = {}
    for zone in zones():
        if zone in layers:
            try:
                found[zone] = ZoneReading(tuple(layers[zone]), undercoat[zone])
            except InputError as error:
                told = type(error)(error.what.replace("This zone", f"The zone {zone}"), remedy=error.remedy)
                raise Misplaced(told, (*path, "layers")) from error
    return found


def _zone_names(which: object, path: KeyPath) -> list[str]:
    names = [which] if isinstance(which, str) else rows(which, path)
    for at, name in enumerate(names):
        with placed((*path, at)):
            check_zones([value(str, name, (*path, at))])
    return names


def _undercoats(data: object, path: KeyPath, double: bool) -> dict[str, str]:
    """The undercoat by zone; a word for all means the zones that have one."""
    table = {ALL: data} if isinstance(data, str) else check_keys(data, (ALL, *zones()), path, "zone")
    for key, word in table.items():
        if word not in UNDERCOATS:
            here = path if isinstance(data, str) else (*path, key)
            raise Misplaced(UnknownName.of("state of the undercoat", str(word), UNDERCOATS), here)
    usual = table.pop(ALL, "some")
    return {zone: usual if double and row.undercoat else "none" for zone, row in zones().items()} | table


def _pulled() -> list[str]:
    return [zone for zone, row in zones().items() if row.work == "pull"]


def _visits(data: object, dog: str, double: bool) -> tuple[Visit, ...]:
    """Visits; a take for all, and a carding of all, means the zones that are pulled and are not named."""
    found: list[Visit] = []
    for at, row in enumerate(rows(data, ("visits",))):
        path: KeyPath = ("visits", at)
        table = _table(row, Visit, path)
        takes = check_keys(table.get("takes", {}), (ALL, *zones()), (*path, "takes"), "zone")
        if ALL in takes:
            takes = dict.fromkeys(_pulled(), takes.pop(ALL)) | takes
        table["takes"] = {z: {"share": t} if isinstance(t, int | float) else t for z, t in takes.items()}
        if table.get("carded") == ALL:
            table["carded"] = [zone for zone in _pulled() if double and zones()[zone].undercoat]
        again = sum(made.day == table.get("day") for made in found)
        usual = {"id": f"{dog}-visit-{table.get('day')}" + (f"-{again + 1}" if again else "")}
        found.append(from_plain(Visit, {**usual, **table}, path))
    return tuple(found)


def _fixed(table: dict[str, Any]) -> dict[tuple[str, date], float]:
    found = {}
    for _, row, path in _rows(table, "fixed"):
        cells = check_keys(row, KEYS["fixed"], path)
        for key in KEYS["fixed"]:
            if key not in cells:
                raise wrong(f"The key {key!r} is missing.", path, "Give zone, day and share.")
        zone = value(str, cells["zone"], (*path, "zone"))
        with placed((*path, "zone")):
            check_zones([zone])
        day = value(date, cells["day"], (*path, "day"))
        found[zone, day] = value(float, cells["share"], (*path, "share"))
    return found
