"""Coats of whole dogs to draw in the tests: blown, stripped, six and twelve weeks on, and rolling."""

from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.drawing.looks import ZoneLook, look_of

TODAY = 739_000
END = {
    "skull": 14, "brows": 45, "foreface": 30, "beard": 70, "cheeks": 14, "throat": 16, "neck": 40,
    "forechest": 30, "shoulders": 50, "back": 60, "croup": 50, "ribs": 60, "underline": 60, "forelegs": 50,
    "feet": 25, "hind_feet": 25, "thighs": 50, "rear": 25, "hocks": 45, "ears": 10, "tail": 40,
}  # fmt: skip
"""End length per zone, mm: a well-furnished terrier (assumption)."""
STATES = ("blown", "stripped", "week 6", "week 12", "rolling")
DOGS = (
    ("square", "folded", "up", 390.0, "black_and_tan"),
    ("short_legged", "prick", "up", 280.0, "white"),
    ("long_low", "drop", "level", 250.0, "grizzle"),
    ("leggy", "drop", "docked", 600.0, "pepper_and_salt"),
    ("round_headed", "prick", "docked", 270.0, "red"),
    ("giant", "folded", "level", 800.0, "wheaten"),
)
"""One dog of each build: build, ears, tail, height in mm, colour."""


def growth_of(zone: str) -> Growth:
    return Growth(end=float(END[zone]), rate=min(0.45, END[zone] / 100 + 0.05))


def coat_of(state: str) -> ZoneCoat:
    if state == "blown":
        old = (Layer(TODAY - 400, 0.5), Layer(TODAY - 300, 0.3), Layer(TODAY - 200, 0.2))
        return ZoneCoat.of(old, "packed")
    if state == "rolling":
        return ZoneCoat.even(TODAY, 14, 5)
    weeks = {"stripped": 0, "week 6": 6, "week 12": 12}[state]
    return ZoneCoat.of([Layer(TODAY - 7 * weeks, 0.96), Layer(TODAY - 60 - 7 * weeks, 0.04)])


def looks_of(state: str, day: int = TODAY) -> dict[str, ZoneLook]:
    """The looks of all zones seen from the side; every zone in the same state, each with its own growth."""
    return {zone: look_of(zone, coat_of(state), day, growth_of(zone)) for zone in END}
