"""The markers of a sheet in a photograph: which are seen, roughly where, and of which sheet they are.

They are looked for in a reduced picture. Where enough are seen, the missing ones are looked for near where they must
lie.
"""

from __future__ import annotations

import numpy as np

from coatwright.paper.light import Pixels
from coatwright.paper.marks import Floats, project
from coatwright.paper.refusals import refusal
from coatwright.paper.sheet import PLACES, SheetGeometry, sheet_of_marker

REDUCED_PX = (1600, 2600)
"""Longer side of the picture in which markers are looked for; the second only when too few are seen in the first."""
SURE_MARKERS = 4
"""So many of one sheet tell where the others must lie."""
NEAR_PX = 240
"""Longer side of the picture of one place where a marker must lie."""
LEAST_MARKERS = 3


def find_markers(grey: Pixels) -> list[tuple[int, Floats]]:
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


def one_sheet(found: list[tuple[int, Floats]]) -> tuple[SheetGeometry, dict[int, Floats]]:
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
        raise refusal("markers", missing(sheet, seen)).error
    return sheet, seen


def missing(sheet: SheetGeometry, seen: dict[int, Floats]) -> str:
    """The markers of a sheet that are not seen, in words."""
    names = [name for place, name in enumerate(PLACES) if place not in seen]
    return f"missing on the {sheet.name}: {', '.join(names)}"


def targets(sheet: SheetGeometry, places: list[int]) -> Floats:
    """Where the corners of the markers at these places lie, (4 n, 2) mm as designed."""
    return np.concatenate([np.array(sheet.marker_corners(sheet.first_id + place)) for place in places])


def homography(pixels: Floats, mm: Floats) -> Floats:
    """The (3, 3) homography that takes pixels (n, 2) to mm (n, 2); refused where they do not make a sheet."""
    import cv2

    found, _ = cv2.findHomography(pixels, mm, 0)
    if found is None or not np.isfinite(found).all() or abs(np.linalg.det(found)) < 1e-12:
        raise refusal("markers", "those seen do not make a sheet").error
    return np.asarray(found, dtype=float)


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
    matrix = homography(pixels, targets(sheet, [owner[1] for _, _, owner in known]))
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
