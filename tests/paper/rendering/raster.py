"""Drawing strips of varying width into an image: exact overlap of a strip with a pixel, across its direction."""

from __future__ import annotations

import numba
import numpy as np


@numba.njit(cache=True, nogil=True)
def stroke(image, xy, half, colour):
    """Lay an opaque strip over ``image`` (h, w, 3) float32: points (n, 2), half widths (n,) in px, colours (n, 3)."""
    h, w = image.shape[:2]
    n = len(xy)
    reach = half.max() + 1.5
    x0 = max(0, int(np.floor(xy[:, 0].min() - reach)))
    y0 = max(0, int(np.floor(xy[:, 1].min() - reach)))
    x1 = min(w, int(np.ceil(xy[:, 0].max() + reach)) + 1)
    y1 = min(h, int(np.ceil(xy[:, 1].max() + reach)) + 1)
    if x1 <= x0 or y1 <= y0:
        return
    cover = np.zeros((y1 - y0, x1 - x0), np.float32)
    which = np.zeros((y1 - y0, x1 - x0), np.int32)
    for i in range(n - 1):
        ax, ay = xy[i]
        dx, dy = xy[i + 1, 0] - ax, xy[i + 1, 1] - ay
        square = dx * dx + dy * dy
        far = max(half[i], half[i + 1]) + 1.0
        for py in range(max(y0, int(min(ay, ay + dy) - far)), min(y1, int(max(ay, ay + dy) + far) + 2)):
            for px in range(max(x0, int(min(ax, ax + dx) - far)), min(x1, int(max(ax, ax + dx) + far) + 2)):
                t = ((px - ax) * dx + (py - ay) * dy) / square if square > 0 else 0.0
                # off the ends of the whole strip, coverage falls over one pixel
                over = 1.0
                length = np.sqrt(square)
                if i == 0 and t < 0:
                    over = max(0.0, 0.5 + t * length)
                    t = 0.0
                elif i == n - 2 and t > 1:
                    over = max(0.0, 0.5 - (t - 1) * length)
                    t = 1.0
                elif i == 0 and t * length < 0.5:
                    over = 0.5 + t * length
                elif i == n - 2 and (1 - t) * length < 0.5:
                    over = 0.5 + (1 - t) * length
                t = min(1.0, max(0.0, t))
                ex, ey = px - ax - t * dx, py - ay - t * dy
                if over < 1.0:  # distance across only
                    d = abs((px - ax) * dy - (py - ay) * dx) / max(length, 1e-9)
                else:
                    d = np.sqrt(ex * ex + ey * ey)
                hw = half[i] + t * (half[i + 1] - half[i])
                c = (min(d + 0.5, hw) - max(d - 0.5, -hw)) * over
                if c > cover[py - y0, px - x0]:
                    cover[py - y0, px - x0] = min(1.0, c)
                    which[py - y0, px - x0] = i
    for y in range(y1 - y0):
        for x in range(x1 - x0):
            c = cover[y, x]
            if c > 0:
                for k in range(3):
                    value = image[y + y0, x + x0, k]
                    image[y + y0, x + x0, k] = value + c * (colour[which[y, x], k] - value)
