"""A band of values as a thin strip: how wide it was, how wide it is now, its middle, and marks beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coatwright.drawing.palette import FOX, INK, STRAW
from coatwright.drawing.svg import element, number

WIDTH, HEIGHT = 120.0, 16.0
EDGE = 4.0
"""Room at both ends, so that a mark at the end is whole."""
LEAST = 2.0
"""A band is at least so wide that it is seen, in units of the view box."""


@dataclass(frozen=True, slots=True)
class BandStrip:
    """``now`` between ``low`` and ``high`` of the axis, over what ``was`` believed (None: not drawn).

    Values are in any unit that is even along the axis. ``marks`` are (value, kind), the kind ``planned`` (a ring) or
    ``recorded`` (a line).
    """

    low: float
    high: float
    now: tuple[float, float]
    middle: float
    was: tuple[float, float] | None = None
    marks: tuple[tuple[float, str], ...] = ()


def band_strip(strip: BandStrip, *, spoken: str = "", width: float = WIDTH) -> str:
    """The strip as one SVG element; ``spoken`` says it in words where no text beside it does."""

    def at(value: float) -> float:
        part = (value - strip.low) / max(strip.high - strip.low, 1e-9)
        return EDGE + (width - 2.0 * EDGE) * min(max(part, 0.0), 1.0)

    y = HEIGHT / 2.0
    parts = [element("line", x1="0", x2=number(width), y1=number(y), y2=number(y), stroke=INK, class_="axis")]
    if strip.was is not None:
        parts.append(_bar(at(strip.was[0]), at(strip.was[1]), 10.0, STRAW, "was"))
    parts.append(_bar(at(strip.now[0]), at(strip.now[1]), 5.0, FOX, "now"))
    x = number(at(strip.middle))
    parts.append(element("line", x1=x, x2=x, y1="1", y2=number(HEIGHT - 1.0), stroke=INK, class_="middle"))
    parts += list(_marks((at(value), kind) for value, kind in strip.marks))
    named = {"role": "img", "aria_label": spoken} if spoken else {"aria_hidden": "true"}
    box = f"0 0 {number(width)} {number(HEIGHT)}"
    return element(
        "svg",
        "".join(parts),
        class_="cw-band",
        viewBox=box,
        width=number(width),
        height=number(HEIGHT),
        **named,
    )


def _bar(left: float, right: float, height: float, colour: str, kind: str) -> str:
    wide = max(right - left, LEAST)
    x = (left + right - wide) / 2.0
    return element(
        "rect", x=number(x), y=number((HEIGHT - height) / 2.0), width=number(wide), height=number(height),
        fill=colour, class_=kind,
    )  # fmt: skip


def _marks(marks: Iterable[tuple[float, str]]) -> Iterable[str]:
    for x, kind in marks:
        if kind == "planned":
            yield element(
                "circle",
                cx=number(x),
                cy=number(HEIGHT / 2.0),
                r="3.2",
                fill="none",
                stroke=INK,
                class_="planned",
            )
        else:
            yield element("path", d=f"M{number(x)} 0v4m0 8v4", stroke=INK, fill="none", class_="recorded")
