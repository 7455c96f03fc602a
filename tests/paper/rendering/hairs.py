"""Hairs as curves in space: exact arc length, width along them, and how each end was made."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.paper.rendering.styles import Style, hair_colour

CLEAR = (20.0, 20.0, 190.0, 128.0)
"""The clear area of the A5 sheet, mm: x0, y0, x1, y1."""
STEP_MM = 0.04


@dataclass(frozen=True)
class TrueHair:
    """One drawn fibre. ``space`` is (n, 3) mm at equal steps of arc length, root (or broken end) first."""

    kind: str
    """hair, fluff or dust."""
    space: np.ndarray
    width: np.ndarray
    """(n,) mm."""
    colour: np.ndarray
    """(n, 3) linear reflectance."""
    length: float
    """Exact arc length in space, mm."""
    root: str
    """club or blunt."""
    tip: str
    """taper or blunt."""

    @property
    def broken(self) -> bool:
        """A hair without its club was broken."""
        return self.root == "blunt"


def direction(style: Style, s: np.ndarray, rng: np.random.Generator, curl: float) -> np.ndarray:
    """Heading (radians) along a hair by the style's curl law; ``curl`` of 1 is a wire coat."""
    heading = rng.uniform(0, 2 * np.pi)
    step = s[1] - s[0]
    if style.waves:
        angle = heading + curl * rng.normal(0, 0.014) * s
        for _ in range(2):
            wave = rng.uniform(12.0, 34.0)
            angle = angle + curl * rng.normal(0, 0.13) * np.sin(2 * np.pi * (s / wave + rng.uniform()))
        if rng.uniform() < 0.2:
            place = rng.uniform(0.15, 0.85) * s[-1]
            angle = angle + curl * rng.normal(0, 0.3) * np.tanh((s - place) / 0.8)
        return angle
    reach = 7.0
    decay = np.exp(-step / reach)
    pushes = rng.normal(0, curl * 0.028 * np.sqrt(1 - decay**2), len(s))
    pushes[0] = rng.normal(0, curl * 0.028)
    from scipy.signal import lfilter

    bend = rng.normal(0, curl * 0.014) + lfilter([1.0], [1.0, -decay], pushes)
    return heading + np.cumsum(bend) * step


def _lying(style: Style, s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Slope dz/ds: arches of a hair over the paper; their heights are tenths of a millimetre to a millimetre."""
    length = s[-1]
    if style.arches == 1:
        height = min(rng.gamma(2.0, 0.2), 1.2, 0.05 * length)
        return height * np.pi / length * np.sin(2 * np.pi * s / length)
    height = min(rng.gamma(2.0, 0.12), 0.8, 0.03 * length)
    return height * 2 * np.pi / length * np.sin(4 * np.pi * s / length)


def _curve(style: Style, length: float, rng: np.random.Generator, curl: float) -> np.ndarray:
    count = max(8, int(np.ceil(length / STEP_MM)) + 1)
    s = np.linspace(0.0, length, count)
    middle = (s[:-1] + s[1:]) / 2
    angle = direction(style, middle, rng, curl)
    rise = _lying(style, np.append(middle, length), rng)[:-1]
    flat = np.sqrt(1 - rise**2)
    steps = np.stack([np.cos(angle) * flat, np.sin(angle) * flat, rise], axis=1) * (s[1] - s[0])
    points = np.zeros((count, 3))
    points[1:] = np.cumsum(steps, axis=0)
    points[:, 2] -= min(0.0, points[:, 2].min())
    return points


def _placed(points: np.ndarray, rng: np.random.Generator, margin: float = 1.5) -> np.ndarray | None:
    low, high = points[:, :2].min(axis=0), points[:, :2].max(axis=0)
    room = np.array(CLEAR[2:]) - np.array(CLEAR[:2]) - 2 * margin - (high - low)
    if (room < 0).any():
        return None
    start = np.array(CLEAR[:2]) + margin + rng.uniform(size=2) * room - low
    moved = points.copy()
    moved[:, :2] += start
    return moved


def _beside(
    points: np.ndarray, other: np.ndarray, style: Style, rng: np.random.Generator
) -> np.ndarray | None:
    """The curve laid beside another, a few millimetres off and turned a little: hairs fall in pinches."""
    run, goal = points[-1, :2] - points[0, :2], other[-1, :2] - other[0, :2]
    turn = np.arctan2(goal[1], goal[0]) - np.arctan2(run[1], run[0]) + rng.normal(0, style.pinch_turn)
    turn += np.pi * (rng.uniform() < 0.15)
    c, s = np.cos(turn), np.sin(turn)
    moved = points.copy()
    moved[:, :2] = (points[:, :2] - points[:, :2].mean(axis=0)) @ np.array([[c, s], [-s, c]])
    moved[:, :2] += other[:, :2].mean(axis=0) + rng.normal(0, style.pinch_mm, 2)
    low, high = moved[:, :2].min(axis=0), moved[:, :2].max(axis=0)
    inside = (low > np.array(CLEAR[:2]) + 1.5).all() and (high < np.array(CLEAR[2:]) - 1.5).all()
    return moved if inside else None


def draw_hair(
    style: Style,
    coat: str,
    rng: np.random.Generator,
    broken_share: float,
    length: float = 0.0,
    beside: TrueHair | None = None,
) -> TrueHair:
    """One hair of a coat; ``length`` 0 takes it from three layers of a wire coat; ``beside`` lays it by another."""
    if not length:
        layer = rng.choice(3, p=[0.6, 0.25, 0.15])
        length = float(np.clip(rng.normal([34.0, 24.0, 14.0][layer], [5.0, 3.5, 2.5][layer]), 7.0, 52.0))
    whole = length
    broken = rng.uniform() < broken_share
    start = rng.uniform(0.1, 0.6) * whole if broken else 0.0
    clipped = rng.uniform() < 0.1
    end = whole * rng.uniform(0.75, 0.9) if clipped else whole
    if end - start < 5.0:
        start = max(0.0, end - 5.0)
    points = None
    if beside is not None:
        points = _beside(_curve(style, end - start, rng, 1.0), beside.space, style, rng)
    while points is None:
        points = _placed(_curve(style, end - start, rng, 1.0), rng)
    s = np.linspace(start, end, len(points))
    thick = rng.uniform(0.085, 0.135)
    share = s / whole
    width = thick * (0.78 + 0.22 * np.sin(np.pi / 2 * np.clip(share / 0.55, 0, 1)))
    taper_from = rng.uniform(0.62, 0.78)
    width = width * (1 - 0.82 * np.clip((share - taper_from) / (1 - taper_from), 0, 1) ** 1.4)
    if not broken:
        along = s - start
        bulb = rng.uniform(0.45, 0.95) * np.exp(-(((along - 0.22) / rng.uniform(0.16, 0.26)) ** 2))
        width = width * (1 + bulb) * np.clip(0.45 + along / 0.12, 0, 1)
    colour = hair_colour(style, coat, s, whole, rng)
    return TrueHair(
        "hair",
        points,
        width,
        colour,
        end - start,
        "blunt" if broken else "club",
        "blunt" if clipped else "taper",
    )


def draw_fluff(style: Style, coat: str, rng: np.random.Generator) -> TrueHair:
    """Underwool: thin, pale, curly."""
    while True:
        length = float(np.clip(rng.normal(13, 4), 5, 24))
        points = _placed(_curve(style, length, rng, rng.uniform(4.0, 9.0)), rng)
        if points is not None:
            break
    s = np.linspace(0, length, len(points))
    width = np.full(len(points), rng.uniform(0.014, 0.030))
    colour = hair_colour(style, coat, s, length, rng)
    if coat not in ("white", "cream"):
        colour = np.clip(colour * 1.5 + 0.05, 0, 0.8)
    return TrueHair("fluff", points, width, colour, length, "blunt", "blunt")


def draw_dust(style: Style, coat: str, rng: np.random.Generator) -> TrueHair:
    """Specks of skin and short lint."""
    speck = rng.uniform() < 0.7
    length = rng.uniform(0.05, 0.4) if speck else rng.uniform(0.6, 2.5)
    points = None
    while points is None:
        points = _placed(_curve(style, length, rng, 3.0), rng)
    width = np.full(len(points), rng.uniform(0.06, 0.25) if speck else rng.uniform(0.02, 0.06))
    pale = coat in ("white", "cream")
    shade = rng.uniform(0.3, 0.7) if pale else rng.uniform(0.25, 0.6)
    colour = np.clip(np.full((len(points), 3), shade) * rng.lognormal(0, 0.08, 3), 0.02, 0.9)
    return TrueHair("dust", points, width, colour, length, "blunt", "blunt")


def laid_anew(
    style: Style, hair: TrueHair, rng: np.random.Generator, beside: TrueHair | None = None
) -> TrueHair:
    """The same fibre after a shake: turned, one time in two over, put elsewhere or beside another."""
    points = hair.space - hair.space.mean(axis=0) * [1, 1, 0]
    if rng.uniform() < 0.5:
        points = points * [1, -1, 1]
    laid = _beside(points, beside.space, style, rng) if beside is not None else None
    while laid is None:
        turn = rng.uniform(0, 2 * np.pi)
        c, s = np.cos(turn), np.sin(turn)
        turned = points.copy()
        turned[:, :2] = points[:, :2] @ np.array([[c, s], [-s, c]])
        laid = _placed(turned, rng)
    return replace(hair, space=laid)
