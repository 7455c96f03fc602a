"""When a photograph is refused or warned about: what is wrong and what to change, in plain words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from coatwright.errors import OutOfRange
from coatwright.paper.marks import Hair, Rectified
from coatwright.paper.photo import PhotoError, PhotoFile
from coatwright.paper.sheet import BAR_LIMITS, BAR_MM, sheet
from coatwright.paper.wholeness import ENDS_BLUR_PX
from coatwright.units import Millimetres

LEAST_PX_PER_MM = 11.0
CLOSE_UP_PX_PER_MM = 25.0
MOST_TILT = 25.0
"""Degrees."""
WARN_BLUR, MOST_BLUR = 2.5, 3.2
"""Standard deviation of the markers' edges, px: warned, refused."""
MOST_RESIDUAL: Millimetres = 0.35
MOST_RANGE = 2.0
MOST_GLARE = {False: 0.03, True: 0.015}
"""Share of the clear area burnt out, on white and on dark."""
LEAST_CONTRAST = 0.25
MOST_OPPOSITE = 0.30
MOST_GRID = 4.0
"""Of the dots of a screen: photographs of paper had at most 1.8, drawn ones of a screen at least 6."""
WARN_HAIRS, MOST_HAIRS = 180, 250
MOST_TUFTED = 0.08
"""Share of the covered area in lumps; drawn sheets without tufts had none, those with four to six at least 0.17."""


class PhotoRefused(PhotoError):  # noqa: N818 - reads as what it is
    """A photograph of which nothing is told; ``code`` names the reason and the picture of what to change."""


@dataclass(frozen=True)
class Refusal:
    """One thing that is wrong with a photograph."""

    code: str
    what: str
    change: str
    stops: bool
    """Whether the photograph is refused; otherwise it is read with a warning."""

    @property
    def error(self) -> PhotoRefused:
        """The refusal as an error to raise."""
        return PhotoRefused(self.what, remedy=self.change, code=self.code)

    def as_json(self) -> dict[str, str | bool]:
        """Words and codes only."""
        return {"code": self.code, "what": self.what, "change": self.change, "stops": self.stops}


_TEXTS: dict[str, tuple[str, str, bool]] = {
    "markers": (
        "Fewer than three corner marks of the sheet are seen ({}).",
        "Lay the whole sheet into the picture, with no hair or hand over its black squares.",
        True,
    ),
    "two-sheets": ("There is more than one sheet in the picture.", "Photograph one sheet at a time.", True),
    "far": (
        "The camera is too far off: {} pixels to the millimetre, and 11 are needed.",
        "Go nearer, until the sheet fills the picture.",
        True,
    ),
    "not-close": (
        "For a close-up {} pixels to the millimetre are few; about 25 show the roots.",
        "Go nearer, until the half sheet fills the picture.",
        False,
    ),
    "tilt": (
        "The camera looks {} degrees aslant; 25 are the most.",
        "Hold the phone level above the middle of the sheet.",
        True,
    ),
    "blur": (
        "The picture is blurred: edges {} pixels soft.",
        "Rest the elbows, tap the sheet to focus, take it in more light.",
        True,
    ),
    "soft": (
        "The picture is soft: edges {} pixels soft. Fine hairs may be missed.",
        "Tap the sheet to focus and take it in more light.",
        False,
    ),
    "ends": (
        "The picture is too soft to tell whole hairs from broken ones by their ends.",
        "Tap the sheet to focus, or take a close-up on the half sheet; lengths are read all the same.",
        False,
    ),
    "curved": (
        "The sheet is not flat: its marks lie {} mm off.",
        "Press the sheet flat, tape down its corners, and take it again.",
        True,
    ),
    "shadow": (
        "A shadow lies over the sheet: the light differs {} to 1.",
        "Turn so that neither phone nor hand shades the sheet.",
        True,
    ),
    "glare": (
        "{} % of the sheet is burnt out by glare.",
        "Switch the flash off and turn away from the lamp or window.",
        True,
    ),
    "pale": (
        "The hair is too pale for white paper.",
        "Use the dark frame over matt black card.",
        True,
    ),
    "banded": (
        "{} % of the hairs' length is darker than the card: banded hair.",
        "Use the white sheet for this coat.",
        True,
    ),
    "many": (
        "{} hairs lie on the sheet; above 180 crossings are joined less surely.",
        "Lay 60 to 100 hairs, spread.",
        False,
    ),
    "crowded": (
        "More than 250 hairs lie on the sheet: only their whole length and a rough count can be told.",
        "Lay 60 to 100 hairs, spread, on each of several sheets.",
        True,
    ),
    "felted": (
        "Hairs lie in tufts that cannot be told apart.",
        "Shake the tufts loose and spread the hairs, or take fewer.",
        True,
    ),
    "screenshot": (
        "This is a screenshot, not the photo.",
        "Send the photo itself, as the camera saved it.",
        True,
    ),
    "no-camera": (
        "The file tells of no camera: it may have been sent through a messenger, cut or taken from a screen.",
        "Send the photo as the camera saved it, if you can.",
        False,
    ),
}
CODES = tuple(_TEXTS)
"""Every code, each with its own picture of what to change."""


def refusal(code: str, *values: object) -> Refusal:
    """The refusal or warning of a ``code`` (:data:`CODES`), with the values that it names."""
    what, change, stops = _TEXTS[code]
    return Refusal(code, what.format(*values), change, stops)


def check_bar(bar_mm: Millimetres) -> Millimetres:
    """The length of the printed bar as a ruler has it, mm. Raises :class:`OutOfRange` beyond 90 to 110."""
    low, high = BAR_LIMITS
    if not low <= bar_mm <= high:
        raise OutOfRange(
            f"The bar measures {bar_mm:g} mm; a sheet printed at its size has {BAR_MM:g}, and {low:g} to {high:g} "
            "can be allowed for.",
            where="bar",
            remedy="Print the sheet again at 100 %, not fitted to the page, and measure the bar in millimetres.",
        )
    return bar_mm


def judge_file(photo: PhotoFile) -> list[Refusal]:
    """What the file itself tells. A picture without camera data is only warned about: messengers strip it."""
    if photo.says_screenshot:
        return [refusal("screenshot")]
    return [] if photo.has_camera_data else [refusal("no-camera")]


def judge_photo(place: Rectified) -> list[Refusal]:
    """What is wrong with the photograph as a whole; refusals first."""
    geometry = sheet(place.sheet)
    found: list[Refusal] = []
    if place.grid > MOST_GRID:
        found.append(
            replace(
                refusal("screenshot"),
                what="This is a photo of a screen: its dots are seen.",
                change="Photograph the sheet itself.",
            )
        )
    if place.px_per_mm < LEAST_PX_PER_MM:
        found.append(refusal("far", f"{place.px_per_mm:.1f}"))
    elif geometry.close_up and place.px_per_mm < 0.8 * CLOSE_UP_PX_PER_MM:
        found.append(refusal("not-close", f"{place.px_per_mm:.0f}"))
    if place.tilt_degrees > MOST_TILT:
        found.append(refusal("tilt", f"{place.tilt_degrees:.0f}"))
    if place.blur_px > MOST_BLUR:
        found.append(refusal("blur", f"{place.blur_px:.1f}"))
    elif place.blur_px > WARN_BLUR:
        found.append(refusal("soft", f"{place.blur_px:.1f}"))
    if ENDS_BLUR_PX < place.blur_px <= MOST_BLUR:
        found.append(refusal("ends"))
    if place.residual_mm > MOST_RESIDUAL:
        found.append(refusal("curved", f"{place.residual_mm:.2f}"))
    if place.background_range > MOST_RANGE:
        found.append(refusal("shadow", f"{place.background_range:.1f}"))
    if place.glare > MOST_GLARE[geometry.dark]:
        found.append(refusal("glare", f"{100 * place.glare:.0f}"))
    return sorted(found, key=lambda one: not one.stops)


def judge_hairs(
    hairs: Iterable[Hair], *, dark: bool, opposite: float = 0.0, tufted: float = 0.0
) -> list[Refusal]:
    """What is wrong with what lies on the sheet; refusals first.

    ``opposite`` is the share of traced length on a dark frame that is darker than the card; ``tufted`` the share of
    covered area that lies in lumps wider than hairs, both 0 to 1.
    """
    import numpy as np

    all_hairs = list(hairs)
    found: list[Refusal] = []
    if not dark and all_hairs and float(np.median([h.trace.contrast for h in all_hairs])) < LEAST_CONTRAST:
        found.append(refusal("pale"))
    if dark and opposite > MOST_OPPOSITE:
        found.append(refusal("banded", f"{100 * opposite:.0f}"))
    elif dark and all_hairs and float(np.median([h.trace.contrast for h in all_hairs])) < LEAST_CONTRAST:
        found.append(replace(refusal("banded", 0), what="The hair is too dark for the dark frame."))
    if tufted > MOST_TUFTED:
        found.append(refusal("felted"))
    if len(all_hairs) > MOST_HAIRS:
        found.append(refusal("crowded"))
    elif len(all_hairs) > WARN_HAIRS:
        found.append(refusal("many", len(all_hairs)))
    return sorted(found, key=lambda one: not one.stops)
