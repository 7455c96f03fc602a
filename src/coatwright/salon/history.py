"""A coat's history: how it was read, what was pulled at each visit, and what comb, ruler and paper said."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from coatwright.coat.layers import UNDERCOATS
from coatwright.errors import OutOfOrder, OutOfRange, check_share
from coatwright.paper.sheet import BAR_LIMITS
from coatwright.salon.checks import (
    check_lengths,
    check_name,
    check_number,
    check_one_of,
    check_text,
    check_unique,
    check_zones,
)
from coatwright.units import Millimetres, Minutes, Share

SHARES_SLACK = 0.01
"""Shares read by eye may miss 100 % by this much (three times 0.33); they are scaled to add up."""
LONGEST_MM = 500.0
"""No hair of these breeds is longer, mm."""
EASES = ("", "easy", "firm", "hard")
"""How willingly the hair came; "" when nobody said."""
LOOKS = ("", "bare", "thin", "open", "close", "dense")
"""Cover by eye in five words, from mostly skin to no skin seen; "" when nobody said."""
MOMENTS = ("before", "after")
"""When a reading was taken: before or after the pulling of its day."""
MOST_STEPS = 8
"""More layers than this no comb tells apart."""
RULER_SLACK_MM = 5.0
"""Two readings of a ruler on a live dog may miss each other by this much, mm."""
MOST_HAIRS = 5000
"""Hairs of one paper test, measured or counted."""
PURPOSES = ("tool", "fingers", "whole", "cut")
"""What a sheet of pulled hair is for: it tests a tool or hand; it is the measure for others of its zone, pulled by
bare fingers; or it tells how well ends are judged, holding hairs seen to be whole, or hairs cut with scissors."""
CARE = re.compile(r"[a-z][a-z0-9_]{0,39}")
"""A chore beside the coat, as a record names it: ``nails``, ``scissors_feet``."""
SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class LayerReading:
    """One layer of a zone as the groomer reads it: a share of the hairs, and how old they are.

    Exactly one of these says the age:

    ``pulled``     the date of the pull
    ``weeks``      weeks since the pull, on the day of the assessment
    ``length_mm``  mm as they stand on that day (whole hair only: a cut hair's length does not tell its age)
    ``resting``    full-grown hair that has stopped growing

    ``cut_to_mm`` says that scissors or a clipper cut them to that length on ``cut_on`` (the day of the
    assessment when no date is given).
    """

    share: Share
    pulled: date | None = None
    weeks: float | None = None
    length_mm: Millimetres | None = None
    resting: bool = False
    cut_to_mm: Millimetres | None = None
    cut_on: date | None = None

    def __post_init__(self) -> None:
        check_share(self.share, "The share of a layer", where="share")
        ages = {
            "pulled": self.pulled is not None,
            "weeks": self.weeks is not None,
            "length_mm": self.length_mm is not None,
            "resting": self.resting,
        }
        given = [key for key, there in ages.items() if there]
        if len(given) != 1:
            names = " and ".join(given) or "nothing"
            raise OutOfRange(
                f"The age of a layer is told by {names}.",
                where=given[1] if given else "share",
                remedy="Give exactly one of pulled, weeks, length_mm or resting.",
            )
        check_number(self.weeks, "weeks", 0.0, 260.0)
        check_number(self.length_mm, "length_mm", 0.0, LONGEST_MM, "mm")
        check_number(self.cut_to_mm, "cut_to_mm", 0.0, LONGEST_MM, "mm")
        if self.cut_to_mm is not None and self.length_mm is not None:
            raise OutOfRange(
                "The length of cut hair does not tell how old it is.",
                where="length_mm",
                remedy="Give pulled, weeks or resting instead of length_mm.",
            )
        if self.cut_on is not None and self.cut_to_mm is None:
            raise OutOfRange(
                "A layer has a day of cutting but no length.", where="cut_on", remedy="Give cut_to_mm too."
            )
        if self.cut_on is not None and self.pulled is not None and self.cut_on < self.pulled:
            raise OutOfOrder(
                f"A layer was cut on {self.cut_on}, before it was pulled on {self.pulled}.",
                where="cut_on",
                remedy="Hair pulled later than it was cut is whole hair: leave the cut out.",
            )


@dataclass(frozen=True, slots=True)
class ZoneReading:
    """All layers of one zone as read on one day, and its undercoat."""

    layers: tuple[LayerReading, ...]
    undercoat: str = "some"

    def __post_init__(self) -> None:
        object.__setattr__(self, "layers", tuple(self.layers))
        check_one_of(self.undercoat, UNDERCOATS, "undercoat")
        total = sum(layer.share for layer in self.layers)
        if total <= 0.0:
            raise OutOfRange(
                "This zone has no hair left.",
                where="layers",
                remedy="Give at least one layer; hair pulled out and still under the skin is a layer too "
                "(weeks = 0).",
            )
        if abs(total - 1.0) > SHARES_SLACK + 1e-9:
            raise OutOfRange(
                f"The layers add up to {100 * total:.0f} % of the hairs.",
                where="layers",
                remedy="Their shares must add up to 100 %.",
            )


@dataclass(frozen=True, slots=True)
class Assessment:
    """The whole coat as read on one day, before any pulling on that day."""

    id: str
    day: date
    zones: Mapping[str, ZoneReading]

    def __post_init__(self) -> None:
        check_name(self.id, "An assessment's id")
        object.__setattr__(self, "zones", dict(self.zones))
        if not self.zones:
            raise OutOfRange(
                "This dog has no hair left: the assessment names no zone.",
                where=f"assessment of {self.day}",
                remedy='Give layers for the zones, or one row for zones = "all".',
            )
        check_zones(self.zones, where="zones")
        for zone, reading in self.zones.items():
            for layer in reading.layers:
                for key in ("pulled", "cut_on"):
                    when = getattr(layer, key)
                    if when is not None and when > self.day:
                        raise OutOfOrder(
                            f"A layer of {zone} has {key} = {when}, after the assessment of {self.day}.",
                            where=key,
                            remedy="Give a date on or before the day of the assessment.",
                        )


@dataclass(frozen=True, slots=True)
class Take:
    """What was done to one zone at a visit.

    ``share`` of all the zone's hairs that was pulled, ``planned`` what the plan asked for, ``broken`` the
    share of the pulled hairs that broke, ``selectivity`` 1 for the longest only to 0 for blindly,
    ``cut_to_mm`` the length to which the zone was scissored after the pull; ``reaction`` of the dog and
    ``skin`` in words. ``grams`` is the mass of the pulled hair, g, and ``ease`` how willingly it came, one
    of :data:`EASES`. ``so_far`` where only something was remarked and nothing is known to have been pulled yet.
    """

    share: Share = 0.0
    planned: Share | None = None
    tool: str = ""
    minutes: Minutes | None = None
    broken: Share = 0.0
    selectivity: float = 1.0
    cut_to_mm: Millimetres | None = None
    reaction: str = ""
    skin: str = ""
    grams: float | None = None
    ease: str = ""
    so_far: bool = False

    def __post_init__(self) -> None:
        check_share(self.share, "The take", where="share")
        if self.planned is not None:
            check_share(self.planned, "The planned take", where="planned")
        check_share(self.broken, "The share of broken hair", where="broken")
        check_share(self.selectivity, "The selectivity", where="selectivity")
        check_number(self.minutes, "minutes", 0.0, 600.0, "min")
        check_number(self.cut_to_mm, "cut_to_mm", 0.0, LONGEST_MM, "mm")
        check_number(self.grams, "grams", 0.01, 500.0, "g")
        check_one_of(self.ease, EASES, "ease")
        for key in ("tool", "reaction", "skin"):
            check_text(getattr(self, key), key, most=300)


def check_care(names: Iterable[str], *, where: str) -> None:
    """Names of chores: small letters, digits and low lines."""
    for name in names:
        if not CARE.fullmatch(name):
            raise OutOfRange(
                f"The chore is called {name[:40]!r}.",
                where=where,
                remedy="Use a short name in small letters, such as nails or scissors_feet.",
            )


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of a zone, or of the whole dog (zone ""), taken at a visit.

    ``photo`` is the SHA-256, in hex, of the bytes that were sent; ``width`` and ``height`` are in pixels, 0 where
    the tablet could not tell.
    """

    photo: str
    zone: str = ""
    width: int | None = None
    height: int | None = None

    def __post_init__(self) -> None:
        if not SHA256.fullmatch(self.photo):
            raise OutOfRange(
                f"The photo is called {self.photo[:40]!r}.",
                where="photo",
                remedy="Give the SHA-256 of its bytes in 64 small hex digits.",
            )
        if self.zone:
            check_zones([self.zone], where="zone")
        for key in ("width", "height"):
            check_number(getattr(self, key), key, 0, 20_000, "px")


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit: takes by zone, the zones that were carded, and how long it took.

    ``care`` names chores beside the coat that were done, ``photos`` what was photographed.
    """

    id: str
    day: date
    takes: Mapping[str, Take] = field(default_factory=dict)
    carded: tuple[str, ...] = ()
    minutes: Minutes | None = None
    note: str = ""
    groomer: str = ""
    care: tuple[str, ...] = ()
    photos: tuple[Photo, ...] = ()

    def __post_init__(self) -> None:
        check_name(self.id, "A visit's id")
        object.__setattr__(self, "takes", dict(self.takes))
        for key in ("carded", "care", "photos"):
            object.__setattr__(self, key, tuple(getattr(self, key)))
        check_care(self.care, where="care")
        check_unique(self.care, "chore", where="care")
        check_zones(self.takes, where="takes")
        check_zones(self.carded, where="carded")
        check_unique(self.carded, "zone", where="carded")
        check_number(self.minutes, "minutes", 0.0, 1440.0, "min")
        check_text(self.note, "note")
        check_text(self.groomer, "groomer", most=300)


@dataclass(frozen=True, slots=True)
class Reading:
    """Comb, ruler and eye on one zone, on one day.

    ``longest_mm``   longest hair, mm
    ``shortest_mm``  shortest hair that shows, mm
    ``cover``        share of the hairs that stand, by eye
    ``steps_mm``     lengths of the layers that the comb tells apart, mm, kept sorted, none twice
    ``look``         cover in a word, one of :data:`LOOKS`
    ``groomer``      who read it
    ``at_visit``     ``"before"`` or ``"after"`` the pulling of that day

    It must say at least one thing, and what it says must agree within the error of a ruler on a live dog.
    """

    id: str
    day: date
    zone: str
    longest_mm: Millimetres | None = None
    shortest_mm: Millimetres | None = None
    cover: Share | None = None
    steps_mm: tuple[Millimetres, ...] = ()
    look: str = ""
    groomer: str = ""
    at_visit: str = "before"

    def __post_init__(self) -> None:
        check_name(self.id, "A reading's id")
        check_zones([self.zone], where="zone")
        check_number(self.longest_mm, "longest_mm", 0.0, LONGEST_MM, "mm")
        check_number(self.shortest_mm, "shortest_mm", 0.0, LONGEST_MM, "mm")
        if self.cover is not None:
            check_share(self.cover, "The cover", where="cover")
        check_lengths(self.steps_mm, "steps_mm", LONGEST_MM)
        object.__setattr__(self, "steps_mm", tuple(sorted(set(self.steps_mm))))
        check_one_of(self.look, LOOKS, "look")
        check_text(self.groomer, "groomer", most=300)
        check_one_of(self.at_visit, MOMENTS, "at_visit")
        if not self.says:
            raise OutOfRange(
                "The reading says nothing.",
                where=self.zone,
                remedy="Give longest_mm, shortest_mm, steps_mm, look or cover.",
            )
        self._check_agreement()

    @property
    def says(self) -> tuple[str, ...]:
        """Names of the fields that say something of the coat."""
        given = {
            "longest_mm": self.longest_mm is not None,
            "shortest_mm": self.shortest_mm is not None,
            "steps_mm": bool(self.steps_mm),
            "look": bool(self.look),
            "cover": self.cover is not None,
        }
        return tuple(key for key, there in given.items() if there)

    def _check_agreement(self) -> None:
        longest, shortest, steps = self.longest_mm, self.shortest_mm, self.steps_mm
        if longest is not None and shortest is not None and shortest > longest:
            raise OutOfRange(
                f"The shortest hair ({shortest:g} mm) is longer than the longest ({longest:g} mm).",
                where="shortest_mm",
                remedy="Exchange the two lengths.",
            )
        if len(steps) > MOST_STEPS:
            raise OutOfRange(
                f"The comb is said to tell {len(steps)} layers apart.",
                where="steps_mm",
                remedy=f"Give at most {MOST_STEPS} lengths, one for each layer.",
            )
        if steps and longest is not None and steps[-1] > longest + RULER_SLACK_MM:
            raise OutOfRange(
                f"A layer of {steps[-1]:g} mm is longer than the longest hair ({longest:g} mm).",
                where="steps_mm",
                remedy="Measure the longest hair again, or take the layer back.",
            )
        if steps and shortest is not None and steps[0] < shortest - RULER_SLACK_MM:
            raise OutOfRange(
                f"A layer of {steps[0]:g} mm is shorter than the shortest hair ({shortest:g} mm).",
                where="steps_mm",
                remedy="Measure the shortest hair again, or take the layer back.",
            )


@dataclass(frozen=True, slots=True)
class PaperCount:
    """What a paper test of the hair pulled from one zone found.

    ``whole_mm``, ``broken_mm``  lengths of the hairs that were measured, mm; of a broken one what is left of
                                 it, so the hair was at least that long
    ``open_mm``                  lengths of measured hairs whose ends do not tell whether they are whole, mm
    ``counted_whole``, ``counted_broken``  further hairs, counted by hand and not measured
    ``purpose``                  one of :data:`PURPOSES`
    ``sheet``                    the key of the printed sheet; "" where nothing was photographed
    ``photo``, ``traces``        names of the kept files (see :mod:`coatwright.salon.attachments`): the photograph,
                                 and the traced hairs from which every number here can be made again
    ``phone``, ``printer``       what it was photographed and printed with
    ``bar_mm``                   length of the printed bar of 100 mm, mm
    """

    id: str
    day: date
    zone: str
    tool: str = ""
    groomer: str = ""
    whole_mm: tuple[Millimetres, ...] = ()
    broken_mm: tuple[Millimetres, ...] = ()
    counted_whole: int = 0
    counted_broken: int = 0
    open_mm: tuple[Millimetres, ...] = ()
    purpose: str = "tool"
    sheet: str = ""
    photo: str = ""
    traces: str = ""
    phone: str = ""
    printer: str = ""
    bar_mm: Millimetres = 100.0

    def __post_init__(self) -> None:
        check_name(self.id, "A paper test's id")
        check_zones([self.zone], where="zone")
        check_one_of(self.purpose, PURPOSES, "purpose")
        for key in ("tool", "groomer", "sheet", "photo", "traces", "phone", "printer"):
            check_text(getattr(self, key), key, most=300)
        for key in ("whole_mm", "broken_mm", "open_mm"):
            object.__setattr__(self, key, tuple(getattr(self, key)))
            check_lengths(getattr(self, key), key, LONGEST_MM)
        for key in ("counted_whole", "counted_broken"):
            check_number(getattr(self, key), key, 0, MOST_HAIRS, "hairs")
        check_number(self.bar_mm, "bar_mm", *BAR_LIMITS, "mm")
        hairs = self.whole + self.broken + len(self.open_mm)
        if not 0 < hairs <= MOST_HAIRS:
            raise OutOfRange(
                f"The paper test tells of {hairs} hairs.",
                where=self.zone,
                remedy=f"Give the lengths or the numbers of 1 to {MOST_HAIRS} hairs.",
            )

    @property
    def whole(self) -> int:
        """Whole hairs, measured and counted."""
        return len(self.whole_mm) + self.counted_whole

    @property
    def broken(self) -> int:
        """Broken hairs, measured and counted."""
        return len(self.broken_mm) + self.counted_broken

    @property
    def judged(self) -> int:
        """Hairs of which it is told whether they are whole."""
        return self.whole + self.broken
