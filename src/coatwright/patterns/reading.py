"""A pattern read from TOML text. The format is told in docs/how-to/own-pattern.md."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

from coatwright.errors import FileFormatError, InputError
from coatwright.patterns.model import Band, Pattern, Source
from coatwright.patterns.tables import Document, Path, Table
from coatwright.patterns.zones import aimed_zones, zones

T = TypeVar("T")

TOP_KEYS = (
    "key",
    "name",
    "based_on",
    "build",
    "ears",
    "tail",
    "height_mm",
    "weight_kg",
    "colours",
    "double_coat",
    "carding_days",
    "year_checked",
    "practice_note",
    "sources",
    "end_mm",
    "aims",
)
BAND_KEYS = ("lo", "hi", "judged", "source", "note")
EVERYWHERE = "everywhere"
"""The key of ``end_mm`` that stands for every zone not named."""
OWN = "own"
"""Key of the source that a change without a source of its own is given."""


def parse_pattern(text: str, name: str, key: str, base: Callable[[str], Pattern]) -> Pattern:
    """The pattern that a TOML ``text`` describes.

    ``name`` is what errors call the file, ``key`` the pattern's key unless the text gives one, ``base``
    finds the pattern that ``based_on`` names. Raises :class:`FileFormatError` for any slip.
    """
    document = Document(text, name)
    top = Table(document, (), document.raw)
    top.known(TOP_KEYS)
    parent = _parent(top, base)
    sources = _sources(top, parent)
    values: dict[str, Any] = {
        "key": top.text("key", key),
        "name": top.text("name", f"{parent.name}, own" if parent else None),
        "based_on": parent.key if parent else "",
        "colours": top.texts("colours", parent.colours if parent else None),
        "double_coat": top.flag("double_coat", parent.double_coat if parent else None),
        "end_mm": _ends(top, parent),
        "aims": _aims(top, parent, sources),
        "sources": sources,
    }
    for one in ("build", "ears", "tail", "practice_note"):
        values[one] = top.text(one, getattr(parent, one, None))
    for one in ("height_mm", "weight_kg"):
        values[one] = top.number(one, getattr(parent, one, None))
    for one in ("carding_days", "year_checked"):
        values[one] = top.whole(one, getattr(parent, one, None))
    return _made(document, (), partial(Pattern, **values))


def _parent(top: Table, base: Callable[[str], Pattern]) -> Pattern | None:
    if "based_on" not in top:
        return None
    key = top.text("based_on")
    return _made(top.document, ("based_on",), partial(base, key))


def _sources(top: Table, parent: Pattern | None) -> dict[str, Source]:
    found = dict(parent.sources) if parent else {}
    table = top.table("sources", needed=parent is None)
    for key in table.raw:
        row = table.table(key)
        row.known(("mark", "text"))
        mark, text = row.text("mark"), row.text("text")
        found[key] = _made(top.document, row.path, partial(Source, mark, text))
    return found


def _ends(top: Table, parent: Pattern | None) -> dict[str, float]:
    table = top.table("end_mm", needed=parent is None)
    table.known((EVERYWHERE, *zones()), "zone")
    found = dict(parent.end_mm) if parent else {}
    if EVERYWHERE in table:
        found = dict.fromkeys(zones(), table.number(EVERYWHERE))
    return found | {key: table.number(key) for key in table.raw if key != EVERYWHERE}


def _aims(top: Table, parent: Pattern | None, sources: dict[str, Source]) -> dict[str, Band]:
    table = top.table("aims", needed=parent is None)
    table.known(zones(), "zone")
    for key in table.raw:
        if key not in aimed_zones():
            raise table.error(
                key, f"The zone {key} is scissored and has no length to aim at.", "Take it out."
            )
    found = dict(parent.aims) if parent else {}
    for key in table.raw:
        found[key] = _band(table.table(key), key, found.get(key), sources, parent)
    return found


def _band(
    row: Table, zone: str, before: Band | None, sources: dict[str, Source], parent: Pattern | None
) -> Band:
    row.known(BAND_KEYS)
    lo = row.number("lo", before.lo if before else None)
    hi = row.number("hi", before.hi if before else None)
    judged = row.flag("judged", before.judged if before else zones()[zone].seen)
    if "source" in row or before is None:
        source = _source(row, sources)
    elif parent is not None and (lo, hi) != (before.lo, before.hi):
        own = Source("P", f"Own change to the pattern {parent.name}.")
        source = sources.setdefault(OWN, own)
    else:
        source = Source(before.mark, before.source)
    moved = before is None or "source" in row or (lo, hi) != (before.lo, before.hi)
    note = row.text("note", "" if moved or before is None else before.note)
    return _made(row.document, row.path, partial(Band, lo, hi, judged, source.mark, source.text, note))


def _source(row: Table, sources: dict[str, Source]) -> Source:
    if "source" not in row:
        raise row.error(
            "source",
            "The band has no source.",
            f'Add source = "...", one of the keys of the table sources: {", ".join(sources) or "none yet"}.',
        )
    key = row.text("source")
    if key not in sources:
        raise row.error(
            "source",
            f"There is no source called {key!r}.",
            f"Describe it under [sources], or use one of: {', '.join(sources) or 'none yet'}.",
        )
    return sources[key]


def _made(document: Document, path: Path, make: Callable[[], T]) -> T:
    """What ``make`` gives; what it refuses is told with its place in the document."""
    try:
        return make()
    except FileFormatError:
        raise
    except InputError as error:
        inner = tuple(error.where.split(".")) if error.where else ()
        raise document.error((*path, *inner), error.what, error.remedy) from error
