"""Dogs and events for the tests of the salon."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from coatwright.patterns import pattern
from coatwright.salon.records import Assessment, Dog, LayerReading, Person, Show, Take, Visit, ZoneReading

TODAY = date(2027, 3, 1)
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
FIRST = date(2026, 12, 1)

OWNER = Person("marl", "Tobias Marlhope", phone="01632 960101")
SHOW = Show("fellside", "Fellside Terrier Day", date(2027, 6, 12), aim="rolling")

TEXT = """\
today = 2027-03-01

[dog]
name = "Bramble"
pattern = "lakeland"
born = 2023-05-02
colour = "red"
weight_kg = 7.2

[growth]
rate = 0.45

[zones.ribs]
shape_mm = 2
growth = { spread = 0.12 }

[owner]
name = "Tobias Marlhope"

[limits]
minutes = 150
cadences = [14]
away = [[2027-04-12, 2027-04-18]]
days_off = ["sunday"]

[wish]
approach = "rolling"
ready_from = 2027-05-01

[[shows]]
name = "Fellside Terrier Day"
day = 2027-06-12
aim = "rolling"

[coat]
day = 2026-12-01
undercoat = "packed"

[[coat.layers]]
share = 0.8
resting = true

[[coat.layers]]
share = 0.2
weeks = 12

[[coat.layers]]
zones = ["skull", "cheeks"]
share = 1
length_mm = 20

[[visits]]
day = 2027-01-12
minutes = 90
carded = ["back"]
takes = { back = 0.2, ribs = 0.2 }

[[visits]]
day = 2027-01-26
[visits.takes]
back = { share = 0.35, planned = 0.2, tool = "fingers", grams = 4.5, ease = "firm" }

[[readings]]
day = 2027-01-26
zone = "back"
longest_mm = 44

[[readings]]
day = 2027-01-26
zone = "ribs"
steps_mm = [8, 22.5, 40]
look = "open"
groomer = "Maren Sedgemoor-Pike"
at_visit = "after"

[[papers]]
day = 2027-01-26
zone = "back"
tool = "fingers"
whole_mm = [41, 43.5, 12]
broken_mm = [20]
counted_whole = 36
counted_broken = 2

[[fixed]]
zone = "back"
day = 2027-03-09
share = 0.05

[[fixed_visits]]
day = 2027-03-16
on = 2027-03-18
minutes = 90

[[fixed_visits]]
day = 2027-03-30
dropped = true
"""


def at(minutes: float) -> datetime:
    """A time some minutes after the first day began."""
    return datetime(2026, 12, 1, 8, tzinfo=UTC) + timedelta(minutes=minutes)


def old_coat(day: date = FIRST, zones: tuple[str, ...] = ("back", "ribs"), id: str = "coat") -> Assessment:
    """A coat of full-grown hair."""
    return Assessment(id, day, {zone: ZoneReading((LayerReading(1.0, resting=True),)) for zone in zones})


def visit(day: date, share: float = 0.2, *, id: str = "", **zones: Take) -> Visit:
    """A visit that pulls a share of the back."""
    return Visit(id or f"visit-{day}", day, zones or {"back": Take(share)})


def dog(**changes: object) -> Dog:
    """A dog of the tests."""
    usual = {"id": "bramble", "name": "Bramble", "pattern": pattern("lakeland")}
    return Dog(**{**usual, **changes})  # type: ignore[arg-type]
