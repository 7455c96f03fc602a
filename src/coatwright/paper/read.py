"""From a photograph and the place of the sheet in it to hairs: trace, join, build, filter, judge the ends."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from coatwright.paper.contrast import CHANNELS, Contrast, contrast_of
from coatwright.paper.doubts import joints_of
from coatwright.paper.ends import end_features
from coatwright.paper.filter import LEAST_MM, is_wool, strand_features
from coatwright.paper.joints import Pairs, Pieces, cut_at_touches, describe, pairs_of
from coatwright.paper.light import LINEAR
from coatwright.paper.link import Joined, join
from coatwright.paper.marks import Hair, Rectified, Trace
from coatwright.paper.scorer import load
from coatwright.paper.shared import share
from coatwright.paper.sheet import sheet
from coatwright.paper.strand import Strand, build, light_of
from coatwright.paper.trace import fragments_of
from coatwright.paper.wholeness import hair_length, judged

EDGE_MM = 0.6
"""What lies nearer to the edge of the clear area than this is not read."""
HAIR_SCORE = 0.5
SURE_END = 0.75
LUMP_CONTRAST = 0.35


@dataclass
class Seen:
    """Everything between the photograph and the hairs; nothing of it is kept."""

    contrast: Contrast
    made: Pieces | None
    pairs: Pairs | None
    light: Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class Reading:
    """The hairs of a photograph, and what else lay there."""

    hairs: tuple[Hair, ...]
    left_out: int
    """Lines of 4 mm and more that were not taken for hairs: underwool, lint, leavings."""
    opposite: float
    """On a dark frame, the share of traced length that is darker than the card."""
    tufted: float
    """Share of the covered area that lies in lumps wider than hairs."""


def see_contrast(pixels: np.ndarray, place: Rectified) -> tuple[Contrast, Callable[[np.ndarray], np.ndarray]]:
    """The contrast around the clear area, and which points (n, 2) mm lie in it."""
    geometry = sheet(place.sheet)
    inside = _inside(geometry.clear, place.scale)
    return contrast_of(pixels, _box(place, geometry.clear), geometry.dark), inside


def see(pixels: np.ndarray, place: Rectified) -> Seen:
    """Trace a photograph (h, w, 3) uint8 blue green red into pieces and candidate pairs."""
    contrast, inside = see_contrast(pixels, place)
    light = light_of(contrast.value, contrast.corner, place.to_px)
    fragments = fragments_of(contrast, place.to_mm, place.px_per_mm, inside)
    if not fragments:
        return Seen(contrast, None, None, light)
    made = describe(*cut_at_touches(fragments))
    return Seen(contrast, made, pairs_of(made, light), light)


def strands_of(seen: Seen) -> tuple[list[Strand], Joined]:
    """The lines from end to end, of 3 mm and more, and the scores of their joints."""
    assert seen.made is not None
    assert seen.pairs is not None
    joined = join(seen.made, seen.pairs)
    chains = share(seen.made, seen.pairs, joined.score, joined.chains)
    built = [build(seen.made, chain, seen.pairs.via, seen.light) for chain in chains]
    return [one for one in built if one is not None and one.length >= 0.75 * LEAST_MM], joined


def read_hairs(pixels: np.ndarray, place: Rectified) -> Reading:
    """The hairs on a photographed sheet: ``pixels`` (h, w, 3) uint8 blue green red, lengths in mm.

    The same photograph gives the same hairs, in the same order: from the upper left down.
    """
    geometry = sheet(place.sheet)
    seen = see(pixels, place)
    opposite = _opposite(seen, place, geometry.clear) if geometry.dark else 0.0
    tufted = _tufted(seen.contrast, place, _inside(geometry.clear, place.scale))
    if seen.made is None or seen.pairs is None:
        return Reading((), 0, opposite, tufted)
    strands, joined = strands_of(seen)
    if not strands:
        return Reading((), 0, opposite, tufted)
    rows = strand_features(strands, seen.pairs, joined.score)
    is_hair = np.where(is_wool(rows), 0.0, load("hair").probability(rows))
    is_one = load("one").probability(rows)
    kept = [k for k, one in enumerate(strands) if is_hair[k] >= HAIR_SCORE and one.length >= LEAST_MM]
    kept.sort(key=lambda k: (round(float(strands[k].mm[:, 1].min()), 3), float(strands[k].mm[0, 0])))
    ends = end_features([strands[k] for k in kept], seen.contrast, place.to_px, place.px_per_mm)
    joints = joints_of(seen.made, seen.pairs, joined, [one.chain for one in strands])
    hairs = []
    for at, k in enumerate(kept):
        two = ends[2 * at : 2 * at + 2]
        kinds = _kinds(two)
        made = _hair(strands[k], kinds, float(is_one[k]), place.blur_px, geometry.dark)
        hairs.append(replace(made, joints=joints[k]))
    long = sum(one.length >= LEAST_MM for one in strands)
    return Reading(tuple(hairs), int(long - len(hairs)), opposite, tufted)


def _kinds(rows: np.ndarray) -> tuple[str, str]:
    club, taper = load("club").probability(rows), load("taper").probability(rows)
    names = []
    for c, t in zip(club, taper, strict=True):
        if c >= SURE_END and t < SURE_END:
            names.append("club")
        elif t >= SURE_END and c < SURE_END:
            names.append("taper")
        else:
            names.append("blunt" if c < 1 - SURE_END and t < 1 - SURE_END else "unclear")
    return names[0], names[1]


def _hair(one: Strand, kinds: tuple[str, str], score: float, blur: float, dark: bool) -> Hair:
    whole, why = judged(kinds, score, blur)
    seen = np.median(one.colour, axis=0)[::-1]
    comes_back = np.clip(seen if dark else 1 - seen, 0, 1)
    trace = Trace(
        one.mm,
        float(np.median(one.width)),
        float(np.clip(np.median(one.colour @ np.array(CHANNELS[dark])), 0, 1)),
        (float(comes_back[0]), float(comes_back[1]), float(comes_back[2])),
    )
    return Hair(trace, hair_length(one.length, kinds), whole, kinds, score, why)


def _box(place: Rectified, clear: tuple[float, float, float, float]) -> tuple[int, int, int, int]:
    x0, y0, x1, y1 = (value * place.scale for value in clear)
    u = np.linspace(0, 1, 12)
    rim = np.concatenate(
        [np.column_stack([x0 + (x1 - x0) * u, np.full(12, y)]) for y in (y0, y1)]
        + [np.column_stack([np.full(12, x), y0 + (y1 - y0) * u]) for x in (x0, x1)]
    )
    px = place.to_px(rim)
    w, h = place.size_px
    low = np.clip(np.floor(px.min(axis=0)), 0, [w - 2, h - 2]).astype(int)
    high = np.clip(np.ceil(px.max(axis=0)) + 1, low + 2, [w, h]).astype(int)
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


def _inside(clear: tuple[float, float, float, float], scale: float) -> Callable[[np.ndarray], np.ndarray]:
    x0, y0, x1, y1 = clear

    def inside(mm: np.ndarray) -> np.ndarray:
        x, y = mm[:, 0] / scale, mm[:, 1] / scale
        return np.asarray((x > x0 + EDGE_MM) & (x < x1 - EDGE_MM) & (y > y0 + EDGE_MM) & (y < y1 - EDGE_MM))

    return inside


def _opposite(seen: Seen, place: Rectified, clear: tuple[float, float, float, float]) -> float:
    """Traced length that is darker than the dark card over all traced length."""
    turned = replace(seen.contrast, value=-seen.contrast.value)
    found = fragments_of(turned, place.to_mm, place.px_per_mm, _inside(clear, place.scale))
    darker = sum(one.length for one in found if one.length > 2.0)
    paler = 0.0 if seen.made is None else float(seen.made.ends[::2, 21].sum())
    return float(darker / max(1e-9, darker + paler)) if darker else 0.0


def _tufted(contrast: Contrast, place: Rectified, inside: Callable[[np.ndarray], np.ndarray]) -> float:
    """Share of the covered area that lies in lumps wider than 1.4 mm.

    A tuft takes its own block for background: lumps are seen against the palest (on card the darkest) block around.
    """
    import cv2

    factor = 0.25
    small = cv2.resize(contrast.value, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    seen = LINEAR[cv2.resize(contrast.part[:, :, 1], small.shape[::-1], interpolation=cv2.INTER_AREA)]
    around = (cv2.erode if contrast.white else cv2.dilate)(
        np.ascontiguousarray(contrast.ground[:, :, 1]), np.ones((5, 5), np.uint8)
    )
    wide = cv2.resize(around, small.shape[::-1], interpolation=cv2.INTER_LINEAR)
    dense = (seen - wide) / contrast.white if contrast.white else 1 - seen / np.maximum(wide, 1e-3)
    covered = np.maximum(small > 0.12, dense > LUMP_CONTRAST)
    rows, columns = np.nonzero(covered)
    at = np.column_stack([columns, rows]) / factor + np.array(contrast.corner)
    keep = inside(place.to_mm(at)) if len(at) else np.zeros(0, bool)
    kept = np.zeros(small.shape, np.uint8)
    kept[rows[keep], columns[keep]] = 1
    side = max(3, round(1.4 * place.px_per_mm * factor))
    lumps = cv2.morphologyEx(
        kept * (dense > LUMP_CONTRAST).astype(np.uint8),
        cv2.MORPH_OPEN,
        cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)),
    )
    return float(lumps.sum() / max(1, kept.sum()))
