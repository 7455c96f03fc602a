"""Dogs whose growth is known: they are pulled, measured and recorded as at the table, by the coat model itself.

Nothing here shares code with the likelihood: coats are worked by :mod:`coatwright.coat`, records drawn from the
distributions that :mod:`coatwright.learning.priors` states.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from coatwright.coat import measures
from coatwright.coat.growth import Floats, Growth, emerged, length
from coatwright.coat.layers import Layer, ZoneCoat, pull
from coatwright.learning import priors
from coatwright.learning.evidence import (
    DogEvidence,
    Look,
    PaperHair,
    PullRecord,
    Record,
    Start,
    StartLayer,
    ZoneEvidence,
)
from coatwright.units import Day, Share

FIRST: Day = 738_000
AREA_CM2, MINUTES = 150.0, 12.0
FIVE_BELOW = 1.6448536269514722
"""The 5 % point of a normal distribution lies so many standard deviations below its mean."""


def growth_from(traits: Floats) -> Growth:
    """Growth of a zone whose traits (centre included) are these."""
    return Growth(
        lag=max(float(traits[priors.LAG]), 1.0),
        rate=float(np.exp(traits[priors.RATE])),
        end=float(np.exp(traits[priors.END])),
        ripe=float(traits[priors.RIPE]),
        spread=float(np.exp(traits[priors.SPREAD])),
    )


@dataclass
class TrueZone:
    """One zone as it really is, and what was recorded of it."""

    key: str
    centre: Floats
    traits: Floats
    coat: ZoneCoat
    records: list[Record]
    taken: list[Share] = field(default_factory=list)

    @property
    def growth(self) -> Growth:
        """How it really grows."""
        return growth_from(self.centre + self.traits)

    def evidence(self) -> ZoneEvidence:
        """What the program is told."""
        return ZoneEvidence(self.key, self.centre, tuple(self.records), area_cm2=AREA_CM2, minutes=MINUTES)


@dataclass
class TrueDog:
    """A dog as it really is."""

    shared: Floats
    bias: float
    zones: list[TrueZone]
    rng: np.random.Generator

    def evidence(self) -> DogEvidence:
        """What the program is told."""
        return DogEvidence(tuple(zone.evidence() for zone in self.zones))

    def look(self, zone: TrueZone, day: Day, *, steps: bool = False, after: bool = False) -> None:
        """Comb, ruler and eye on a zone, each a slip now and then."""
        rng, growth = self.rng, zone.growth
        ages = day - zone.coat.born
        out = emerged(ages, growth)
        means, shares = zone.coat.lengths(day, growth)[out], zone.coat.shares[out]
        longest = self._ruler(measures.outline(zone.coat, day, growth))
        shortest = None
        for mean, share in sorted(zip(means, shares, strict=True)):
            if rng.random() < _noticed(mean, share):
                shortest = self._ruler(mean * (1.0 - FIVE_BELOW * growth.spread))
                break
        told: tuple[float, ...] = ()
        weights = shares * np.array([_noticed(m, s) for m, s in zip(means, shares, strict=True)])
        if steps and weights.sum() > 0:
            mean = means[rng.choice(len(means), p=weights / weights.sum())]
            own = 0.3 * growth.spread * mean
            told = (self._slip(mean + np.hypot(priors.RULER_SD, own) * rng.standard_normal()),)
        seen = measures.cover(zone.coat, day, growth) + priors.COVER_SD * rng.standard_normal()
        word = int(np.searchsorted(priors.LOOK_EDGES, seen))
        if rng.random() < priors.SLIP:
            word = int(rng.integers(len(priors.LOOKS)))
        zone.records.append(Look(day, longest, shortest, told, priors.LOOKS[word], after=after))

    def pull(
        self, zone: TrueZone, day: Day, judged: Share, *, weighed: bool = False, paper: int = 0
    ) -> Share:
        """Pull what the groomer judges to be ``judged``; returns what it really was."""
        rng, growth, traits = self.rng, zone.growth, zone.centre + zone.traits
        ages = day - zone.coat.born
        standing = float(zone.coat.shares[emerged(ages, growth)].sum())
        strength = self.bias + priors.JUDGED_SD * rng.standard_normal()
        real = priors.really(judged, standing, strength)
        if real <= 1e-6:
            return 0.0
        done = pull(zone.coat, day, real, growth)
        extra: dict[str, object] = {}
        if weighed:
            parts = np.array([part for _, part in done.renewed])
            old = np.array([day - layer.born for layer, _ in done.renewed])
            lengths = length(old, growth)
            mass = traits[priors.MASS] + np.log((parts * lengths).sum())
            extra["grams"] = float(np.exp(mass + self._log_noise(priors.WEIGHED_SD)) * AREA_CM2)
            effort = traits[priors.EFFORT] + np.log(real)
            extra["minutes"] = float(np.exp(effort + self._log_noise(priors.MINUTES_SD)) * MINUTES)
            ripe = (parts * _phi((old - growth.ripe) / priors.RIPE_SD)).sum() / parts.sum()
            word = int(np.searchsorted(priors.EASE_EDGES, ripe + priors.EASE_SD * rng.standard_normal()))
            if rng.random() < priors.SLIP:
                word = int(rng.integers(len(priors.EASES)))
            extra["ease"] = priors.EASES[word]
            if paper:
                extra["paper"] = self._paper(parts, lengths, growth.spread, paper)
        zone.coat = done.coat
        zone.taken.append(real)
        zone.records.append(PullRecord(day, judged, **extra))  # type: ignore[arg-type]
        return real

    def _ruler(self, true: float) -> float:
        return self._slip(true + priors.RULER_SD * self.rng.standard_normal())

    def _slip(self, value: float) -> float:
        return float(self.rng.uniform(0.0, 100.0) if self.rng.random() < priors.SLIP else value)

    def _log_noise(self, sd: float) -> float:
        wide = 10.0 if self.rng.random() < priors.SLIP else 1.0
        return float(wide * sd * self.rng.standard_normal())

    def _paper(self, parts: Floats, lengths: Floats, spread: float, count: int) -> tuple[PaperHair, ...]:
        """A histogram in steps of 2 mm."""
        which = self.rng.choice(len(parts), count, p=parts / parts.sum())
        sd = np.sqrt((spread * lengths[which]) ** 2 + 0.25)
        found = lengths[which] + sd * self.rng.standard_normal(count)
        slips = self.rng.random(count) < priors.SLIP
        found = np.where(slips, self.rng.uniform(0.0, 100.0, count), found)
        bins, counts = np.unique(np.floor(found / 2.0), return_counts=True)
        return tuple(PaperHair(2.0 * b + 1.0, 2.0, float(n)) for b, n in zip(bins, counts, strict=True))


def dog_of(
    rng: np.random.Generator, zones: int, *, wider: float = 1.0, growth: Growth | None = None
) -> TrueDog:
    """A dog with an old, full coat, drawn from the prior, or from one ``wider`` times as wide."""
    centre = priors.centre_of(growth or Growth())
    prior = priors.Prior.of()
    shared = wider * prior.dog_sd * rng.standard_normal(len(priors.TRAITS))
    bias = wider * priors.BIAS_SD * rng.standard_normal()
    made = []
    for number in range(zones):
        traits = shared + wider * prior.zone_sd * rng.standard_normal(len(priors.TRAITS))
        traits[priors.LAG] = max(traits[priors.LAG], 3.0 - centre[priors.LAG])
        traits[priors.SPREAD] = min(traits[priors.SPREAD], np.log(0.44) - centre[priors.SPREAD])
        full = int(np.ceil(growth_from(centre + traits).full_age))
        coat = ZoneCoat.of([Layer(FIRST - full, 1.0)])
        start = Start(FIRST, (StartLayer(1.0, resting=True),))
        made.append(TrueZone(f"zone {number}", centre, traits, coat, [start]))
    return TrueDog(shared, bias, made, rng)


def rolled(
    rng: np.random.Generator,
    zones: int = 10,
    visits: int = 8,
    *,
    take: Share = 0.2,
    interval: int = 14,
    richly: bool = False,
    stepped: bool = False,
) -> TrueDog:
    """A dog brought into a rolling coat: every zone read and then pulled at every visit.

    ``richly``: one zone in three is weighed, timed and put to a paper test, another is read in steps; ``stepped``:
    every zone is read in steps.
    """
    dog = dog_of(rng, zones)
    for visit in range(visits):
        day = FIRST + interval * visit
        for number, zone in enumerate(dog.zones):
            dog.look(zone, day, steps=stepped or (richly and number % 3 == 1))
            dog.pull(zone, day, take, weighed=richly and number % 3 == 0, paper=40 if visit == 2 else 0)
    return dog


def _noticed(mean: float, share: float) -> float:
    return float(np.clip((mean - 0.5) / 1.5, 0.0, 1.0) * min(share / 0.03, 1.0))


def _phi(value: Floats) -> Floats:
    from scipy.special import ndtr

    found: Floats = ndtr(value)
    return found
