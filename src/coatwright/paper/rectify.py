"""Where the sheet lies in a photograph: from pixels to mm.

Of the markers that are found roughly, the sides are found at full size, each as the line through the points where
the light is half way between paper and ink, and the corners are where the sides meet: blur moves a rounded corner,
but not a straight edge. A homography takes pixels to mm; with six markers or more a cubic is laid over what is left,
for the lens and a slightly curved sheet. Light is linear (IEC 61966-2-1) throughout.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from coatwright.paper.find_markers import LEAST_MARKERS, find_markers, homography, missing, one_sheet, targets
from coatwright.paper.light import Light, Pixels, crossing
from coatwright.paper.marks import Floats, Rectified, cubic_terms, project
from coatwright.paper.photo_quality import background_range, dots, glare
from coatwright.paper.refusals import refusal
from coatwright.paper.sheet import BAR_MM, SheetGeometry
from coatwright.units import Millimetres

CUBIC_MARKERS = 6
STRAY_MM = 3.0
"""A marker whose corners lie further off than this is taken for something else."""
LIFTED_MM = 30.0
"""One that is the sheet's own and lies off by no more than this is on a corner that stands up."""
SIDE_SAMPLES = 24
_INTERPOLATED = 1 / 6
"""Variance (px2) that reading between pixels adds to an edge, on average over a pixel."""


def rectify(pixels: Pixels, *, bar_mm: Millimetres = BAR_MM) -> Rectified:
    """Where the sheet lies in a photograph, (h, w, 3) uint8 blue green red.

    ``bar_mm`` is what a ruler says of the printed bar, mm; designed are 100. Raises
    :class:`~coatwright.paper.refusals.PhotoRefused` where no sheet can be placed; whether the photograph is good
    enough is for :func:`coatwright.paper.refusals.judge_photo` to say.
    """
    grey = np.asarray(pixels[:, :, 1])
    found = find_markers(grey)
    sheet, corners = one_sheet(found)
    light = Light(grey)
    fine: dict[int, Floats] = {}
    blurs: list[float] = []
    for place, rough in corners.items():
        refined, blur = _refine(light, rough)
        fine[place] = rough if refined is None else refined
        blurs += blur
    every = fine
    if len(fine) >= 4:
        fine = _without_strays(sheet, fine)
    if len(fine) < LEAST_MARKERS:
        raise refusal("markers", missing(sheet, fine)).error
    lifted = {place: corners for place, corners in every.items() if place not in fine}
    return _fitted(pixels, light, sheet, fine, lifted, blurs, bar_mm)


def _refine(light: Light, rough: Floats) -> tuple[Floats | None, list[float]]:
    """The corners where the fitted sides meet, and the blur (px) of each side; None where a side is not clear."""
    lines: list[tuple[Floats, Floats]] = []
    blurs: list[float] = []
    middle = rough.mean(axis=0)
    for k in range(4):
        a, b = rough[k], rough[(k + 1) % 4]
        size = float(np.hypot(*(b - a)))
        along = (b - a) / size
        out = np.array([along[1], -along[0]])
        if out @ (a - middle) < 0:
            out = -out
        reach = 0.11 * size  # two thirds of a cell of the marker, and of the white around it
        steps = np.arange(-reach, reach + 0.125, 0.25)
        shares = np.linspace(0.12, 0.88, SIDE_SAMPLES)
        starts = a + shares[:, None] * (b - a)
        profile = light.at(starts[:, None, :] + steps[None, :, None] * out)
        quarter = len(steps) // 5
        ink, paper = np.median(profile[:, :quarter]), np.median(profile[:, -quarter:])
        if paper - ink < 0.08:
            return None, []
        level = (profile - ink) / (paper - ink)
        cross = np.array([crossing(row, steps, 0.5) for row in level])
        good = np.isfinite(cross)
        if good.sum() < SIDE_SAMPLES // 2:
            return None, []
        slope, start = _line(shares[good] * size, cross[good])
        lines.append((a + start * out, along + slope * out))
        shifted = [
            np.interp(steps, steps - (start + slope * share * size), row)
            for share, row in zip(shares, level, strict=True)
        ]
        mean = np.mean(shifted, axis=0)
        width = crossing(mean, steps, 0.8) - crossing(mean, steps, 0.2)
        if np.isfinite(width):
            sigma = width / 1.6832  # between 20 and 80 % of a normal edge lie 2 x 0.8416 deviations
            blurs.append(float(np.sqrt(max(0.0, sigma**2 - _INTERPOLATED))))
    corners = np.array([_meet(*lines[k - 1], *lines[k]) for k in range(4)])
    if np.abs(corners - rough).max() > 0.2 * np.hypot(*(rough[1] - rough[0])):
        return None, blurs
    return corners, blurs


def _line(x: Floats, y: Floats) -> tuple[float, float]:
    """Slope and start of the straight line through points, those far off left out."""
    keep = np.abs(y - np.median(y)) < 4.0
    for _ in range(2):
        slope, start = np.polyfit(x[keep], y[keep], 1)
        off = np.abs(y - (slope * x + start))
        keep = off <= max(0.15, 2.5 * float(np.median(off)))
    return float(slope), float(start)


def _meet(p: Floats, d: Floats, q: Floats, e: Floats) -> Floats:
    t = np.linalg.solve(np.stack([d, -e], axis=1), q - p)[0]
    return np.asarray(p + t * d)


def _without_strays(sheet: SheetGeometry, fine: dict[int, Floats]) -> dict[int, Floats]:
    """Without markers that lie far from where the others have them: print in the background, or a reflection."""
    import cv2

    places = sorted(fine)
    pixels, mm = np.concatenate([fine[p] for p in places]), targets(sheet, places)
    found, _ = cv2.findHomography(pixels, mm, cv2.RANSAC, STRAY_MM)
    if found is None:
        return fine
    off = np.hypot(*(project(np.asarray(found, dtype=float), pixels) - mm).T).reshape(-1, 4).max(axis=1)
    return {place: fine[place] for place, far in zip(places, off, strict=True) if far <= 2 * STRAY_MM}


def _fitted(
    pixels: Pixels,
    light: Light,
    sheet: SheetGeometry,
    fine: dict[int, Floats],
    lifted: dict[int, Floats],
    blurs: list[float],
    bar: float,
) -> Rectified:
    places = sorted(fine)
    points, mm = np.concatenate([fine[p] for p in places]), targets(sheet, places)
    matrix = homography(points, mm)
    flat = project(matrix, points)
    cubic: Floats = np.zeros((10, 2))
    if len(places) >= CUBIC_MARKERS:
        terms = cubic_terms(flat, sheet.page_mm)
        soft = 1e-4 * np.eye(10)
        cubic = np.asarray(np.linalg.solve(terms.T @ terms + soft, terms.T @ (mm - flat)), dtype=float)
    left = mm - flat - cubic_terms(flat, sheet.page_mm) @ cubic
    worst = float(np.hypot(*left.T).max())
    for place, corners in lifted.items():
        off = float(np.hypot(*(project(matrix, corners) - targets(sheet, [place])).T).max())
        worst = max(worst, off if off <= LIFTED_MM else 0.0)
    h, w = pixels.shape[:2]
    least, tilt = _scale_and_tilt(matrix, sheet, (w, h))
    base: dict[str, Any] = {
        "sheet": sheet.key, "size_px": (w, h), "homography": matrix, "cubic": cubic,
        "page_mm": sheet.page_mm, "markers": tuple(places), "px_per_mm": least, "tilt_degrees": tilt,
        "blur_px": float(np.median(blurs)) if blurs else float("inf"),
        "residual_mm": worst,
    }  # fmt: skip
    plain = Rectified(**base, background_range=1.0, glare=0.0)
    return Rectified(
        **base,
        background_range=background_range(light, plain, sheet),
        glare=glare(pixels, plain, sheet),
        scale=bar / BAR_MM,
        grid=dots(light.grey, plain, sheet),
    )


def _scale_and_tilt(matrix: Floats, sheet: SheetGeometry, size: tuple[int, int]) -> tuple[float, float]:
    """The fewest px per mm over the clear area; the tilt in degrees.

    On the axis of the lens a plane tilted by t is foreshortened by cos t whatever the focal length, so the tilt is
    read from the two stretches of the homography at the middle of the photograph.
    """
    x0, y0, x1, y1 = sheet.clear
    back = np.asarray(np.linalg.inv(matrix), dtype=float)
    grid = np.stack(np.meshgrid(np.linspace(x0, x1, 5), np.linspace(y0, y1, 4)), axis=-1).reshape(-1, 2)
    stretch = np.array([_stretches(back, point) for point in grid])
    middle = project(matrix, np.array([[(size[0] - 1) / 2, (size[1] - 1) / 2]]))[0]
    large, small = _stretches(back, middle)
    return float(stretch[:, 1].min()), float(np.degrees(np.arccos(min(1.0, small / large))))


def _stretches(back: Floats, at_mm: Floats) -> tuple[float, float]:
    """The larger and the smaller number of pixels to the mm at a point."""
    step = 0.01
    trio = project(back, at_mm + np.array([[0.0, 0.0], [step, 0.0], [0.0, step]]))
    large, small = np.linalg.svd(((trio[1:] - trio[0]) / step).T, compute_uv=False)
    return float(large), float(small)
