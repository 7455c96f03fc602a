"""``coatwright plan``: what to pull, where and when."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from coatwright.cli.options import (
    Approach,
    AsJson,
    Data,
    DogName,
    LengthUnit,
    Paper,
    PaperSize,
    Pdf,
    Svg,
    Today,
    Unit,
)


def plan(
    dog: DogName,
    approach: Annotated[
        Approach | None,
        typer.Option(
            help="Fix the way to the coat instead of letting the wish decide, to see what it costs."
        ),
    ] = None,
    compare: Annotated[
        bool, typer.Option("--compare", help="Set all ways that the wish allows side by side.")
    ] = False,
    futures: Annotated[
        int,
        typer.Option(
            min=0,
            max=200,
            help="Hold the plan in so many ways in which this coat may turn out to grow; 0 plans on the middle one.",
        ),
    ] = 0,
    seed: Annotated[int, typer.Option(min=0, help="Seed of these futures.")] = 0,
    today: Today = None,
    as_json: AsJson = False,
    svg: Svg = None,
    pdf: Pdf = None,
    paper: PaperSize = Paper.A4,
    ics: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also write visits and shows for a calendar (iCalendar)."),
    ] = None,
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Also write the takes for a spreadsheet (CSV).")
    ] = None,
    unit: LengthUnit = Unit.MM,
    data: Data = None,
) -> None:
    """Plan a dog's coat: what to pull, where and when.

    Says what share of each zone each visit takes, when the dog will be ready, what could not be had and the
    earliest day on which it could, and how far the plan is from the best that any plan can do.
    """
    from coatwright.cli import files
    from coatwright.cli.screen import Page, working, write_json
    from coatwright.cli.source import find_dog, naming
    from coatwright.salon.plans import compare_approaches, plan_dog
    from coatwright.salon.results import plan_result
    from coatwright.salon.sheets import plan_document_of

    found = find_dog(dog, today=today, data=data)
    with naming(found), working(f"Planning {found.dog.name}") as progress:
        learnt = found.learnt
        made = plan_dog(
            found.dog,
            found.today,
            approach=approach,
            speed=found.speed,
            learnt=learnt,
            alarms=found.alarms(learnt),
            futures=futures,
            seed=seed,
            progress=progress,
        )
        options = (
            compare_approaches(found.dog, found.today, speed=found.speed, learnt=learnt, progress=progress)
            if compare
            else None
        )
    document = plan_document_of(made)
    saved = files.save_plan(made, document, svg=svg, pdf=pdf, paper=paper, ics=ics, csv=csv, unit=unit)
    if as_json:
        write_json(plan_result(made, document, options))
        return
    from coatwright.cli.plan_view import show_plan

    show_plan(Page(), made, document, options, unit=unit, saved=saved)
