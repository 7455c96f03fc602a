"""Hair, or fluff, dust and leavings: whether a line is a hair, and whether it is one hair whole and alone.

Underwool is thin and curls; dust is short; a leaving is a piece of a hair that another line already covers. Two
scores learned from drawn photographs weigh this: ``hair`` (a hair lies here, and this line is most of it) and ``one``
(this is one hair from end to end, its length right within a millimetre).
"""

from __future__ import annotations

import numpy as np

from coatwright.paper.joints import Pairs
from coatwright.paper.strand import STEP_MM, Strand

LEAST_MM = 4.0
"""Shorter lines are not judged: stubble and dust look alike."""
COVERED_MM = 0.2
WOOL_MM, WOOL_BEND = 0.035, 0.09
"""Underwool whatever else the photograph shows: optical width below the first (mm), mean bend above the second (per
mm; a circle of 11 mm radius). The learned score compares with the photograph's other hairs, and these may be wool."""
STRAND_FEATURES = (
    "length", "width", "thick", "thin", "height", "bare", "bend", "bend spread", "wiggle", "width change",
    "covered", "least pair", "mean pair", "pieces", "loose start", "loose end", "colour", "width to usual",
    "length to usual", "ends width", "covered longest",
)  # fmt: skip


def covered(strands: list[Strand]) -> list[np.ndarray]:
    """Per strand, which of its points lie on another strand."""
    from scipy.spatial import cKDTree

    if not strands:
        return []
    points = np.concatenate([one.mm for one in strands])
    whose = np.concatenate([np.full(len(one.mm), k) for k, one in enumerate(strands)])
    flags = np.zeros(len(points), bool)
    near = cKDTree(points).query_pairs(COVERED_MM, output_type="ndarray")
    other = near[whose[near[:, 0]] != whose[near[:, 1]]]
    flags[other.ravel()] = True
    return np.split(flags, np.cumsum([len(one.mm) for one in strands])[:-1])


def is_wool(rows: np.ndarray) -> np.ndarray:
    """Which rows of :func:`strand_features` are underwool by width and curl alone."""
    width, bend = (rows[:, STRAND_FEATURES.index(name)] for name in ("width", "bend"))
    return np.asarray((width < WOOL_MM) & (bend > WOOL_BEND))


def _longest(flags: np.ndarray) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def strand_features(strands: list[Strand], pairs: Pairs, score: np.ndarray) -> np.ndarray:
    """Rows of ``STRAND_FEATURES``."""
    wants: dict[int, float] = {}
    for k in np.flatnonzero(score > -4).tolist():
        for end in (int(pairs.i[k]), int(pairs.j[k])):
            wants[end] = max(wants.get(end, -6.0), float(score[k]))
    widths = np.array([np.median(one.width) for one in strands])
    sizes = np.array([one.length for one in strands])
    sure = sizes >= LEAST_MM
    usual_width = float(np.median(widths[sure])) if sure.any() else 0.08
    usual_length = float(np.percentile(sizes[sure], 75)) if sure.any() else 25.0
    rows = []
    for one, over in zip(strands, covered(strands), strict=True):
        heading = (
            np.unwrap(np.arctan2(*np.diff(one.mm[::3], axis=0).T[::-1])) if len(one.mm) > 6 else np.zeros(2)
        )
        bend = np.diff(heading) / (3 * STEP_MM) if len(heading) > 1 else np.zeros(1)
        chosen = score[list(one.chain.pairs)] if one.chain.pairs else np.array([9.0])
        first = 2 * one.chain.pieces[0] + one.chain.turned[0]
        last = 2 * one.chain.pieces[-1] + (not one.chain.turned[-1])
        ends = sorted([wants.get(first, -6.0), wants.get(last, -6.0)])
        width = max(1e-3, float(np.median(one.width)))
        edge = sorted([float(np.median(one.width[:8])), float(np.median(one.width[-8:]))])
        rows.append(
            [
                one.length, width, np.percentile(one.width, 90), np.percentile(one.width, 10), np.median(one.height),
                one.bare.mean(), np.abs(bend).mean(), bend.std(),
                np.abs(np.diff(bend)).mean() if len(bend) > 1 else 0.0,
                one.width.std() / width, over.mean(), chosen.min(), chosen.mean(), len(one.chain.pieces),
                ends[0], ends[1], np.abs(one.colour.std(axis=0)).sum() / max(0.02, float(np.median(one.height))),
                np.log(width / usual_width), np.log(one.length / usual_length), edge[0] / width,
                _longest(over) * STEP_MM,
            ]
        )  # fmt: skip
    return np.array(rows, np.float32).reshape(-1, len(STRAND_FEATURES))
