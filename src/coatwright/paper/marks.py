"""What is kept of a photograph: traced hairs with their points in mm, and where the sheet lay in the photograph.

No pixel is kept but the photograph itself; every number shown can be worked out again from what is here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coatwright.errors import FileFormatError
from coatwright.units import Millimetres

Floats = NDArray[np.float64]
END_KINDS = ("club", "taper", "blunt", "unclear")
DECIMALS = 4
"""Digits kept of a point, mm: a ten thousandth, far below what a photograph can tell."""


@dataclass(frozen=True, eq=False)
class Trace:
    """One line on the sheet, from end to end."""

    points: Floats
    """(n, 2), mm from the upper left corner of the sheet; n is at least 2."""
    width_mm: float
    """Optical width, for telling hair from fluff; never shown as a diameter."""
    contrast: float
    """Median contrast against the paper, 0 to 1."""
    colour: tuple[float, float, float]
    """Median share of red, green and blue light that comes back, 0 to 1."""

    @property
    def length_mm(self) -> Millimetres:
        """Length along the points, mm."""
        return Millimetres(float(np.hypot(*np.diff(self.points, axis=0).T).sum()))

    def as_json(self) -> dict[str, Any]:
        """Numbers and lists only."""
        return {
            "points": [[round(float(v), DECIMALS) for v in point] for point in self.points],
            "width_mm": float(self.width_mm),
            "contrast": float(self.contrast),
            "colour": [float(part) for part in self.colour],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Trace:
        """The trace that :meth:`as_json` wrote. Raises :class:`FileFormatError`."""
        try:
            points = np.asarray(data["points"], dtype=float)
            red, green, blue = (float(part) for part in data["colour"])
            width, contrast = float(data["width_mm"]), float(data["contrast"])
        except (KeyError, TypeError, ValueError) as error:
            raise _unreadable("a trace", error) from error
        if points.ndim != 2 or points.shape[1] != 2 or len(points) < 2 or not np.isfinite(points).all():
            raise FileFormatError("The points of a trace are not pairs of mm, two or more.", where="points")
        return cls(points, width, contrast, (red, green, blue))


@dataclass(frozen=True)
class Joint:
    """A place where a hair was led on into one of several lines, or might have been led on and was not."""

    at: tuple[float, float]
    """mm on the sheet."""
    margin: float
    """Log odds by which what was chosen is likelier than the best other way here."""
    other: tuple[float, float]
    """A point on the line that the other way takes, mm; ``at`` itself where the other way is that the hair ends."""
    joined: bool
    """Whether the hair was led on here; otherwise it ends here."""

    def as_json(self) -> dict[str, Any]:
        """Numbers and lists only."""
        return {
            "at": [round(float(v), DECIMALS) for v in self.at],
            "margin": round(float(self.margin), DECIMALS),
            "other": [round(float(v), DECIMALS) for v in self.other],
            "joined": self.joined,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Joint:
        """The joint that :meth:`as_json` wrote. Raises :class:`FileFormatError`."""
        try:
            (x, y), (u, v) = data["at"], data["other"]
            kept = cls(
                (float(x), float(y)), float(data["margin"]), (float(u), float(v)), bool(data["joined"])
            )
        except (KeyError, TypeError, ValueError) as error:
            raise _unreadable("a joint", error) from error
        return kept


@dataclass(frozen=True, eq=False)
class Hair:
    """A trace taken as one hair."""

    trace: Trace
    length_mm: Millimetres
    """Length with the ends taken to half height and the bias of blur removed, mm."""
    whole: bool | None
    """Whether the hair came out with its root; None where the ends do not tell."""
    ends: tuple[str, str]
    """What each end is, at the first and at the last point: one of :data:`END_KINDS`."""
    score: float
    """How surely this is one hair, 0 to 1."""
    why: str
    """What the decision rests on, in a few words."""
    joints: tuple[Joint, ...] = ()
    """Where the hair was led on, and where it might have been; along the hair. Empty in what was kept before."""

    def as_json(self) -> dict[str, Any]:
        """Numbers, words and lists only."""
        return {
            "trace": self.trace.as_json(),
            "length_mm": float(self.length_mm),
            "whole": self.whole,
            "ends": list(self.ends),
            "score": float(self.score),
            "why": self.why,
            "joints": [joint.as_json() for joint in self.joints],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Hair:
        """The hair that :meth:`as_json` wrote. Raises :class:`FileFormatError`."""
        try:
            trace = Trace.from_json(data["trace"])
            length, score = float(data["length_mm"]), float(data["score"])
            first, last = (str(end) for end in data["ends"])
            whole, why = data["whole"], str(data["why"])
            joints = tuple(Joint.from_json(one) for one in data.get("joints", ()))
        except (KeyError, TypeError, ValueError) as error:
            raise _unreadable("a hair", error) from error
        if whole not in (True, False, None) or not {first, last} <= set(END_KINDS):
            raise FileFormatError(
                "A hair is neither whole, broken nor open, or an end is of no known kind.",
                where="hair",
                remedy=f"Ends are {', '.join(END_KINDS)}.",
            )
        return cls(trace, Millimetres(length), whole, (first, last), score, why, joints)


@dataclass(frozen=True, eq=False)
class Rectified:
    """Where the sheet lies in a photograph, and how well the photograph shows it."""

    sheet: str
    """The key of the sheet that was found (:data:`coatwright.paper.sheet.SHEETS`)."""
    size_px: tuple[int, int]
    """Width and height of the photograph, pixels."""
    homography: Floats
    """(3, 3): from pixels to mm of the sheet."""
    cubic: Floats
    """(10, 2): what is added to the mm, mm, over the terms of :func:`cubic_terms`; zeros below six markers."""
    page_mm: tuple[float, float]
    """Width and height of the sheet, mm as designed."""
    markers: tuple[int, ...]
    """Which of the eight places hold a marker that was seen, 0 to 7."""
    px_per_mm: float
    """The fewest pixels that a millimetre of the clear area has."""
    tilt_degrees: float
    blur_px: float
    """Standard deviation of the blur of the markers' edges, pixels."""
    residual_mm: float
    """Largest distance of a marker's corner from where the fit has it, mm."""
    background_range: float
    """Brightest over darkest background within the clear area, in linear light."""
    glare: float
    """Share of the clear area that is burnt out, 0 to 1."""
    scale: float = 1.0
    """True mm for each mm as designed: the printer's bar over 100."""
    grid: float = 0.0
    """How far the dots of a screen stand out of the picture's fine structure, in logarithms; paper has about 1."""

    def to_mm(self, points_px: ArrayLike) -> Floats:
        """(n, 2) pixels, the centre of the first pixel being 0, to (n, 2) true mm on the sheet."""
        from coatwright.paper import lens

        points = np.ascontiguousarray(np.asarray(points_px, dtype=float).reshape(-1, 2))
        found: Floats = lens.to_mm(points, self.homography, self.cubic, self.page_mm, float(self.scale))
        return found

    def to_px(self, points_mm: ArrayLike) -> Floats:
        """(n, 2) true mm on the sheet to (n, 2) pixels: the inverse of :meth:`to_mm`, by fixed-point steps."""
        from coatwright.paper import lens

        points = np.ascontiguousarray(np.asarray(points_mm, dtype=float).reshape(-1, 2))
        back = np.ascontiguousarray(np.linalg.inv(self.homography))
        found: Floats = lens.to_px(points, back, self.cubic, self.page_mm, float(self.scale))
        return found

    def as_json(self) -> dict[str, Any]:
        """Numbers, words and lists only."""
        out: dict[str, Any] = {}
        for name in self.__dataclass_fields__:
            value = getattr(self, name)
            if isinstance(value, np.ndarray):
                value = value.tolist()
            out[name] = list(value) if isinstance(value, tuple) else value
        return out

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Rectified:
        """What :meth:`as_json` wrote. Raises :class:`FileFormatError`."""
        try:
            kept = {name: data[name] for name in cls.__dataclass_fields__ if name != "grid"}
            kept["grid"] = float(data.get("grid", 0.0))
            for name, shape in (("homography", (3, 3)), ("cubic", (10, 2))):
                kept[name] = np.asarray(kept[name], dtype=float).reshape(shape)
            for name in ("size_px", "page_mm", "markers"):
                kept[name] = tuple(kept[name])
        except (KeyError, TypeError, ValueError) as error:
            raise _unreadable("the place of a sheet", error) from error
        return cls(**kept)


def project(homography: Floats, points: Floats) -> Floats:
    """(n, 2) points through a (3, 3) homography."""
    out: Floats = points @ homography[:, :2].T + homography[:, 2]
    return np.asarray(out[:, :2] / out[:, 2:])


def cubic_terms(points_mm: Floats, page_mm: tuple[float, float]) -> Floats:
    """(n, 10): the terms up to the third degree of points scaled to about -1 to 1 across the longer side."""
    half = max(page_mm) / 2
    x = (points_mm[:, 0] - page_mm[0] / 2) / half
    y = (points_mm[:, 1] - page_mm[1] / 2) / half
    one = np.ones_like(x)
    return np.stack([one, x, y, x * x, x * y, y * y, x**3, x * x * y, x * y * y, y**3], axis=1)


def _unreadable(what: str, error: Exception) -> FileFormatError:
    return FileFormatError(
        f"What is kept of {what} cannot be read ({error}).", remedy="Read the photo again."
    )
