"""Shading of zones by a quantity: a scale from straw to bark that every kind of colour sight can read.

The lightness L* (CIE 1976) falls evenly from 90 to 22, so that the order is kept without hue: in black and
white print and for every colour-vision deficiency.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from coatwright.drawing.svg import luminance

LIGHTEST, DARKEST = 90.0, 22.0
_HUES = np.array([[1.0, 27.0], [7.0, 40.0], [18.0, 40.0], [20.0, 30.0], [8.0, 12.0]])
"""a* and b* at even steps of the scale: straw, wheaten, fox, and on to bark."""
_WHITE = (0.95047, 1.0, 1.08883)
"""D65, 2 degrees."""


@dataclass(frozen=True, slots=True)
class ZoneValue:
    """What a zone is shaded by: a number on the scale and the same in words, such as ``"20 %"``."""

    value: float
    text: str


@dataclass(frozen=True, slots=True)
class Scale:
    """The scale beside a shaded picture: what it measures and both ends, as numbers and in words."""

    label: str
    low: float
    high: float
    low_text: str
    high_text: str

    def colour(self, value: float) -> str:
        """Colour of a value; values beyond the ends take the colour of the end."""
        span = self.high - self.low
        return straw_to_bark((value - self.low) / span if span > 0 else 0.0)


def scale_of(values: Mapping[str, ZoneValue], label: str) -> Scale:
    """A scale that just holds ``values``; without any, from 0 to 1."""
    if not values:
        return Scale(label, 0.0, 1.0, "0", "1")
    ordered = sorted(values.values(), key=lambda one: one.value)
    first, last = ordered[0], ordered[-1]
    return Scale(label, first.value, last.value, first.text, last.text)


def straw_to_bark(share: float) -> str:
    """Colour at ``share`` (0 straw, 1 bark) of the scale, as #rrggbb."""
    t = min(max(float(share), 0.0), 1.0)
    at = t * (len(_HUES) - 1)
    low = min(int(at), len(_HUES) - 2)
    a, b = _HUES[low] + (at - low) * (_HUES[low + 1] - _HUES[low])
    return _from_lab(LIGHTEST + t * (DARKEST - LIGHTEST), float(a), float(b))


def ink_on(colour: str) -> str:
    """Ink or chalk, whichever stands out more from ``colour`` (contrast ratio of WCAG 2.2)."""
    light = luminance(colour)
    dark_ratio = (light + 0.05) / (luminance("#050403") + 0.05)
    light_ratio = (luminance("#ffffff") + 0.05) / (light + 0.05)
    return "#050403" if dark_ratio >= light_ratio else "#ffffff"


def _from_lab(lightness: float, a: float, b: float) -> str:
    """CIE L*a*b* (D65) as an sRGB colour."""
    fy = (lightness + 16.0) / 116.0
    xyz = [
        white * (f**3 if f > 6.0 / 29.0 else 3.0 * (6.0 / 29.0) ** 2 * (f - 4.0 / 29.0))
        for f, white in zip((fy + a / 500.0, fy, fy - b / 200.0), _WHITE, strict=True)
    ]
    to_rgb = np.array(
        [
            [3.2404542, -1.5371385, -0.4985314],
            [-0.9692660, 1.8760108, 0.0415560],
            [0.0556434, -0.2040259, 1.0572252],
        ]
    )
    linear = np.clip(to_rgb @ np.array(xyz), 0.0, 1.0)
    coded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1.0 / 2.4) - 0.055)
    return "#" + "".join(f"{round(255 * c):02x}" for c in coded.tolist())
