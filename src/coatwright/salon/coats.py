"""From what is kept of a dog to its coat on a day: growth, aims, and the replay of every visit.

An assessment reads the coat before anything is pulled on its day; a visit of the same day comes after it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from math import ceil

from coatwright.coat.aims import Aim, rolling_aim, staged_aim
from coatwright.coat.growth import Growth, length
from coatwright.coat.layers import Layer, ZoneCoat, card, cut, pull, shed
from coatwright.errors import InputError, OutOfOrder, OutOfRange, UnknownName
from coatwright.salon.records import Assessment, Dog, LayerReading, Take, Visit, ZoneReading
from coatwright.units import Day, Share, day_of

LENGTH_SLACK = 1.3
"""A reading may exceed a zone's end length by this factor; beyond it the zone's growth is set too short."""


def growth_of(dog: Dog, zone: str) -> Growth:
    """Growth of a zone: the pattern's end length, then the dog's own values, then the zone's."""
    values = {"end": float(dog.pattern.end_mm[zone]), **dog.growth, **dog.zone_growth.get(zone, {})}
    return Growth(**values)


def aim_of(dog: Dog, zone: str, style: str) -> Aim | None:
    """Aim of a zone, ``rolling`` or ``staged``: the pattern's band, moved by the dog's shape note.

    ``None`` when the pattern has no band for it. A rolling coat is held to the cover that the owner wishes.
    """
    from coatwright.patterns.model import with_shape

    if style not in ("rolling", "staged"):
        raise UnknownName.of("style", style, ("rolling", "staged"))
    band = dog.pattern.aims.get(zone)
    if band is None:
        return None
    band = with_shape(band, dog.shape_mm.get(zone, 0.0))
    if style == "staged":
        return staged_aim(band.lo, band.hi)
    return rolling_aim(band.lo, band.hi, growth_of(dog, zone), cover=dog.wish.look_cover)


def is_double(dog: Dog) -> bool:
    """Whether the dog has an undercoat: its own note, else the pattern's."""
    return dog.pattern.double_coat if dog.single_coat is None else not dog.single_coat


def cover_floor(dog: Dog, zone: str) -> Share:
    """Welfare floor of a zone's cover: 0 where an undercoat stays on the skin, else the dog's least cover."""
    from coatwright.patterns.zones import zones

    return 0.0 if is_double(dog) and zones()[zone].undercoat else dog.welfare_cover


def zone_coat_of(reading: ZoneReading, day: date, growth: Growth) -> ZoneCoat:
    """The layers of one zone as read on ``day``; shares are scaled to add up to 1."""
    layers = [_layer(row, day_of(day), growth) for row in reading.layers if row.share > 0.0]
    return ZoneCoat.of(layers, reading.undercoat)


def coat_of(dog: Dog, day: date, *, before: bool = False) -> dict[str, ZoneCoat]:
    """The coat on the evening of ``day``, zone by zone: the last assessment, then every visit since.

    ``before=True`` leaves out the visit of that very day: the coat in the morning. A zone that no assessment
    names has no coat here. Raises :class:`OutOfOrder` when there is no assessment on or before the day, and
    :class:`OutOfRange` when a visit takes more than stands.
    """
    return dict(_replayed(_Same(dog), day, before))


@dataclass(frozen=True, slots=True, eq=False)
class _Same:
    """A dog as a key: the same record, not an equal one, which would take as long to compare as to replay."""

    dog: Dog

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.dog is self.dog

    def __hash__(self) -> int:
        return id(self.dog)


@lru_cache(maxsize=512)
def _replayed(of: _Same, day: date, before: bool) -> Mapping[str, ZoneCoat]:
    dog = of.dog
    starts = _starts(dog, day)
    if not starts:
        raise OutOfOrder(
            f"The coat of {dog.name} is not known on {day}.",
            where=dog.name,
            remedy="Give an assessment of the coat on or before that day.",
        )
    return {zone: _zone_on(dog, zone, assessment, day, before) for zone, assessment in starts.items()}


def _zone_on(dog: Dog, zone: str, assessment: Assessment, day: date, before: bool) -> ZoneCoat:
    """The coat of one zone on the evening of a day, from the assessment that it was last read in."""
    growth = growth_of(dog, zone)
    try:
        coat = zone_coat_of(assessment.zones[zone], assessment.day, growth)
    except InputError as error:
        raise error.at(f"{dog.name}, assessment of {assessment.day}, {zone}") from error
    since = day_of(assessment.day)
    for visit in _visits(dog, assessment.day, day, before):
        at = day_of(visit.day)
        coat = shed(coat, since, at, growth)
        try:
            coat = _visited(coat, visit, zone, growth)
        except InputError as error:
            raise error.at(f"{dog.name}, visit of {visit.day}, {zone}") from error
        since = at
    return shed(coat, since, day_of(day), growth)


def last_carded(dog: Dog, zone: str, day: date) -> date | None:
    """The last day, up to ``day``, on which a zone was carded."""
    days = [visit.day for visit in dog.visits if visit.day <= day and zone in visit.carded]
    return max(days, default=None)


def check_coat(dog: Dog, zones: Collection[str] | None = None) -> None:
    """Replay what is kept of the coat, or of ``zones`` of it, each stretch up to the day before the next assessment.

    Raises what :func:`coat_of` raises, and :class:`OutOfOrder` for a visit to a zone that was never read.
    """
    for visit in dog.visits:
        known = _starts(dog, visit.day)
        for zone in (*visit.takes, *visit.carded):
            if zone not in known and (zones is None or zone in zones):
                raise OutOfOrder(
                    f"The visit of {visit.day} touches {zone}, which no assessment before it reads.",
                    where=f"{dog.name}, visit of {visit.day}, {zone}",
                    remedy='Add the zone to the assessment, or give one row for zones = "all".',
                )
    for assessment in dog.assessments:
        for zone, reading in assessment.zones.items():
            if zones is not None and zone not in zones:
                continue
            try:
                zone_coat_of(reading, assessment.day, growth_of(dog, zone))
            except InputError as error:
                raise error.at(f"{dog.name}, assessment of {assessment.day}, {zone}") from error
    if not dog.assessments:
        return
    first = dog.assessments[0].day
    ends = [later.day - timedelta(days=1) for later in dog.assessments[1:]]
    ends.append(max([dog.assessments[-1].day, *(visit.day for visit in dog.visits[-1:])]))
    for end in ends:
        if end >= first:
            if zones is None:
                coat_of(dog, end)
                continue
            for zone, assessment in _starts(dog, end).items():
                if zone in zones:
                    _zone_on(dog, zone, assessment, end, False)


def _starts(dog: Dog, day: date) -> dict[str, Assessment]:
    found: dict[str, Assessment] = {}
    for assessment in dog.assessments:
        if assessment.day <= day:
            found.update(dict.fromkeys(assessment.zones, assessment))
    return found


def _visits(dog: Dog, since: date, day: date, before: bool) -> Iterator[Visit]:
    for visit in dog.visits:
        if since <= visit.day <= day and not (before and visit.day == day):
            yield visit


def _visited(coat: ZoneCoat, visit: Visit, zone: str, growth: Growth) -> ZoneCoat:
    take: Take | None = visit.takes.get(zone)
    day = day_of(visit.day)
    if zone in visit.carded:
        coat = card(coat)
    if take is None:
        return coat
    if take.share > 0.0:
        coat = pull(coat, day, take.share, growth, selectivity=take.selectivity, broken=take.broken).coat
    return coat if take.cut_to_mm is None else cut(coat, day, take.cut_to_mm, growth)


def _layer(row: LayerReading, day: Day, growth: Growth) -> Layer:
    born = day - _age(row, day, growth)
    if row.cut_to_mm is None:
        return Layer(born, row.share)
    cut_day = day if row.cut_on is None else day_of(row.cut_on)
    standing = float(length(max(cut_day - born, 0), growth))
    return Layer(born, row.share, max(standing - row.cut_to_mm, 0.0))


def _age(row: LayerReading, day: Day, growth: Growth) -> int:
    if row.pulled is not None:
        return day - day_of(row.pulled)
    if row.weeks is not None:
        return round(7.0 * row.weeks)
    if row.length_mm is not None:
        if row.length_mm > LENGTH_SLACK * growth.end:
            raise OutOfRange(
                f"Hair of {row.length_mm:g} mm is read where it is taken to end at {growth.end:g} mm.",
                remedy="Give this zone of the dog a longer end in its growth, or correct the length.",
            )
        return round(growth.lag + min(row.length_mm, growth.end) / growth.speed)
    # Hair that was cut while it rested had stopped growing on that day already.
    resting_since = day if row.cut_on is None else day_of(row.cut_on)
    return day - resting_since + ceil(growth.full_age)
