"""The few helpers that all SVG writers share: escaped text, numbers, paths, colours.

No style attributes, no scripts, no style elements: a strict content-security policy has nothing to refuse.
Presentation attributes carry literal colours, so that a file stands on its own; classes let a page's style
sheet overrule them. Lines and letters take ``currentColor``.
"""

from __future__ import annotations

from html import escape as _escape

import numpy as np

from coatwright.drawing.curves import Floats

SANS = "system-ui, 'Segoe UI', 'Liberation Sans', sans-serif"


def escape(text: object) -> str:
    """Text made safe for element content and for attributes in double quotes; control characters go."""
    plain = "".join(ch for ch in str(text) if (ch >= " " and ch not in "\x7f\ufffe\uffff") or ch in "\t\n")
    return _escape(plain, quote=True)


def number(value: float, digits: int = 1) -> str:
    """A coordinate in as few characters as it takes."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def attributes(**values: object) -> str:
    """Attributes with a space in front; ``_`` in names becomes ``-``, a last ``_`` goes, None is left out."""
    return "".join(
        f' {name.rstrip("_").replace("_", "-")}="{escape(_plain(value))}"'
        for name, value in values.items()
        if value is not None
    )


def _plain(value: object) -> object:
    return number(value, 2) if isinstance(value, float) else value


def element(name: str, content: str = "", **values: object) -> str:
    """An element; ``content`` is taken as it is (escape text first)."""
    head = f"<{name}{attributes(**values)}"
    return f"{head}>{content}</{name}>" if content else f"{head}/>"


def text(x: float, y: float, words: object, **values: object) -> str:
    """A line of text at (x, y), escaped."""
    return element("text", escape(words), x=float(x), y=float(y), **values)


def polygon_path(points: Floats, *, closed: bool = True) -> str:
    """Path data through points already in whole units, by relative steps."""
    whole = np.rint(points).astype(int)
    steps = np.diff(whole, axis=0)
    steps = steps[np.any(steps != 0, axis=1)]
    first = f"M{whole[0, 0]} {whole[0, 1]}"
    return first + "l" + pairs(steps) + ("z" if closed else "")


def pairs(values: np.ndarray) -> str:
    """Whole numbers one after the other, with a space only where no minus sign parts them."""
    return " ".join(map(str, values.ravel().tolist())).replace(" -", "-")


def mix(one: str, other: str, share: float) -> str:
    """The colour ``share`` of the way from ``one`` to ``other`` (#rrggbb, straight in sRGB)."""
    a, b = rgb(one), rgb(other)
    return "#" + "".join(
        f"{round(p + (q - p) * min(max(share, 0.0), 1.0)):02x}" for p, q in zip(a, b, strict=True)
    )


def rgb(colour: str) -> tuple[int, int, int]:
    """Red, green and blue (0-255) of #rrggbb."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def luminance(colour: str) -> float:
    """Relative luminance 0..1 of #rrggbb (WCAG 2.2, from the sRGB standard IEC 61966-2-1)."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (v / 255 for v in rgb(colour))
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
