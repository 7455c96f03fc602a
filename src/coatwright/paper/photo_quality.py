"""How well a photograph shows the sheet that was found in it: shadow, glare, and the dots of a screen."""

from __future__ import annotations

import numpy as np

from coatwright.paper.light import Light, Pixels
from coatwright.paper.marks import Rectified
from coatwright.paper.sheet import SheetGeometry

BURNT = 254
BLOCK_SAMPLES = 14
GLARE_STEP_MM = 0.7
GRID_PX = 256


def background_range(light: Light, place: Rectified, sheet: SheetGeometry) -> float:
    """The brightest over the darkest paper of the clear area, in linear light.

    On a dark frame the paper is the frame: the card is too dark to tell a shadow.
    """
    x0, y0, x1, y1 = sheet.clear
    columns, rows = 17, 11
    inside = np.linspace(0.02, 0.98, BLOCK_SAMPLES)
    xs = x0 + (x1 - x0) * (np.arange(columns)[:, None] + inside) / columns
    ys = y0 + (y1 - y0) * (np.arange(rows)[:, None] + inside) / rows
    mm = np.stack(np.meshgrid(xs.ravel(), ys.ravel()), axis=-1)
    seen = light.at(place.to_px(mm.reshape(-1, 2)).reshape(mm.shape))
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
    return float(high / max(low, 1e-3))


def glare(pixels: Pixels, place: Rectified, sheet: SheetGeometry) -> float:
    """The share of the clear area that is burnt out, 0 to 1."""
    x0, y0, x1, y1 = sheet.clear
    mm = np.stack(
        np.meshgrid(np.arange(x0, x1, GLARE_STEP_MM), np.arange(y0, y1, GLARE_STEP_MM)), axis=-1
    ).reshape(-1, 2)
    at = np.round(place.to_px(mm)).astype(int)
    h, w = pixels.shape[:2]
    at = at[(at[:, 0] >= 0) & (at[:, 1] >= 0) & (at[:, 0] < w) & (at[:, 1] < h)]
    return float((pixels[at[:, 1], at[:, 0]].min(axis=1) >= BURNT).mean()) if len(at) else 0.0


def dots(grey: Pixels, place: Rectified, sheet: SheetGeometry) -> float:
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
