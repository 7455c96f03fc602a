"""What a layer chart shows: the layers of one zone through time, pulls, shows, the aim and the forecast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coatwright.coat.growth import Growth, emerged, length
from coatwright.coat.layers import ZoneCoat
from coatwright.drawing.curves import Bools, Floats
from coatwright.errors import OutOfRange
from coatwright.units import Day, Millimetres, Share


@dataclass(frozen=True, slots=True, eq=False)
class LayerTrack:
    """One layer through time: arrays of shape (days,): mean length (mm) and share on each of ``days``.

    A share of 0 = the layer is not there on that day; ``up`` = it has broken through.
    """

    born: Day
    days: tuple[Day, ...]
    lengths_mm: Floats
    shares: Floats
    up: Bools
    cut: bool = False


@dataclass(frozen=True, slots=True)
class PullMark:
    """A pull of ``share`` of the zone's hairs; ``planned`` while it lies ahead."""

    day: Day
    share: Share
    planned: bool = False


@dataclass(frozen=True, slots=True)
class DayMark:
    """A day with a name, such as a show."""

    day: Day
    name: str


@dataclass(frozen=True, slots=True, eq=False)
class Fan:
    """Forecast of the outline: ``levels[k]`` (0..1, odd number, rising, the middle one the median) at ``values[k]``.

    ``values`` has the shape (levels, days), mm.
    """

    days: tuple[Day, ...]
    levels: tuple[float, ...]
    values: Floats

    def __post_init__(self) -> None:
        if self.values.shape != (len(self.levels), len(self.days)) or len(self.levels) % 2 == 0:
            raise OutOfRange(
                f"The fan has {len(self.levels)} levels over {len(self.days)} days but values of the shape "
                f"{self.values.shape}.",
                remedy="Give an odd number of levels and one row of values per level.",
            )


@dataclass(frozen=True, slots=True, eq=False)
class LayerChart:
    """What the layer chart of a zone shows from ``first`` to ``last``; ``aim`` is (lo, hi) in mm."""

    zone: str
    first: Day
    last: Day
    today: Day
    tracks: tuple[LayerTrack, ...]
    pulls: tuple[PullMark, ...] = ()
    aim: tuple[Millimetres, Millimetres] | None = None
    shows: tuple[DayMark, ...] = ()
    fan: Fan | None = None


def layer_tracks(
    starts: Sequence[Day], coats: Sequence[ZoneCoat], growth: Growth, first: Day, last: Day, step: int = 2
) -> tuple[LayerTrack, ...]:
    """Tracks of all layers of a zone whose coat is ``coats[k]`` from ``starts[k]`` on, oldest layer first.

    Days before ``starts[0]`` are left out. Days are ``step`` apart; the day before and the day of each start
    are always among them.
    """
    begin = max(first, starts[0])
    changes = {day for start in starts for day in (start - 1, start) if begin <= day <= last}
    days = sorted({*range(begin, last + 1, step), last, *changes}) if begin <= last else []
    index = np.searchsorted(np.asarray(starts), days, side="right") - 1
    shares: dict[tuple[Day, float], Floats] = {}
    for place, k in enumerate(index):
        for layer in coats[int(k)].layers:
            row = shares.setdefault((layer.born, round(layer.removed, 3)), np.zeros(len(days)))
            row[place] += layer.share
    tracks = []
    when = np.asarray(days, dtype=float)
    for (born, removed), share in sorted(shares.items()):
        age = when - born
        lengths = length(age, growth, removed)
        tracks.append(LayerTrack(born, tuple(days), lengths, share, emerged(age, growth), removed > 0.0))
    return tuple(tracks)
