"""The contrast of a photograph against its background, and what is seen across a line.

Light is linear (IEC 61966-2-1); the background is the median of blocks. Only the weighted contrast is kept for every
pixel: colours are worked out where a line runs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from coatwright.compiling import numba
from coatwright.paper.light import LINEAR

_F = TypeVar("_F", bound=Callable[..., Any])
compiled: Callable[[_F], _F] = numba.njit(cache=True, nogil=True)

BLOCK_PX = 64
CHANNELS = {False: (0.40, 0.42, 0.18), True: (0.25, 0.50, 0.25)}
"""Blue, green, red. On white the blue sees red hair best, but a JPEG keeps it worst."""


@dataclass(frozen=True)
class Contrast:
    """What lies on the sheet as a share of its background: 0 paper, 1 as dark as can be (on dark: as white)."""

    value: np.ndarray
    """(h, w) float32: the channels weighted by :data:`CHANNELS`."""
    part: np.ndarray
    """(h, w, 3) uint8, blue green red: this part of the photograph."""
    ground: np.ndarray
    """(rows, columns, 3) float32: the background in linear light, medians of blocks."""
    white: float
    """On card, the linear light of white; 0 on paper."""
    corner: tuple[int, int]
    """x, y of the first pixel in the photograph."""


def contrast_of(image: np.ndarray, box: tuple[int, int, int, int], dark: bool) -> Contrast:
    """The contrast within a box (x0, y0, x1, y1) of a photograph (h, w, 3) uint8 in blue, green, red."""
    import cv2

    x0, y0, x1, y1 = box
    part, table = image[y0:y1, x0:x1], LINEAR
    weights = np.array(CHANNELS[dark], np.float32)
    white = 1.0
    if dark:
        white = max(0.05, float(table[int(np.percentile(image[::16, ::16, 1], 97))]))
    rows, columns = (max(1, round(side / BLOCK_PX)) for side in part.shape[:2])
    back = _medians(part, table, rows, columns)
    if min(rows, columns) >= 3:
        back = cv2.medianBlur(back, 3)
    white = white if dark else 0.0
    return Contrast(_values(part, table, back, weights, white), part, back, white, (x0, y0))


@compiled
def _medians(part: Any, table: Any, rows: int, columns: int) -> Any:
    """Medians of blocks in linear light, every third pixel looked at, (rows, columns, 3)."""
    h, w = part.shape[:2]
    found = np.empty((rows, columns, 3), np.float32)
    for i in range(rows):
        for j in range(columns):
            for c in range(3):
                counts = np.zeros(256, np.int64)
                total = 0
                for y in range(i * h // rows, (i + 1) * h // rows, 3):
                    for x in range(j * w // columns, (j + 1) * w // columns, 3):
                        counts[part[y, x, c]] += 1
                        total += 1
                seen, low = 0, -1
                for code in range(256):
                    seen += counts[code]
                    if low < 0 and 2 * seen >= total:
                        low = code
                    if 2 * seen > total:
                        found[i, j, c] = (table[low] + table[code]) / 2
                        break
    return found


@compiled
def _place(at: int, size: int, blocks: int) -> Any:
    """The block whose middle lies before a pixel, and how far the pixel is on the way to the next."""
    middle = min(max((at + 0.5) * blocks / size - 0.5, 0.0), blocks - 1.0)
    first = min(int(middle), max(0, blocks - 2))
    return first, np.float32(middle - first)


@compiled
def _share(light: Any, ground: Any, white: Any) -> Any:
    """Contrast: on paper (``white`` 0) what of the background is missing, on card what is more."""
    if white > 0:
        return (light - ground) / white
    return np.float32(1) - light / max(ground, np.float32(1e-3))


@compiled
def _values(part: Any, table: Any, ground: Any, weights: Any, white: float) -> Any:
    """Weighted contrast of every pixel, the background taken between the middles of its blocks."""
    h, w = part.shape[:2]
    rows, columns = ground.shape[:2]
    pale = np.float32(white)
    value = np.empty((h, w), np.float32)
    left, share = np.empty(w, np.int32), np.empty(w, np.float32)
    for x in range(w):
        left[x], share[x] = _place(x, w, columns)
    line = np.empty((columns + 1, 3), np.float32)
    for y in range(h):
        top, down = _place(y, h, rows)
        under = min(top + 1, rows - 1)
        for j in range(columns + 1):
            k = min(j, columns - 1)
            for c in range(3):
                line[j, c] = ground[top, k, c] + down * (ground[under, k, c] - ground[top, k, c])
        for x in range(w):
            j = left[x]
            total = np.float32(0)
            for c in range(3):
                back = line[j, c] + share[x] * (line[j + 1, c] - line[j, c])
                total += weights[c] * _share(table[part[y, x, c]], back, pale)
            value[y, x] = total
    return value


@compiled
def _colour(part: Any, table: Any, ground: Any, white: Any, x: int, y: int, c: int) -> Any:
    """Contrast of one channel of one pixel."""
    h, w = part.shape[:2]
    rows, columns = ground.shape[:2]
    top, down = _place(y, h, rows)
    left, share = _place(x, w, columns)
    under, right = min(top + 1, rows - 1), min(left + 1, columns - 1)
    a = ground[top, left, c] + down * (ground[under, left, c] - ground[top, left, c])
    b = ground[top, right, c] + down * (ground[under, right, c] - ground[top, right, c])
    return _share(table[part[y, x, c]], a + share * (b - a), white)


@compiled
def _across(
    value: Any, part: Any, table: Any, ground: Any, white: float, xy: Any, normal: Any, reach: float
) -> Any:
    """Contrast summed across a line (px) and the colour at its crest, by bilinear look-up."""
    n = len(xy)
    h, w = value.shape
    pale = np.float32(white)
    total = np.zeros(n, np.float32)
    crest = np.zeros((n, 3), np.float32)
    steps = int(np.ceil(reach / 0.5))
    for i in range(n):
        for k in range(-steps, steps + 1):
            x, y = xy[i, 0] + 0.5 * k * normal[i, 0], xy[i, 1] + 0.5 * k * normal[i, 1]
            x0, y0 = int(np.floor(x)), int(np.floor(y))
            if x0 < 0 or y0 < 0 or x0 >= w - 1 or y0 >= h - 1:
                continue
            fx, fy = x - x0, y - y0
            w00, w10, w01, w11 = (1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy
            total[i] += 0.5 * (
                w00 * value[y0, x0]
                + w10 * value[y0, x0 + 1]
                + w01 * value[y0 + 1, x0]
                + w11 * value[y0 + 1, x0 + 1]
            )
            if abs(k) <= 1:
                for c in range(3):
                    crest[i, c] += (1 / 3) * (
                        w00 * _colour(part, table, ground, pale, x0, y0, c)
                        + w10 * _colour(part, table, ground, pale, x0 + 1, y0, c)
                        + w01 * _colour(part, table, ground, pale, x0, y0 + 1, c)
                        + w11 * _colour(part, table, ground, pale, x0 + 1, y0 + 1, c)
                    )
    return total, crest


def across(
    contrast: Contrast, xy: np.ndarray, normal: np.ndarray, reach: float
) -> tuple[np.ndarray, np.ndarray]:
    """Optical width, px (n,), and colour at the crest (n, 3) of lines through ``xy`` (n, 2), px from the corner."""
    found: tuple[np.ndarray, np.ndarray] = _across(
        contrast.value, contrast.part, LINEAR, contrast.ground, contrast.white, xy, normal, reach
    )
    return found
