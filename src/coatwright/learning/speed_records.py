"""What is timed at the table, and what is believed of it beforehand (see :mod:`coatwright.learning.speed`)."""

from __future__ import annotations

from dataclasses import dataclass, fields

from coatwright.errors import OutOfRange, check_share
from coatwright.units import Minutes, Share

Level = tuple[str, ...]
"""A term by name: ("groomer", name), ("groomer_zone", name, zone), ("kind", key), ("dog", id) or ("set_up", name)."""


@dataclass(frozen=True, slots=True)
class Priors:
    """Standard deviations of the terms, on the logarithm; see :data:`BASIS` for where each is from.

    ``slip``, ``wrong_visit`` are chances of a wrong record and of a visit unlike any other, ``range`` how far off
    these can be to either side; ``set_up`` is in min. How wide noise and days are is learnt too: ``noise_worth`` and
    ``visit_worth`` are the records and visits that what is said here counts for.
    """

    groomer: float = 0.30
    groomer_zone: float = 0.20
    kind: float = 0.20
    dog: float = 0.20
    visit: float = 0.15
    take: float = 0.25
    pace: float = 0.15
    set_up: Minutes = 20.0
    set_up_groomer: float = 0.50
    set_up_visit: float = 0.40
    slip: float = 0.03
    wrong_visit: float = 0.02
    range: float = 3.0
    noise_worth: float = 30.0
    visit_worth: float = 20.0

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            low, high = (0.0, 0.5) if field.name in ("slip", "wrong_visit") else (1e-3, 1e12)
            if not low <= value <= high:
                raise OutOfRange(
                    f"The prior {field.name} is {value:g}.",
                    where="speed",
                    remedy=f"It must lie between {low:g} and {high:g}.",
                )


BASIS = {
    "groomer": "assumption: two of three groomers lie between 3/4 and 4/3 of the table",
    "groomer_zone": "assumption: a groomer is slower in one zone, faster in another, by a fifth",
    "kind": "assumption: the table is one for all kinds of coat; they differ by a fifth",
    "dog": "assumption: ripeness, thickness and patience differ from dog to dog by a fifth",
    "visit": "assumption: good and bad days, 15 %",
    "take": "common practice: a take judged by eye is good to a quarter of itself",
    "pace": "assumption: the same zone on the same day goes 15 % faster or slower",
    "set_up": "the plan's own: brushing, drying, looking over, 20 min (common practice)",
    "set_up_groomer": "assumption: what a groomer counts as set-up differs by half",
    "set_up_visit": "assumption: the same groomer needs two fifths more or less",
    "slip": "assumption: of a hundred records three are wrong",
    "wrong_visit": "assumption: of a hundred visits two are unlike any other or timed wrongly",
    "range": "assumption: a wrong record is off by anything up to twenty times (exp 3) in either direction",
    "noise_worth": "assumption: 30 records weigh as much as what is assumed of their noise",
    "visit_worth": "assumption: 20 visits weigh as much as what is assumed of days",
}
"""Where each prior is from. None of them is measured: no times of hand-stripping are published that we know of."""


@dataclass(frozen=True, slots=True)
class Pull:
    """What was pulled from one zone: a share of it, the minutes where they were kept.

    ``reference`` is the table's for the whole zone of a dog of this size, min.
    """

    zone: str
    share: Share
    reference: Minutes
    minutes: Minutes | None = None

    def __post_init__(self) -> None:
        check_share(self.share, "The take", where=self.zone)
        if not 0.0 < self.reference < 1e4:
            raise OutOfRange(
                f"The table's minutes for the whole zone are {self.reference:g}.",
                where=self.zone,
                remedy="Give more than 0 min.",
            )


@dataclass(frozen=True, slots=True)
class Work:
    """One visit: who pulled which dog of which kind of coat, zone by zone, and ``total`` min, set-up included."""

    groomer: str
    kind: str
    dog: str
    pulls: tuple[Pull, ...]
    total: Minutes | None = None


def levels_of(zone: str, groomer: str | None, kind: str | None, dog: str | None) -> list[Level]:
    """The terms of a pace; None averages over all of a sort."""
    found: list[Level] = []
    if groomer is not None:
        found += [("groomer", groomer), ("groomer_zone", groomer, zone)]
    if kind is not None:
        found.append(("kind", kind))
    if dog is not None:
        found.append(("dog", dog))
    return found


def sd_of(priors: Priors, level: Level) -> float:
    """Sd of a term before any record."""
    name = "set_up_groomer" if level[0] == "set_up" else level[0]
    return float(getattr(priors, name))
