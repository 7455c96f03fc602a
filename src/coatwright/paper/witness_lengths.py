"""The second witness, the lengths: a tool that breaks hair adds pieces that the control does not have.

The lengths on the tested sheet are drawn from ``(1 - p) f + p g``: ``f`` is the law of whole hairs, ``g`` of a piece
that is a uniform part of a whole hair's length. ``f`` is learned from a sheet of the same zone pulled by bare
fingers (:class:`Fingers`) or comes from the coat model's layers (:class:`Layers`); either way its own doubt is
carried, since ``f`` and ``p`` are drawn together. Where ends were judged too, each hair speaks with both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr

from coatwright.errors import OutOfRange
from coatwright.paper.share import PRIOR, Floats, ShareBelief
from coatwright.paper.witness_ends import Misjudged
from coatwright.units import Millimetres

SHORTEST_MM = 2.0
"""Shorter pieces are not told from dust: neither counted nor expected."""
_STEP = 0.10
_WIDTH = 0.08
"""Parts of the law of a finger-pulled sheet: lognormal, this far apart and this wide in log length. The coat model's
layers are 0.10 wide, so several parts make up one layer."""
_LOOSE = 2.0
"""How many hairs the even law is worth that stands before the first hair of a control is seen."""
_STRAY = 0.02
"""Share of hairs that lie outside the model's layers: strays, misread joins."""
_NEAR = (0.5, 1.0)
"""Beta parameters of the part of the breaks that lie near the skin: next to nothing is known of it."""
SWEEPS = 4000
BURN = 400


@dataclass(frozen=True, slots=True)
class Fingers:
    """Lengths (mm) from a sheet of the same zone pulled by bare fingers."""

    lengths: Sequence[Millimetres]


@dataclass(frozen=True, slots=True)
class Layers:
    """The coat model's layers as a mixture of normals.

    ``means`` and ``spreads`` in mm, ``weights`` any positive scale; ``worth`` is how many hairs the weights are
    worth, ``scale_sd`` the relative doubt about all means together (growth rate, lag).
    """

    means: Sequence[Millimetres]
    spreads: Sequence[Millimetres]
    weights: Sequence[float]
    worth: float = 30.0
    scale_sd: float = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class LengthsRead:
    """What the lengths say: ``belief`` of the break share, and per hair the chance (n,) that it is a piece."""

    belief: ShareBelief
    chance: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Law:
    """Densities per scale, hair and part of the law, and what is held of the parts beforehand."""

    control: Floats
    whole: Floats
    piece: Floats
    alpha: Floats
    scale_chance: Floats


def lengths_belief(
    lengths: ArrayLike,
    control: Fingers | Layers,
    rng: np.random.Generator,
    *,
    judged: ArrayLike | None = None,
    misjudged: Misjudged | None = None,
    near_skin: bool | None = None,
    shortest: Millimetres = SHORTEST_MM,
    sweeps: int = SWEEPS,
) -> LengthsRead:
    """What the ``lengths`` (mm, shape (n,)) of a sheet say about its break share, against a ``control``.

    ``judged`` (n,) adds the first witness hair by hair: 1 judged broken, 0 judged whole, -1 not judged; then
    ``misjudged`` must say how often such a judgement errs. A length of NaN stands for a hair whose length is not
    known. ``near_skin`` lets hairs also break so near the skin that they are as long as whole ones, an unknown part
    of all breaks. Only judged ends can tell these: it is on where ends were judged and off where not, and lengths
    alone speak only of the breaks further out. The share is of the hairs on the sheet that are at least
    ``shortest`` mm long. Drawn by collapsed Gibbs sampling (:mod:`coatwright.paper.mixture_kernel`), ``sweeps``
    times.
    """
    y = np.asarray(lengths, dtype=float)
    ends = np.full(len(y), -1, dtype=np.int64) if judged is None else np.asarray(judged, dtype=np.int64)
    if ends.shape != y.shape:
        raise OutOfRange(
            f"{len(ends)} judgements were given for {len(y)} lengths.", remedy="Give one for each hair."
        )
    if np.any(np.isinf(y)) or np.any(y < 0.0):
        raise OutOfRange("A length is below 0 mm or without end.", remedy="Read the sheet again.")
    if np.any((ends < -1) | (ends > 1)):
        raise OutOfRange(
            "A judgement is none of broken, whole and not judged.", remedy="Give 1, 0 or -1 for each hair."
        )
    if np.any(ends >= 0) and misjudged is None:
        raise OutOfRange(
            "Ends were judged, but not how often such a judgement errs.",
            remedy="Give the counts of misjudged hairs.",
        )
    keep = ~(y < shortest)
    law = (
        _finger_law(y[keep], control, shortest)
        if isinstance(control, Fingers)
        else _layer_law(y[keep], control, shortest)
    )
    with_near = bool(np.any(ends >= 0)) if near_skin is None else near_skin
    near = _NEAR if with_near else (0.0, 1.0)
    beta = (1.0, 1.0, 1.0, 1.0) if misjudged is None else (*misjudged.of_broken, *misjudged.of_whole)
    n = int(keep.sum())
    pieces, part_weights = np.zeros(n + 1), np.zeros(len(law.alpha))
    chance, scales = np.zeros(n), np.zeros(len(law.scale_chance))
    from coatwright.paper.mixture_kernel import sweep_hairs

    sweep_hairs(
        law.control, law.whole, law.piece, ends[keep], law.alpha, law.scale_chance, np.array([PRIOR, PRIOR]),
        np.array(near), np.array(beta), sweeps, BURN, rng, pieces, chance, part_weights, scales,
    )  # fmt: skip
    all_chances = np.full(len(y), np.nan)
    all_chances[keep] = chance
    return LengthsRead(ShareBelief.of_counts(pieces), all_chances)


def _checked(values: ArrayLike, what: str) -> Floats:
    array = np.asarray(values, dtype=float)
    if array.size == 0 or not np.all(np.isfinite(array)) or np.any(array <= 0.0):
        raise OutOfRange(
            f"{what} must be numbers above 0 mm, at least one.", remedy="Measure the control again."
        )
    return array


def _finger_law(y: Floats, control: Fingers, shortest: float) -> _Law:
    x = _checked(control.lengths, "The lengths of the control")
    x = x[x >= shortest]
    _checked(x, f"The lengths of the control of {shortest:g} mm and more")
    longest = max(float(x.max()), float(np.nanmax(y, initial=shortest)))
    centres = np.arange(np.log(shortest), np.log(longest) + _STEP, _STEP)
    alpha = np.exp(centres) / np.exp(centres).sum() * _LOOSE
    reach = ndtr((centres - np.log(shortest)) / _WIDTH)

    def density(values: Floats) -> Floats:
        z = (np.log(values)[:, None] - centres) / _WIDTH
        height: Floats = np.exp(-0.5 * z**2) / (np.sqrt(2.0 * np.pi) * _WIDTH * values[:, None]) / reach
        return height

    inverse = np.exp(-centres + 0.5 * _WIDTH**2)
    seen = 1.0 - shortest * inverse * ndtr((centres - _WIDTH**2 - np.log(shortest)) / _WIDTH) / reach
    pieces = inverse * ndtr((centres - _WIDTH**2 - np.log(y)[:, None]) / _WIDTH)
    pieces = pieces / (reach * np.maximum(seen, 0.02))
    return _Law(density(x)[None], _unknown(density(y), y)[None], _unknown(pieces, y)[None], alpha, np.ones(1))


def _layer_law(y: Floats, control: Layers, shortest: float) -> _Law:
    means, spreads = _checked(control.means, "The layers' means"), _checked(control.spreads, "Their spreads")
    weights = _checked(control.weights, "Their weights")
    steps = np.linspace(-2.2, 2.2, 12) if control.scale_sd > 0.0 else np.zeros(1)
    prior = np.exp(-0.5 * steps**2)
    alpha = np.append(weights / weights.sum() * (1.0 - _STRAY), _STRAY) * control.worth
    farthest = 1.2 * max(float((means + 3.0 * spreads).max()), float(np.nanmax(y, initial=shortest)))
    nodes = _normal_nodes(64)
    whole, piece = [], []
    for scale in np.exp(steps * control.scale_sd):
        drawn = np.maximum(scale * (means[:, None] + spreads[:, None] * nodes), shortest)
        z = (y[:, None] - scale * means) / (scale * spreads)
        near = np.exp(-0.5 * z**2) / (np.sqrt(2.0 * np.pi) * scale * spreads)
        stray = np.full((len(y), 1), 1.0 / (farthest - shortest))
        whole.append(_unknown(np.hstack([near, stray]), y))
        part = ((y[:, None, None] < drawn) / drawn).mean(axis=2)
        part = part / np.maximum(1.0 - (shortest / drawn).mean(axis=1), 0.02)
        loose = np.log(farthest / np.minimum(y, farthest))[:, None] / (farthest - shortest)
        piece.append(_unknown(np.hstack([part, loose]), y))
    none = np.zeros((len(prior), 0, len(alpha)))
    return _Law(none, np.array(whole), np.array(piece), alpha, prior / prior.sum())


def _normal_nodes(count: int) -> Floats:
    from scipy.special import ndtri

    result: Floats = ndtri((np.arange(count) + 0.5) / count)
    return result


def _unknown(density: Floats, y: Floats) -> Floats:
    """The densities, kept above nothing, and the same under every part for a hair whose length is not known."""
    return np.where(np.isnan(y)[:, None], 1.0, np.maximum(density, 1e-12))
