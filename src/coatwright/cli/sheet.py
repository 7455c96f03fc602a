"""``coatwright sheet``: the next visit, zone by zone."""

from __future__ import annotations

from datetime import date
from typing import Annotated

import typer

from coatwright.cli.options import (
    AsJson,
    Data,
    DogName,
    LengthUnit,
    Paper,
    PaperSize,
    Pdf,
    Today,
    Unit,
    a_date,
)


def sheet(
    dog: DogName,
    day: Annotated[
        date | None,
        typer.Option(metavar="DATE", parser=a_date, help="The visit of this day, not the next one."),
    ] = None,
    today: Today = None,
    as_json: AsJson = False,
    pdf: Pdf = None,
    paper: PaperSize = Paper.A4,
    unit: LengthUnit = Unit.MM,
    data: Data = None,
) -> None:
    """Tell what to do at the next visit, zone by zone.

    In working order: the share to take, which hair, how to hold the skin, minutes, carding. What could hurt the dog
    or the hands comes first and last. The PDF is one page with the dog's picture.
    """
    from coatwright.cli import files
    from coatwright.cli.screen import Page, working, write_json
    from coatwright.cli.source import find_dog, naming
    from coatwright.salon.plans import plan_dog
    from coatwright.salon.results import sheet_result
    from coatwright.salon.sheets import sheet_of

    found = find_dog(dog, today=today, data=data)
    with naming(found), working(f"Planning {found.dog.name}") as progress:
        learnt = found.learnt
        plan = plan_dog(
            found.dog,
            found.today,
            speed=found.speed,
            learnt=learnt,
            alarms=found.alarms(learnt),
            progress=progress,
        )
    made = sheet_of(plan, day, others=found.salon)
    saved = files.save_sheet(plan, made, pdf=pdf, paper=paper, unit=unit)
    if as_json:
        write_json(sheet_result(made))
        return
    from coatwright.cli.sheet_view import show_sheet

    show_sheet(Page(), made, unit=unit, saved=saved)
