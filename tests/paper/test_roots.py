"""Real photographs: thin crossing roots with hand-traced lines, when they lie beside the project.

Photographs and traces: data set AR570 of the public repository RootSystemML/RSML-conversion-tools. These roots are
darker than their ground. Roots branch and hairs do not, so this checks that lines are seen and placed, not how they
are joined. The traces of a photograph may be shifted as a whole; they are registered by translation first.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy.spatial import cKDTree

from coatwright.paper.contrast import contrast_of
from coatwright.paper.joints import cut_at_touches, describe, pairs_of
from coatwright.paper.link import join
from coatwright.paper.strand import build, light_of
from coatwright.paper.trace import fragments_of

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "design" / "checks" / "roots"
NEAR_MM = 0.35
PHOTOS = {  # region x0 y0 x1 y1 (px), px/mm, recall, precision, location (mm) reached without tuning
    "2012_11_19_18h00_chl110_1_1": ((1380, 640, 2940, 1900), 14.9, 1.00, 0.958, 0.053),
    "2012_11_20_08h30_chl110_1_1": ((1380, 640, 2980, 1930), 15.3, 0.909, 0.963, 0.053),
    "2012_11_21_09h00_chl110_1_1": ((1260, 740, 3200, 2330), 19.2, 0.968, 0.925, 0.060),
}
LEAST_MM = 1.25
"""Shorter lines are left out: dirt. Side roots begin at about a millimetre."""
MARGIN_PX = 30
AS_GOOD = 0.007

pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="the photographs of roots are not beside the project"
)


def hand_traced(path: Path) -> np.ndarray:
    """All polylines as points every half pixel, (n, 2)."""
    parts = []
    for line in ET.parse(path).getroot().iter("polyline"):
        points = np.array([[float(p.get("x", "nan")), float(p.get("y", "nan"))] for p in line.iter("point")])
        s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        at = np.arange(0, s[-1], 0.5)
        parts.append(np.column_stack([np.interp(at, s, points[:, c]) for c in range(2)]))
    return np.concatenate(parts)


def within(points: np.ndarray, box: tuple[int, int, int, int]) -> np.ndarray:
    x0, y0, x1, y1 = box
    return points[(points[:, 0] > x0) & (points[:, 0] < x1) & (points[:, 1] > y0) & (points[:, 1] < y1)]


def registered(found: np.ndarray, true: np.ndarray, most_px: float) -> np.ndarray:
    """The traces moved as a whole to where most of the found points lie near them."""
    tree = cKDTree(found)
    best, shift = -1.0, np.zeros(2)
    for step in (4.0, 1.0, 0.25):
        centre = shift.copy()
        reach = most_px if step == 4.0 else 5 * step
        for dx in np.arange(-reach, reach + 1e-9, step):
            for dy in np.arange(-reach, reach + 1e-9, step):
                gaps = tree.query(true[::23] + centre + np.array([dx, dy]), distance_upper_bound=8.0)[0]
                near = float(np.exp(-(np.minimum(gaps, 8.0) ** 2) / 18).sum())
                if near > best:
                    best, shift = near, centre + np.array([dx, dy])
    return true + shift


@pytest.mark.parametrize("name", PHOTOS)
def test_roots_are_seen_and_placed_as_well_as_by_the_prototype(name: str) -> None:
    box, px_per_mm, recall, precision, location = PHOTOS[name]
    image = cv2.imread(str(FOLDER / f"{name}.jpg"))
    wide = (box[0] - MARGIN_PX, box[1] - MARGIN_PX, box[2] + MARGIN_PX, box[3] + MARGIN_PX)
    contrast = contrast_of(image, wide, dark=False)
    fragments = fragments_of(
        contrast, lambda px: px / px_per_mm, px_per_mm, lambda mm: np.ones(len(mm), bool)
    )
    made = describe(*cut_at_touches(fragments))
    light = light_of(contrast.value, contrast.corner, lambda mm: mm * px_per_mm)
    pairs = pairs_of(made, light)
    lines = [build(made, chain, pairs.via, light) for chain in join(made, pairs).chains]
    long = [line.mm * px_per_mm for line in lines if line is not None and line.length >= LEAST_MM]
    found = within(np.concatenate(long), box)
    true = hand_traced(FOLDER / f"{name}.rsml")
    true = within(registered(found, true, 1.5 * px_per_mm), box)
    to_found = cKDTree(found).query(true)[0] / px_per_mm
    to_true = cKDTree(true).query(found)[0] / px_per_mm
    got = (to_found < NEAR_MM).mean(), (to_true < NEAR_MM).mean(), np.median(to_true[to_true < NEAR_MM])
    assert got[0] >= recall - AS_GOOD
    assert got[1] >= precision - AS_GOOD
    assert got[2] <= location
