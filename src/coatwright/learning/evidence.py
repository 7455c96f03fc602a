"""What was recorded of a dog's zones, as numbers: coats as read, pulls, and what ruler, eye, scales and clock said.

Days are day numbers. Everything may be missing; what is there is sorted by day, and within a day an assessment
comes first, then readings taken before the pull, the pull, and readings after it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from coatwright.coat.growth import Floats
from coatwright.errors import OutOfOrder, OutOfRange
from coatwright.learning.priors import EASES, LOOKS
from coatwright.units import Day, Days, Millimetres, Minutes, Share

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class StartLayer:
    """A layer as an assessment reads it; exactly one of age, length and ``resting`` says how old its hairs are.

    ``age`` d since the pull; ``length`` mm as it stands; ``resting``: full-grown. ``cut_to`` mm, ``cut_ago`` d
    before the assessment: scissored hair.
    """

    share: Share
    age: Days | None = None
    length: Millimetres | None = None
    resting: bool = False
    cut_to: Millimetres | None = None
    cut_ago: Days = 0.0


@dataclass(frozen=True, slots=True)
class Start:
    """An assessment of a zone: its layers begin anew, in the morning of ``day``."""

    day: Day
    layers: tuple[StartLayer, ...]


@dataclass(frozen=True, slots=True)
class PaperHair:
    """Hairs of a paper test within ``width`` mm round ``length`` mm; ``count`` may be weighted.

    Of broken ones the length is the least that the hair had.
    """

    length: Millimetres
    width: Millimetres
    count: float
    broken: bool = False


@dataclass(frozen=True, slots=True)
class PullRecord:
    """One take as recorded, and what it left behind.

    ``share`` is the judged take, above 0; ``groomer`` the number of who judged it. ``grams`` of pulled hair,
    ``minutes`` for this zone, ``ease`` one of :data:`~coatwright.learning.priors.EASES`. ``cut_to``: scissored to
    that length afterwards. A judged share of 0 with ``cut_to`` is a cut without a pull.
    """

    day: Day
    share: Share
    groomer: int = 0
    broken: Share = 0.0
    selectivity: float = 1.0
    cut_to: Millimetres | None = None
    grams: float | None = None
    minutes: Minutes | None = None
    ease: str = ""
    paper: tuple[PaperHair, ...] = ()

    def __post_init__(self) -> None:
        if self.ease and self.ease not in EASES:
            raise OutOfRange(f"Hair came {self.ease!r}.", remedy=f"Use one of {', '.join(EASES)}.")


@dataclass(frozen=True, slots=True)
class Look:
    """What ruler and eye said of a zone: lengths in mm, ``look`` a word of ``LOOKS``, ``cover`` a judged share."""

    day: Day
    longest: Millimetres | None = None
    shortest: Millimetres | None = None
    steps: tuple[Millimetres, ...] = ()
    look: str = ""
    cover: Share | None = None
    after: bool = False

    def __post_init__(self) -> None:
        if self.look and self.look not in LOOKS:
            raise OutOfRange(f"The coat looks {self.look!r}.", remedy=f"Use one of {', '.join(LOOKS)}.")


Record = Start | PullRecord | Look
_ORDER = {Start: 0, PullRecord: 2}


@dataclass(frozen=True, slots=True)
class ZoneEvidence:
    """All that was recorded of one zone.

    ``centre``    centre of its traits, shape (traits,); see :func:`coatwright.learning.priors.centre_of`
    ``records``   in any order; the first by day must be a Start
    ``hold``, ``loss``  d of rest until a hair is blown, and its hazard per day
    ``area_cm2``  of skin; ``minutes`` the reference for pulling the whole zone
    """

    key: str
    centre: Floats
    records: tuple[Record, ...]
    hold: Days = 60.0
    loss: float = 0.0
    area_cm2: float = 100.0
    minutes: Minutes = 10.0

    def __post_init__(self) -> None:
        ordered = sorted(self.records, key=_rank)
        if not ordered or not isinstance(ordered[0], Start):
            raise OutOfOrder(
                "Something is recorded of a zone before its coat was ever assessed.",
                where=self.key,
                remedy="Give an assessment on or before that day.",
            )
        object.__setattr__(self, "records", tuple(ordered))

    @property
    def measured(self) -> bool:
        """Whether anything but assessments and judged takes was recorded."""
        return any(
            isinstance(each, Look)
            or (isinstance(each, PullRecord) and (each.grams or each.minutes or each.ease or each.paper))
            for each in self.records
        )


@dataclass(frozen=True, slots=True)
class DogEvidence:
    """The zones of a dog and the number of groomers whose habits may differ."""

    zones: tuple[ZoneEvidence, ...]
    groomers: int = 1

    def days(self) -> list[Day]:
        """Days on which anything was recorded, rising."""
        return sorted({each.day for zone in self.zones for each in zone.records})


def _rank(record: Record) -> tuple[Day, int]:
    place = _ORDER.get(type(record), 3 if isinstance(record, Look) and record.after else 1)
    return record.day, place


(
    START, PULL, CUT, SHED, LONGEST, SHORTEST, STEP, WORD, COVER, GRAMS, MINUTES, EASE, PAPER,
) = range(13)  # fmt: skip
"""Kinds of rows that the kernel works off."""

COLUMNS = 9
"""Of a row: kind, day, value, first index, second index, fresh (1 on the last day), slot, selectivity, broken."""


Arrays = tuple[Floats, Ints, Floats, Floats, Floats, Floats, int, Ints, Ints, Ints, Ints]


@dataclass(frozen=True, slots=True)
class Packed:
    """Evidence up to a day as arrays for the kernel.

    ``rows``     (rows, COLUMNS); ``zone_rows`` (zones + 1,) where each zone's rows begin
    ``starts``   (start layers, 7): how told (0 age, 1 length, 2 resting), value, share, cut to (-1 none), d since
                 the cut, whether its share has a latent (1 or 0), slot
    ``paper``    (paper rows, 4): length, width, count, broken
    ``centre``   (zones, traits); ``fixed`` (zones, 2): hold, loss
    ``takes``    (pulls, 2): groomer, zone; ``take_days`` (pulls,); ``start_zone`` (start latents,) zone of each
    ``slots``    (zones,): places for layers; ``births`` per zone the day of each slot, -1 where the draw decides
    """

    day: Day
    rows: Floats
    zone_rows: Ints
    starts: Floats
    paper: Floats
    centre: Floats
    fixed: Floats
    takes: Floats
    take_days: Ints
    start_zone: Ints
    slots: Ints
    births: tuple[tuple[Day, ...], ...] = field(default=())

    @property
    def told(self) -> bool:
        """Whether the last day says anything besides what was pulled."""
        return bool(((self.rows[:, 0] >= LONGEST) & (self.rows[:, 5] > 0.0)).any())

    @property
    def arrays(self) -> Arrays:
        """What every replay works off, in the order in which the compiled loops take it."""
        return (
            self.rows, self.zone_rows, self.starts, self.paper, self.fixed, self.centre, self.most,
            *_listed(self.takes_of), *_listed(self.starts_of),
        )  # fmt: skip

    @property
    def takes_of(self) -> list[Ints]:
        """Per zone the numbers of its takes, by day."""
        return [np.flatnonzero(self.takes[:, 1] == z) for z in range(len(self.centre))]

    @property
    def starts_of(self) -> list[Ints]:
        """Per zone the numbers of its start latents, by day."""
        return [np.flatnonzero(self.start_zone == z) for z in range(len(self.centre))]

    @property
    def most(self) -> int:
        """Most slots of any zone."""
        return int(self.slots.max())


def _listed(columns: list[Ints]) -> tuple[Ints, Ints]:
    """Where the numbers of each zone begin in one list of all, and that list."""
    where = np.concatenate([[0], np.cumsum([len(each) for each in columns])]).astype(np.int64)
    return where, np.concatenate([*columns, np.zeros(0)]).astype(np.int64)


def packed(dog: DogEvidence, day: Day, *, fresh_from: Day | None = None) -> Packed:
    """The evidence up to ``day``, that day included; records from ``fresh_from`` on (default: of the day) are new.

    Latents (takes, shares of the layers at a start) are numbered by day, so that those of earlier days keep
    their numbers when days are added. Within a zone they come in the order of its rows: the loops count on it.
    """
    since = day if fresh_from is None else fresh_from
    pulls = sorted(
        (each.day, z, n)
        for z, zone in enumerate(dog.zones)
        for n, each in enumerate(zone.records)
        if isinstance(each, PullRecord) and each.share > 0.0 and each.day <= day
    )
    latent = sorted(
        (each.day, z, n, k)
        for z, zone in enumerate(dog.zones)
        for n, each in enumerate(zone.records)
        if isinstance(each, Start) and each.day <= day and len(each.layers) > 1
        for k in range(len(each.layers))
    )
    packer = _Packer(since)
    for zone in dog.zones:
        packer.zone(zone, day)
    takes = np.array(
        [
            (dog.zones[z].records[n].groomer, z)  # type: ignore[union-attr]
            for _, z, n in pulls
        ]
    ).reshape(-1, 2)
    return Packed(
        day=day,
        rows=np.array(packer.rows).reshape(-1, COLUMNS),
        zone_rows=np.array(packer.zone_rows, dtype=np.int64),
        starts=np.array(packer.starts).reshape(-1, 7),
        paper=np.array(packer.paper).reshape(-1, 4),
        centre=np.array([zone.centre for zone in dog.zones]),
        fixed=np.array([(zone.hold, zone.loss) for zone in dog.zones]),
        takes=takes,
        take_days=np.array([when for when, _, _ in pulls], dtype=np.int64),
        start_zone=np.array([z for _, z, _, _ in latent], dtype=np.int64),
        slots=np.array([len(births) for births in packer.births], dtype=np.int64),
        births=tuple(tuple(births) for births in packer.births),
    )


class _Packer:
    """Rows of zone after zone."""

    def __init__(self, since: Day) -> None:
        self.since = since
        self.rows: list[list[float]] = []
        self.zone_rows = [0]
        self.starts: list[list[float]] = []
        self.paper: list[list[float]] = []
        self.births: list[list[Day]] = []

    def zone(self, zone: ZoneEvidence, day: Day) -> None:
        """All rows of one zone up to ``day``, and a last one on which blown hair has fallen out."""
        self.births.append([])
        for record in zone.records:
            if record.day > day:
                break
            match record:
                case Start():
                    self._start(record)
                case PullRecord():
                    self._pull(zone, record)
                case Look():
                    self._look(record)
        if zone.loss > 0.0:
            self._row(SHED, day, slot=self._slot(day))
        self.zone_rows.append(len(self.rows))

    def _row(
        self,
        kind: int,
        day: Day,
        value: float = 0.0,
        first: int = 0,
        second: int = 0,
        *,
        slot: int = 0,
        selectivity: float = 1.0,
        broken: Share = 0.0,
    ) -> None:
        fresh = float(day >= self.since)
        self.rows.append([kind, day, value, first, second, fresh, slot, selectivity, broken])

    def _slot(self, born: Day) -> int:
        self.births[-1].append(born)
        return len(self.births[-1]) - 1

    def _start(self, record: Start) -> None:
        self._row(START, record.day, first=len(self.starts), second=len(record.layers))
        for layer in record.layers:
            told, value = (0.0, layer.age or 0.0)
            if layer.length is not None:
                told, value = 1.0, layer.length
            elif layer.resting:
                told, value = 2.0, 0.0
            born = record.day - round(value) if told == 0.0 else -1
            self.starts.append(
                [
                    told,
                    value,
                    layer.share,
                    -1.0 if layer.cut_to is None else layer.cut_to,
                    layer.cut_ago,
                    float(len(record.layers) > 1),
                    self._slot(born),
                ]
            )

    def _pull(self, zone: ZoneEvidence, record: PullRecord) -> None:
        if record.share > 0.0:
            slot = self._slot(record.day)
            if record.broken > 0.0:
                self._slot(-1)
            self._row(
                PULL,
                record.day,
                record.share,
                slot=slot,
                selectivity=record.selectivity,
                broken=record.broken,
            )
            if record.grams:
                self._row(GRAMS, record.day, np.log(record.grams / zone.area_cm2), slot=slot)
            if record.minutes:
                self._row(MINUTES, record.day, np.log(record.minutes / zone.minutes))
            if record.ease:
                self._row(EASE, record.day, EASES.index(record.ease))
            if record.paper:
                self._row(PAPER, record.day, 0.0, len(self.paper), len(record.paper))
                self.paper += [[h.length, h.width, h.count, float(h.broken)] for h in record.paper]
        if record.cut_to is not None:
            place = self._slot(record.day) if zone.loss > 0.0 else 0
            self._row(CUT, record.day, record.cut_to, slot=place)

    def _look(self, record: Look) -> None:
        if record.longest is not None:
            self._row(LONGEST, record.day, record.longest)
        if record.shortest is not None:
            self._row(SHORTEST, record.day, record.shortest)
        for step in record.steps:
            self._row(STEP, record.day, step)
        if record.look:
            self._row(WORD, record.day, LOOKS.index(record.look))
        if record.cover is not None:
            self._row(COVER, record.day, record.cover)


__all__ = [
    "DogEvidence",
    "Look",
    "Packed",
    "PaperHair",
    "PullRecord",
    "Record",
    "Start",
    "StartLayer",
    "ZoneEvidence",
    "packed",
]
