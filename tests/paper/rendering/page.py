"""The printed page as a picture of reflectance, markers and all, by the layout of the sheet."""

from __future__ import annotations

import functools

import cv2
import numpy as np

PAGE_MM = (210.0, 148.0)
SCALE = 20
"""Pixels to the millimetre of the page's picture."""
_MARKER, _EDGE = 10.0, 6.0
WHITE, INK, CARD = 0.86, 0.045, 0.035


def marker_places() -> dict[int, tuple[float, float]]:
    """Top left corner of each marker, mm."""
    far_x, far_y = PAGE_MM[0] - _EDGE - _MARKER, PAGE_MM[1] - _EDGE - _MARKER
    mid_x, mid_y = (PAGE_MM[0] - _MARKER) / 2, (PAGE_MM[1] - _MARKER) / 2
    return {
        0: (_EDGE, _EDGE),
        1: (far_x, _EDGE),
        2: (far_x, far_y),
        3: (_EDGE, far_y),
        4: (mid_x, _EDGE),
        5: (far_x, mid_y),
        6: (mid_x, far_y),
        7: (_EDGE, mid_y),
    }


@functools.lru_cache(maxsize=2)
def page_picture(dark: bool) -> tuple[np.ndarray, float]:
    """Reflectance (h, w) float32 and pixels per mm."""
    page = np.full((int(PAGE_MM[1] * SCALE), int(PAGE_MM[0] * SCALE)), WHITE, np.float32)
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    side = int(_MARKER * SCALE)
    places = marker_places()
    if dark:
        places = {number + 8: place for number, place in places.items()}
        page[20 * SCALE : 128 * SCALE, 20 * SCALE : 190 * SCALE] = CARD
    for number, (x, y) in places.items():
        image = cv2.aruco.generateImageMarker(book, number, 6).astype(np.float32) / 255
        big = cv2.resize(image, (side, side), interpolation=cv2.INTER_NEAREST)
        r, c = int(y * SCALE), int(x * SCALE)
        page[r : r + side, c : c + side] = INK + (WHITE - INK) * big
    bar = slice(int(129.0 * SCALE), int(130.2 * SCALE))
    page[bar, int(55 * SCALE) : int(155 * SCALE)] = INK
    return page, float(SCALE)
