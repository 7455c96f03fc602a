"""Two ways of drawing, so that what was learned from one is measured on another.

=============  ==========================================  ====================================================
               TRAINING                                    FIGURES
=============  ==========================================  ====================================================
curl           curvature wanders (Ornstein-Uhlenbeck)      direction is a sum of waves, some hairs with a kink
lying          one low arch over the paper                 touches the paper at both ends and in between
colour         one colour a hair, plain bands              pigment fades towards the root, soft bands, shine
camera         long lens, barrel, even light with a slope  short lens, pincushion, light that falls off
sensor         Gaussian noise on each channel              Bayer mosaic, shot noise, sharpened, tone curve
paper          plain                                       grain
pinches        a third lie beside another, loosely         a quarter lie beside another, closely
=============  ==========================================  ====================================================

All values are ours, chosen to look like photographs; none was measured on real sheets.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

COATS = ("black", "red", "grey", "banded", "white", "cream")
ON_DARK = ("white", "cream")


@dataclass(frozen=True)
class Style:
    """What differs between the two ways of drawing."""

    name: str
    waves: bool
    """Direction from waves and kinks; else wandering curvature."""
    arches: int
    fades: bool
    """Pigment fades, bands are soft, hair shines; else plain."""
    distance_mm: tuple[float, float]
    barrel: tuple[float, float]
    """Range of the first radial coefficient (per squared tangent of the field angle)."""
    falloff: bool
    """Light falls off from a point; else an even slope."""
    mosaic: bool
    """Bayer sensor with shot noise, sharpening and a tone curve; else Gaussian noise."""
    grain: float
    """Standard deviation of the paper's reflectance."""
    pinches: float
    """Share of hairs that lie beside the one before."""
    pinch_mm: float
    pinch_turn: float


TRAINING = Style(
    "training", False, 1, False, (420.0, 520.0), (-0.06, -0.01), False, False, 0.0, 0.35, 4.0, 0.35
)
FIGURES = Style("figures", True, 2, True, (280.0, 360.0), (0.01, 0.05), True, True, 0.006, 0.25, 3.0, 0.25)

_REFLECTANCE = {  # red, green, blue; linear
    "black": (0.030, 0.026, 0.024),
    "red": (0.30, 0.125, 0.045),
    "grey": (0.20, 0.19, 0.175),
    "banded": (0.050, 0.044, 0.038),
    "white": (0.78, 0.77, 0.73),
    "cream": (0.70, 0.60, 0.44),
}
_PALE_BAND = (0.34, 0.27, 0.19)


def hair_colour(
    style: Style, coat: str, s: np.ndarray, length: float, rng: np.random.Generator
) -> np.ndarray:
    """Reflectance along a hair, (n, 3) red green blue, linear; ``s`` is mm from the root of the whole hair."""
    base = np.array(_REFLECTANCE[coat]) * rng.lognormal(0.0, 0.16)
    base = base * rng.lognormal(0.0, 0.05, 3)
    colour = np.repeat(base[None, :], len(s), axis=0)
    if coat == "banded":
        pale = np.array(_PALE_BAND) * rng.lognormal(0.0, 0.12)
        period, phase = rng.uniform(7.0, 13.0), rng.uniform(0.0, 1.0)
        wave = np.sin(2 * np.pi * (s / period + phase))
        share = 1 / (1 + np.exp(-wave / 0.18)) if style.fades else (wave > 0.35).astype(float)
        colour = colour * (1 - 0.8 * share[:, None]) + pale * 0.8 * share[:, None]
    if style.fades:
        fade = 1.0 + rng.uniform(0.0, 0.5) * np.exp(-s / max(4.0, 0.25 * length))
        colour = colour * fade[:, None]
    return np.clip(colour, 0.01, 0.92)
