"""``coatwright log-visit``: what was done at a visit of a dog of the salon."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from coatwright.cli.options import AsJson, Data, a_date

if TYPE_CHECKING:
    from coatwright.salon.fold import Salon
    from coatwright.salon.records import Dog, Take, Visit
    from coatwright.salon.store import Store

ZONES = "A zone and the % of its hairs that was pulled, such as back=35; may be repeated. all=20 is every other zone."


def log_visit(
    dog: Annotated[str, typer.Argument(metavar="DOG", help="The name or id of a dog of the salon.")],
    zone: Annotated[list[str] | None, typer.Option("--zone", metavar="ZONE=PERCENT", help=ZONES)] = None,
    day: Annotated[
        date | None, typer.Option(metavar="DATE", parser=a_date, help="The day of the visit, if not today.")
    ] = None,
    carded: Annotated[
        list[str] | None,
        typer.Option(metavar="ZONE", help="A zone that was carded, or all; may be repeated."),
    ] = None,
    broken: Annotated[
        float, typer.Option(metavar="PERCENT", help="How many of the pulled hairs broke, of 100.")
    ] = 0.0,
    minutes: Annotated[float | None, typer.Option(metavar="MIN", help="How long it took.")] = None,
    groomer: Annotated[str, typer.Option(metavar="NAME", help="Who did it.")] = "",
    note: Annotated[str, typer.Option(metavar="TEXT", help="Anything worth keeping.")] = "",
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """Log what was pulled from a dog of the salon.

    Says what the visit did to the cover of each zone. What was planned for that day is kept beside what was
    taken, so that the next plan and sheet can tell.
    """
    from coatwright.cli.screen import working, write_json
    from coatwright.cli.source import calendar_day, dog_named, is_file_name, open_salon
    from coatwright.errors import InputError
    from coatwright.salon.events import to_json
    from coatwright.salon.salon import log_visit as keep

    when = day or calendar_day()
    shares = _shares(zone or ())
    if is_file_name(dog):
        raise InputError(
            "The visits of a dog in a file are kept in that file.",
            where=dog,
            remedy=f"Add to it:\n\n{_toml(when, shares)}\nor take the dog into the salon: `coatwright salon add`.",
        )
    with open_salon(data, create=False, seeking=dog) as store:
        found = dog_named(store.state(), dog)
        with working(f"Looking up the plan of {found.name}"):
            planned = _planned(store.state(), found, when)
        visit = _visit(found, when, shares, planned, carded or (), broken / 100.0, minutes, groomer, note)
        event = keep(store, found.id, visit, today=calendar_day())
        after = store.state().dogs[found.id]
        if as_json:
            write_json(to_json(event))
            return
        _tell(after, visit, event.id, store)


def _shares(given: Sequence[str]) -> dict[str, float]:
    """Shares by zone (or "all") from ZONE=PERCENT."""
    from coatwright.cli.source import zone_key
    from coatwright.errors import InputError, OutOfRange

    found: dict[str, float] = {}
    for text in given:
        name, sign, number = text.partition("=")
        try:
            value = float(number.strip().rstrip("%"))
        except ValueError:
            sign = ""
        if not sign:
            raise InputError(
                f"{text!r} is no zone with a share.", where="--zone", remedy="Give it as back=35, in %."
            )
        key = "all" if name.strip().lower() == "all" else zone_key(name)
        if key in found:
            raise InputError(f"The zone {key} is given twice.", where="--zone", remedy="Give it once.")
        if not 0.0 <= value <= 100.0:
            raise OutOfRange(
                f"The take is {value:g} %, but must lie between 0 and 100 %.",
                where=f"--zone {text}",
                remedy="Give the % of all the zone's hairs that was pulled.",
            )
        found[key] = value / 100.0
    return found


def _planned(salon: Salon, dog: Dog, day: date) -> Mapping[str, float]:
    """What the plan of the day before the visit asked for on that day; nothing where there is no such visit."""
    from coatwright.errors import CoatwrightError
    from coatwright.salon.learnt import learn_dog
    from coatwright.salon.plans import plan_dog
    from coatwright.salon.speeds import speeds_of

    try:
        learnt = learn_dog(dog, day, others=salon.dogs.values())
        return plan_dog(dog, day, speed=speeds_of(salon, day).minutes(dog), learnt=learnt).takes(day)
    except CoatwrightError:  # unfit, no show ahead, no visit that fits: the visit was made without a plan
        return {}


def _visit(
    dog: Dog,
    day: date,
    shares: Mapping[str, float],
    planned: Mapping[str, float],
    carded: Sequence[str],
    broken: float,
    minutes: float | None,
    groomer: str,
    note: str,
) -> Visit:
    from coatwright.cli.source import zone_key
    from coatwright.patterns import zones
    from coatwright.salon.coats import coat_of
    from coatwright.salon.events import new_id
    from coatwright.salon.records import Take, Visit

    pulled = [key for key, row in zones().items() if row.work == "pull" and key in coat_of(dog, day)]
    named = {key: share for key, share in shares.items() if key != "all"}
    takes = {**(dict.fromkeys(pulled, shares["all"]) if "all" in shares else {}), **named}
    coated = [key for key in pulled if zones()[key].undercoat]
    return Visit(
        id=new_id(),
        day=day,
        takes={
            key: Take(
                share=share, planned=round(planned.get(key, 0.0), 4) if planned else None, broken=broken
            )
            for key, share in sorted(takes.items(), key=lambda item: zones()[item[0]].order)
        },
        carded=tuple(coated) if "all" in carded else tuple(dict.fromkeys(zone_key(name) for name in carded)),
        minutes=minutes,
        groomer=groomer,
        note=note,
    )


def _tell(dog: Dog, visit: Visit, event: str, store: Store) -> None:
    from coatwright.cli.screen import Page
    from coatwright.cli.words import day_text, percent
    from coatwright.coat.measures import cover
    from coatwright.patterns import zones
    from coatwright.salon.coats import coat_of, growth_of
    from coatwright.units import day_of

    page = Page()
    page.title(dog.name, store.place)
    page.line(f"Visit of {day_text(visit.day)} logged as event {event[:8]}.", start=0)
    if visit.takes:
        before, after = coat_of(dog, visit.day, before=True), coat_of(dog, visit.day)
        at = day_of(visit.day)
        page.console.print()
        rows = []
        for key, take in visit.takes.items():
            growth = growth_of(dog, key)
            rows.append(
                [
                    zones()[key].name,
                    f"{percent(take.share)} %",
                    "" if take.planned is None else f"{percent(take.planned)} %",
                    f"{percent(cover(before[key], at, growth))} to {percent(cover(after[key], at, growth))} %",
                    _verdict(take),
                ]
            )
        page.table(["", "pulled", "planned", "cover", ""], rows)
    page.console.print()
    if any(_verdict(take) == "more than planned" for take in visit.takes.values()):
        page.caution(
            "More was pulled than planned: the next visits spare these zones, as far as the wish allows."
        )
    page.line(
        f"The plan after it: `coatwright plan {dog.id}`. To take it back: `coatwright salon undo {event[:8]}`."
    )


def _verdict(take: Take) -> str:
    from coatwright.salon.sheets import OVER_SLACK

    if take.planned is None:
        return ""
    if take.share > take.planned + OVER_SLACK:
        return "more than planned"
    return "less than planned" if take.share < take.planned - OVER_SLACK else ""


def _toml(day: date, shares: Mapping[str, float]) -> str:
    takes = ", ".join(f"{key} = {share:g}" for key, share in shares.items())
    return f"[[visits]]\nday = {day.isoformat()}\ntakes = {{ {takes} }}\n"
