"""What the draws say of the coat: how it stands today, what it will be, and how surely it is ready on a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coatwright.coat.aims import Aim
from coatwright.coat.forecast import NEVER, Forecast, aim_row
from coatwright.coat.growth import Floats, Growth
from coatwright.coat.layers import Layer, ZoneCoat
from coatwright.coat.readiness import SLACK
from coatwright.errors import OutOfRange
from coatwright.learning.evidence import DogEvidence, Packed, packed
from coatwright.learning.priors import END, JUDGED_SD, LAG, RATE, RIPE, SPREAD
from coatwright.learning.state import State
from coatwright.learning.update import in_blocks, in_parts
from coatwright.units import Day, Share

DRAWN = 1000
"""Draws that a forecast is made of."""
FAINT: Share = 1e-4
"""Layers that hold less of the hairs than this on average are left out of the mean coat."""


@dataclass(frozen=True, slots=True)
class Coats:
    """A dog's coat as it may stand on the evening of a day, in draws of equal weight.

    ``layers``  (draws, zones, slots, 3): born day, share of the zone's hairs, mm cut off; empty slots have share 0
    ``traits``  (draws, zones, traits), centre included
    ``bias``    (draws, groomers)
    ``taken``   (draws, pulls) what was really pulled, see :meth:`taken_in`
    """

    day: Day
    pack: Packed
    layers: Floats
    traits: Floats
    bias: Floats
    taken: Floats

    def __len__(self) -> int:
        return len(self.traits)

    def taken_in(self, zone: int) -> tuple[list[Day], Floats]:
        """Days of a zone's takes, and what was really taken on them, (draws, takes)."""
        mine = np.flatnonzero(self.pack.takes[:, 1] == zone)
        return [int(day) for day in self.pack.take_days[mine]], self.taken[:, mine]

    def last_pull(self, zone: int) -> Day:
        """Day of a zone's latest take, :data:`~coatwright.coat.forecast.NEVER` before any."""
        mine = self.pack.take_days[self.pack.takes[:, 1] == zone]
        return int(mine.max()) if len(mine) else NEVER

    def growth(self, zone: int, base: Growth) -> Growth:
        """A zone's growth at the middle of what is known: medians over the draws."""
        lag, rate, end, ripe, spread = np.median(
            self.traits[:, zone][:, [LAG, RATE, END, RIPE, SPREAD]], axis=0
        )
        return base.with_(
            lag=float(np.clip(lag, 0.0, 365.0)),
            rate=float(np.clip(np.exp(rate), 0.01, 5.0)),
            season=1.0,
            end=float(np.clip(np.exp(end), 1.0, 500.0)),
            ripe=float(np.clip(ripe, 0.0, 365.0)),
            spread=float(np.clip(np.exp(spread), 0.0, 0.45)),
        )

    def middle(self, zone: int, undercoat: str = "some") -> ZoneCoat:
        """A zone's coat at the middle of what is known: the mean share of every layer."""
        layers = []
        for slot, born in enumerate(self.pack.births[zone]):
            share = self.layers[:, zone, slot, 1]
            mean = float(share.mean())
            if mean < FAINT:
                continue
            weight = share / share.sum()
            day = born if born >= 0 else round(float(weight @ self.layers[:, zone, slot, 0]))
            layers.append(Layer(day, mean, float(weight @ self.layers[:, zone, slot, 2])))
        return ZoneCoat.of(layers, undercoat)

    def seen(self, day: Day) -> Floats:
        """What comb, ruler and eye should find on a day without a pull until then.

        Shape (draws, zones, 3): longest and shortest visible hair (mm), cover (share); without errors of reading.
        """
        from coatwright.learning import sights

        found = np.empty((*self.traits.shape[:2], 3))

        def work(part: slice) -> None:
            sights.seen_of(self.layers[part], self.traits[part], float(day), found[part])

        in_parts(work, len(self))
        return found

    def told_apart(self, day: Day, rng: np.random.Generator) -> Floats:
        """A layer that the comb tells apart on a day without a pull until then, any one in proportion to its share.

        Shape (draws, zones, 2): its mean length and the sd of a hair chosen in it (mm); 0 where none shows.
        """
        from coatwright.learning import sights

        found = np.empty((*self.traits.shape[:2], 2))
        pick = rng.random(found.shape[:2])

        def work(part: slice) -> None:
            sights.apart_of(self.layers[part], self.traits[part], float(day), pick[part], found[part])

        in_parts(work, len(self))
        return found


def stand(dog: DogEvidence, state: State, day: Day, draws: int = DRAWN) -> Coats:
    """The coat on the evening of ``day``, on which the state stands or later; draws are picked by their weight."""
    from coatwright.learning import sights

    if day < state.day:
        raise OutOfRange(
            "A coat is asked for before the day up to which was learnt.", remedy="Ask for a later day."
        )
    pack = packed(dog, state.day)
    few = state.picked(draws)
    layers = np.empty((draws, len(dog.zones), pack.most, 3))
    taken = np.zeros(few.takes.shape)
    inner = pack.arrays

    def work(part: slice) -> None:
        sights.stand_of(
            *inner, float(day), few.zones, few.takes, few.starts, part.start, part.stop, layers, taken
        )

    in_blocks(work, draws)
    return Coats(day, pack, layers, pack.centre + few.zones, few.bias, taken)


def ahead(
    coats: Coats,
    takes: Sequence[Sequence[tuple[Day, Share]]],
    first: Day,
    days: int,
    *,
    aims: Sequence[Aim | None] | None = None,
    slack: Share = SLACK,
    rng: np.random.Generator | None = None,
    off: Share = JUDGED_SD,
) -> Forecast:
    """Cover, outline and readiness of every zone on ``days`` days from ``first``, in every draw.

    ``takes`` per zone are (day, share), rising, after the coats' day. With ``rng`` each is missed by a groomer's
    hand, whose ln strength has the spread ``off`` (see :func:`coatwright.learning.priors.really`); without it they
    are pulled exactly. The habit of the groomer is taken as allowed for, since the sheet says so.
    """
    from coatwright.learning import sights

    if days < 1 or first < coats.day:
        raise OutOfRange(
            "The forecast must cover at least a day, from the day of the coats on.",
            remedy="Ask for more days.",
        )
    zones = coats.traits.shape[1]
    wanted = aims if aims is not None else [None] * zones
    counts = np.array([len(each) for each in takes], dtype=np.int64)
    most = max(int(counts.max(initial=0)), 1)
    when = np.zeros((zones, most), dtype=np.int64)
    share = np.zeros((zones, most))
    strength = np.zeros((len(coats), zones, most))
    for z, each in enumerate(takes):
        for n, (day, part) in enumerate(each):
            when[z, n] = day
            share[z, n] = part
    if rng is not None:
        strength = off * rng.standard_normal(strength.shape)
    rows = np.array([np.zeros(6) if aim is None else aim_row(aim) for aim in wanted])
    has_aim = np.array([aim is not None for aim in wanted])
    last = np.array([coats.last_pull(z) for z in range(zones)], dtype=np.int64)
    shape = (len(coats), zones, days)
    found = Forecast(
        first, np.empty(shape, np.float32), np.empty(shape, np.float32), np.empty(shape, np.bool_)
    )

    def work(part: slice) -> None:
        sights.ahead_of(
            sights.CDF, sights.PDF, coats.layers[part], coats.traits[part], coats.pack.fixed, rows,
            has_aim, last, when, counts, share,
            strength[part], coats.day, first, slack, found.cover[part], found.outline[part], found.ready[part],
        )  # fmt: skip

    in_parts(work, len(coats))
    return found
