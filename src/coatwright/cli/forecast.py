"""``coatwright forecast``: cover, outline and ready days of every zone."""

from __future__ import annotations

from datetime import date
from typing import Annotated

import typer

from coatwright.cli.options import AsJson, Data, DogName, LengthUnit, Svg, Today, Unit, a_date


def forecast(
    dog: DogName,
    days: Annotated[int | None, typer.Option(metavar="N", help="How many days, the first included.")] = None,
    until: Annotated[
        date | None, typer.Option(metavar="DATE", parser=a_date, help="The last day, instead of --days.")
    ] = None,
    zone: Annotated[
        list[str] | None, typer.Option(metavar="ZONE", help="Only this zone, week by week; may be repeated.")
    ] = None,
    draws: Annotated[
        int, typer.Option(metavar="N", help="Show the band of N dogs like this one; 200 tell it well.")
    ] = 1,
    seed: Annotated[int, typer.Option(metavar="N", help="Seed of the random draws.")] = 0,
    unpulled: Annotated[
        bool, typer.Option("--unpulled", help="Leave the coat alone instead of carrying the plan out.")
    ] = False,
    today: Today = None,
    as_json: AsJson = False,
    svg: Svg = None,
    unit: LengthUnit = Unit.MM,
    data: Data = None,
) -> None:
    """Forecast a dog's coat: cover, outline, ready days.

    The plan is carried out on the way, unless --unpulled leaves the coat alone. The picture shows the cover of
    all zones or, for a single zone, its layers and the band of its outline.
    """
    from coatwright.cli import files
    from coatwright.cli.screen import Page, working, write_json
    from coatwright.cli.source import days_until, find_dog, naming, zone_key
    from coatwright.salon.plans import plan_dog
    from coatwright.salon.results import forecast_dog, forecast_result

    found = find_dog(dog, today=today, data=data)
    chosen = tuple(dict.fromkeys(zone_key(name) for name in zone or ()))
    count = days_until(found.today, days, until)
    with naming(found), working(f"Planning {found.dog.name}") as progress:
        plan = (
            None
            if unpulled
            else plan_dog(found.dog, found.today, speed=found.speed, learnt=found.learnt, progress=progress)
        )
        ahead = forecast_dog(found.dog, found.today, plan=plan, days=count, draws=draws, seed=seed)
    result = forecast_result(ahead, chosen)
    saved = files.save_forecast(ahead, chosen, svg=svg, unit=unit)
    if as_json:
        write_json(result)
        return
    from coatwright.cli.forecast_view import show_forecast

    show_forecast(Page(), ahead, chosen, unit=unit, saved=saved)
