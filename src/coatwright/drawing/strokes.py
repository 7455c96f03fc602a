"""The coat as strokes: every root with hair on it on that day, as long as the model says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from coatwright.drawing.curves import Bools, Floats
from coatwright.drawing.figure import Figure
from coatwright.drawing.looks import ZoneLook, look_of
from coatwright.drawing.palette import TONES, Palette, families
from coatwright.drawing.roots import Ints, Roots

__all__ = ["Strokes", "ZoneLook", "arc_over_chord", "layer_of_roots", "look_of", "strokes"]

SHORTEST_MM = 0.2
"""A hair shorter than this has not broken through for the eye."""


@dataclass(frozen=True, slots=True, eq=False)
class Strokes:
    """One stroke per hair drawn, arrays of shape (n,).

    ``x``, ``y``    root, mm, y up
    ``dx``, ``dy``  from root to tip, mm
    ``curvature``   sagitta over chord, + to the left of the way from root to tip
    ``length``      mm along the stroke
    ``zone``        number into ``keys``;  ``layer``  number into the look of that zone
    ``colour``      family * tones + tone, a number into the palette's colours (tone 0 is the darkest)
    ``width``       of the stroke, mm;  ``far``  on a leg of the far side
    ``cut``         has a blunt tip
    ``root``        number of the root, the same from day to day
    """

    keys: tuple[str, ...]
    x: Floats
    y: Floats
    dx: Floats
    dy: Floats
    curvature: Floats
    length: Floats
    zone: Ints
    layer: Ints
    colour: Ints
    width: Floats
    far: Bools
    cut: Bools
    root: Ints


def layer_of_roots(look: ZoneLook, rank: Floats) -> Ints:
    """The layer that each root of a zone carries, -1 for bare skin.

    Layers lie one after the other on a ring of length 1 that starts at ``look.turn``: when the oldest hairs
    are pulled and ``turn`` grows by that share, every other hair stays on its root.
    """
    ends = np.cumsum(look.shares)
    place = np.mod(rank - look.turn, 1.0)
    layer = np.searchsorted(ends, place, side="right")
    layer[layer >= len(ends)] = -1
    return layer.astype(np.int64)


def arc_over_chord(curvature: Floats) -> Floats:
    """Length of a quadratic Bezier curve over its chord, for a sagitta of ``curvature`` chords.

    The arc of a parabola: ``sqrt(1 + 16 s^2) / 2 + asinh(4 s) / (8 s)``.
    """
    steep = np.maximum(4.0 * np.abs(curvature), 1e-9)
    length: Floats = 0.5 * np.sqrt(1.0 + steep**2) + 0.5 * np.arcsinh(steep) / steep
    return length


def strokes(figure: Figure, roots: Roots, looks: Mapping[str, ZoneLook], palette: Palette) -> Strokes:
    """The strokes of a coat. Zones without a look stay bare."""
    chosen: list[Ints] = []
    layers: list[Ints] = []
    blunt: list[Bools] = []
    lengths: list[Floats] = []
    for key, look in looks.items():
        if key not in roots.keys:
            continue
        for far in (False, True):
            rows = roots.of(key, far=far)
            if not rows.size or not look.shares.size:
                continue
            layer = layer_of_roots(look, roots.rank[rows])
            long = _lengths(look, layer, roots.vary[rows])
            seen = long >= SHORTEST_MM
            chosen.append(rows[seen])
            layers.append(layer[seen])
            blunt.append(look.cut[layer[seen]])
            lengths.append(long[seen])
    if chosen:
        row, layer, length = np.concatenate(chosen), np.concatenate(layers), np.concatenate(lengths)
        cut = np.concatenate(blunt)
    else:
        row, layer = np.zeros(0, np.int64), np.zeros(0, np.int64)
        length, cut = np.zeros(0), np.zeros(0, bool)
    order = np.argsort(row, kind="stable")
    row, layer, length, cut = row[order], layer[order], length[order], cut[order]
    chord = length / arc_over_chord(roots.bend[row])
    family = families(palette, figure, roots, row)
    lit = roots.light[row] + 0.34 * (_noise(roots.vary[row]) - 0.5)
    tone = np.clip(np.floor((0.30 + 0.62 * lit) * TONES), 0, TONES - 1).astype(np.int64)
    width = 0.36 * roots.spacing * roots.weight[row]
    return Strokes(
        keys=roots.keys,
        x=roots.x[row],
        y=roots.y[row],
        dx=roots.dx[row] * chord,
        dy=roots.dy[row] * chord,
        curvature=roots.bend[row],
        length=length,
        zone=roots.zone[row],
        layer=layer,
        colour=family * TONES + tone,
        width=width,
        far=roots.far[row],
        cut=cut,
        root=row,
    )


def _lengths(look: ZoneLook, layer: Ints, order: Floats) -> Floats:
    """Length of each hair: normal around its layer's mean, at evenly spaced quantiles, cut at 0."""
    found = np.zeros(len(layer))
    for number, mean in enumerate(look.lengths_mm):
        rows = np.flatnonzero(layer == number)
        if not rows.size or mean <= 0.0:
            continue
        quantile = np.empty(rows.size)
        quantile[np.argsort(order[rows], kind="stable")] = (np.arange(rows.size) + 0.5) / rows.size
        found[rows] = np.maximum(mean * (1.0 + look.spread * ndtri(quantile)), 0.0)
    return found


def _noise(vary: Floats) -> Floats:
    """A second number 0..1 out of ``vary``, unlike it."""
    return np.mod(vary * 977.0, 1.0)
