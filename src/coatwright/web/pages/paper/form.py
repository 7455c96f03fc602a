"""What is filled in beside a photo: whose hair, from where, pulled with what, printed and photographed with what."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from starlette.datastructures import UploadFile
from starlette.requests import Request

from coatwright.errors import InputError, OutOfRange
from coatwright.patterns.zones import zones
from coatwright.salon.fold import Salon
from coatwright.salon.gear import gear_key
from coatwright.salon.history import PURPOSES
from coatwright.salon.printers import printers_known
from coatwright.salon.records import Dog
from coatwright.salon.tools import tools_tested
from coatwright.web.forms import Fields
from coatwright.web.layout import words_of
from coatwright.web.pages.paper.reader import MOST_PHOTOS

PURPOSE_WORDS = {
    "tool": ("A tool or a hand", "how much hair it breaks"),
    "fingers": (
        "The measure: bare fingers",
        "ripe hair of the same zone, one by one, for lengths to be held against",
    ),
    "whole": ("Hair seen whole under a lens", "tells how often whole hair of this coat is called broken"),
    "cut": ("Hair cut with scissors", "tells how often broken hair of this coat is called whole"),
}
"""What a sheet is for, in words, and what it gives."""

MOST_PARTS = 10 * MOST_PHOTOS
"""Files that are taken in before they are counted: fields left empty come as files too, and who sends too many photos
is told so on the form.
"""


@dataclass(frozen=True, slots=True)
class SentFile:
    """A photo as it was sent."""

    name: str
    data: bytes


async def with_photos(request: Request) -> tuple[Fields, list[SentFile]]:
    """The fields and the photos of a posted form (a dependency of the pages that take photos)."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "multipart/form-data":
        raise InputError("This is not a form with photos.", where="request", remedy="Send it from its page.")
    pairs: list[tuple[str, str]] = []
    files: list[SentFile] = []
    async with request.form(max_files=MOST_PARTS, max_fields=50) as form:
        for key, value in form.multi_items():
            if not isinstance(value, UploadFile):
                pairs.append((key, value))
                continue
            data = await value.read()
            if data or value.filename:
                files.append(SentFile((value.filename or "photo")[-120:], data))
    return Fields(pairs, words_of(request).locale.mark), files


def dogs_of(salon: Salon) -> list[Dog]:
    """The dogs to choose from, by name."""
    return sorted(salon.dogs.values(), key=lambda dog: (dog.name.casefold(), dog.id))


def usual(salon: Salon, dog: Dog | None, today: date) -> dict[str, str]:
    """What is filled in before anybody types: as on the last sheet of the dog, else as at its last visit."""
    papers = [] if dog is None else sorted(dog.papers, key=lambda paper: paper.day)
    every = sorted((p for d in salon.dogs.values() for p in d.papers), key=lambda paper: paper.day)
    zone = tool = groomer = ""
    visit = dog.visits[-1] if dog is not None and dog.visits else None
    if visit is not None:
        groomer = visit.groomer
        takes = sorted(visit.takes.items(), key=lambda item: -item[1].share)
        if takes:
            zone, tool = takes[0][0], takes[0][1].tool
    if papers:
        zone, groomer = papers[-1].zone, papers[-1].groomer or groomer
    tool = next((paper.tool for paper in reversed(papers) if paper.purpose == "tool"), tool)
    printers = printers_known(salon)
    with_gear = [paper for paper in every if paper.printer]
    return {
        "dog": "" if dog is None else dog.id,
        "zone": zone or "back",
        "tool": tool,
        "groomer": groomer,
        "day": today.isoformat(),
        "purpose": "tool",
        "printer": with_gear[-1].printer if with_gear else printers[0].name if len(printers) == 1 else "",
        "phone": "",
    }


def zone_choices() -> list[tuple[str, str]]:
    """Every zone whose hair is pulled, in working order."""
    return [(key, zone.name) for key, zone in zones().items() if zone.work in ("pull", "tidy")]


def tool_names(salon: Salon) -> list[str]:
    """Tools that were named before, at a test or at a visit."""
    named = {
        gear_key(take.tool): take.tool
        for dog in salon.dogs.values()
        for visit in dog.visits
        for take in visit.takes.values()
        if take.tool
    }
    return sorted((named | tools_tested(salon)).values(), key=str.casefold)


def groomer_names(salon: Salon) -> list[str]:
    """Groomers that are written down, and those who pulled."""
    named = [person.name for person in salon.people.values() if person.role == "groomer"]
    named += [visit.groomer for dog in salon.dogs.values() for visit in dog.visits if visit.groomer]
    return _once(named)


def phone_names(salon: Salon) -> list[str]:
    """Phones that were checked or used."""
    named = [each.phone for each in salon.threads]
    named += [paper.phone for dog in salon.dogs.values() for paper in dog.papers if paper.phone]
    return _once(named)


def _once(names: Iterable[str]) -> list[str]:
    return sorted({gear_key(name): name for name in names if name}.values(), key=str.casefold)


def head_of(fields: Fields, salon: Salon, today: date) -> dict[str, Any]:
    """Whose hair a sheet holds, checked before its photo is read: keyword arguments of ``papers.read_photo``."""
    dog = fields.choice("dog", "dog", salon.dogs)
    zone = fields.choice("zone", "zone", [key for key, _ in zone_choices()])
    day = fields.day("day", "day") or today
    if day > today:
        raise OutOfRange(
            f"{day} is still to come.", where="day", remedy="Give the day on which the hair was pulled."
        )
    texts = {}
    for key, label in (
        ("tool", "tool"),
        ("groomer", "who pulled"),
        ("printer", "printer"),
        ("phone", "phone"),
    ):
        texts[key] = fields.text(key, label)
        if len(texts[key]) > 200:
            raise OutOfRange("The name is too long.", where=label, remedy="Keep it to 200 characters.")
    purpose = fields.choice("purpose", "what the sheet holds", PURPOSES, default="tool")
    return {"dog": dog, "zone": zone, "day": day, "purpose": purpose, **texts}
