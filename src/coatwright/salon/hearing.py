"""The witnesses of a trial: how ends are misjudged, what lengths are held against, and what all its sheets say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from coatwright.errors import CoatwrightError
from coatwright.paper.control import layers_taken
from coatwright.paper.share import ShareBelief
from coatwright.paper.witness_ends import Misjudged, ends_belief
from coatwright.paper.witness_lengths import Fingers, Layers
from coatwright.paper.witnesses import Testimony, hear
from coatwright.salon.coats import coat_of, growth_of
from coatwright.salon.gear import gear_key
from coatwright.salon.history import PaperCount
from coatwright.units import Millimetres, Share, day_of

if TYPE_CHECKING:
    from coatwright.salon.records import Dog

CONTROL_DAYS = 3
"""A finger-pulled sheet serves trials of its zone this many days before and after: hair grows on."""
LEAST_CONTROL = 20
"""Fewer hairs than this make no control."""
LEAST_KNOWN = 20
"""Own hairs of known state, of each kind, that take the place of :data:`DRAWN`."""
DRAWN = Misjudged(37, 3, 39, 1)
"""How ends are misjudged on drawn photographs (482 of 522 broken ones and 3430 of 3447 whole ones seen right, see
docs/reference/paper-reading-figures.md), counted as no more than 40 hairs of each kind, with one whole one wrong:
real coats may be worse."""
DEFAULT_TAKE: Share = 0.2
"""The take that a control of layers assumes where no visit tells of one."""
SEED = 5103

FINGERS, LAYERS, NO_CONTROL = "fingers", "layers", ""
OWN, FROM_DRAWN, LENS = "own", "drawn", "lens"

NO_KNOWN = (
    "How often ends of this coat are misjudged is not known: hairs seen whole under a lens, and hairs cut with "
    "scissors, photographed on sheets of their own, would tell."
)
BY_MODEL = (
    "The lengths were held against the coat model; a sheet of the same zone pulled by bare fingers would be a better "
    "measure."
)
MODEL_ASIDE = (
    "The lengths do not fit what the coat model says of this take, so only the ends were heard: correct the last "
    "assessment, or pull a sheet of the same zone with bare fingers."
)
NO_MEASURE = "Nothing to hold the lengths against: pull a sheet of the same zone with bare fingers."
MIXED_GEAR = "The sheets were not all photographed and printed with the same gear."


@dataclass(frozen=True, eq=False)
class Heard:
    """All that the sheets of a trial say, and what it rests on.

    ``testimony`` is None where nothing could be heard; ``control`` one of "fingers" (``control_hairs`` of them),
    "layers" and ""; ``known`` one of "own", "drawn", "lens" and "": see :class:`coatwright.salon.verdicts.Trial`.
    """

    testimony: Testimony | None
    control: str = NO_CONTROL
    control_hairs: int = 0
    known: str = ""
    misjudged: Misjudged | None = None
    remarks: tuple[str, ...] = ()


def hear_sheets(
    dog: Dog | None, kept: Sequence[PaperCount], papers: Sequence[PaperCount], zone: str, day: date
) -> Heard:
    """Hear the sheets ``papers`` of a zone and day; ``kept`` are all sheets of the dog, controls among them.

    Without a dog there is no coat model to hold lengths against.
    """
    photographed = [paper for paper in papers if paper.sheet]
    misjudged, known = misjudged_of(kept)
    control, hairs = control_of(dog, kept, zone, day)
    found = _by_photo(photographed, control, misjudged)
    aside = isinstance(control, Layers) and found is not None and found.contradicted
    if aside:
        control, found = None, _by_photo(photographed, None, misjudged)
    by_photo = found is not None and found.ends is not None
    testimony = _with_lens(found, papers)
    if testimony is None:
        return Heard(None, remarks=(NO_MEASURE,))
    lengths = testimony.lengths is not None
    remarks = [NO_KNOWN] if by_photo and known == FROM_DRAWN else []
    if aside:
        remarks.append(MODEL_ASIDE)
    elif lengths and isinstance(control, Layers):
        remarks.append(BY_MODEL)
    elif not lengths and photographed:
        remarks.append(NO_MEASURE)
    if len({(gear_key(paper.phone), gear_key(paper.printer)) for paper in photographed}) > 1:
        remarks.append(MIXED_GEAR)
    return Heard(
        testimony,
        (FINGERS if isinstance(control, Fingers) else LAYERS) if lengths else NO_CONTROL,
        hairs if lengths else 0,
        known if by_photo else LENS if testimony.ends is not None else "",
        misjudged if by_photo else None,
        tuple(remarks),
    )


def misjudged_of(kept: Sequence[PaperCount]) -> tuple[Misjudged, str]:
    """How ends are misjudged on photographs of a dog's coat, and what that was found from.

    Sheets of hairs seen whole and of hairs cut with scissors tell it; below 20 of each kind :data:`DRAWN` serves.
    """
    seen = {
        purpose: (
            sum(len(each.whole_mm) for each in kept if each.purpose == purpose and each.sheet),
            sum(len(each.broken_mm) for each in kept if each.purpose == purpose and each.sheet),
        )
        for purpose in ("whole", "cut")
    }
    if min(sum(seen["whole"]), sum(seen["cut"])) < LEAST_KNOWN:
        return DRAWN, FROM_DRAWN
    as_whole, as_broken = seen["cut"]
    return Misjudged(as_broken, as_whole, *seen["whole"]), OWN


def pulled_by_fingers(kept: Sequence[PaperCount], zone: str, day: date) -> tuple[Millimetres, ...]:
    """Lengths of the finger-pulled hairs of a zone that serve trials of a day as a control, mm."""
    return tuple(
        length
        for paper in kept
        if (paper.purpose, paper.zone) == ("fingers", zone) and abs((paper.day - day).days) <= CONTROL_DAYS
        for length in (*paper.whole_mm, *paper.open_mm)
    )


def control_of(
    dog: Dog | None, kept: Sequence[PaperCount], zone: str, day: date
) -> tuple[Fingers | Layers | None, int]:
    """What the lengths of a trial are held against, and how many hairs were pulled by fingers for it."""
    lengths = pulled_by_fingers(kept, zone, day)
    if len(lengths) >= LEAST_CONTROL:
        return Fingers(lengths), len(lengths)
    if dog is None:
        return None, 0
    visit = next((visit for visit in dog.visits if visit.day == day), None)
    take = None if visit is None else visit.takes.get(zone)
    share = DEFAULT_TAKE if take is None or take.share <= 0.0 else take.share
    selectivity = 1.0 if take is None else take.selectivity
    try:
        coat = coat_of(dog, day, before=True)
        if zone not in coat:
            return None, 0
        growth = growth_of(dog, zone)
        return layers_taken(coat[zone], day_of(day), share, growth, selectivity=selectivity), 0
    except CoatwrightError:
        return None, 0  # the coat is not known on that day, or the take brings out nothing long enough


def _by_photo(
    papers: Sequence[PaperCount], control: Fingers | Layers | None, misjudged: Misjudged
) -> Testimony | None:
    """What the photographed hairs say by both witnesses; None where neither can be heard."""
    lengths, marks = _hairs(papers)
    if not lengths or (control is None and not any(mark >= 0 for mark in marks)):
        return None
    return _hear(lengths, marks, control, misjudged)


@lru_cache(maxsize=512)
def _hear(
    lengths: tuple[float, ...],
    marks: tuple[int, ...],
    control: Fingers | Layers | None,
    misjudged: Misjudged,
) -> Testimony:
    """The same hairs give the same answer, and are heard once."""
    rng = np.random.default_rng(SEED)
    return hear(rng, lengths=np.array(lengths), control=control, judged=np.array(marks), misjudged=misjudged)


def _with_lens(found: Testimony | None, papers: Sequence[PaperCount]) -> Testimony | None:
    """The same with hairs judged under a lens: other hairs, free of error, so that likelihoods are multiplied."""
    by_lens = [
        (paper.counted_broken, paper.counted_whole) if paper.sheet else (paper.broken, paper.whole)
        for paper in papers
    ]
    broken, whole = (sum(column) for column in zip(*by_lens, strict=True))
    if broken + whole == 0:
        return found
    if found is None:
        return hear(np.random.default_rng(SEED), judged=np.repeat([1, 0], [broken, whole]))
    clear = ends_belief(broken, broken + whole)
    ends = clear if found.ends is None else _both(found.ends, clear)
    return Testimony(
        ends,
        found.lengths,
        _both(found.belief, clear),
        found.heard + broken + whole,
        found.chance,
        found.contradicted,
        found.judged + broken + whole,
        found.measured,
    )


def _both(one: ShareBelief, two: ShareBelief) -> ShareBelief:
    return ShareBelief.of_likelihood(one.log_likelihood + two.log_likelihood)


def _hairs(papers: Sequence[PaperCount]) -> tuple[tuple[float, ...], tuple[int, ...]]:
    """Lengths in mm and judgements, 1 broken, 0 whole, -1 open, of what was measured."""
    lengths: list[float] = []
    marks: list[int] = []
    for paper in papers:
        for values, judged in ((paper.whole_mm, 0), (paper.broken_mm, 1), (paper.open_mm, -1)):
            lengths += values
            marks += [judged] * len(values)
    return tuple(lengths), tuple(marks)
