"""A whole plan in the words that its pages print."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from coatwright.printing import words
from coatwright.printing.sheet import Outlook, PlanDocument, PlanVisit, Rhythm, ShowOutlook, Window
from coatwright.printing.sheet_view import note_view, people_line, show_state, windows_line

DARKEST = 0.5
"""A take of this share, or more, has the darkest ground in the grid."""


def plan_view(document: PlanDocument, unit: str) -> dict[str, Any]:
    """The plan in words, tables as lists of rows."""
    words.check_unit(unit)
    spoken = words.APPROACHES.get(document.approach, document.approach)
    return {
        "title": f"Plan: {document.dog}, {words.day_text(document.made)}",
        "description": f"What to pull from each zone of {document.dog} at every visit, and what comes of it.",
        "kind": "plan",
        "number": f"{spoken}, {words.rhythm(document.cadence)}",
        "dog": document.dog,
        "day": f"{words.short_day(document.made, document.until)} to "
        f"{document.until.day} {words.MONTHS[document.until.month - 1]} {document.until.year}",
        "about": document.pattern,
        "people": people_line(document.owner, document.handler),
        "picture_alt": f"{document.dog} from the side, the coat as the plan foresees it on "
        f"{words.long_day(picture_day(document))}.",
        "picture_caption": _caption(document),
        "ribbons_alt": f"A ribbon for the dog and one for each judged zone, from {words.day_text(document.made)} "
        f"to {words.day_text(document.until)}: filled where it is ready, a tick at every visit, a diamond at every "
        "show. The table below says the same in words.",
        "facts": _facts(document),
        "answers": [re.sub(r"(?<=\d) (?=%)", words.THIN, answer.text) for answer in document.answers],
        "remedies": list(dict.fromkeys(remedy for each in document.answers for remedy in each.remedies)),
        "grid": _grid(document),
        "shows": [_show(outlook, document, unit) for outlook in document.shows],
        "windows": _windows(document),
        "rhythms": [_rhythm(each) for each in document.rhythms] if len(document.rhythms) > 1 else [],
        "priced": document.price is not None,
        "cautions": [note_view(note) for note in document.cautions],
        "foot": f"{document.dog}, planned {words.day_text(document.made)}. Shares are of all a zone's hairs.",
    }


def picture_day(document: PlanDocument) -> date:
    """The day on which a plan's picture shows the coat: that of the next show, else the last one answered for."""
    return document.shows[0].show.day if document.shows else document.until


def _caption(document: PlanDocument) -> str:
    show = f", {document.shows[0].show.name}" if document.shows else ""
    return f"The coat on {words.day_text(picture_day(document))}{show}, as planned"


def _facts(document: PlanDocument) -> list[dict[str, Any]]:
    count = len(document.visits)
    work = f"{count} {'visit' if count == 1 else 'visits'}, {words.minutes(document.minutes)} in all"
    lines = [work]
    if document.price is not None and document.price_per_hour is not None:
        lines.append(
            f"Price {words.money(document.price)}, at {words.money(document.price_per_hour)} an hour"
        )
    parts = [
        {"title": "Work", "lines": lines},
        {
            "title": "Ready, as planned",
            "lines": [
                words.sentence(windows_line(document.windows, document.made, most=4)),
                *([f"{document.ready_days} days in all"] if document.ready_days else []),
            ],
        },
        {
            "title": "Thinnest",
            "lines": [
                f"{document.thinnest_zone}: {words.percent(document.thinnest)} cover on "
                f"{words.short_day(document.thinnest_day, document.made)}"
            ],
        },
    ]
    shows = [
        f"{words.short_day(each.show.day, document.made)}  {each.show.name}: {show_state(each.show)}"
        for each in document.shows
    ]
    if shows:
        parts.append({"title": "Shows", "lines": shows})
    return parts


def _grid(document: PlanDocument) -> dict[str, Any]:
    """Visits down, zones across; a show is a line of its own between the visits."""
    saves = any(visit.saves >= 0.05 for visit in document.visits)
    rows: list[tuple[Any, dict[str, Any]]] = []
    for number, visit in enumerate(document.visits):
        cells = [
            {
                "text": str(round(100 * zone.takes[number])) if zone.takes[number] > 0.0 else "",
                "depth": round(100 * min(zone.takes[number] / DARKEST, 1.0)),
                "fixed": zone.fixed[number],
            }
            for zone in document.zones
        ]
        carded = sum(zone.carded[number] for zone in document.zones)
        row = {
            "kind": "visit",
            "day": words.short_day(visit.day, document.made),
            "cells": cells,
            "card": str(carded) if carded else "",
            "minutes": str(round(visit.minutes)),
            "saves": f"{visit.saves:.1f}" if visit.saves >= 0.05 else "",
            "price": _visit_price(document, visit),
        }
        rows.append((visit.day, row))
    for outlook in document.shows:
        show = outlook.show
        text = f"{words.short_day(show.day, document.made)}  {show.name}: {show_state(show)}"
        rows.append((show.day, {"kind": "show", "text": text}))
    rows.sort(key=lambda pair: (pair[0], pair[1]["kind"]))
    return {
        "zones": [{"name": zone.name, "tender": zone.tender} for zone in document.zones],
        "rows": [row for _, row in rows],
        "saves": saves,
        "priced": document.price_per_hour is not None,
        "fixed": any(any(zone.fixed) for zone in document.zones),
    }


def _visit_price(document: PlanDocument, visit: PlanVisit) -> str:
    if document.price_per_hour is None:
        return ""
    return words.money(visit.minutes / 60.0 * document.price_per_hour)


def _show(outlook: ShowOutlook, document: PlanDocument, unit: str) -> dict[str, Any]:
    show = outlook.show
    place = f", {show.place}" if show.place and show.place not in show.name else ""
    closing = f" Entries close {words.short_day(show.closing, document.made)}." if show.closing else ""
    chance = f" Chance {words.chance_line(show.chance)}." if show.chance else ""
    return {
        "title": f"{show.name}{place}, {words.day_text(show.day)}",
        "state": f"{words.sentence(show_state(show))}.{chance}{closing}",
        "rows": [_outlook(row, unit) for row in outlook.zones],
    }


def _outlook(row: Outlook, unit: str) -> dict[str, str]:
    return {
        "name": row.name,
        "aim": words.lengths(row.aim_from, row.aim_to, unit),
        "outline": words.length(row.outline, unit),
        "band": words.lengths(row.outline_from, row.outline_to, unit),
        "cover": words.percent(row.cover),
        "ready": "ready" if row.ready else "not ready",
        "chance": "" if row.chance is None else words.chance(row.chance),
    }


def _windows(document: PlanDocument) -> list[dict[str, str]]:
    """Zones that are ready on the same days share a line; zones of which nothing is asked have none."""
    groups: dict[tuple[Window, ...], list[str]] = {}
    for zone in document.zones:
        if zone.judged:
            groups.setdefault(zone.windows, []).append(zone.name.lower())
    return [
        {
            "zones": words.sentence(words.listed(names)),
            "text": words.sentence(words.windows(windows, document.made, most=8)),
        }
        for windows, names in groups.items()
    ]


def _rhythm(each: Rhythm) -> dict[str, Any]:
    return {
        "name": words.sentence(words.rhythm(each.cadence)),
        "visits": str(each.visits),
        "minutes": words.minutes(each.minutes),
        "ready": str(each.ready_days),
        "thinnest": words.percent(each.thinnest),
        "price": "" if each.price is None else words.money(each.price),
        "chosen": each.chosen,
    }
