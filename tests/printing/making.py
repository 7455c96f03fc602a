"""A sheet and a plan by hand, so that paper is tested without a planner."""

from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache
from io import BytesIO

from pypdf import PdfReader

from coatwright.patterns import zones
from coatwright.printing.sheet import (
    ComingShow,
    ComingVisit,
    Finish,
    Hairs,
    Note,
    Outlook,
    Over,
    PlanDocument,
    PlanVisit,
    PlanZone,
    Refused,
    Rhythm,
    Sheet,
    SheetZone,
    ShowOutlook,
    Spared,
    Window,
)

DAY = date(2026, 12, 2)
MADE = date(2026, 11, 25)
SHOW = ComingShow(
    "harrow", "Harrow Vale", date(2027, 3, 14), "Great Ashby", date(2027, 2, 1), "rolling", False, ("Ribs",)
)
PICTURE = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1200 900"><title>A dog</title>'
    '<path d="M100 800H1100" stroke="currentColor" stroke-width="6"/>'
    '<rect x="300" y="200" width="500" height="300" fill="#cfa76a"/>'
    '<text x="500" y="400" font-size="60" font-family="system-ui, sans-serif">20 %</text></svg>'
)


def hairs(**changes):
    given = {
        "kind": "whole", "weeks_from": 11, "weeks_to": 14, "mm_from": 19.2, "mm_to": 25.0,
        "share": 0.2, "standing": 0.2,
    }  # fmt: skip
    return Hairs(**{**given, **changes})


def sheet_zone(key, **changes):
    zone = zones()[key]
    row = SheetZone(
        key,
        zone.name,
        0.2,
        11.0,
        (hairs(),),
        zone.hold,
        zone.tip,
        zone.tender,
        zone.cap,
        zone.undercoat,
        0.8,
        0.6,
    )
    return replace(row, **changes)


def sheet(count=6, **changes):
    """A sheet with the first ``count`` of the pulled zones in working order."""
    keys = [key for key, zone in zones().items() if zone.work == "pull"][:count]
    page = Sheet(
        dog_id="bramble",
        dog="Bramble",
        pattern="Lakeland Terrier",
        owner="Ada Merton",
        handler="Jo Finch",
        weight_kg=7.8,
        day=DAY,
        made=MADE,
        approach="rolling",
        number=2,
        count=13,
        minutes=128.4,
        setup=20.0,
        limit=150.0,
        zones=tuple(sheet_zone(key) for key in keys),
        spared=(Spared("tail", "Tail", date(2026, 12, 16), True, Over(date(2026, 11, 18), 0.2, 0.35)),),
        finish=(Finish("beard", "Beard", "tidy", "", ""), Finish("feet", "Forefeet", "scissors", "", "")),
        stops=("the skin turns red", "the dog cries"),
        after_stop="Leave the zone for today.",
        cautions=(
            Note("stop", "A vet first", "Not on irritated skin."),
            Note("caution", "Tender skin", "Small takes."),
            Note("note", "Estimates", "Measure again."),
        ),
        next_visits=(ComingVisit(date(2026, 12, 16), 113.0), ComingVisit(date(2027, 1, 6), 95.0)),
        shows=(SHOW,),
        windows=(Window(date(2026, 12, 20), date(2027, 3, 20), 4),),
        tools=("chalk", "mask"),
        aftercare=("Brush out all chalk.", "Log it."),
    )
    return replace(page, **changes)


def document(visits=5, count=21, **changes):
    keys = [key for key, zone in zones().items() if zone.work == "pull"][:count]
    days = [DAY + timedelta(days=14 * number) for number in range(visits)]
    window = Window(date(2027, 2, 1), date(2027, 3, 20), 2)
    plan = PlanDocument(
        dog_id="bramble",
        dog="Bramble",
        pattern="Lakeland Terrier",
        owner="Ada Merton",
        handler="",
        made=MADE,
        until=DAY + timedelta(days=182),
        approach="free",
        cadence=14,
        visits=tuple(PlanVisit(day, 112.0, 150.0, 1.25 if day == DAY else 0.0) for day in days),
        zones=tuple(
            PlanZone(
                key,
                zones()[key].name,
                zones()[key].tender,
                zones()[key].cap,
                tuple(0.2 if (row + number) % 3 else 0.0 for number in range(visits)),
                tuple(key == "back" and number == 1 for number in range(visits)),
                tuple(number == 0 for number in range(visits)),
                True,
                (window,),
            )
            for row, key in enumerate(keys)
        ),
        minutes=112.0 * visits,
        ready_days=47,
        price=784.0,
        price_per_hour=42.0,
        thinnest=0.45,
        thinnest_zone="Skull",
        thinnest_day=date(2026, 12, 16),
        windows=(window,),
        shows=(ShowOutlook(SHOW, (Outlook("Ribs", 13.0, 25.0, 27.2, 18.0, 36.0, 0.62, False),)),),
        answers=(Refused("Ribs would be overgrown: 8 % too many.", ("Allow a longer coat.",)),),
        rhythms=(
            Rhythm(7, 26, 1600.0, 40, 0.5, 1120.0, False),
            Rhythm(14, 13, 1120.0, 47, 0.45, 784.0, True),
        ),
        cautions=(Note("stop", "A vet first", "Not on irritated skin."),),
    )
    return replace(plan, **changes)


@lru_cache(maxsize=16)
def reader(pdf):
    return PdfReader(BytesIO(pdf), strict=True)


def text_of(pdf):
    """Everything printed, with every run of spaces as one space."""
    return " ".join(" ".join(page.extract_text() for page in reader(pdf).pages).split())
