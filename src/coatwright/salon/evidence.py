"""From what is kept of a dog to the numbers that its coat is learnt from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np

from coatwright.coat.growth import Growth
from coatwright.learning.evidence import (
    DogEvidence,
    Look,
    PaperHair,
    PullRecord,
    Record,
    Start,
    StartLayer,
    ZoneEvidence,
)
from coatwright.learning.priors import centre_of
from coatwright.salon.coats import growth_of
from coatwright.salon.records import Assessment, Dog, LayerReading, PaperCount, Reading, Take, Visit
from coatwright.units import Millimetres, day_of

BODY_M2 = 0.101
"""Body surface of a dog: 0.101 m2 x (kg)^(2/3), the standard veterinary formula (from memory)."""
STEP_MM: Millimetres = 2.0
"""Hairs of a paper test are counted in steps of this length."""
LOST_AT_CROSSINGS = 0.04
"""A photographed whole hair of L mm is read right and seen to be whole with a chance that falls as exp(-0.04 d L),
where d is the length of all hair on the sheet over its clear area, mm per mm2: it meets others in proportion to both.
Fitted to 1705 whole hairs of drawn photographs; 0.033 fits 1814 of another style (``python -m
tests.bench.paper_losses``)."""


def groomers_of(dog: Dog) -> tuple[str, ...]:
    """Everybody who worked on a dog, in the order in which they first did; "" stands for who was not named."""
    return tuple(dict.fromkeys(visit.groomer for visit in dog.visits)) or ("",)


def evidence_of(dog: Dog, day: date | None = None) -> DogEvidence:
    """All that was recorded of the zones that are pulled, in working order, up to ``day`` (default: ever).

    Zones without an assessment on or before that day are left out.
    """
    from coatwright.patterns import surface_factor, zones

    people = groomers_of(dog)
    weight = dog.weight_kg or dog.pattern.weight_kg
    pulled = {key: zone for key, zone in zones().items() if zone.work == "pull"}
    whole = sum(zone.minutes for zone in pulled.values())
    found = []
    for key, zone in pulled.items():
        growth = growth_of(dog, key)
        records = [
            each for each in _records(dog, key, growth, people) if day is None or each.day <= day_of(day)
        ]
        first = min((each.day for each in records if isinstance(each, Start)), default=None)
        if first is None:
            continue
        found.append(
            ZoneEvidence(
                key=key,
                centre=centre_of(growth),
                records=tuple(each for each in records if each.day >= first),
                hold=growth.hold,
                loss=growth.loss,
                area_cm2=1e4 * BODY_M2 * weight ** (2.0 / 3.0) * zone.minutes / whole,
                minutes=zone.minutes * surface_factor(weight),
            )
        )
    return DogEvidence(tuple(found), len(people))


def is_measured(dog: Dog, day: date) -> bool:
    """Whether anything was recorded by ``day`` that a coat can be learnt from, besides takes judged by eye."""
    return (
        any(reading.day <= day for reading in dog.readings)
        or any(
            take.grams is not None or take.ease
            for visit in dog.visits
            if visit.day <= day
            for take in visit.takes.values()
        )
        or any(paper.day <= day for paper in papers_taught_by(dog))
    )


def tells_lengths(paper: PaperCount) -> bool:
    """Whether hairs were measured as they came out of the coat; chosen ones, whole or cut, say nothing of layers."""
    pulled = paper.purpose in ("tool", "fingers")
    return pulled and bool(paper.whole_mm or paper.broken_mm or paper.open_mm)


def is_taken(dog: Dog, day: date, zone: str) -> bool:
    """Whether a visit of that day is logged that took of the zone; without it lengths tell of no layers."""
    takes = (visit.takes.get(zone) for visit in dog.visits if visit.day == day)
    return any(take is not None and _takes(take) for take in takes)


def papers_taught_by(dog: Dog) -> tuple[PaperCount, ...]:
    """The paper tests that a coat is learnt from: measured hair of a zone and day of which a take is logged."""
    taken = {(visit.day, zone) for visit in dog.visits for zone, take in visit.takes.items() if _takes(take)}
    return tuple(paper for paper in dog.papers if (paper.day, paper.zone) in taken and tells_lengths(paper))


def _takes(take: Take) -> bool:
    return take.share > 0.0 or take.cut_to_mm is not None


def _records(dog: Dog, zone: str, growth: Growth, people: tuple[str, ...]) -> Iterator[Record]:
    for assessment in dog.assessments:
        if zone in assessment.zones:
            yield _start(assessment, zone)
    papers: dict[tuple[date, str], list[PaperCount]] = {}
    for paper in papers_taught_by(dog):
        papers.setdefault((paper.day, paper.zone), []).append(paper)
    for visit in dog.visits:
        take = visit.takes.get(zone)
        if take is not None and _takes(take):
            yield _pull(visit, take, people.index(visit.groomer), papers.get((visit.day, zone), []))
    for reading in dog.readings:
        if reading.zone == zone:
            yield _look(reading)


def _start(assessment: Assessment, zone: str) -> Start:
    layers = assessment.zones[zone].layers
    return Start(
        day_of(assessment.day), tuple(_layer(row, assessment.day) for row in layers if row.share > 0.0)
    )


def _layer(row: LayerReading, day: date) -> StartLayer:
    age = None
    if row.pulled is not None:
        age = float((day - row.pulled).days)
    elif row.weeks is not None:
        age = float(round(7.0 * row.weeks))
    return StartLayer(
        share=row.share,
        age=age,
        length=row.length_mm,
        resting=row.resting,
        cut_to=row.cut_to_mm,
        cut_ago=0.0 if row.cut_on is None else float((day - row.cut_on).days),
    )


def _pull(visit: Visit, take: Take, groomer: int, papers: Sequence[PaperCount]) -> PullRecord:
    return PullRecord(
        day=day_of(visit.day),
        share=take.share,
        groomer=groomer,
        broken=take.broken,
        selectivity=take.selectivity,
        cut_to=take.cut_to_mm,
        grams=take.grams,
        minutes=take.minutes,
        ease=take.ease,
        paper=tuple(hair for paper in papers for hair in _hairs(paper)),
    )


def _hairs(paper: PaperCount) -> tuple[PaperHair, ...]:
    """Lengths counted in steps; hairs that were only counted say nothing of lengths.

    Of a broken hair, and of one whose ends do not tell, the length is the least that it had. Long hairs that a
    photograph loses at crossings are made up for by more weight; all weights add up to the number of whole hairs.
    """
    found: list[PaperHair] = []
    weights = _weights(paper)
    for lengths, weight, least in (
        (paper.whole_mm, weights, False),
        ((*paper.broken_mm, *paper.open_mm), np.ones(len(paper.broken_mm) + len(paper.open_mm)), True),
    ):
        steps, place = np.unique(np.floor(np.array(lengths) / STEP_MM), return_inverse=True)
        counts = np.bincount(place, weights=weight, minlength=len(steps))
        at = 0.0 if least else 0.5
        found += [
            PaperHair(float((step + at) * STEP_MM), STEP_MM, float(count), least)
            for step, count in zip(steps, counts, strict=True)
        ]
    return tuple(found)


def _weights(paper: PaperCount) -> np.ndarray:
    """Weights of the measured whole hairs, (n,): the inverse of the chance to be read; 1 without a sheet."""
    lengths = np.array(paper.whole_mm, dtype=float)
    if not paper.sheet or not len(lengths):
        return np.ones(len(lengths))
    from coatwright.paper.sheet import sheet

    x0, y0, x1, y1 = sheet(paper.sheet).clear
    whole = sum(lengths) + sum(paper.broken_mm) + sum(paper.open_mm)
    weights = np.exp(LOST_AT_CROSSINGS * whole / ((x1 - x0) * (y1 - y0)) * lengths)
    return np.asarray(weights * len(lengths) / weights.sum())


def _look(reading: Reading) -> Look:
    return Look(
        day=day_of(reading.day),
        longest=reading.longest_mm,
        shortest=reading.shortest_mm,
        steps=reading.steps_mm,
        look=reading.look,
        cover=reading.cover,
        after=reading.at_visit == "after",
    )
