"""Where the sheet lies in a photograph: from pixels to mm, and how good the photograph is.

Markers are looked for in a reduced picture; their sides are then found at full size, each as the line through the
points where the light is half way between paper and ink, and the corners are where the sides meet: blur moves a
rounded corner, but not a straight edge. A homography takes pixels to mm; with six markers or more a cubic is laid
over what is left, for the lens and a slightly curved sheet. Light is linear (IEC 61966-2-1) throughout.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from coatwright.paper.marks import Floats, Rectified, cubic_terms, project
from coatwright.paper.refusals import refusal
from coatwright.paper.sheet import BAR_MM, PLACES, SheetGeometry, sheet_of_marker
from coatwright.units import Millimetres

Pixels = NDArray[np.uint8]
REDUCED_PX = (1600, 2600)
"""Longer side of the picture in which markers are looked for; the second only when too few are seen in the first."""
SURE_MARKERS = 4
"""So many of one sheet tell where the others must lie."""
NEAR_PX = 240
"""Longer side of the picture of one place where a marker must lie."""
LEAST_MARKERS = 3
CUBIC_MARKERS = 6
STRAY_MM = 3.0
"""A marker whose corners lie further off than this is taken for something else."""
LIFTED_MM = 30.0
"""One that is the sheet's own and lies off by no more than this is on a corner that stands up."""
BURNT = 254
SIDE_SAMPLES = 24
BLOCK_SAMPLES = 14
GLARE_STEP_MM = 0.7
GRID_PX = 256
_INTERPOLATED = 1 / 6
"""Variance (px2) that reading between pixels adds to an edge, on average over a pixel."""
_LINEAR = np.where(
    np.arange(256) / 255 <= 0.04045,
    np.arange(256) / 255 / 12.92,
    ((np.arange(256) / 255 + 0.055) / 1.055) ** 2.4,
).astype(np.float32)


def rectify(pixels: Pixels, *, bar_mm: Millimetres = BAR_MM) -> Rectified:
    """Where the sheet lies in a photograph, (h, w, 3) uint8 blue green red.

    ``bar_mm`` is what a ruler says of the printed bar, mm; designed are 100. Raises
    :class:`~coatwright.paper.refusals.PhotoRefused` where no sheet can be placed; whether the photograph is good
    enough is for :func:`coatwright.paper.refusals.judge_photo` to say.
    """
    grey = np.asarray(pixels[:, :, 1])
    found = _find(grey)
    sheet, corners = _one_sheet(found)
    light = _Light(grey)
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
        raise refusal("markers", _missing(sheet, fine)).error
    lifted = {place: corners for place, corners in every.items() if place not in fine}
    return _fitted(pixels, light, sheet, fine, lifted, blurs, bar_mm)


def _find(grey: Pixels) -> list[tuple[int, Floats]]:
    """Every marker seen: its number and its corners at full size, roughly, (4, 2) pixels clockwise.

    Where enough are seen in the reduced picture, the missing ones are looked for near where they must lie.
    """
    found = _seen(grey, REDUCED_PX[0])
    if len(found) < len(PLACES):
        near = _near(grey, found)
        if near is not None:
            return found + near
        if max(grey.shape) > REDUCED_PX[0]:
            found = max(found, _seen(grey, REDUCED_PX[1]), key=len)
    return found


def _seen(grey: Pixels, longest: int, corner: tuple[int, int] = (0, 0)) -> list[tuple[int, Floats]]:
    """The markers in a picture that is reduced to a longer side, its first pixel lying at ``corner``."""
    import cv2

    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    detector = cv2.aruco.ArucoDetector(book, cv2.aruco.DetectorParameters())
    factor = min(1.0, longest / max(grey.shape))
    small = cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    corners, numbers, _ = detector.detectMarkers(small)
    seen = [] if numbers is None else [int(n) for n in np.ravel(numbers)]
    return [
        (number, (np.asarray(four, float).reshape(4, 2) + 0.5) / factor - 0.5 + corner)
        for number, four in zip(seen, corners, strict=True)
    ]


def _near(grey: Pixels, found: list[tuple[int, Floats]]) -> list[tuple[int, Floats]] | None:
    """Missing markers near where those found have them; None where those found are too few to tell."""
    known = [(number, corners, owner) for number, corners in found if (owner := sheet_of_marker(number))]
    keys = {owner[0].key for _, _, owner in known}
    numbers = {number for number, _, _ in known}
    if len(keys) != 1 or len(numbers) < len(known) or len(known) < SURE_MARKERS:
        return None
    sheet = known[0][2][0]
    pixels = np.concatenate([corners for _, corners, _ in known])
    matrix = _homography(pixels, _targets(sheet, [owner[1] for _, _, owner in known]))
    back = np.asarray(np.linalg.inv(matrix), dtype=float)
    h, w = grey.shape
    more = []
    for number in sorted(set(sheet.markers) - numbers):
        corners = project(back, np.array(sheet.marker_corners(number)))
        size = float(np.hypot(*(corners[1] - corners[0])))
        low = np.clip(np.floor(corners.min(axis=0) - 0.6 * size), 0, [w, h]).astype(int)
        high = np.clip(np.ceil(corners.max(axis=0) + 0.6 * size), 0, [w, h]).astype(int)
        if (high - low).min() < 0.8 * size or not np.isfinite(size):
            continue  # beyond the edge of the picture
        part = np.ascontiguousarray(grey[low[1] : high[1], low[0] : high[0]])
        more += [one for one in _seen(part, NEAR_PX, (int(low[0]), int(low[1]))) if one[0] == number]
    return more


def _one_sheet(found: list[tuple[int, Floats]]) -> tuple[SheetGeometry, dict[int, Floats]]:
    """The sheet that most markers belong to, and the corners by place. Refuses none and more than one."""
    sheets: dict[str, tuple[SheetGeometry, list[tuple[int, Floats]]]] = {}
    for number, corners in found:
        owner = sheet_of_marker(number)
        if owner is not None:
            sheets.setdefault(owner[0].key, (owner[0], []))[1].append((owner[1], corners))
    if not sheets:
        raise refusal("markers", "none of the eight is seen").error
    ranked = sorted(sheets.values(), key=lambda pair: -len(pair[1]))
    sheet, marks = ranked[0]
    twice = len({place for place, _ in marks}) < len(marks)
    if twice or (len(ranked) > 1 and len(ranked[1][1]) >= LEAST_MARKERS):
        raise refusal("two-sheets").error
    seen = dict(marks)
    if len(seen) < LEAST_MARKERS:
        raise refusal("markers", _missing(sheet, seen)).error
    return sheet, seen


def _missing(sheet: SheetGeometry, seen: dict[int, Floats]) -> str:
    names = [name for place, name in enumerate(PLACES) if place not in seen]
    return f"missing on the {sheet.name}: {', '.join(names)}"


class _Light:
    """Linear light between pixels of one channel."""

    def __init__(self, grey: Pixels) -> None:
        self.grey = grey

    def at(self, xy: Floats) -> Floats:
        """Light at points (..., 2), by straight lines between the four pixels around each."""
        h, w = self.grey.shape
        x, y = np.clip(xy[..., 0], 0, w - 1.001), np.clip(xy[..., 1], 0, h - 1.001)
        c, r = x.astype(np.intp), y.astype(np.intp)
        fx, fy = x - c, y - r
        top = _LINEAR[self.grey[r, c]] * (1 - fx) + _LINEAR[self.grey[r, c + 1]] * fx
        low = _LINEAR[self.grey[r + 1, c]] * (1 - fx) + _LINEAR[self.grey[r + 1, c + 1]] * fx
        return np.asarray(top * (1 - fy) + low * fy, dtype=float)


def _refine(light: _Light, rough: Floats) -> tuple[Floats | None, list[float]]:
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
        cross = np.array([_crossing(row, steps, 0.5) for row in level])
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
        width = _crossing(mean, steps, 0.8) - _crossing(mean, steps, 0.2)
        if np.isfinite(width):
            sigma = width / 1.6832  # between 20 and 80 % of a normal edge lie 2 x 0.8416 deviations
            blurs.append(float(np.sqrt(max(0.0, sigma**2 - _INTERPOLATED))))
    corners = np.array([_meet(*lines[k - 1], *lines[k]) for k in range(4)])
    if np.abs(corners - rough).max() > 0.2 * np.hypot(*(rough[1] - rough[0])):
        return None, blurs
    return corners, blurs


def _crossing(row: Floats, steps: Floats, level: float) -> float:
    """Where a rising profile passes a level, nearest to the middle; nan where it does not."""
    at = np.flatnonzero((row[:-1] < level) & (row[1:] >= level))
    if not len(at):
        return float("nan")
    i = int(at[np.argmin(np.abs(steps[at]))])
    return float(steps[i] + (level - row[i]) / (row[i + 1] - row[i]) * (steps[i + 1] - steps[i]))


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


def _targets(sheet: SheetGeometry, places: list[int]) -> Floats:
    return np.concatenate([np.array(sheet.marker_corners(sheet.first_id + place)) for place in places])


def _homography(pixels: Floats, mm: Floats) -> Floats:
    import cv2

    found, _ = cv2.findHomography(pixels, mm, 0)
    if found is None or not np.isfinite(found).all() or abs(np.linalg.det(found)) < 1e-12:
        raise refusal("markers", "those seen do not make a sheet").error
    return np.asarray(found, dtype=float)


def _without_strays(sheet: SheetGeometry, fine: dict[int, Floats]) -> dict[int, Floats]:
    """Without markers that lie far from where the others have them: print in the background, or a reflection."""
    import cv2

    places = sorted(fine)
    pixels, mm = np.concatenate([fine[p] for p in places]), _targets(sheet, places)
    found, _ = cv2.findHomography(pixels, mm, cv2.RANSAC, STRAY_MM)
    if found is None:
        return fine
    off = np.hypot(*(project(np.asarray(found, dtype=float), pixels) - mm).T).reshape(-1, 4).max(axis=1)
    return {place: fine[place] for place, far in zip(places, off, strict=True) if far <= 2 * STRAY_MM}


def _fitted(
    pixels: Pixels,
    light: _Light,
    sheet: SheetGeometry,
    fine: dict[int, Floats],
    lifted: dict[int, Floats],
    blurs: list[float],
    bar: float,
) -> Rectified:
    places = sorted(fine)
    points, mm = np.concatenate([fine[p] for p in places]), _targets(sheet, places)
    matrix = _homography(points, mm)
    flat = project(matrix, points)
    cubic: Floats = np.zeros((10, 2))
    if len(places) >= CUBIC_MARKERS:
        terms = cubic_terms(flat, sheet.page_mm)
        soft = 1e-4 * np.eye(10)
        cubic = np.asarray(np.linalg.solve(terms.T @ terms + soft, terms.T @ (mm - flat)), dtype=float)
    left = mm - flat - cubic_terms(flat, sheet.page_mm) @ cubic
    worst = float(np.hypot(*left.T).max())
    for place, corners in lifted.items():
        off = float(np.hypot(*(project(matrix, corners) - _targets(sheet, [place])).T).max())
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
    blocks, spread = _background(light, plain, sheet)
    return Rectified(
        **base,
        background_range=spread,
        glare=_glare(pixels, plain, sheet),
        bar_mm=_bar(light, plain, sheet),
        scale=bar / BAR_MM,
        background=blocks,
        grid=_grid(light.grey, plain, sheet),
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


def _background(light: _Light, place: Rectified, sheet: SheetGeometry) -> tuple[Floats, float]:
    """Medians of blocks of the clear area, and the brightest over the darkest of the paper.

    On a dark frame the paper is the frame: the card is too dark to tell a shadow.
    """
    x0, y0, x1, y1 = sheet.clear
    columns, rows = 17, 11
    inside = np.linspace(0.02, 0.98, BLOCK_SAMPLES)
    xs = x0 + (x1 - x0) * (np.arange(columns)[:, None] + inside) / columns
    ys = y0 + (y1 - y0) * (np.arange(rows)[:, None] + inside) / rows
    mm = np.stack(np.meshgrid(xs.ravel(), ys.ravel()), axis=-1)
    seen = light.at(place.to_px(mm.reshape(-1, 2)).reshape(mm.shape))
    blocks = np.median(
        seen.reshape(rows, BLOCK_SAMPLES, columns, BLOCK_SAMPLES)
        .transpose(0, 2, 1, 3)
        .reshape(rows, columns, -1),
        axis=2,
    )
    # hair in tufts is no shadow: the paper between the hairs tells
    paper = np.percentile(
        seen.reshape(rows, BLOCK_SAMPLES, columns, BLOCK_SAMPLES)
        .transpose(0, 2, 1, 3)
        .reshape(rows * columns, -1),
        85,
        axis=1,
    )
    if sheet.dark:
        w, h = sheet.page_mm
        across, down = np.linspace(18.0, w - 18.0, 60), np.linspace(18.0, h - 18.0, 40)
        ring = [np.stack([across, np.full(60, y)], axis=1) for y in (17.5, h - 17.5)]
        ring += [np.stack([np.full(40, x), down], axis=1) for x in (17.5, w - 17.5)]
        sides = [light.at(place.to_px(side)) for side in ring]
        paper = np.concatenate([np.median(side.reshape(-1, 5), axis=1) for side in sides])
    low, high = np.percentile(paper, (3, 98))
    return np.asarray(np.round(blocks, 4), dtype=float), float(high / max(low, 1e-3))


def _glare(pixels: Pixels, place: Rectified, sheet: SheetGeometry) -> float:
    x0, y0, x1, y1 = sheet.clear
    mm = np.stack(
        np.meshgrid(np.arange(x0, x1, GLARE_STEP_MM), np.arange(y0, y1, GLARE_STEP_MM)), axis=-1
    ).reshape(-1, 2)
    at = np.round(place.to_px(mm)).astype(int)
    h, w = pixels.shape[:2]
    at = at[(at[:, 0] >= 0) & (at[:, 1] >= 0) & (at[:, 0] < w) & (at[:, 1] < h)]
    return float((pixels[at[:, 1], at[:, 0]].min(axis=1) >= BURNT).mean()) if len(at) else 0.0


def _grid(grey: Pixels, place: Rectified, sheet: SheetGeometry) -> float:
    """How far a regular grid of dots stands out of the fine structure of six patches of the clear area.

    Logarithms of their power spectra are averaged and set against their surroundings; the blocks of 8 pixels of a
    JPEG are left out. Told is about the tenth highest value, since a grid has many peaks and chance but one.
    """
    import cv2

    x0, y0, x1, y1 = sheet.clear
    size = GRID_PX
    window = np.hanning(size)[:, None] * np.hanning(size)
    spectra = []
    for u in (0.15, 0.5, 0.85):
        for v in (0.2, 0.8):
            x, y = place.to_px([[x0 + (x1 - x0) * u, y0 + (y1 - y0) * v]])[0].astype(int) - size // 2
            part = grey[max(0, y) : y + size, max(0, x) : x + size].astype(float)
            if part.shape == (size, size):
                power = np.abs(np.fft.fft2((part - part.mean()) * window)) ** 2
                spectra.append(np.log1p(np.minimum(power / max(1e-9, float(np.median(power))), 1e6)))
    if not spectra:
        return 0.0
    shifted = np.fft.fftshift(np.mean(spectra, axis=0)).astype(np.float32)
    above = shifted - cv2.blur(shifted, (15, 15))
    f = np.fft.fftshift(np.fft.fftfreq(size))
    block = np.abs(8 * f - np.round(8 * f)) < 0.05
    axis = np.abs(f) < 0.012
    jpeg = (block[None, :] & axis[:, None]) | (block[:, None] & axis[None, :])
    fine = (np.hypot(f[:, None], f[None, :]) > 0.12) & ~jpeg
    return float(np.sort(above[fine])[-12:-8].mean())


def _bar(light: _Light, place: Rectified, sheet: SheetGeometry) -> float | None:
    """The bar's length in mm of the markers; None where an end is not seen."""
    x0, y0, x1, y1 = sheet.bar
    ends = []
    for x, way in ((x0, -1.0), (x1, 1.0)):
        steps = np.arange(-1.8, 1.8, 0.03)
        ys = np.linspace(y0 + 0.35, y1 - 0.35, 5)
        mm = np.stack(np.broadcast_arrays((x + way * steps)[None, :], ys[:, None]), axis=-1)
        row = light.at(place.to_px(mm.reshape(-1, 2)).reshape(mm.shape)).mean(axis=0)
        ink, paper = row[:30].mean(), row[-30:].mean()
        if paper - ink < 0.08:
            return None
        cross = _crossing((row - ink) / (paper - ink), steps, 0.5)
        if not np.isfinite(cross):
            return None
        ends.append(x + way * cross)
    return float(ends[1] - ends[0])
