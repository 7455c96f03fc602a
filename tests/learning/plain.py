"""How probable a zone's records are, in plain Python: the coat worked by :mod:`coatwright.coat`, densities by SciPy.

Written from the definitions of the records and their errors, not from the compiled code, with one exception that
is stated there as an approximation: the hairs that break at one pull become one layer of their mean age and mean
length. Everything else is what :func:`coatwright.coat.layers.pull`, ``cut`` and ``shed`` do.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from scipy import stats

from coatwright.coat import measures
from coatwright.coat.growth import Floats, Growth, emerged, length
from coatwright.coat.layers import STUB_MM, Layer, Pulled, ZoneCoat, cut, pull, shed
from coatwright.learning import priors
from coatwright.learning.evidence import Look, PullRecord, Start, ZoneEvidence
from coatwright.units import Day, Share

OUTLINE_ERROR = 0.15
"""mm by which the compiled outline may miss the one by bisection: a tenth of what a ruler reading misses.

In one of a thousand random coats it misses more, where hardly any hair stands near the outline."""
SLIP_LENGTH = 1.0 / 100.0
"""A wrong length may be anything up to 100 mm."""


@dataclass
class Replayed:
    """A zone worked through its records.

    ``told``     day and ln density of each record
    ``margin``   by how much the sum may be missed for the sake of the outline
    ``coat``     on the last day; ``taken`` (share) of each pull
    """

    coat: ZoneCoat
    told: list[tuple[Day, float]] = field(default_factory=list)
    margin: float = 0.0
    taken: list[Share] = field(default_factory=list)


def growth_of(zone: ZoneEvidence, traits: Floats) -> Growth:
    """Growth of a zone whose traits (centre included) are these."""
    return Growth(
        lag=float(traits[priors.LAG]),
        rate=float(np.exp(traits[priors.RATE])),
        end=float(np.exp(traits[priors.END])),
        spread=float(np.exp(traits[priors.SPREAD])),
        hold=zone.hold,
        loss=zone.loss,
    )


def replayed(
    zone: ZoneEvidence, traits: Floats, takes: list[float], misread: list[float], until: Day
) -> Replayed:
    """Work the records up to ``until``; ``takes`` (ln strength) and ``misread`` (sd) as they come."""
    growth = growth_of(zone, traits)
    takes, misread = list(takes), list(misread)
    run: Replayed | None = None
    since = 0
    for record in zone.records:
        if record.day > until:
            break
        match record:
            case Start():
                coat = _began(record, growth, misread)
                run = replace(run, coat=coat) if run else Replayed(coat)
                since = record.day
            case PullRecord():
                assert run
                run.coat = shed(run.coat, since, record.day, growth)
                since = record.day
                if record.share > 0.0:
                    _pulled(run, record, zone, traits, growth, takes.pop(0))
                if record.cut_to is not None:
                    run.coat = cut(run.coat, record.day, record.cut_to, growth)
            case Look():
                assert run
                _looked(run, record, growth)
    assert run
    run.coat = shed(run.coat, since, until, growth)
    return run


def _began(record: Start, growth: Growth, misread: list[float]) -> ZoneCoat:
    layers = []
    for told in record.layers:
        if told.length is not None:
            age = growth.lag + min(told.length, growth.end) / growth.speed
        elif told.resting:
            age = np.ceil(growth.full_age) + told.cut_ago
        else:
            age = told.age or 0.0
        share = told.share
        if len(record.layers) > 1:
            share *= np.exp(priors.START_SD * misread.pop(0))
        removed = 0.0
        if told.cut_to is not None:
            removed = max(float(length(age - told.cut_ago, growth)) - told.cut_to, 0.0)
        layers.append((record.day - age, share, removed))
    total = sum(share for _, share, _ in layers)
    return ZoneCoat.of(Layer(born, share / total, removed) for born, share, removed in layers)  # type: ignore[arg-type]


def _pulled(
    run: Replayed, record: PullRecord, zone: ZoneEvidence, traits: Floats, growth: Growth, strength: float
) -> None:
    coat, day = run.coat, record.day
    standing = float(coat.shares[emerged(day - coat.born, growth)].sum())
    done = pull(
        coat,
        day,
        thinned(record.share, standing, strength),
        growth,
        selectivity=record.selectivity,
        broken=record.broken,
    )
    parts = np.array([part for _, part in done.renewed]) / (1.0 - record.broken)
    ages = np.array([day - layer.born for layer, _ in done.renewed])
    lengths = length(ages, growth, [layer.removed for layer, _ in done.renewed])
    taken = float(parts.sum())
    run.taken.append(taken)
    run.coat = _one_layer_of_stubs(coat, done, day, growth, record.broken) if record.broken else done.coat
    if record.grams:
        expected = traits[priors.MASS] + np.log(max((parts * lengths).sum(), 1e-6))
        _tell(run, day, _logged(np.log(record.grams / zone.area_cm2) - expected, priors.WEIGHED_SD))
    if record.minutes:
        expected = traits[priors.EFFORT] + np.log(max(taken, 1e-6))
        _tell(run, day, _logged(np.log(record.minutes / zone.minutes) - expected, priors.MINUTES_SD))
    if record.ease:
        ripe = stats.norm.cdf((ages - traits[priors.RIPE]) / priors.RIPE_SD) @ parts / max(taken, 1e-9)
        which = priors.EASES.index(record.ease)
        _tell(run, day, _word(priors.EASE_EDGES, which, ripe, priors.EASE_SD, len(priors.EASES)))
    for hair in record.paper if taken > 1e-9 else ():
        sd = np.sqrt((growth.spread * lengths) ** 2 + hair.width**2 / 12.0 + 0.25)
        if hair.broken:
            good, slip = stats.norm.sf(hair.length, lengths, sd) @ parts / taken, 1.0
        else:
            good = hair.width * (stats.norm.pdf(hair.length, lengths, sd) @ parts) / taken
            slip = hair.width * SLIP_LENGTH
        run.told.append((day, hair.count * np.log((1.0 - priors.SLIP) * good + priors.SLIP * slip)))


def thinned(judged: Share, standing: Share, strength: float) -> Share:
    """A hand of strength 1 pulls what is meant; each hair stays with the chance to the power of the strength.

    From nine tenths of what stands on, all is pulled.
    """
    stays = 1.0 - judged / standing if standing > 0.0 else 0.0
    if stays <= 1.0 - priors.ALL:
        return standing
    return standing * (1.0 - stays ** np.exp(strength))


def _one_layer_of_stubs(coat: ZoneCoat, done: Pulled, day: Day, growth: Growth, broken: Share) -> ZoneCoat:
    """The coat after a pull with all stubs of that pull as one layer: mean age, mean natural length less a stub."""
    pulled = {id(layer): part / (1.0 - broken) for layer, part in done.renewed}
    parts = np.array([pulled.get(id(layer), 0.0) for layer in coat.layers])
    taken = parts.sum()
    if taken <= 1e-9:
        return done.coat
    grown = float(length(day - coat.born, growth) @ parts / taken)
    born = float(coat.born @ parts / taken)
    nearest = float(coat.born[np.abs(coat.born - born).argmin()])
    born = nearest if abs(nearest - born) < 1e-6 else born
    stubs = Layer(born, taken * broken, max(grown - STUB_MM, 0.0))  # type: ignore[arg-type]
    left = [
        Layer(layer.born, layer.share - part, layer.removed)
        for layer, part in zip(coat.layers, parts.tolist(), strict=True)
    ]
    return ZoneCoat.of([*left, stubs, Layer(day, taken * (1.0 - broken))])


def _looked(run: Replayed, record: Look, growth: Growth) -> None:
    coat, day = run.coat, record.day
    out = emerged(day - coat.born, growth) & (coat.shares > 1e-9)
    means, shares = coat.lengths(day, growth)[out], coat.shares[out]
    order = np.argsort(-means, kind="stable")
    means, shares = means[order], shares[order]
    seen = noticed(means, shares)
    if record.longest is not None:
        outline = measures.outline(coat, day, growth)
        _tell(run, day, _slip_length(_ruler(record.longest, outline)))
        run.margin += OUTLINE_ERROR * (abs(record.longest - outline) + OUTLINE_ERROR) / priors.RULER_SD**2
    if record.shortest is not None:
        _tell(run, day, _slip_length(shortest(seen, _ruler(record.shortest, edges(means, growth)))))
    for step in record.steps:
        sd = np.hypot(priors.RULER_SD, 0.3 * growth.spread * means)
        weights = shares * seen
        good = weights @ stats.norm.pdf(step, means, sd) / weights.sum() if weights.sum() > 0.0 else 0.0
        _tell(run, day, _slip_length(good))
    cover = measures.cover(coat, day, growth)
    if record.look:
        which = priors.LOOKS.index(record.look)
        _tell(run, day, _word(priors.LOOK_EDGES, which, cover, priors.COVER_SD, len(priors.LOOKS)))
    if record.cover is not None:
        good = stats.norm.pdf(record.cover, cover, priors.COVER_SD)
        _tell(run, day, (1.0 - priors.SLIP) * good + priors.SLIP)


def noticed(means: Floats, shares: Floats) -> Floats:
    """How surely each layer is noticed: from 0.5 mm on, fully from 2 mm and 3 % of the hairs on."""
    return np.interp(means, [0.5, 2.0], [0.0, 1.0]) * np.minimum(shares / 0.03, 1.0)


def edges(means: Floats, growth: Growth) -> Floats:
    """Length that 5 % of each layer's hairs fall short of."""
    return means * (1.0 + stats.norm.ppf(0.05) * growth.spread)


def shortest(seen: Floats, values: Floats) -> float:
    """Mean of the shortest noticed layer's value; layers are given longest first, each noticed by itself."""
    chance, total, missed = 0.0, 0.0, 1.0
    for sure, value in zip(seen[::-1], values[::-1], strict=True):
        total += missed * sure * value
        chance += missed * sure
        missed *= 1.0 - sure
    return total / chance if chance > 0.0 else 0.0


def _ruler(value: float, true: Floats | float) -> Floats:
    found: Floats = stats.norm.pdf(value, true, priors.RULER_SD)
    return found


def _slip_length(good: Floats | float) -> float:
    return float((1.0 - priors.SLIP) * good + priors.SLIP * SLIP_LENGTH)


def _logged(gap: float, sd: float) -> float:
    wide = stats.norm.pdf(gap, 0.0, 10.0 * sd)
    return float((1.0 - priors.SLIP) * stats.norm.pdf(gap, 0.0, sd) + priors.SLIP * wide)


def _word(inner: tuple[float, ...], which: int, value: float, sd: float, words: int) -> float:
    bounds = np.array([-np.inf, *inner, np.inf])
    chance = stats.norm.cdf(bounds[which + 1], value, sd) - stats.norm.cdf(bounds[which], value, sd)
    return float((1.0 - priors.SLIP) * chance + priors.SLIP / words)


def _tell(run: Replayed, day: Day, density: float) -> None:
    run.told.append((day, float(np.log(density))))
