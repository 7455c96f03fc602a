"""``coatwright paper count`` and ``paper tools``: a count under a lens, and what is known of tools."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from coatwright.cli.options import AsJson, Data, a_date

if TYPE_CHECKING:
    from coatwright.salon.fold import Salon
    from coatwright.salon.tools import ToolHistory


def count(
    dog: Annotated[str, typer.Argument(metavar="DOG", help="The name or id of a dog of the salon.")],
    zone: Annotated[str, typer.Option(metavar="ZONE", help="The zone that was pulled.")],
    whole: Annotated[int, typer.Option(metavar="HAIRS", help="Hairs that came with their root.")],
    broken: Annotated[int, typer.Option(metavar="HAIRS", help="Hairs that broke.")],
    tool: Annotated[str, typer.Option(metavar="NAME", help="The tool that pulled.")] = "",
    groomer: Annotated[str, typer.Option(metavar="NAME", help="Who pulled.")] = "",
    day: Annotated[
        date | None, typer.Option(metavar="DATE", parser=a_date, help="The day of the pull, if not today.")
    ] = None,
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """Keep a count by eye, under a lens, and tell its verdict.

    For where no photo can be taken. It is taken as free of error and gets the same ranges and words.
    """
    from coatwright.cli.screen import write_json
    from coatwright.cli.source import calendar_day, dog_named, open_salon, zone_key
    from coatwright.salon.paper_results import paper_result
    from coatwright.salon.papers import hand_count
    from coatwright.salon.verdicts import verdict_of

    key, today = zone_key(zone), calendar_day()
    with open_salon(data, create=False, seeking=dog) as store:
        found = dog_named(store.state(), dog)
        event = hand_count(
            store,
            found.id,
            key,
            whole=whole,
            broken=broken,
            tool=tool,
            groomer=groomer,
            day=day or today,
            today=today,
        )
        salon = store.state()
    trial = verdict_of(salon, found.id, str(event.data["id"]))
    if as_json:
        write_json(paper_result([], trial, dog=found, zone=key, salon=salon, today=today))
        return
    from coatwright.cli.paper_view import show_count

    show_count(found, trial, event.id)


def tools(
    tool: Annotated[str | None, typer.Argument(metavar="TOOL", help="Only this one, test by test.")] = None,
    beside: Annotated[
        str | None, typer.Option(metavar="TOOL", help="A second tool to set beside the first.")
    ] = None,
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """Tell what paper tests found of every tool.

    The newest verdict of each, or all tests of one with its trend since it was sharpened.
    """
    from coatwright.cli.paper_view import show_beside, show_tool, show_tools
    from coatwright.cli.screen import write_json
    from coatwright.cli.source import open_salon
    from coatwright.errors import InputError, UnknownName
    from coatwright.salon.gear import gear_key
    from coatwright.salon.tools import tool_history, tools_tested

    if beside is not None and tool is None:
        raise InputError(
            "Only one tool is named.", where="coatwright paper tools", remedy="Name the first one too."
        )
    with open_salon(data, create=False) as store:
        salon, place = store.state(), store.place
    known = tools_tested(salon)
    for name in (tool, beside):
        if name is not None and gear_key(name) not in known:
            raise UnknownName.of("tool that was tested", name, known.values())
    shown = [
        tool_history(salon, name) for name in (known.values() if tool is None else (tool, beside)) if name
    ]
    if as_json:
        write_json([_plain(salon, each) for each in shown])
    elif tool is None:
        show_tools(shown, place)
    else:
        show_tool(salon, shown[0])
        if beside is not None:
            show_beside(salon, *shown)


def _plain(salon: Salon, history: ToolHistory) -> dict[str, Any]:
    """A tool's history as plain values."""
    trend = history.trend
    return {
        "tool": history.name,
        "sharpened": [each.day.isoformat() for each in history.sharpened],
        "trend": None
        if trend is None
        else {
            "word": trend.word,
            "chance": round(trend.chance, 4),
            "factor": None if trend.factor is None else round(trend.factor, 3),
            "low": None if trend.interval is None else round(trend.interval[0], 3),
            "high": None if trend.interval is None else round(trend.interval[1], 3),
        },
        "tests": [
            {
                "dog": trial.key.dog,
                "name": salon.dogs[trial.key.dog].name,
                "zone": trial.key.zone,
                "day": trial.key.day.isoformat(),
                "word": trial.verdict.word,
                "share": None if trial.verdict.share is None else round(trial.verdict.share, 4),
                "low": None if trial.verdict.interval is None else round(trial.verdict.interval[0], 4),
                "high": None if trial.verdict.interval is None else round(trial.verdict.interval[1], 4),
                "judged": 0 if trial.testimony is None else trial.testimony.judged,
                "measured": 0 if trial.testimony is None else trial.testimony.measured,
            }
            for trial in history.trials
        ],
    }
