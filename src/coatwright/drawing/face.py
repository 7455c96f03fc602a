"""Eye, nose, mouth, the shade of the ear, and the ground under the feet."""

from __future__ import annotations

import numpy as np

from coatwright.drawing import svg
from coatwright.drawing.curves import Bools
from coatwright.drawing.scene import SHADOW, Scene

NOSE = {"light": "#1b1512", "dark": "#3b332d", "print": "#1b1512"}
EYE = (
    '<ellipse rx="1.8" ry="1.3" fill="#1c120b" fill-opacity=".4"/>'
    '<path d="M-1.5.2q.5-1.2 1.55-1.2 1.05 0 1.5.95-.6.95-1.5 1-.95 0-1.55-.75z" fill="#0d0907"/>'
    '<circle cx="-.05" cy="0" r=".74" fill="#40270f"/><circle cx="-.05" cy="0" r=".44" fill="#0d0907"/>'
    '<circle cx="-.32" cy="-.32" r=".19" fill="#f4efe4"/>'
)
"""The eye of radius 1 around (0, 0), looking to the left."""


def over_eye(scene: Scene) -> Bools:
    """Strokes that may lie over the eye without hiding it: every other one above it, none across its middle."""
    x, y, radius = scene.figure.eye
    drawn = scene.drawn
    ax, ay = drawn.x - x, drawn.y - y
    square = np.maximum(drawn.dx**2 + drawn.dy**2, 1e-9)
    t = np.clip(-(ax * drawn.dx + ay * drawn.dy) / square, 0.0, 1.0)
    gap = np.hypot(ax + t * drawn.dx, ay + t * drawn.dy)
    over: Bools = (ay > 0.7 * radius) & (gap > 0.85 * radius) & (drawn.root % 2 == 0)
    return over


def eye(scene: Scene) -> str:
    """The eye."""
    x, y, radius = scene.figure.eye
    canvas = scene.canvas
    at = f"translate({canvas.x(x):.0f} {canvas.y(y):.0f}) scale({radius * canvas.scale:.2f})"
    return svg.element("g", EYE, transform=at)


def nose(scene: Scene) -> str:
    """The nose with its nostril and a little shine."""
    canvas, figure = scene.canvas, scene.figure
    pad = canvas.points(figure.nose)
    width, height = (float(side) for side in np.ptp(pad, axis=0))
    left, top = (float(side) for side in pad.min(axis=0))
    shine = (
        f"M{left + 0.34 * width:.0f} {top + 0.2 * height:.0f}"
        f"q{0.14 * width:.1f} {-0.08 * width:.1f} {0.32 * width:.1f} 0"
    )
    return (
        svg.element("path", d=canvas.path(figure.nose), fill=NOSE[scene.theme])
        + svg.element("path", d=shine, stroke="#6d625b", stroke_width=svg.number(0.09 * width))
        + svg.element(
            "path",
            d=canvas.path(figure.nostril, closed=False),
            stroke="#000000",
            stroke_width=svg.number(0.13 * width),
        )
    )


def mouth(scene: Scene) -> str:
    """The line of the lips, which the beard mostly hides."""
    return svg.element(
        "path",
        d=scene.canvas.path(scene.figure.mouth, closed=False),
        stroke="#24160e",
        stroke_width=svg.number(0.62 * scene.figure.unit * scene.canvas.scale),
        stroke_opacity="0.7",
    )


def ear_shade(scene: Scene) -> str:
    """The shade that the ear throws on the cheek."""
    thrown = scene.figure.zones["ears"] + np.array([0.1, -0.7]) * scene.figure.unit
    return svg.element("path", d=scene.canvas.path(thrown), fill=SHADOW, fill_opacity="0.3")


def ground(scene: Scene) -> str:
    """A few lines for the table that the dog stands on."""
    canvas, figure = scene.canvas, scene.figure
    feet = [figure.zones[zone] for zone in ("feet", "hind_feet")]
    feet += [part.polygon for part in figure.far if "feet" in part.zone]
    left = min(float(foot[:, 0].min()) for foot in feet)
    right = max(float(foot[:, 0].max()) for foot in feet)
    lines = []
    for step, (before, behind) in enumerate(((-9.0, 7.0), (-4.0, 12.0), (4.0, 2.0))):
        y = float(canvas.y((-0.8 - 1.5 * step) * figure.unit))
        start, end = canvas.x(left + before * figure.unit), canvas.x(right + behind * figure.unit)
        lines.append(f"M{start:.0f} {y:.0f}h{end - start:.0f}")
    return svg.element(
        "path", d="".join(lines), stroke="currentColor", stroke_width="1.5", stroke_opacity="0.28"
    )
