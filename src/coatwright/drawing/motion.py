"""The coat of every day in one small parcel, for a browser that draws it again by the same law.

``motion`` puts down once what never changes (see ``parcel``) and, per zone, the layers from one pull to the next
with the growth of their hair. With that the lengths of any day follow from section 1 of the coat model, and each
hair from :func:`~coatwright.drawing.strokes.strokes`. ``looks`` gives the same days to the writers of SVG: page
and print agree.

Births and starts of epochs are days from the first one, lengths cut off steps of :data:`~.parcel.STEP_MM`, shares
ten-thousandths.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from coatwright.coat.forecast import Epochs
from coatwright.coat.growth import Growth
from coatwright.coat.layers import UNDERCOATS, Layer, ZoneCoat
from coatwright.drawing import parcel
from coatwright.drawing.axes import DateWords
from coatwright.drawing.day_strip import Mark, day_strip
from coatwright.drawing.figure import Figure
from coatwright.drawing.looks import ZoneLook, look_of
from coatwright.drawing.palette import palette
from coatwright.errors import OutOfRange
from coatwright.units import Day, Millimetres, Share

PARTS = 10_000
"""Shares come in ten-thousandths."""
SEEN: Share = 0.001
"""Less than one hair of the largest zone that is drawn: such a layer is no layer of its own in the parcel."""
LONGEST_DAYS = 4000
"""Longest range of days: eleven years."""


@dataclass(frozen=True, slots=True)
class Track:
    """One zone through time: ``coats[k]`` stands from ``starts[k]`` on, until the next start.

    ``takes``      (day, share) of every pull that is done;  ``planned``  of those that are planned
    ``last_pull``  the last one before the first start, where it is known
    ``aim``        shortest and longest outline that is wished, mm
    ``read``       whether anybody knows how this zone stands, or it is only drawn as it should be
    """

    zone: str
    growth: Growth
    starts: tuple[Day, ...]
    coats: tuple[ZoneCoat, ...]
    takes: tuple[tuple[Day, Share], ...] = ()
    planned: tuple[tuple[Day, Share], ...] = ()
    last_pull: Day | None = None
    aim: tuple[Millimetres, Millimetres] | None = None
    read: bool = True

    def __post_init__(self) -> None:
        if not self.starts or len(self.starts) != len(self.coats) or list(self.starts) != sorted(self.starts):
            raise OutOfRange(
                f"The track of {self.zone} has {len(self.starts)} starts and {len(self.coats)} coats.",
                where=self.zone,
                remedy="Give one coat per start, the starts in the order of their days.",
            )

    @property
    def turns(self) -> tuple[Share, ...]:
        """Per start the share of hairs renewed since the first one: see :class:`~.looks.ZoneLook`."""
        turns = [0.0]
        for before, after in pairwise(self.coats):
            turns.append(turns[-1] + _renewed(before, after))
        return tuple(turns)

    def number(self, day: Day, *, before: bool = False) -> int:
        """Which coat stands on the evening of ``day``, or in the morning, ``before`` a pull of that day."""
        if day < self.starts[0]:
            raise OutOfRange(
                f"The coat of {self.zone} is not known on that day.",
                where=self.zone,
                remedy="Ask for a later day.",
            )
        found = bisect_left(self.starts, day) if before else bisect_right(self.starts, day)
        return max(found - 1, 0)

    def look(self, day: Day, *, before: bool = False) -> ZoneLook:
        """The hair of the zone on a day."""
        at = self.number(day, before=before)
        return look_of(self.zone, self.coats[at], day, self.growth, turn=self.turns[at])

    def followed_by(self, ahead: Epochs) -> Track:
        """The same zone with what a plan makes of it; the first coat of ``ahead`` is the last one here."""
        late = [k for k, start in enumerate(ahead.starts) if k > 0 and start >= self.starts[-1]]
        return replace(
            self,
            starts=(*self.starts, *(ahead.starts[k] for k in late)),
            coats=(*self.coats, *(ahead.coats[k] for k in late)),
            planned=(*self.planned, *_takes(ahead)),
        )


def track_of(zone: str, epochs: Epochs, growth: Growth, **more: Any) -> Track:
    """The track of a zone from its epochs; ``more`` are ``last_pull`` and ``aim``."""
    return Track(zone, growth, epochs.starts, epochs.coats, _takes(epochs), **more)


def still(zone: str, length_mm: Millimetres, day: Day) -> Track:
    """A zone that nobody has read, drawn at one length: hair that has long come to its end."""
    growth = Growth(lag=0.0, rate=1.0, end=max(length_mm, 1.0))
    return Track(zone, growth, (day,), (ZoneCoat((Layer(day - 1000, 1.0),)),), read=False)


def looks(tracks: Iterable[Track], day: Day, *, before: bool = False) -> dict[str, ZoneLook]:
    """The looks of all zones on a day, as :func:`~.coat_picture.coat_picture` takes them."""
    return {track.zone: track.look(day, before=before) for track in tracks}


def motion(
    figure: Figure,
    colour: str,
    tracks: Sequence[Track],
    first: Day,
    last: Day,
    *,
    today: Day,
    title: str = "",
    names: Mapping[str, str] | None = None,
    marks: Sequence[Mark] = (),
    dates: DateWords | None = None,
) -> dict[str, Any]:
    """The parcel: everything to draw the coat on every day from ``first`` to ``last``, as plain JSON values.

    ``tracks``  in working order; zones that the figure does not have are listed as not seen from the side, a zone
                without a track stays bare
    ``colour``  a key of :data:`~.palette.PALETTES`;  ``names``  per zone
    ``marks``   visits and shows for the strip below the slider;  ``dates``  the reader's words for its days

    Raises :class:`~coatwright.errors.OutOfRange` for days that no track knows, and
    :class:`~coatwright.errors.UnknownName` for the colour.
    """
    if not first <= last <= first + LONGEST_DAYS:
        raise OutOfRange(
            f"The coat is asked for on {last - first + 1} days.",
            remedy=f"Ask for 1 to {LONGEST_DAYS} days, the first before the last.",
        )
    by_zone = {track.zone: track for track in tracks}
    longest = {zone: _longest(track, first, last) for zone, track in by_zone.items()}
    keys = [*figure.zones, *(zone for zone in by_zone if zone not in figure.zones)]
    spoken = names or {}
    return {
        "title": title,
        "first": first,
        "last": last,
        "today": today,
        **parcel.lasting(figure, palette(colour), longest),
        "zones": [
            {"key": key, "name": spoken.get(key, key.replace("_", " "))}
            | ({"ring": parcel.ring(figure, figure.zones[key])} if key in figure.zones else {})
            | (_through_time(by_zone[key], first, last) if key in by_zone else {"takes": []})
            for key in keys
        ],
        "working": [keys.index(zone) for zone in (*by_zone, *(key for key in keys if key not in by_zone))],
        "visits": sorted({mark.day for mark in marks if mark.kind in ("visit", "planned")}),
        "strip": day_strip(first, last, [*marks, Mark(today, "today")], dates),
    }


def _renewed(before: ZoneCoat, after: ZoneCoat) -> Share:
    """Share of the hairs that are born anew from one coat to the next; broken hair keeps its birth."""
    change: dict[Day, Share] = {}
    for coat, sign in ((before, -1.0), (after, 1.0)):
        for layer in coat.layers:
            change[layer.born] = change.get(layer.born, 0.0) + sign * layer.share
    return sum(share for share in change.values() if share > 0.0)


def _takes(epochs: Epochs) -> tuple[tuple[Day, Share], ...]:
    return tuple((start, p.taken) for start, p in zip(epochs.starts, epochs.pulls, strict=True) if p)


def _through_time(track: Track, first: Day, last: Day) -> dict[str, Any]:
    """Growth, layers and epochs of a zone.

    ``layers``  birth and length cut off, in turn, oldest first
    ``epochs``  start, turn, undercoat, then the layers whose share changes and their new shares, in turn
    """
    chosen = range(track.number(first), track.number(last) + 1)
    coats = [_shares(track.coats[k], first) for k in chosen]
    rows = sorted({row for coat in coats for row in coat})
    place = {row: number for number, row in enumerate(rows)}
    turns = track.turns
    epochs: list[list[int]] = []
    stood: dict[int, int] = {}
    for k, coat in zip(chosen, coats, strict=True):
        stands = {place[row]: share for row, share in coat.items()}
        changed = {n: stands.get(n, 0) for n in sorted({*stood, *stands}) if stands.get(n) != stood.get(n)}
        turn = round(turns[k] % 1.0 * PARTS)
        head = [track.starts[k] - first, turn, UNDERCOATS.index(track.coats[k].undercoat)]
        epochs.append([*head, *(value for item in changed.items() for value in item)])
        stood = stands
    growth = track.growth
    earlier = [day for day, share in track.takes if day < first and share > 0.0]
    pulled = max(earlier, default=track.last_pull)
    takes = [(day, share, False) for day, share in track.takes]
    takes += [(day, share, True) for day, share in track.planned]
    return {
        "read": track.read,
        "growth": [growth.lag, growth.speed, growth.end, growth.spread],
        "layers": [value for row in rows for value in row],
        "epochs": epochs,
        "takes": [
            {"day": day, "percent": round(100 * share, 1), "planned": planned}
            for day, share, planned in sorted(takes)
            if first <= day <= last
        ],
        "pulled": pulled,
        "aim": None if track.aim is None else list(track.aim),
    }


def _shares(coat: ZoneCoat, first: Day) -> dict[tuple[int, int], int]:
    """Shares by birth and length cut off. What few hairs broke counts with the most of the same birth."""
    exact: dict[tuple[int, int], Share] = {}
    for layer in coat.layers:
        row = layer.born - first, round(layer.removed / parcel.STEP_MM)
        exact[row] = exact.get(row, 0.0) + layer.share
    most = {born: row for row in sorted(exact, key=exact.__getitem__) for born in row[:1]}
    shares: dict[tuple[int, int], Share] = {}
    for row, share in exact.items():
        kept = row if share >= SEEN else most[row[0]]
        shares[kept] = shares.get(kept, 0.0) + share
    return {row: parts for row, share in shares.items() if (parts := round(share * PARTS))}


def _longest(track: Track, first: Day, last: Day) -> Millimetres:
    """The longest hair of a zone in these days, mm."""
    found = 0.0
    for k in range(track.number(first), track.number(last) + 1):
        until = track.starts[k + 1] if k + 1 < len(track.starts) else last
        found = max(found, float(track.coats[k].lengths(min(until, last), track.growth).max()))
    return found * (1.0 + 1.5 * track.growth.spread)
