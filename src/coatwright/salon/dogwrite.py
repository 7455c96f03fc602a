"""A dog as the text of a TOML file that reads back equal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from coatwright.patterns.zones import zones
from coatwright.salon.coats import is_double
from coatwright.salon.filetables import ALL, DOG_KEYS, WEEKDAYS, slug
from coatwright.salon.patterns import pattern_plain
from coatwright.salon.plain import to_plain
from coatwright.salon.records import Assessment, Dog, LayerReading, Person, Visit
from coatwright.salon.toml import key_of, value_of


def write_dogfile(dog: Dog, today: date | None = None) -> str:
    """The TOML text of a dog, with the day to plan from when it is given."""
    key, own = pattern_plain(dog.pattern)
    about = {name: getattr(dog, name) for name in DOG_KEYS if name not in ("pattern", "id")}
    bare = Dog(dog.id, dog.name, dog.pattern)
    dog_table = {"name": dog.name}
    if dog.id != slug(dog.name):
        dog_table["id"] = dog.id
    if not own:
        dog_table["pattern"] = key
    dog_table |= {
        name: here for name, here in about.items() if name != "name" and here != getattr(bare, name)
    }
    parts = [f"today = {today.isoformat()}\n" if today else "", _section("dog", dog_table)]
    if own:
        parts.append(_pattern_text(own))
    parts += [
        _section("growth", dog.growth),
        *(_section(f"zones.{zone}", row) for zone, row in _zone_rows(dog).items()),
        *(
            _section(role, _person(who, role))
            for role, who in (("owner", dog.owner), ("handler", dog.handler))
        ),
        _section("limits", _limits(dog)),
        _section("wish", to_plain(replace(dog.wish, shows=()))),
        *(
            _section("shows", _usual(to_plain(show), id=slug(show.name)), many=True)
            for show in dog.wish.shows
        ),
        *(_assessment(dog, each) for each in dog.assessments),
        *(_visit(dog, visit) for visit in dog.visits),
        *(
            _section("readings", _usual(to_plain(each), id=f"{dog.id}-reading-{at}"), many=True)
            for at, each in enumerate(dog.readings, start=1)
        ),
        *(
            _section("papers", _usual(to_plain(each), id=f"{dog.id}-paper-{at}"), many=True)
            for at, each in enumerate(dog.papers, start=1)
        ),
        *(
            _section("fixed", {"zone": zone, "day": day, "share": share}, many=True)
            for (zone, day), share in dog.fixed.items()
        ),
        *(_section("fixed_visits", to_plain(each), many=True) for each in dog.fixed_visits),
    ]
    return "\n".join(part for part in parts if part)


def _section(header: str, table: Mapping[str, Any], *, many: bool = False) -> str:
    """A table under its header, all its values on lines of their own; nothing when it is empty."""
    if not table:
        return ""
    left, right = ("[[", "]]") if many else ("[", "]")
    lines = [f"{key_of(key)} = {value_of(item)}\n" for key, item in table.items()]
    return f"{left}{header}{right}\n{''.join(lines)}"


def _usual(table: dict[str, Any], **usual: Any) -> dict[str, Any]:
    return {key: item for key, item in table.items() if key not in usual or usual[key] != item}


def _pattern_text(own: str) -> str:
    """The text of a pattern, its tables moved below ``[pattern]``."""
    lines = [f"[pattern.{line[1:]}" if line.startswith("[") else line for line in own.splitlines()]
    return "[pattern]\n" + "\n".join(lines) + "\n"


def _zone_rows(dog: Dog) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for key, values in (("shape_mm", dog.shape_mm), ("minutes", dog.speed), ("growth", dog.zone_growth)):
        for zone, item in values.items():
            found.setdefault(zone, {})[key] = item
    return found


def _person(who: Person | None, role: str) -> dict[str, Any]:
    if who is None:
        return {}
    table = {"role": who.role, **to_plain(who)}
    return _usual(table, id=slug(who.name), role=role)


def _limits(dog: Dog) -> dict[str, Any]:
    table = to_plain(dog.limits)
    if "days_off" in table:
        table["days_off"] = [WEEKDAYS[day] for day in table["days_off"]]
    return table


def _assessment(dog: Dog, read: Assessment) -> str:
    table: dict[str, Any] = {"id": read.id, "day": read.day}
    table = _usual(table, id=f"{dog.id}-coat-{read.day}")
    table["undercoat"] = _undercoat(dog, read)
    rows = []
    groups = _groups(read)
    most = max(groups, key=lambda group: len(group[1])) if len(read.zones) == len(zones()) else None
    for group in groups:
        layers, names = group
        rows += [{"zones": ALL if group is most else names, **to_plain(layer)} for layer in layers]
    text = _section("coat", table, many=True)
    return text + "".join("\n" + _section("coat.layers", row, many=True) for row in rows)


def _groups(read: Assessment) -> list[tuple[tuple[LayerReading, ...], list[str]]]:
    groups: dict[tuple[LayerReading, ...], list[str]] = {}
    for zone, reading in read.zones.items():
        groups.setdefault(reading.layers, []).append(zone)
    return list(groups.items())


def _undercoat(dog: Dog, read: Assessment) -> str | dict[str, str]:
    """One word where that says it, else a table of the word for all and the zones that differ."""
    coated = {zone for zone, row in zones().items() if row.undercoat} if is_double(dog) else set()
    words = Counter(reading.undercoat for zone, reading in read.zones.items() if zone in coated)
    usual = words.most_common(1)[0][0] if words else "some"
    differing = {
        zone: reading.undercoat
        for zone, reading in read.zones.items()
        if reading.undercoat != (usual if zone in coated else "none")
    }
    return {ALL: usual, **differing} if differing else usual


def _visit(dog: Dog, visit: Visit) -> str:
    table = _usual(to_plain(visit), id=f"{dog.id}-visit-{visit.day}")
    takes = table.pop("takes", {})
    short = {zone: row["share"] if set(row) == {"share"} else row for zone, row in takes.items()}
    return _section("visits", table, many=True) + ("\n" + _section("visits.takes", short) if short else "")
