"""Traced hairs laid over their photograph: one line per hair, told apart by stroke first and colour second.

Whole hairs are drawn through, broken ones dashed, unjudged ones dotted, what is no hair in long thin dashes. A dot
marks a root, a square a blunt end; a tip has no mark. Lines keep their width on the screen however far the
photograph is enlarged, and each lies in a link, so that a hair can be picked by tap, by key and without script.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from coatwright.drawing import svg
from coatwright.drawing.curves import thin
from coatwright.drawing.svg import element
from coatwright.paper.marks import Hair, Rectified

KINDS: Mapping[str, str] = {
    "whole": "whole",
    "broken": "broken",
    "unjudged": "unjudged",
    "not a hair": "none",
}
"""What a hair counts as, and the class of its line."""
WITHIN_PX = 0.5
"""A line is drawn by as few points as keep it this near to its trace, pixels of the photograph."""
COLOURS: Mapping[str, str] = {
    "whole": "#0b5c8a",
    "broken": "#a81d3f",
    "unjudged": "#7a5210",
    "none": "#605a51",
}
"""Colours of lines in a file of its own. No coat is blue: what was traced is not mistaken for hair."""
ON_DARK: Mapping[str, str] = {
    "whole": "#74bbe6",
    "broken": "#ff8fa6",
    "unjudged": "#f2c35e",
    "none": "#cfc6b4",
}
"""The same over dark card."""
DASHES: Mapping[str, str | None] = {
    "whole": None,
    "broken": "9 4",
    "unjudged": "2 4",
    "none": "14 8",
}
FIXED = "non-scaling-stroke"


@dataclass(frozen=True, slots=True)
class Track:
    """One hair as it is drawn: its ``path`` and where its ends lie, both in pixels of the photograph."""

    number: int
    state: str
    """One of :data:`KINDS`."""
    path: str
    ends: tuple[tuple[int, int, str], tuple[int, int, str]]
    """x, y and kind of the first and the last end."""


@dataclass(frozen=True, slots=True)
class DoubtMark:
    """A doubtful place: its number in the list, where it lies, its ring's radius (pixels), whether it is chosen."""

    number: int
    x: int
    y: int
    radius: int = 24
    chosen: bool = False


def track_of(number_: int, hair: Hair, state: str, place: Rectified) -> Track:
    """The line of one hair over the photograph in which the sheet lies at ``place``."""
    px = place.to_px(hair.trace.points)
    whole = np.rint(thin(px, WITHIN_PX)).astype(int)
    if len(np.unique(whole, axis=0)) < 2:
        whole = np.rint(px[[0, -1]]).astype(int) + np.array([[0, 0], [1, 0]])
    (x0, y0), (x1, y1) = np.rint(px[0]).astype(int).tolist(), np.rint(px[-1]).astype(int).tolist()
    return Track(
        number_,
        state,
        svg.polygon_path(whole, closed=False),
        ((x0, y0, hair.ends[0]), (x1, y1, hair.ends[1])),
    )


def tracks_of(hairs: Mapping[int, Hair], states: Mapping[int, str], place: Rectified) -> tuple[Track, ...]:
    """The lines of all hairs by number; ``states`` says what each counts as."""
    return tuple(track_of(key, hair, states[key], place) for key, hair in sorted(hairs.items()))


def hair_tracks(
    tracks: Sequence[Track],
    size_px: tuple[int, int],
    *,
    spoken: Mapping[int, str] | None = None,
    link: str = "",
    chosen: int | None = None,
    doubts: Iterable[DoubtMark] = (),
    doubt_link: str = "",
    picture: str = "",
    dark: bool = False,
) -> str:
    """The lines as one SVG over a photograph of ``size_px``.

    ``link`` is the address of a hair with ``{hair}`` in it, ``doubt_link`` that of a doubtful place with
    ``{doubt}``; ``spoken`` says each hair in words. ``picture`` is the address of the photograph where the file is to
    hold it too; ``dark`` whether the hairs lie on dark card.
    """
    width, height = size_px
    parts = []
    if picture:
        parts.append(element("image", href=picture, width=width, height=height))
    by_number = {track.number: track for track in tracks}
    if chosen in by_number:
        parts.append(_glow(by_number[chosen]))
    words = spoken or {}
    parts += [
        _line(
            track,
            words.get(track.number, f"hair {track.number}, {track.state}"),
            link,
            track.number == chosen,
            dark,
        )
        for track in tracks
    ]
    parts += [_doubt(mark, doubt_link) for mark in doubts]
    return element(
        "svg",
        "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width} {height}",
        class_="cw-tracks",
        role="group",
        aria_label="Traced hairs",
    )


def _line(track: Track, words: str, link: str, chosen: bool, dark: bool) -> str:
    kind = KINDS[track.state]
    colour = (ON_DARK if dark else COLOURS)[kind]
    under = element(
        "path", d=track.path, class_="under", fill="none", stroke="#000000" if dark else "#ffffff",
        stroke_opacity="0.75", stroke_width="3.6", vector_effect=FIXED, stroke_linecap="round",
        stroke_linejoin="round",
    )  # fmt: skip
    over = element(
        "path", d=track.path, class_="over", fill="none", stroke=colour, stroke_width="1.8",
        vector_effect=FIXED, stroke_dasharray=DASHES[kind], stroke_linejoin="round",
    )  # fmt: skip
    ends = "".join(_end(x, y, end, colour) for x, y, end in track.ends)
    hit = element(
        "path", d=track.path, class_="hit", fill="none", stroke="transparent", stroke_width="18",
        vector_effect=FIXED,
    ) if link else ""  # fmt: skip
    body = under + over + ends + hit
    names = f"{kind} chosen" if chosen else kind
    if not link:
        return element("g", body, class_=names)
    return element(
        "a",
        body,
        href=link.replace("{hair}", str(track.number)),
        class_=names,
        id=f"t{track.number}",
        data_hair=track.number,
        aria_label=words,
        aria_current="true" if chosen else None,
        tabindex="-1",
    )


def _end(x: int, y: int, kind: str, colour: str) -> str:
    """A dot for a club, a square for a blunt end: strokes without length, which keep their size on the screen."""
    if kind not in ("club", "blunt"):
        return ""
    return element(
        "path", d=f"M{x} {y}h0.01", class_=f"end {kind}", stroke=colour, fill="none", vector_effect=FIXED,
        stroke_width="7" if kind == "club" else "6", stroke_linecap="round" if kind == "club" else "square",
    )  # fmt: skip


def _glow(track: Track) -> str:
    """A wide soft band under the chosen hair."""
    return element(
        "path", d=track.path, class_="glow", fill="none", stroke="#e8b400", stroke_opacity="0.55",
        stroke_width="14", vector_effect=FIXED, stroke_linecap="round", stroke_linejoin="round",
    )  # fmt: skip


def _doubt(mark: DoubtMark, link: str) -> str:
    """A ring around the place, dark in light, and a spot around it that takes a tap however small the ring is."""
    same: dict[str, Any] = {
        "cx": mark.x,
        "cy": mark.y,
        "r": mark.radius,
        "fill": "none",
        "vector_effect": FIXED,
    }
    rings = (
        element("circle", class_="halo", stroke="#fffdf8", stroke_width="5.5", stroke_opacity="0.85", **same)
        + element("circle", class_="ring", stroke="#2b2621", stroke_width="2.2", **same)
        + element(
            "path",
            d=f"M{mark.x} {mark.y}h0.01",
            class_="hit",
            fill="none",
            stroke="transparent",
            stroke_width="26",
            stroke_linecap="round",
            vector_effect=FIXED,
        )
    )
    names = "doubt chosen" if mark.chosen else "doubt"
    if not link:
        return element("g", rings, class_=names)
    return element(
        "a",
        rings,
        href=link.replace("{doubt}", str(mark.number)),
        class_=names,
        data_doubt=mark.number,
        aria_label=f"doubtful join {mark.number + 1}",
        tabindex="-1",
    )
