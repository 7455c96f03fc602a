"""How fast the groomers pull, in plain words and a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from coatwright.patterns.zones import zones
from coatwright.salon.speeds import LEAST_VISITS, Doubt, GroomerSpeed, ZoneSpeed, speeds_of
from coatwright.units import Minutes
from coatwright.web.desk import Desk
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.learning.speed import Belief

DOUBTS = 5
"""So many times that were not believed are named; the others are counted."""
UNNAMED = "Whoever was not named"


@dataclass(frozen=True, slots=True)
class Row:
    """One zone: the table's minutes, and each groomer's."""

    name: str
    table: Minutes
    speeds: tuple[ZoneSpeed, ...]


@dataclass(frozen=True, slots=True)
class Doubted:
    """A time that was not believed: whose, what for, and where it can be looked at."""

    dog: str
    name: str
    doubt: Doubt
    what: str


@dataclass(frozen=True, slots=True)
class SpeedView:
    """What the page of people says about speed."""

    groomers: tuple[tuple[str, Markup], ...]
    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    doubts: tuple[Doubted, ...]
    more_doubts: int


def speed_view(desk: Desk, words: Words) -> SpeedView | None:
    """What is learnt of every groomer; None before anything was timed."""
    salon = desk.salon()
    speeds = speeds_of(salon, desk.today())
    groomers = speeds.groomers()
    if not groomers:
        return None
    rows = tuple(
        Row(each[0].name, each[0].table, each)
        for each in zip(*(groomer.zones for groomer in groomers), strict=True)
    )
    doubts = [
        Doubted(each.dog, salon.dogs[each.dog].name, each, _what(each))
        for each in speeds.doubts()
        if each.dog in salon.dogs
    ]
    return SpeedView(
        tuple((groomer.name or UNNAMED, _told(groomer, words)) for groomer in groomers),
        tuple(groomer.name or UNNAMED for groomer in groomers),
        rows,
        tuple(doubts[:DOUBTS]),
        max(len(doubts) - DOUBTS, 0),
    )


def _told(groomer: GroomerSpeed, words: Words) -> Markup:
    """One groomer in a sentence or two."""
    seen = Markup("{} of {}").format(
        words.count(groomer.visits, "timed visit"), words.count(groomer.dogs, "dog")
    )
    if not groomer.known:
        wanted = " A few more visits of different dogs will tell." if groomer.visits >= LEAST_VISITS else ""
        return Markup("no more known than the table yet: {}.{}").format(seen, wanted)
    found = Markup("{} the table: {} (8 chances in 10 lie {}). From {}.").format(
        _pace(groomer.whole, groomer.table),
        _more(groomer.whole.mean / groomer.table),
        _between(groomer.whole, groomer.table),
        seen,
    )
    if groomer.set_up is not None:
        found += Markup(" Besides pulling a visit takes {}.").format(words.minutes(groomer.set_up.mean))
    return found


def _pace(belief: Belief, table: Minutes) -> str:
    low, high = belief.band()
    return "slower than" if low > table else "faster than" if high < table else "about as fast as"


def _more(ratio: float) -> Markup:
    """``8 % more minutes``, ``5 % fewer minutes``."""
    percent = round(100.0 * (ratio - 1.0))
    if percent == 0:
        return Markup("the same minutes")
    return Markup('{}<span class="unit">&#8239;%</span> {} minutes').format(
        abs(percent), "more" if percent > 0 else "fewer"
    )


def _between(belief: Belief, table: Minutes) -> Markup:
    """``between 3 % fewer and 20 % more``."""
    ends = [round(100.0 * (end / table - 1.0)) for end in belief.band()]
    told = [
        Markup('{}<span class="unit">&#8239;%</span>{}').format(abs(end), word)
        for end, word in zip(ends, _words(*ends), strict=True)
    ]
    return Markup("between {} and {}").format(*told)


def _words(low: int, high: int) -> tuple[str, str]:
    if (low < 0) == (high < 0):
        return "", " fewer" if high < 0 else " more"
    return " fewer", " more"


def _what(doubt: Doubt) -> str:
    return zones()[doubt.zone].name.lower() if doubt.zone else "the whole visit"
