"""Small line drawings of what to change about a photograph, one for each reason why it is refused or warned about.

What was wrong is drawn in thin dashes, what to do in full lines; an arrow leads from the one to the other. Lines
take the colour of the text around them; paper is white and card is black by night as by day.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from coatwright.drawing.svg import element, number

WIDTH, HEIGHT = 200, 132
"""Size of every drawing, units of its view box."""
PAPER, CARD = "#fffdf8", "#2b2621"
INK: dict[str, Any] = {
    "stroke": "currentColor",
    "fill": "none",
    "stroke_width": "1.8",
    "stroke_linejoin": "round",
}
WAS: dict[str, Any] = {"stroke_dasharray": "4 3", "stroke_width": "1.2", "stroke_opacity": "0.75"}


def refusal_picture(code: str, words: str = "") -> str:
    """The drawing of a ``code`` (:data:`PICTURES`; one of the file itself for others) as one SVG element.

    ``words`` say it to who does not see it; without them the drawing is passed over.
    """
    body = PICTURES.get(code, PICTURES["unreadable"])()
    named = {"role": "img", "aria_label": words} if words else {"aria_hidden": "true"}
    return element(
        "svg",
        body,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH} {HEIGHT}",
        width=WIDTH,
        height=HEIGHT,
        class_="cw-change",
        **named,
    )


# what the drawings are made of ------------------------------------------------------------------------------


def _path(d: str, *, was: bool = False, **values: Any) -> str:
    return element("path", d=d, **{**INK, **(WAS if was else {}), **values})


def _box(
    x: float, y: float, w: float, h: float, *, was: bool = False, round_: float = 0.0, **values: Any
) -> str:
    return element(
        "rect", x=number(x), y=number(y), width=number(w), height=number(h), rx=number(round_) if round_ else None,
        **{**INK, **(WAS if was else {}), **values},
    )  # fmt: skip


def _sheet(x: float, y: float, w: float, *, was: bool = False, dark: bool = False, hairs: int = 4) -> str:
    """A sheet from above, as wide as ``w``: eight marks around the clear area, some hairs in it."""
    h = 0.705 * w
    m, e = 0.075 * w, 0.035 * w
    out = [_box(x, y, w, h, was=was, fill="none" if was else PAPER)]
    squares = [
        (x + e, y + e), (x + w - e - m, y + e), (x + w - e - m, y + h - e - m), (x + e, y + h - e - m),
        (x + (w - m) / 2, y + e), (x + w - e - m, y + (h - m) / 2), (x + (w - m) / 2, y + h - e - m),
        (x + e, y + (h - m) / 2),
    ]  # fmt: skip
    d = "".join(f"M{number(a)} {number(b)}h{number(m)}v{number(m)}h{number(-m)}z" for a, b in squares)
    out.append(
        element("path", d=d, fill="currentColor" if was else CARD, fill_opacity="0.5" if was else None)
    )
    x0, y0, x1, y1 = x + 0.15 * w, y + 0.15 * w, x + 0.85 * w, y + h - 0.15 * w
    if dark:
        out.append(_box(x0, y0, x1 - x0, y1 - y0, fill=CARD, stroke=CARD))
    look = {} if was else {"stroke": PAPER if dark else CARD}
    out.append(_hairs(x0, y0, x1, y1, hairs, was=was, **look))
    return "".join(out)


def _hairs(x0: float, y0: float, x1: float, y1: float, count: int, *, was: bool = False, **look: Any) -> str:
    """Hairs spread evenly, each turned by the golden angle against the one before."""
    if not count:
        return ""
    d = []
    long = min(0.28 * (x1 - x0), 0.42 * (y1 - y0), 16.0)
    for k in range(count):
        part = (k + 0.5) / count
        cx = x0 + (x1 - x0) * (0.12 + 0.76 * ((k * 0.618 + 0.31) % 1.0))
        cy = y0 + (y1 - y0) * (0.15 + 0.7 * part)
        a = 2.4 * k + 0.4
        dx, dy = long / 2 * math.cos(a), long / 2 * math.sin(a)
        bx, by = -0.35 * dy, 0.35 * dx
        d.append(
            f"M{number(cx - dx)} {number(cy - dy)}Q{number(cx + bx)} {number(cy + by)} "
            f"{number(cx + dx)} {number(cy + dy)}"
        )
    return _path("".join(d), was=was, **{"stroke_width": "1.3", **look})


def _phone(x: float, y: float, turn: float = 0.0, *, was: bool = False) -> str:
    """A phone from its side, its eye below, its middle at (x, y), turned by degrees."""
    body = _box(-21, -3.5, 42, 7, round_=3, was=was) + _path("M12 3.5h6v2.5h-6z", was=was)
    return element("g", body, transform=f"translate({number(x)} {number(y)}) rotate({number(turn)})")


def _cone(x: float, y: float, left: float, right: float, ground: float, *, was: bool = False) -> str:
    """What the eye at (x, y) sees of the ground."""
    return _path(
        f"M{number(x)} {number(y)}L{number(left)} {number(ground)}M{number(x)} {number(y)}L{number(right)} "
        f"{number(ground)}",
        stroke_width="0.9", stroke_opacity="0.6", was=was,
    )  # fmt: skip


def _ground(x0: float = 14, x1: float = 186, y: float = 118) -> str:
    """The table from its side, and a sheet lying on it."""
    return _path(f"M{number(x0)} {number(y)}H{number(x1)}", stroke_opacity="0.5") + _path(
        f"M62 {number(y - 2.5)}H138", stroke_width="3.4"
    )


def _arrow(x0: float, y0: float, x1: float, y1: float, bend: float = 0.0, **look: Any) -> str:
    """An arrow, bowed to its left by ``bend``."""
    dx, dy = x1 - x0, y1 - y0
    long = math.hypot(dx, dy)
    mx, my = (x0 + x1) / 2 + bend * dy / long, (y0 + y1) / 2 - bend * dx / long
    a = math.atan2(y1 - my, x1 - mx)
    tips = [(x1 - 8 * math.cos(a + way), y1 - 8 * math.sin(a + way)) for way in (0.5, -0.5)]
    return _path(
        f"M{number(x0)} {number(y0)}Q{number(mx)} {number(my)} {number(x1)} {number(y1)}"
        f"M{number(tips[0][0])} {number(tips[0][1])}L{number(x1)} {number(y1)}L{number(tips[1][0])} "
        f"{number(tips[1][1])}",
        stroke_width="2.2", stroke_linecap="round", **look,
    )  # fmt: skip


def _cross(x: float, y: float, size: float = 9) -> str:
    s = size
    return _path(
        f"M{number(x - s)} {number(y - s)}l{2 * s:g} {2 * s:g}m0 {-2 * s:g}l{-2 * s:g} {2 * s:g}",
        stroke_width="2.6", stroke_linecap="round",
    )  # fmt: skip


def _sun(x: float, y: float, r: float = 8) -> str:
    rays = "".join(
        f"M{number(x + (r + 3) * math.cos(a))} {number(y + (r + 3) * math.sin(a))}"
        f"L{number(x + (r + 8) * math.cos(a))} {number(y + (r + 8) * math.sin(a))}"
        for a in (k * math.pi / 4 for k in range(8))
    )
    return element("circle", cx=number(x), cy=number(y), r=number(r), **INK) + _path(rays)


def _finder(x: float = 22, y: float = 14, w: float = 156, h: float = 104) -> str:
    """The picture as the camera frames it: its four corners."""
    c = 14
    return _path(
        f"M{x:g} {y + c:g}v{-c}h{c}M{x + w - c:g} {y:g}h{c}v{c}M{x + w:g} {y + h - c:g}v{c}h{-c}"
        f"M{x + c:g} {y + h:g}h{-c}v{-c}",
        stroke_width="2.4",
    )  # fmt: skip


def _file(x: float, y: float, w: float, h: float, *, was: bool = False, inside: str = "") -> str:
    """A picture file: a leaf with a folded corner."""
    f = 0.22 * w
    return (
        _path(
            f"M{number(x)} {number(y)}h{number(w - f)}l{number(f)} {number(f)}v{number(h - f)}h{number(-w)}z"
            f"M{number(x + w - f)} {number(y)}v{number(f)}h{number(f)}",
            was=was,
        )
        + inside
    )


def _camera(x: float, y: float, w: float = 56) -> str:
    h = 0.66 * w
    return (
        _box(x, y, w, h, round_=4)
        + _path(f"M{number(x + 0.12 * w)} {number(y)}v-5h{number(0.24 * w)}v5")
        + element("circle", cx=number(x + w / 2), cy=number(y + h / 2), r=number(0.22 * w), **INK)
    )


# the drawings -----------------------------------------------------------------------------------------------


def _markers() -> str:
    return _finder() + _sheet(2, 40, 96, was=True, hairs=0) + _sheet(50, 28, 112) + _arrow(30, 112, 62, 112)


def _two_sheets() -> str:
    return (
        _finder(14, 14, 116, 104)
        + _sheet(26, 33, 92)
        + _sheet(140, 78, 52, was=True)
        + _arrow(126, 66, 156, 66)
    )


def _far() -> str:
    return (
        _ground() + _phone(88, 16, was=True) + _cone(103, 22, 22, 178, 115, was=True)
        + _phone(88, 66) + _cone(103, 72, 62, 138, 113) + _arrow(46, 22, 46, 62)
    )  # fmt: skip


def _not_close() -> str:
    return (
        _finder() + _sheet(32, 19, 136, hairs=5) + _box(76, 49, 48, 34, was=True, stroke=CARD)
        + _arrow(72, 46, 52, 32, stroke=CARD) + _arrow(128, 86, 148, 100, stroke=CARD)
    )  # fmt: skip


def _tilt() -> str:
    return (
        _ground() + _phone(160, 46, 38, was=True) + _cone(166, 58, 62, 138, 113, was=True)
        + _phone(88, 34) + _cone(103, 40, 62, 138, 113) + _arrow(158, 22, 118, 22, 10)
    )  # fmt: skip


def _blur() -> str:
    focus = _path("M92 46v-8h8M116 38h8v8M124 62v8h-8M100 70h-8v-8", stroke_width="2.2")
    finger = _path(
        "M104 54c4-4 9-1 11 3l14 24c6 3 12 3 16 9l12 20M101 60l16 30c-8-3-16 0-14 6 10 1 17 7 22 20",
        stroke_linecap="round",
    )
    return _box(36, 12, 136, 96, round_=8) + _hairs(50, 22, 158, 98, 6) + focus + finger + _sun(22, 20, 6)


def _soft() -> str:
    return (
        _ground() + _phone(88, 48) + _cone(103, 54, 62, 138, 113) + _sun(34, 30, 10) + _sun(166, 30, 10)
        + _arrow(50, 44, 66, 96) + _arrow(150, 44, 134, 96)
    )  # fmt: skip


def _ends() -> str:
    lens = element("circle", cx="118", cy="54", r="40", **{**INK, "stroke_width": "2.6"})
    hair = _path("M12 108C50 104 70 84 100 66L122 50", stroke_width="2.6") + element(
        "ellipse", cx="126", cy="47", rx="8", ry="5.5", transform="rotate(-36 126 47)", fill="currentColor"
    )
    blunt = _path("M128 80L146 62M142 58l8 8", stroke_width="2.6")
    return lens + _path("M147 83l34 36", stroke_width="5", stroke_linecap="round") + hair + blunt


def _curved() -> str:
    return (
        _path("M14 118H186", stroke_opacity="0.5")
        + _path("M52 96C66 120 84 116 100 112S136 118 150 92", was=True, stroke_width="2")
        + _path("M52 115.5H148", stroke_width="3.4")
        + _arrow(58, 56, 58, 104) + _arrow(142, 56, 142, 104)
        + _path("M46 111l12 9M154 111l-12 9", stroke_width="5", stroke_opacity="0.6")
        + _hands()
    )  # fmt: skip


def _hands() -> str:
    return "".join(
        _path(f"M{x} 44c-6-8-6-16 0-24s14-8 20 0 5 16-1 24", stroke_linecap="round") for x in (48, 132)
    )


def _shadow() -> str:
    shade = element("path", d="M28 34h46l-20 61h-26z", fill=CARD, fill_opacity="0.3")
    return _sheet(28, 22, 104) + shade + _sun(170, 28, 9) + _around()


def _around() -> str:
    """An arrow that goes round: turn."""
    return _arrow(150, 108, 176, 66, -16)


def _glare() -> str:
    flash = _path("M38 10l-14 26h12l-8 24 24-32H38l10-18z")
    shine = _path("M104 58l6-16 6 16 16 6-16 6-6 16-6-16-16-6z", was=True, stroke=CARD)
    return flash + _cross(36, 34, 22) + _sheet(66, 36, 112, hairs=3) + shine


def _pale() -> str:
    return (
        _sheet(8, 40, 74, was=True, hairs=0) + _hairs(20, 52, 70, 80, 4, was=True, stroke_opacity="0.45")
        + _arrow(86, 66, 108, 66) + _sheet(112, 38, 80, dark=True, hairs=5)
    )  # fmt: skip


def _banded() -> str:
    banded = _hairs(126, 50, 180, 82, 5, stroke_width="2.2", stroke_dasharray="5 2.5", stroke=CARD)
    return (
        _sheet(8, 38, 80, dark=True, hairs=0) + _hairs(20, 50, 76, 82, 4, stroke=PAPER, stroke_dasharray="4 4")
        + _cross(48, 66, 34) + _arrow(92, 66, 110, 66) + _sheet(114, 38, 78, hairs=0) + banded
    )  # fmt: skip


def _many() -> str:
    return (
        _sheet(6, 38, 80, was=True, hairs=0) + _hairs(18, 50, 74, 82, 26, was=True, stroke_dasharray=None)
        + _arrow(90, 66, 108, 66) + _sheet(114, 38, 80, hairs=7)
    )  # fmt: skip


def _crowded() -> str:
    return (
        _sheet(6, 38, 76, was=True, hairs=0) + _hairs(17, 49, 71, 81, 60, was=True, stroke_dasharray=None)
        + _arrow(86, 66, 102, 66)
        + _sheet(110, 4, 54, hairs=5) + _sheet(138, 47, 54, hairs=5) + _sheet(110, 90, 54, hairs=5)
    )  # fmt: skip


def _felted() -> str:
    tuft = "".join(
        element(
            "ellipse", cx=number(44 + 7 * math.cos(2.1 * k)), cy=number(66 + 6 * math.sin(2.1 * k)), rx=str(24 - k),
            ry=str(7 + (5 * k) % 9), transform=f"rotate({29 * k} 44 66)", **{**INK, "stroke_width": "1.1"},
        )
        for k in range(11)
    )  # fmt: skip
    return tuft + _arrow(86, 66, 106, 66) + _hairs(112, 22, 192, 112, 9, stroke_width="1.6")


def _screenshot() -> str:
    bars = _path("M18 26h44M18 108h44M28 116h24", stroke_width="2.4")
    return (
        _box(12, 12, 56, 110, round_=8, was=True) + bars + _sheet(18, 48, 44, was=True, hairs=2) + _cross(40, 66, 30)
        + _arrow(78, 66, 104, 66) + _camera(114, 44, 70)
    )  # fmt: skip


def _no_camera() -> str:
    letter = _box(68, 82, 44, 30, was=True) + _path("M68 82l22 17 22-17", was=True)
    return (
        _camera(8, 30, 60) + _arrow(40, 80, 62, 98, -6) + letter + _arrow(118, 98, 140, 82, -6)
        + _arrow(76, 50, 128, 50) + _file(138, 22, 50, 58, inside=_sheet(145, 44, 36, hairs=2))
    )  # fmt: skip


def _empty_sheet() -> str:
    return (
        _hairs(60, 2, 104, 34, 3, stroke_width="1.8") + _arrow(112, 8, 112, 36)
        + _sheet(34, 40, 124, hairs=0) + _box(53, 59, 86, 49, was=True, stroke=CARD)
    )  # fmt: skip


def _unreadable() -> str:
    return (
        _file(14, 30, 56, 72, was=True) + _cross(42, 68, 20) + _arrow(80, 66, 106, 66)
        + _file(120, 22, 64, 84, inside=_sheet(128, 54, 48, hairs=3))
    )  # fmt: skip


def _damaged() -> str:
    torn = _path("M14 84V30h42l14 14v34l-10-7-10 9-12-8-12 9z", was=True)
    return torn + _arrow(80, 66, 106, 66) + _file(120, 22, 64, 84, inside=_sheet(128, 54, 48, hairs=3))


def _huge() -> str:
    return (
        _file(8, 6, 90, 120, was=True) + _sheet(18, 50, 70, was=True, hairs=3) + _arrow(106, 66, 126, 66)
        + _file(138, 34, 48, 64, inside=_sheet(144, 58, 36, hairs=3))
    )  # fmt: skip


def _tiny() -> str:
    return (
        _box(18, 58, 22, 16, was=True) + _arrow(48, 66, 76, 66) + _sheet(84, 26, 108, hairs=5)
    )  # fmt: skip


def _animated() -> str:
    strip = "".join(_box(8 + 10 * k, 30 + 9 * k, 58, 42, was=True, fill="none") for k in range(3))
    return strip + _arrow(96, 66, 116, 66) + _sheet(122, 40, 70, hairs=3)


def _black() -> str:
    return (
        _box(10, 40, 64, 48, fill="#0a0806") + _arrow(82, 66, 102, 66) + _sheet(108, 48, 84, hairs=4)
        + _sun(150, 20, 8)
    )  # fmt: skip


def _white() -> str:
    flash = _path("M42 22l-14 26h12l-8 24 24-32H42l10-18z")
    return flash + _cross(40, 46, 24) + _arrow(82, 66, 102, 66) + _sheet(108, 36, 84, hairs=4)


def _flat() -> str:
    return (
        _box(8, 42, 60, 46, was=True)
        + _arrow(76, 66, 94, 66)
        + _finder(102, 22, 92, 88)
        + _sheet(112, 40, 72)
    )


PICTURES: Mapping[str, Callable[[], str]] = {
    "markers": _markers,
    "two-sheets": _two_sheets,
    "far": _far,
    "not-close": _not_close,
    "tilt": _tilt,
    "blur": _blur,
    "soft": _soft,
    "ends": _ends,
    "curved": _curved,
    "shadow": _shadow,
    "glare": _glare,
    "pale": _pale,
    "banded": _banded,
    "many": _many,
    "crowded": _crowded,
    "felted": _felted,
    "screenshot": _screenshot,
    "no-camera": _no_camera,
    "empty-sheet": _empty_sheet,
    "unreadable": _unreadable,
    "empty": _unreadable,
    "damaged": _damaged,
    "huge": _huge,
    "tiny": _tiny,
    "animated": _animated,
    "black": _black,
    "white": _white,
    "flat": _flat,
}
"""The drawing of each reason, by its code."""
