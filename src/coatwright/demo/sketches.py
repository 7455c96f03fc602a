"""The dogs of the demo salon as ``dogs.toml`` tells them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources import files

from coatwright.salon.plain import from_plain

CLOSED = (0, 6)
"""Weekdays on which the salon is closed: Monday and Sunday."""
COATS = ("old", "scissored", "even")


@dataclass(frozen=True, slots=True)
class Sketch:
    """One dog in a few words; the keys are told at the top of ``dogs.toml``."""

    id: str
    name: str
    pattern: str
    sex: str
    years: float
    owner: str
    colour: str
    coat: str
    approach: str = "free"
    handler: str = ""
    ears: str = ""
    tail: str = ""
    weight_kg: float | None = None
    height_mm: float | None = None
    cadence: int = 14
    visits: int = 0
    ago: int = 3
    take: float = 0.2
    over: Mapping[str, float] = field(default_factory=dict)
    shows: tuple[str, ...] = ()
    ready_weeks: int | None = None
    cadences: tuple[int, ...] = ()
    minutes: float = 150.0
    unfit: str = ""
    single_coat: bool | None = None
    shape_mm: Mapping[str, float] = field(default_factory=dict)
    rate: float | None = None
    notes: str = ""

    def __post_init__(self) -> None:
        if self.coat not in COATS or self.cadence % 7:
            raise ValueError(f"dogs.toml, {self.id}: coat {self.coat!r}, cadence {self.cadence}")


def sketches() -> list[Sketch]:
    """All dogs, in the order of the file."""
    raw = tomllib.loads(files(__package__).joinpath("dogs.toml").read_text(encoding="utf-8"))
    return [from_plain(Sketch, {"id": id, **row}, (id,)) for id, row in raw.items()]
