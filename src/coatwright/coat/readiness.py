"""Whether a zone is what its aim asks, on which days it stays so, and what is missing when it is not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from coatwright.coat import measures
from coatwright.coat.aims import Aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import ZoneCoat
from coatwright.units import Day, Millimetres, Share

SLACK = 1e-6
"""A limit counts as held when it is missed by no more than this."""


@dataclass(frozen=True, slots=True)
class Readiness:
    """One zone on one day against its aim. ``misses`` names each limit that fails and by how much."""

    day: Day
    cover: Share
    outline: Millimetres
    in_band: Share
    overdue: Share
    quiet: int | None
    misses: tuple[tuple[str, float], ...]

    @property
    def ready(self) -> bool:
        """Whether every part of the aim holds."""
        return not self.misses


def readiness(
    coat: ZoneCoat, day: Day, growth: Growth, aim: Aim, *, last_pull: Day | None = None, slack: float = SLACK
) -> Readiness:
    """Judge a zone on ``day``.

    ``last_pull`` is the day of the latest pull of this zone, None if there was none that matters.
    Limits, by name in ``misses``: ``cover`` (share short of the aim), ``top`` (share short between lo and
    hi), ``over`` (share too much beyond hi or blown), ``quiet`` (days short). With these four the outline
    lies in the band by itself (see :attr:`coatwright.coat.aims.Aim.over_limit`).
    """
    seen = measures.cover(coat, day, growth)
    top = measures.in_band(coat, day, growth, aim)
    over = measures.overdue(coat, day, growth, aim)
    quiet = None if last_pull is None else day - last_pull
    short = {
        "cover": aim.cover - seen,
        "top": aim.top - top,
        "over": over - aim.over_limit,
        "quiet": 0 if quiet is None else aim.quiet - quiet,
    }
    misses = tuple((name, float(by)) for name, by in short.items() if by > slack)
    return Readiness(day, seen, measures.outline(coat, day, growth), top, over, quiet, misses)


def windows(days: Sequence[Day], flags: Iterable[bool]) -> list[tuple[Day, Day]]:
    """Runs of consecutive ready days as (first, last), both included. ``days`` must rise by one."""
    runs: list[tuple[Day, Day]] = []
    for day, flag in zip(days, flags, strict=True):
        if not flag:
            continue
        if runs and runs[-1][1] == day - 1:
            runs[-1] = (runs[-1][0], day)
        else:
            runs.append((day, day))
    return runs


def dog_ready(zones: Mapping[str, Readiness]) -> bool:
    """A dog is ready when every judged zone is."""
    return all(zone.ready for zone in zones.values())
