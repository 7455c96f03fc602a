"""``coatwright reading``: what comb, ruler and eye said of one zone of a dog of the salon."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any

import typer

from coatwright.cli.options import AsJson, Data, Unit, a_date

if TYPE_CHECKING:
    from coatwright.salon.records import Dog, Reading


class Look(StrEnum):
    """Cover by eye."""

    BARE = "bare"
    THIN = "thin"
    OPEN = "open"
    CLOSE = "close"
    DENSE = "dense"


def reading(
    dog: Annotated[str, typer.Argument(metavar="DOG", help="The name or id of a dog of the salon.")],
    zone: Annotated[str, typer.Option(metavar="ZONE", help="The zone that was read.")],
    longest: Annotated[float | None, typer.Option(metavar="LENGTH", help="Longest hair.")] = None,
    shortest: Annotated[
        float | None, typer.Option(metavar="LENGTH", help="Shortest hair that shows.")
    ] = None,
    step: Annotated[
        list[float] | None,
        typer.Option(metavar="LENGTH", help="A layer that the comb tells apart; may be repeated."),
    ] = None,
    look: Annotated[Look | None, typer.Option(help="Cover by eye, from mostly skin to hardly any.")] = None,
    cover: Annotated[
        float | None, typer.Option(metavar="PERCENT", help="Cover by eye: how many hairs stand, of 100.")
    ] = None,
    after: Annotated[
        bool, typer.Option("--after", help="Read after the pulling of that day, not before it.")
    ] = False,
    day: Annotated[
        date | None, typer.Option(metavar="DATE", parser=a_date, help="The day of the reading, if not today.")
    ] = None,
    groomer: Annotated[str, typer.Option(metavar="NAME", help="Who read it.")] = "",
    unit: Annotated[Unit, typer.Option("--unit", help="Unit of the lengths given and told.")] = Unit.MM,
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """Keep what comb, ruler and eye say of one zone.

    What was said before of that zone, day and moment stays and is added to; a length or word given again takes
    the place of the earlier one. At the desk the same is two taps.
    """
    from dataclasses import asdict

    from coatwright.cli.screen import write_json
    from coatwright.cli.source import calendar_day, dog_named, is_file_name, open_salon, zone_key
    from coatwright.errors import InputError, OutOfRange
    from coatwright.salon.plain import json_ready
    from coatwright.salon.readings import note_reading
    from coatwright.units import MM_PER_INCH

    key, when = zone_key(zone), day or calendar_day()
    if is_file_name(dog):
        raise InputError(
            "The readings of a dog in a file are kept in that file.",
            where=dog,
            remedy=f'Add to it:\n\n[[readings]]\nday = {when}\nzone = "{key}"\n\nwith what was read, '
            "or take the dog into the salon: `coatwright salon add`.",
        )
    factor = 1.0 if unit is Unit.MM else MM_PER_INCH
    said: dict[str, Any] = {
        "longest_mm": None if longest is None else longest * factor,
        "shortest_mm": None if shortest is None else shortest * factor,
        "look": None if look is None else look.value,
        "cover": None if cover is None else cover / 100.0,
    }
    said = {name: value for name, value in said.items() if value is not None}
    if not said and not step:
        raise OutOfRange(
            "The reading says nothing.",
            where=key,
            remedy="Give --longest, --shortest, --step, --look or --cover.",
        )
    with open_salon(data, create=False, seeking=dog) as store:
        found = dog_named(store.state(), dog)
        kept = note_reading(
            store,
            found.id,
            key,
            day=when,
            at_visit="after" if after else "before",
            said=said,
            add_steps=[length * factor for length in step or ()],
            groomer=groomer,
            today=calendar_day(),
        )
        assert kept is not None  # something was said
        if as_json:
            write_json({"dog": found.id, **json_ready(asdict(kept))})
            return
        _tell(found, kept, unit, store.place)


def _tell(dog: Dog, kept: Reading, unit: Unit, place: str) -> None:
    from coatwright.cli.screen import Page
    from coatwright.cli.words import day_text, listed, percent
    from coatwright.patterns import zones
    from coatwright.units import length_text

    page = Page()
    page.title(dog.name, place)
    lengths = [length_text(mm, unit) for mm in kept.steps_mm]
    said = [
        "" if kept.longest_mm is None else f"longest {length_text(kept.longest_mm, unit)}",
        "" if kept.shortest_mm is None else f"shortest {length_text(kept.shortest_mm, unit)}",
        f"layers of {listed(lengths)}" if lengths else "",
        f"cover {kept.look}" if kept.look else "",
        "" if kept.cover is None else f"cover {percent(kept.cover)} %",
    ]
    page.line(
        f"{zones()[kept.zone].name}, {day_text(kept.day)}, {kept.at_visit} the pulling: "
        f"{', '.join(word for word in said if word)}.",
        start=0,
    )
