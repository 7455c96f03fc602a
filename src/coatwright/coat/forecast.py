"""The coat of a whole dog, forward in time, for many draws of what is not known.

``carry_out`` works a list of takes on a zone's coat and gives its *epochs*: the layers that stand between one
pull and the next. ``forecast`` reads cover, outline and readiness off the epochs for every draw, zone and day.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coatwright.coat.aims import Aim
from coatwright.coat.growth import Floats, Growth
from coatwright.coat.layers import Pulled, ZoneCoat, pull, shed
from coatwright.coat.readiness import SLACK
from coatwright.errors import OutOfOrder, OutOfRange
from coatwright.units import Day, Share

Singles = NDArray[np.float32]

NEVER: Day = -(10**9)
"""Stands for the day of the last pull where there was none."""


@dataclass(frozen=True, slots=True)
class Epochs:
    """A zone's coat through time: ``coats[k]`` stands from ``starts[k]`` until the day before the next start.

    ``pulls[k]`` is the pull that began epoch k, None where it began without one.
    """

    starts: tuple[Day, ...]
    coats: tuple[ZoneCoat, ...]
    pulls: tuple[Pulled | None, ...]

    def at(self, day: Day) -> ZoneCoat:
        """The coat on ``day``, after a pull on that day."""
        if day < self.starts[0]:
            raise OutOfRange("The day lies before the first known coat.", remedy="Ask for a later day.")
        return self.coats[int(np.searchsorted(self.starts, day, side="right")) - 1]

    def before(self, day: Day) -> ZoneCoat:
        """The coat on the morning of ``day``, before a pull on that day."""
        return self.at(day - 1) if day > self.starts[0] else self.coats[0]

    def last_pull(self, day: Day) -> Day | None:
        """Day of the latest pull on or before ``day``."""
        days = [s for s, pulled in zip(self.starts, self.pulls, strict=True) if pulled and s <= day]
        return days[-1] if days else None


def carry_out(
    coat: ZoneCoat,
    today: Day,
    takes: Iterable[tuple[Day, Share]],
    growth: Growth,
    *,
    broken: Share = 0.0,
) -> Epochs:
    """Pull ``takes`` (day, share), in order, from a coat that stands on ``today``; longest hair first.

    Blown hair that fell out since the day before in the list is born again on each of these days, also on one
    with a take of 0.
    """
    starts: list[Day] = [today]
    coats: list[ZoneCoat] = [coat]
    pulls: list[Pulled | None] = [None]
    for day, share in takes:
        if day < starts[-1] or (day == starts[-1] and pulls[-1] is not None):
            raise OutOfOrder("Takes must be given in the order of their days, one a day.")
        stood = shed(coats[-1], starts[-1], day, growth)
        if share <= 0.0:
            if stood is not coats[-1]:
                starts.append(day)
                coats.append(stood)
                pulls.append(None)
            continue
        done = pull(stood, day, share, growth, broken=broken)
        starts.append(day)
        coats.append(done.coat)
        pulls.append(done)
    return Epochs(tuple(starts), tuple(coats), tuple(pulls))


@dataclass(frozen=True, slots=True)
class Draws:
    """What a dog's zones may be like: arrays of shape (draws, zones). ``speed`` is the rate with season, mm/d."""

    lag: Floats
    speed: Floats
    end: Floats

    @classmethod
    def certain(cls, growths: Sequence[Growth]) -> Draws:
        """One draw: the growths themselves."""
        return cls(
            np.array([[g.lag for g in growths]]),
            np.array([[g.speed for g in growths]]),
            np.array([[g.end for g in growths]]),
        )

    @classmethod
    def prior(
        cls,
        growths: Sequence[Growth],
        count: int,
        rng: np.random.Generator,
        *,
        lag_sd: float = 5.0,
        rate_log_sd: float = 0.35,
        end_log_sd: float = 0.2,
    ) -> Draws:
        """``count`` dogs of the prior round ``growths``: one lag, rate and end length factor per dog.

        Spreads: coat model, section 5 (lag: common practice; rate: textbook and practice ranges; end:
        common practice). The median of the rate and of the end length is the value in ``growths``.
        """
        shift = rng.normal(0.0, lag_sd, (count, 1))
        faster = np.exp(rng.normal(0.0, rate_log_sd, (count, 1)))
        longer = np.exp(rng.normal(0.0, end_log_sd, (count, 1)))
        mean = cls.certain(growths)
        return cls(np.maximum(mean.lag + shift, 1.0), mean.speed * faster, mean.end * longer)

    def __len__(self) -> int:
        return len(self.lag)


@dataclass(frozen=True, slots=True)
class Forecast:
    """Cover (share), outline (mm) and readiness; each array has the shape (draws, zones, days)."""

    first: Day
    cover: Singles
    outline: Singles
    ready: NDArray[np.bool_]

    @property
    def days(self) -> range:
        """The day numbers along the last axis."""
        return range(self.first, self.first + self.cover.shape[2])

    def chance(self) -> Floats:
        """Share of draws in which each zone is ready, shape (zones, days)."""
        return np.asarray(self.ready.mean(axis=0), dtype=float)

    def dog_chance(self, judged: Sequence[int] | None = None) -> Floats:
        """Share of draws in which every judged zone is ready at once, shape (days,)."""
        chosen = self.ready if judged is None else self.ready[:, list(judged)]
        return np.asarray(chosen.all(axis=1).mean(axis=0), dtype=float)

    def band(self, quantity: str, low: float = 0.1, high: float = 0.9) -> tuple[Floats, Floats, Floats]:
        """Lower, middle and upper quantile over the draws of ``cover`` or ``outline``, each (zones, days)."""
        lower, middle, upper = np.quantile(getattr(self, quantity), [low, 0.5, high], axis=0)
        return lower, middle, upper


def forecast(
    zones: Sequence[Epochs],
    growths: Sequence[Growth],
    first: Day,
    days: int,
    *,
    aims: Sequence[Aim | None] | None = None,
    draws: Draws | None = None,
    slack: Share = SLACK,
) -> Forecast:
    """Cover, outline and readiness of every zone on ``days`` days from ``first``, for every draw.

    ``growths`` gives the spread within a layer and the rest before a hair is blown; lag, rate and end length
    come from ``draws`` (default: one draw, the growths themselves). A zone without aim is always ready; a limit
    missed by up to ``slack`` counts as held.
    Which hairs a take removes does not depend on the draw: the longest are pulled whatever their length.
    Agrees with :mod:`coatwright.coat.measures`; the outline to 0.05 mm.
    """
    from coatwright.coat import kernel

    if days < 1:
        raise OutOfRange(f"A forecast of {days} days was asked for.", remedy="Ask for at least one day.")
    if any(first < epochs.starts[0] for epochs in zones):
        raise OutOfRange("The forecast starts before the first known coat.", remedy="Start it later.")
    sample = draws if draws is not None else Draws.certain(growths)
    shape = (len(sample), len(zones), days)
    result = Forecast(
        first, np.empty(shape, np.float32), np.empty(shape, np.float32), np.empty(shape, np.bool_)
    )
    wanted = aims if aims is not None else [None] * len(zones)

    def work(part: slice) -> None:
        for z, (epochs, growth, aim) in enumerate(zip(zones, growths, wanted, strict=True)):
            kernel.run(
                *_packed(epochs),
                np.array([growth.spread, growth.hold, slack]),
                aim_row(aim),
                sample.lag[part, z],
                sample.speed[part, z],
                sample.end[part, z],
                first,
                result.cover[part, z],
                result.outline[part, z],
                result.ready[part, z],
            )

    workers = min(os.cpu_count() or 1, len(sample))
    if workers == 1:
        work(slice(None))
    else:
        edges = np.linspace(0, len(sample), workers + 1).astype(int)
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(work, [slice(a, b) for a, b in pairwise(edges)]))
    return result


def _packed(epochs: Epochs) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
    """(start, last pull) per epoch, offsets of each epoch's layers, and (born, share, removed), longest first."""
    starts = np.array(
        [
            (start, NEVER if (pulled := epochs.last_pull(start)) is None else pulled)
            for start in epochs.starts
        ],
        dtype=np.int64,
    )
    offsets = np.concatenate([[0], np.cumsum([len(c.layers) for c in epochs.coats])]).astype(np.int64)
    layers = np.array([[x.born, x.share, x.removed] for c in epochs.coats for x in c.layers])
    return starts, offsets, layers


def aim_row(aim: Aim | None) -> Floats:
    """An aim as the compiled loops take it, shape (6,); of none, shape (0,)."""
    if aim is None:
        return np.zeros(0)
    return np.array([aim.lo, aim.hi, aim.cover, aim.top, aim.over_limit, aim.quiet], dtype=float)
