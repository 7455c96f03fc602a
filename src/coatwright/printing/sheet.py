"""What stands on paper, as numbers, dates and words: one visit's sheet, and a whole plan.

Made by the salon, set by :mod:`coatwright.printing.pdf`, :mod:`~coatwright.printing.ical` and
:mod:`~coatwright.printing.takes`. Shares are 0 to 1, lengths mm, times minutes.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from coatwright.units import Millimetres, Minutes, Share

KINDS = ("whole", "resting", "cut")
"""Kinds of hair to take: growing and whole, full-grown, or blunt from scissors or a break."""


@dataclass(frozen=True, slots=True)
class Hairs:
    """One part of what is pulled from a zone: hairs of one kind from neighbouring layers, longest first.

    ``weeks_from``, ``weeks_to``  weeks since they were last pulled, the younger first
    ``mm_from``, ``mm_to``        mean lengths of these layers, the shorter first
    ``share``                     pulled, of the zone's hairs
    ``standing``                  how many of this part there are, of the zone's hairs: all go when it equals
                                  ``share``
    ``young``                     below the age at which hair comes willingly
    """

    kind: str
    weeks_from: int
    weeks_to: int
    mm_from: Millimetres
    mm_to: Millimetres
    share: Share
    standing: Share
    young: bool = False

    @property
    def part(self) -> Share:
        """How much of what stands of it goes."""
        return min(self.share / self.standing, 1.0) if self.standing > 0.0 else 1.0


@dataclass(frozen=True, slots=True)
class Over:
    """The last visit took more than was planned."""

    day: date
    planned: Share
    taken: Share


@dataclass(frozen=True, slots=True)
class SheetZone:
    """One zone to pull today. ``over`` is told when it is spared today for what the last visit took.

    ``judge`` is the share to take by eye so that ``share`` is pulled, where the hand is known to pull another one.
    """

    key: str
    name: str
    share: Share
    minutes: Minutes
    hairs: tuple[Hairs, ...]
    hold: str
    tip: str
    tender: bool
    cap: Share
    card: bool
    cover_before: Share
    cover_after: Share
    over: Over | None = None
    judge: Share | None = None


@dataclass(frozen=True, slots=True)
class Spared:
    """One zone that is left alone today, and its next planned take."""

    key: str
    name: str
    next_day: date | None
    card: bool
    over: Over | None = None


@dataclass(frozen=True, slots=True)
class Finish:
    """A zone that is tidied or scissored as it needs, outside the plan's minutes. ``work``: tidy or scissors."""

    key: str
    name: str
    work: str
    hold: str
    tip: str


@dataclass(frozen=True, slots=True)
class Note:
    """A caution; ``level`` is stop, caution or note."""

    level: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class ComingVisit:
    """A visit to come."""

    day: date
    minutes: Minutes


@dataclass(frozen=True, slots=True)
class Chance:
    """How surely a dog is ready on a show's day, over all that its coat may still turn out to do.

    ``all`` that every judged zone is ready at once, ``ready`` how many of the ``judged`` zones are on average;
    ``measured`` says whether it is of this dog, else it is of what dogs of its kind may be.
    """

    all: Share
    ready: float
    judged: int
    measured: bool


@dataclass(frozen=True, slots=True)
class ComingShow:
    """A show to come and how the plan stands on its day. ``missing`` names the zones that are not ready.

    ``chance`` is None where it was not worked out.
    """

    key: str
    name: str
    day: date
    place: str
    closing: date | None
    aim: str
    ready: bool
    missing: tuple[str, ...] = ()
    chance: Chance | None = None


@dataclass(frozen=True, slots=True)
class Window:
    """Days on which the plan leaves the dog (or a zone) ready, both ends included.

    ``rests`` counts the pauses of a few days that follow a visit inside the window: a coat is judged only some
    quiet days after a pull.
    """

    first: date
    last: date
    rests: int = 0


@dataclass(frozen=True, slots=True)
class Hand:
    """How much a groomer pulls of what is judged, a factor, with the band in which it lies with 8 chances in 10."""

    groomer: str
    factor: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Measure:
    """A reading that would tell much: ``reading`` is longest, shortest or look.

    ``share`` of the doubt about ``what`` it takes away on average: ready (for the show, else on the last day shown),
    zones (how many are ready) or growth.
    """

    zone: str
    name: str
    reading: str
    share: Share
    what: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """One visit of one dog, on one page.

    ``minutes`` is the whole visit, ``setup`` of it for anything but pulling, ``limit`` what the visit may take.
    ``number`` counts the visits of this plan from 1 to ``count``. ``zones`` are in working order. ``tools`` are what
    to lay out, ``aftercare`` what to do when it is over. ``hand`` is told where it is known that the groomer of the
    dog pulls more or less than judged; ``measure`` what to read before the pulling, the most telling first.
    """

    dog_id: str
    dog: str
    pattern: str
    owner: str
    handler: str
    weight_kg: float | None
    day: date
    made: date
    approach: str
    number: int
    count: int
    minutes: Minutes
    setup: Minutes
    limit: Minutes
    zones: tuple[SheetZone, ...]
    spared: tuple[Spared, ...]
    finish: tuple[Finish, ...]
    stops: tuple[str, ...]
    after_stop: str
    cautions: tuple[Note, ...]
    next_visits: tuple[ComingVisit, ...]
    shows: tuple[ComingShow, ...]
    windows: tuple[Window, ...]
    notes: str = ""
    tools: tuple[str, ...] = ()
    aftercare: tuple[str, ...] = ()
    hand: Hand | None = None
    measure: tuple[Measure, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanVisit:
    """One visit of a plan. ``saves`` is what one more minute at it would save, in minutes of the whole plan.

    ``slot`` is the day on which its rhythm has the visit, where it was moved by hand to ``day``; it is what the
    visit is known by.
    """

    day: date
    minutes: Minutes
    limit: Minutes
    saves: Minutes = 0.0
    slot: date | None = None


@dataclass(frozen=True, slots=True)
class PlanZone:
    """One zone through a plan.

    ``takes``, ``fixed`` (set by hand) and ``carded`` per visit; ``windows`` in which it is ready, when it is
    ``judged``.
    """

    key: str
    name: str
    tender: bool
    cap: Share
    takes: tuple[Share, ...]
    fixed: tuple[bool, ...]
    carded: tuple[bool, ...]
    judged: bool
    windows: tuple[Window, ...]


@dataclass(frozen=True, slots=True)
class Outlook:
    """A zone on the day of a show: its aim, and its outline with the band in which 8 of 10 such coats lie, mm.

    ``chance`` that it is ready; None where it was not worked out.
    """

    name: str
    aim_from: Millimetres
    aim_to: Millimetres
    outline: Millimetres
    outline_from: Millimetres
    outline_to: Millimetres
    cover: Share
    ready: bool
    chance: Share | None = None


@dataclass(frozen=True, slots=True)
class ShowOutlook:
    """A show with its zones."""

    show: ComingShow
    zones: tuple[Outlook, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """Something wished that could not be had: in words, and what may help."""

    text: str
    remedies: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rhythm:
    """The same plan at another number of days between visits. ``price`` as in :class:`PlanDocument`."""

    cadence: int
    visits: int
    minutes: Minutes
    ready_days: int
    thinnest: Share
    price: float | None
    chosen: bool


@dataclass(frozen=True, slots=True)
class PlanDocument:
    """A whole plan. ``takes`` of each zone follow the order of ``visits``.

    ``price`` and ``price_per_hour`` are in the salon's own money, None where none is set; ``thinnest`` is the
    least cover of any zone, ``thinnest_zone`` on ``thinnest_day``. ``until`` is the last day answered for.
    """

    dog_id: str
    dog: str
    pattern: str
    owner: str
    handler: str
    made: date
    until: date
    approach: str
    cadence: int
    visits: tuple[PlanVisit, ...]
    zones: tuple[PlanZone, ...]
    minutes: Minutes
    ready_days: int
    price: float | None
    price_per_hour: float | None
    thinnest: Share
    thinnest_zone: str
    thinnest_day: date
    windows: tuple[Window, ...]
    shows: tuple[ShowOutlook, ...]
    answers: tuple[Refused, ...]
    rhythms: tuple[Rhythm, ...]
    cautions: tuple[Note, ...]


def plain(record: Any) -> Any:
    """A sheet or plan as JSON knows it: objects, lists, numbers, strings; dates as ISO 8601."""
    return _plain(asdict(record))


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value.isoformat() if isinstance(value, date) else value
