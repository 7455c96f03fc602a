"""What is tapped at the table: one zone, one carding, one chore, one photo at a time.

A tablet may be offline for hours and send late, twice and out of order, and two tablets may work on one dog.
So each tap stands alone and names its visit by its day; :mod:`coatwright.salon.visits` puts them together.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from coatwright.salon.checks import check_name, check_number, check_text, check_zones
from coatwright.salon.history import Photo, Take, check_care
from coatwright.units import Minutes

MOST_MINUTES = 1440.0


def check_tap(visit: str, device: str) -> None:
    """The id of a visit, and the device on which it was tapped ("" when nobody says)."""
    check_name(visit, "A visit's id")
    check_text(device, "device", most=200)


@dataclass(frozen=True, slots=True)
class TakeLogged:
    """What was pulled from one zone; a later one of the same day and zone takes its place.

    One ``so_far`` is a remark on a zone that this device has not logged; it takes the place of no other's take.
    """

    visit: str
    day: date
    zone: str
    take: Take
    groomer: str = ""
    device: str = ""
    so_far: bool = False

    def __post_init__(self) -> None:
        check_tap(self.visit, self.device)
        check_zones([self.zone], where="zone")
        check_text(self.groomer, "groomer", most=300)


@dataclass(frozen=True, slots=True)
class ZoneCarded:
    """That a zone was carded, or that it was not after all."""

    visit: str
    day: date
    zone: str
    carded: bool
    device: str = ""

    def __post_init__(self) -> None:
        check_tap(self.visit, self.device)
        check_zones([self.zone], where="zone")


@dataclass(frozen=True, slots=True)
class CareDone:
    """That a chore beside the coat was done (``nails``, ``ears``, ...), or not after all."""

    visit: str
    day: date
    what: str
    done: bool
    device: str = ""

    def __post_init__(self) -> None:
        check_tap(self.visit, self.device)
        check_care([self.what], where="what")


@dataclass(frozen=True, slots=True)
class VisitTold:
    """The visit as a whole: who worked, how long the dog stood on the table, and what there is to say."""

    visit: str
    day: date
    groomer: str = ""
    minutes: Minutes | None = None
    note: str = ""
    device: str = ""

    def __post_init__(self) -> None:
        check_tap(self.visit, self.device)
        check_number(self.minutes, "minutes", 0.0, MOST_MINUTES, "min")
        check_text(self.groomer, "groomer", most=300)
        check_text(self.note, "note")


@dataclass(frozen=True, slots=True)
class PhotoTaken:
    """A photo of a zone, or of the whole dog (zone ""): ``photo`` names the bytes by their SHA-256."""

    visit: str
    day: date
    photo: str
    zone: str = ""
    width: int | None = None
    height: int | None = None
    device: str = ""

    def __post_init__(self) -> None:
        check_tap(self.visit, self.device)
        self.kept()

    def kept(self) -> Photo:
        """As a visit holds it."""
        return Photo(self.photo, self.zone, self.width, self.height)


@dataclass(frozen=True, slots=True)
class PhotoKept:
    """That the bytes of a photo have come: ``id`` is their SHA-256, ``file`` the name of what is kept of them."""

    id: str
    file: str
    width: int | None = None
    height: int | None = None

    def __post_init__(self) -> None:
        Photo(self.id, "", self.width, self.height)
        check_text(self.file, "file", most=80)


Tap = TakeLogged | ZoneCarded | CareDone | VisitTold | PhotoTaken

TAPS = {
    "take.logged": TakeLogged,
    "zone.carded": ZoneCarded,
    "care.done": CareDone,
    "visit.told": VisitTold,
    "photo.taken": PhotoTaken,
}
"""Each kind of event that is tapped at the table, and its record."""
