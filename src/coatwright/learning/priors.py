"""What is believed of a coat before anything is measured, as distributions with their sources.

A zone's *traits* live on scales on which their spread is even: days, or natural logarithms. Each trait of a zone
is the sum of a centre (the pattern's or the dog's own value), what dogs of its kind share, what the zones of this
dog share, and what is this zone's own; the three parts are normal and independent:

    trait[zone] = centre[zone] + kind + dog + own[zone]

Their variances add up to the spreads of the coat model, section 5. How a spread splits into the three parts has
no published source: a third to the kind, half to the dog and a sixth to the zone is an assumption. Myers & Hamilton
(1951, Ann NY Acad Sci 53:562-568) found sites of one body to differ, and Schuldenfrei & Pieper (2020, Vet Dermatol,
doi 10.1111/vde.12836) found head, thorax and flank of dogs alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coatwright.coat.growth import Floats, Growth
from coatwright.units import Days, Millimetres, Share

TRAITS = ("lag", "rate", "end", "ripe", "spread", "mass", "effort")
"""Traits of a zone, in the order of every array:

``lag``     d      days from a pull until the hair breaks the skin
``rate``    ln     mm/d of a growing hair
``end``     ln     mm at which a hair rests
``ripe``    d      age from which a hair comes willingly
``spread``  ln     coefficient of variation of the lengths within a layer
``mass``    ln     g of pulled hair per cm2 of skin and mm of length, if every hair were pulled
``effort``  ln     minutes for the whole zone against the reference minutes
"""
LAG, RATE, END, RIPE, SPREAD, MASS, EFFORT = range(len(TRAITS))

TOTAL_SD = np.array([5.0, 0.35, 0.20, 7.0, 0.30, 0.60, 0.40])
"""Spread of a zone's trait over all dogs.

lag 5 d, ripe 7 d: common practice. Rate 0.35: textbook 0.34-0.40 mm/d (Muller & Kirk, ch. 1, from memory) and
0.25-0.9 implied by show practice. End 0.2: jackets of 3 to 4 inches, common practice. Spread of lengths 0.3, mass 0.6
and effort 0.4: assumptions.
"""

_PARTS = np.array([1.0 / 3.0, 1.0 / 2.0, 1.0 / 6.0])

MASS_CENTRE = float(np.log(150.0 * np.pi / 4.0 * 0.01**2 * 1.31 * 0.1))
"""ln g/(cm2 mm): 150 outer hairs to the cm2 (assumption; man has 161 to 226, Loussouarn et al. 2005) of 100 um
(80-130 um, fibre texts, from memory) and 1.31 g/cm3 (textile texts, from memory)."""

BIAS_SD = 0.15
"""Spread of a groomer's habit, the ln strength of the hand: assumption. A fifth more than judged is 0.18."""
JUDGED_SD = 0.25
"""A take judged by eye is good to about a quarter of itself (coat model, section 4). What is meant to be all is all:
the error is one of the strength with which the standing hair is thinned, see :func:`really`."""
ALL = 0.9
"""A take of this part of what stands, and more, is all that stands: who has come so far sees what is left."""
WEIGHED_SD = 0.10
"""A weighed take is good to a tenth (coat model, section 4)."""
START_SD = 0.25
"""Shares of layers read by eye, like takes: a quarter of themselves."""
MINUTES_SD = 0.30
"""ln minutes of one zone on one day: assumption."""
RULER_SD: Millimetres = 1.5
"""A reading by comb and ruler is good to 1.5 mm (coat model, section 4)."""
COVER_SD: Share = 0.08
"""Cover judged by eye: assumption."""
SLIP: Share = 0.03
"""Share of records that are simply wrong (another zone, another unit, a slip of the finger): assumption."""

LOOKS = ("bare", "thin", "open", "close", "dense")
LOOK_EDGES = (0.15, 0.45, 0.65, 0.85)
"""Covers at which one word gives way to the next; between ``open`` and ``close`` lies the floor of a rolling coat."""
EASES = ("hard", "firm", "easy")
EASE_EDGES = (0.35, 0.75)
"""Shares of ripe hair among what was pulled at which one word gives way to the next: assumptions."""
EASE_SD = 0.15
RIPE_SD: Days = 7.0
"""Within one layer hairs ripen over about two weeks: assumption."""


def really(judged: Share, standing: Share, strength: float) -> Share:
    """What is really pulled of ``standing`` where ``judged`` is meant, with ln ``strength`` of the hand.

    ``standing (1 - (1 - judged / standing) ** e^strength)``: for small takes the judged one times e^strength, for all
    that stands all that stands, and never more.
    """
    if standing <= 0.0:
        return 0.0
    part = judged / standing
    if part >= ALL:
        return standing
    return float(standing * -np.expm1(np.log1p(-part) * np.exp(strength)))


@dataclass(frozen=True, slots=True)
class Belief:
    """What dogs of a kind share, as normal distributions: ``mean`` and ``var`` of shape (traits,).

    Before any dog is measured the mean is 0 and the variance a third of the whole; see :mod:`.pooling`.
    """

    mean: Floats
    var: Floats

    @classmethod
    def start(cls) -> Belief:
        """Nothing known of the kind."""
        return cls(np.zeros(len(TRAITS)), TOTAL_SD**2 * _PARTS[0])


DOG_SD: Floats = TOTAL_SD * np.sqrt(_PARTS[1])
ZONE_SD: Floats = TOTAL_SD * np.sqrt(_PARTS[2])
KIND_SD: Floats = TOTAL_SD * np.sqrt(_PARTS[0])


@dataclass(frozen=True, slots=True)
class Prior:
    """Spreads that an update works with; the defaults are those above. Arrays of shape (traits,).

    ``mean``, ``dog_sd``  of what the zones of one dog share (the kind's part is in it)
    ``zone_sd``           of what is each zone's own
    ``bias_mean``, ``bias_sd``  of each groomer's habit, ln strength, shape (groomers,) or one number for all
    """

    mean: Floats
    dog_sd: Floats
    zone_sd: Floats
    bias_mean: Floats | float = 0.0
    bias_sd: Floats | float = BIAS_SD

    @classmethod
    def of(
        cls,
        kind: Belief | None = None,
        *,
        bias_mean: Floats | float = 0.0,
        bias_sd: Floats | float = BIAS_SD,
    ) -> Prior:
        """The prior of a dog of a kind; without one, of any dog."""
        belief = kind or Belief.start()
        return cls(belief.mean, np.sqrt(belief.var + DOG_SD**2), ZONE_SD, bias_mean, bias_sd)


def centre_of(growth: Growth) -> Floats:
    """The centre of a zone's traits, shape (traits,): the values of its growth on their even scales."""
    return np.array(
        [
            growth.lag,
            np.log(growth.speed),
            np.log(growth.end),
            growth.ripe,
            np.log(max(growth.spread, 1e-3)),
            MASS_CENTRE,
            0.0,
        ]
    )
