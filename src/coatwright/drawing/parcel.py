"""What never changes about a dog's picture, as plain values for a browser: see ``motion`` for what does.

Places are in mm, y up from the ground, and lines hold x and y in turn; colours are whole numbers 0xbbggrr, as the
pixels of a picture hold them.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from coatwright.coat.layers import UNDERCOATS
from coatwright.drawing import labels, pelt, svg
from coatwright.drawing.canvas import WIDTH, Canvas
from coatwright.drawing.coat_picture import BARS_MM
from coatwright.drawing.curves import Floats, thin_ring
from coatwright.drawing.face import NOSE
from coatwright.drawing.figure import Figure
from coatwright.drawing.looks import ZoneLook
from coatwright.drawing.palette import Palette
from coatwright.drawing.roots import STEPS, Ints, Roots, roots
from coatwright.drawing.scene import SHADOW, Scene
from coatwright.drawing.shade import ink_on, straw_to_bark
from coatwright.drawing.shaded import EMPTY
from coatwright.drawing.strokes import arc_over_chord, strokes
from coatwright.units import MM_PER_INCH, Millimetres

FORM = 2
"""Number of this form of the parcel; a browser that knows another one says so."""
STEP_MM: Millimetres = 0.05
RAMP = 24
"""Colours of the scale from straw to bark."""
WORDS = "-00 mm"
"""The longest words on a zone, for which room is found."""
SIZES = (26.0, 42.0)
"""Sizes of the words on the zones, units of the view box: for wide and for narrow screens."""
BARS_IN = (20, 10, 5, 4, 2, 1)
LIGHT_STEP = 2
"""Every so many cells of the relief go into the parcel."""
FAR_SKIN, FAR_HAIR, CUT_HAIR = 0.34, 0.22, 0.45
"""How far skin and hair of the far legs go to the shadow, and cut hair to the undercoat, as in ``pelt``."""


def lasting(figure: Figure, colours: Palette, longest: Mapping[str, Millimetres]) -> dict[str, Any]:
    """All of a picture but its days. ``longest`` is the longest hair per zone, for which there is room (mm)."""
    keys = list(figure.zones)
    ramp = [straw_to_bark(step / (RAMP - 1)) for step in range(RAMP)]
    return {
        "form": FORM,
        "step": STEP_MM,
        "unit": round(figure.unit, 4),
        "view": [round(value, 2) for value in _view(figure, colours, longest)],
        "boxes": {
            "far": _box(np.concatenate([part.polygon for part in figure.far])),
            "body": _box(figure.outline),
            "ears": _box(figure.zones["ears"]),
            "tail": _box(figure.zones["tail"]),
        },
        "saddle": ring(figure, figure.saddle),
        "far": [{"zone": keys.index(part.zone), "ring": ring(figure, part.polygon)} for part in figure.far],
        "ears": keys.index("ears"),
        "tail": keys.index("tail"),
        "brows": keys.index("brows"),
        "beard": keys.index("beard"),
        "labels": [[_label(figure, label) for label in _places(figure, size)] for size in SIZES],
        "bars": {unit: _bar(figure, unit) for unit in ("mm", "in")},
        "roots": _roots(figure, colours, longest.get("brows", 0.0)),
        "shade": _shade(figure),
        "stamps": _stamps(figure),
        "themes": {theme: _theme(figure, colours, theme) for theme in ("light", "dark")},
        "shadow": _colour(SHADOW),
        "ramp": [_colour(step) for step in ramp],
        "dark": next(number for number, step in enumerate(ramp) if ink_on(step) == "#ffffff"),
        "scale": _scale(ramp),
    }


def ring(figure: Figure, polygon: Floats) -> list[float]:
    """The points of a closed polygon that matter, x and y in turn."""
    return _places_mm(thin_ring(polygon, 0.04 * figure.unit))


def _bar(figure: Figure, unit: str) -> tuple[Millimetres, str]:
    """A bar to measure the picture by: its length in mm and in words."""
    each, lengths = (MM_PER_INCH, BARS_IN) if unit == "in" else (1.0, BARS_MM)
    room = 280.0 / Canvas(figure).scale
    long = next((length for length in lengths if each * length < room), lengths[-1])
    return each * long, f"{long} {unit}"


def _scale(ramp: Sequence[str]) -> str:
    """The scale from straw to bark as a bar."""
    bars = (svg.element("rect", x=10 * k, width=10.5, height=14, fill=step) for k, step in enumerate(ramp))
    return svg.element(
        "svg",
        "".join(bars),
        class_="cw-ramp",
        viewBox=f"0 0 {10 * len(ramp)} 14",
        preserveAspectRatio="none",
        aria_hidden="true",
    )


def _places_mm(points: Floats) -> list[float]:
    found: list[float] = np.round(points, 2 if np.ptp(points) < 100.0 else 1).ravel().tolist()
    return found


def _view(
    figure: Figure, colours: Palette, longest: Mapping[str, Millimetres]
) -> tuple[float, float, float, float]:
    """Left, top, width and height of the picture, mm: those of the print, more where hair grows beyond it."""
    canvas = Canvas(figure)
    room = 2.0 * figure.unit
    left, top = canvas.left, canvas.top
    right, bottom = left + WIDTH / canvas.scale, top - canvas.floor / canvas.scale
    full = {zone: ZoneLook(zone, np.array([mm]), np.ones(1), spread=0.0) for zone, mm in longest.items()}
    drawn = strokes(figure, roots(figure), full, colours)
    if drawn.x.size:
        x, y = drawn.x + drawn.dx, drawn.y + drawn.dy
        left, right = min(left, float(x.min()) - room), max(right, float(x.max()) + room)
        top = max(top, float(y.max()) + room)
    return left, top, right - left, top - bottom


@lru_cache(maxsize=64)
def _places(figure: Figure, size: float) -> tuple[labels.Label, ...]:
    """Where words go on the zones, in units of the view box."""
    canvas = Canvas(figure)
    polygons = {zone: canvas.points(polygon) for zone, polygon in figure.zones.items()}
    filled = [*polygons.values(), *(canvas.points(part.polygon) for part in figure.far)]
    covers: dict[str, tuple[Floats, ...]] = dict.fromkeys(figure.body_zones, (polygons["ears"],))
    covers["tail"] = (canvas.points(figure.outline),)
    words = dict.fromkeys(figure.zones, WORDS)
    return tuple(labels.place(words, polygons, filled, (WIDTH, canvas.floor), size, covers))


def _label(figure: Figure, label: labels.Label) -> dict[str, Any]:
    """``places``: where the words stand and, where that is beside the zone, the place that they belong to."""
    canvas = Canvas(figure)
    points = np.array([(label.x, label.y), *([label.anchor] if label.anchor else [])]) / canvas.scale
    points = np.array([canvas.left, canvas.top]) + points * np.array([1.0, -1.0])
    return {
        "zone": list(figure.zones).index(label.zone),
        "size": round(label.size / canvas.scale, 2),
        "places": _places_mm(points),
    }


# --- hair -------------------------------------------------------------------------------------------------


def _roots(figure: Figure, colours: Palette, brows: Millimetres) -> dict[str, Any]:
    """What a hair keeps for life. Its place, rank and order follow from its number (see ``roots``).

    ``steps``  of the sequence of places
    ``parts``  from the hindmost to the foremost, a far leg or a zone of the near side each: its roots, the number
               ``row`` of the first one in print, salt, box (left, bottom, width, height) and shake of the
               scatter, and the width of its strokes, mm
    ``gaps``   from each number in a part to the next
    ``angle``  way from root to tip in 256ths of a turn, counted from +x towards +y
    ``bend``   sagitta over chord in steps of 1/512
    ``colour`` number into the tones of a theme
    ``passes`` how many times the colours lie over each other, as in ``pelt``
    ``overEye`` hairs of the brows, by their places in the part, that are drawn after the eye
    """
    rooted = roots(figure)
    full = {zone: ZoneLook(zone, np.array([10.0]), np.ones(1), spread=0.0) for zone in figure.zones}
    drawn = strokes(figure, rooted, full, colours)
    order = [(zone, True) for zone in pelt.FAR_ORDER] + [(zone, False) for zone in ("tail", *pelt.ORDER)]
    placed = sorted(rooted.parts, key=lambda part: order.index((part.zone, part.far)))
    rows = np.concatenate([np.arange(part.first, part.last) for part in placed])
    gaps = [np.diff(rooted.index[part.first : part.last], prepend=part.salt) for part in placed]
    angle = np.rint(np.arctan2(rooted.dy, rooted.dx) * 128.0 / np.pi).astype(np.int64) & 255
    parts = []
    at = 0
    for part in placed:
        end = at + part.last - part.first
        parts.append(
            {
                "zone": rooted.keys.index(part.zone),
                "far": part.far,
                "from": at,
                "to": end,
                "row": part.first,
                "salt": part.salt,
                "box": [*part.low, *part.size],
                "shake": part.shake,
                "width": round(float(np.median(drawn.width[part.first : part.last])), 3),
            }
        )
        at = end
    return {
        "steps": STEPS,
        "parts": parts,
        "gaps": _packed(np.concatenate(gaps), "u1"),
        "angle": _packed(angle[rows], "u1"),
        "bend": _packed(np.rint(rooted.bend[rows] * 512.0), "i1"),
        "colour": _packed(drawn.colour[rows], "u1"),
        "passes": pelt.PASSES,
        "overEye": (_over_eye(figure, rooted, brows) - rooted.of("brows")[0]).tolist(),
    }


def _over_eye(figure: Figure, rooted: Roots, longest: Millimetres) -> Ints:
    """Roots of hairs of the brows that lie over the eye without hiding it, however long: see ``face.over_eye``."""
    x, y, radius = figure.eye
    chord = longest / arc_over_chord(rooted.bend)
    dx, dy = rooted.dx * chord, rooted.dy * chord
    ax, ay = rooted.x - x, rooted.y - y
    t = np.clip(-(ax * dx + ay * dy) / np.maximum(dx**2 + dy**2, 1e-9), 0.0, 1.0)
    clear = (ay > 0.7 * radius) & (np.hypot(ax + t * dx, ay + t * dy) > 0.85 * radius)
    brows = (rooted.zone == rooted.keys.index("brows")) & ~rooted.far
    return np.flatnonzero(brows & clear & (np.arange(len(rooted.x)) % 2 == 0))


def _packed(values: Any, kind: str) -> str:
    """Whole numbers as base64, in little-endian order. Raises ``OverflowError`` where one does not fit."""
    whole = np.asarray(values).astype(np.int64)
    limits = np.iinfo(np.dtype(kind))
    if whole.size and (whole.min() < limits.min or whole.max() > limits.max):
        raise OverflowError(f"{whole.min()} to {whole.max()} do not fit into {kind}.")
    return b64encode(whole.astype(kind).tobytes()).decode("ascii")


# --- skin and face ----------------------------------------------------------------------------------------


def _shade(figure: Figure) -> dict[str, Any]:
    """Shadow on the skin of the body, 255 where it is deepest: the steps of ``pelt.form``, run together.

    Row by row from below, ``across`` values in a row; ``deep`` is the share of shadow at 255.
    """
    shape = figure.reliefs["body"]
    light = shape.light[::LIGHT_STEP, ::LIGHT_STEP]
    step = pelt.SHADES[0] - pelt.SHADES[1]
    dark = np.clip((pelt.SHADES[0] + step / 2.0 - light) / (step * len(pelt.SHADES)), 0.0, 1.0)
    return {
        "origin": [round(shape.x0, 2), round(shape.y0, 2)],
        "cell": round(LIGHT_STEP * shape.cell, 4),
        "across": light.shape[1],
        "deep": round(1.0 - (1.0 - pelt.SHADE_STEP) ** len(pelt.SHADES), 4),
        "values": _packed(np.rint(255.0 * dark), "u1"),
    }


def _stamps(figure: Figure) -> dict[str, list[Any]]:
    """Ground, mouth, face and the shade of the ear: a box in mm; path data in mm, fill or stroke, its width, opacity.

    The colours ``ink`` and ``nose`` are the theme's own; ``face`` has the same shapes as for print.
    """
    unit = figure.unit
    feet = [figure.zones[zone] for zone in ("feet", "hind_feet")]
    feet += [part.polygon for part in figure.far if "feet" in part.zone]
    left, right = min(foot[:, 0].min() for foot in feet), max(foot[:, 0].max() for foot in feet)
    lines = "".join(
        f"M{left + before * unit:.1f} {-(0.8 + 1.5 * row) * unit:.1f}H{right + behind * unit:.1f}"
        for row, (before, behind) in enumerate(((-9.0, 7.0), (-4.0, 12.0), (4.0, 2.0)))
    )
    (x0, y0), (wide, high) = figure.nose.min(axis=0), np.ptp(figure.nose, axis=0)
    shine = f"M{x0 + 0.34 * wide:.2f} {y0 + 0.8 * high:.2f}q{0.14 * wide:.2f} {0.08 * wide:.2f} {0.32 * wide:.2f} 0"
    ex, ey, r = figure.eye
    lid = _scaled(((-1.5, -0.2), (-1.0, 1.0), (0.05, 1.0), (1.1, 1.0), (1.55, 0.05)), figure.eye)
    low = _scaled(((0.95, -0.9), (0.05, -0.95), (-0.9, -0.95), (-1.5, -0.2)), figure.eye)
    almond = f"M{lid[0]}Q{lid[1]} {lid[2]}Q{lid[3]} {lid[4]}Q{low[0]} {low[1]}Q{low[2]} {low[3]}z"
    shade = figure.zones["ears"] + np.array([0.1, -0.7]) * unit
    face = np.concatenate(
        [figure.nose, np.array([[ex, ey - 2.0 * r], [ex, ey + 2.0 * r], [ex + 2.0 * r, ey]])]
    )
    ground = np.array([[left - 9.5 * unit, -4.5 * unit], [right + 12.5 * unit, 0.0]])
    return {
        "ground": [_box(ground), [[lines, "", "ink", 0.2 * unit, 0.28]]],
        "mouth": [_box(figure.mouth, unit), [[_line(figure.mouth), "", "#24160e", 0.62 * unit, 0.7]]],
        "face": [
            _box(face, 0.5 * unit),
            [
                [_line(figure.nose) + "z", "nose", "", 0, 1],
                [shine, "", "#6d625b", round(0.09 * wide, 2), 1],
                [_line(figure.nostril), "", "#000000", round(0.13 * wide, 2), 1],
                [_oval(ex, ey, 1.8 * r, 1.3 * r), "#1c120b", "", 0, 0.4],
                [almond, "#0d0907", "", 0, 1],
                [_oval(ex - 0.05 * r, ey, 0.74 * r, 0.74 * r), "#40270f", "", 0, 1],
                [_oval(ex - 0.05 * r, ey, 0.44 * r, 0.44 * r), "#0d0907", "", 0, 1],
                [_oval(ex - 0.32 * r, ey + 0.32 * r, 0.19 * r, 0.19 * r), "#f4efe4", "", 0, 1],
            ],
        ],
        "ear": [_box(shade), [[_line(shade) + "z", SHADOW, "", 0, 0.3]]],
    }


def _box(points: Floats, room: float = 0.0) -> list[float]:
    """Left, bottom, right and top of some points, mm."""
    low, high = points.min(axis=0) - room, points.max(axis=0) + room
    return [round(float(value), 2) for value in (*low, *high)]


def _scaled(points: Sequence[tuple[float, float]], eye: tuple[float, float, float]) -> list[str]:
    return [f"{eye[0] + eye[2] * x:.2f} {eye[1] + eye[2] * y:.2f}" for x, y in points]


def _line(points: Floats) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points.tolist())


def _oval(x: float, y: float, rx: float, ry: float) -> str:
    return f"M{x - rx:.2f} {y:.2f}a{rx:.2f} {ry:.2f} 0 1 0 {2 * rx:.2f} 0a{rx:.2f} {ry:.2f} 0 1 0 {-2 * rx:.2f} 0z"


def _theme(figure: Figure, colours: Palette, theme: str) -> dict[str, Any]:
    """Colours on a light or a dark ground.

    ``tones``   of hair, four times over: whole and cut on the near side, whole and cut on far legs
    ``skin``    per zone: bare under no, some and packed undercoat, and the depth of a full coat
    ``far``     the same per part of a far leg;  ``saddle``  the same inside a saddle, None without one
    ``under``   how much of the skin each undercoat hides
    """
    scene = Scene(figure, {}, colours, theme, Canvas(figure))

    def skin(zone: str, saddle: bool, dark: float) -> list[int]:
        bare = [svg.mix(colours.skin, colours.undercoat[saddle], pelt.UNDER[state]) for state in UNDERCOATS]
        shown = [svg.mix(one, SHADOW, 0.18) if scene.night else one for one in bare]
        shown.append(scene.lift(colours.base(zone, saddle=saddle)))
        return [_colour(svg.mix(one, SHADOW, dark)) for one in shown]

    near = [*scene.tones, *(svg.mix(tone, colours.undercoat[0], CUT_HAIR) for tone in scene.tones)]
    tones = [*near, *(svg.mix(tone, SHADOW, FAR_HAIR) for tone in near)]
    return {
        "tones": [_colour(tone) for tone in tones],
        "skin": [skin(zone, zone == "tail", 0.0) for zone in figure.zones],
        "far": [skin(part.zone, False, FAR_SKIN) for part in figure.far],
        "saddle": skin("back", True, 0.0) if colours.saddle != colours.body else None,
        "under": [pelt.UNDER[state] for state in UNDERCOATS],
        "empty": _colour(EMPTY[theme]),
        "nose": NOSE[theme],
    }


def _colour(text: str) -> int:
    red, green, blue = svg.rgb(text)
    return red | green << 8 | blue << 16
