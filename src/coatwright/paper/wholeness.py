"""Whole, broken or open, and how long, from what the two ends of a line look like."""

from __future__ import annotations

from coatwright.units import Millimetres

FIRM_SCORE = 0.7
"""Only a line this surely one whole hair is judged whole or broken."""
ENDS_BLUR_PX = 1.6
"""Standard deviation of the markers' edges, px: the most at which ends are judged."""
LOST_MM, LOST_TAPER_MM = 0.070, 0.027
"""What the traced line lacks at its two ends (median over drawn photographs of the style used for training), and what
more a tapered tip lacks."""
TOO_SOFT = "the photo is too soft for ends"


def hair_length(traced: float, kinds: tuple[str, str]) -> Millimetres:
    """The length of a hair, mm, whose line was traced over ``traced`` mm and ends as ``kinds`` say."""
    return Millimetres(traced + LOST_MM + (LOST_TAPER_MM if "taper" in kinds else 0.0))


def judged(kinds: tuple[str, str], score: float, blur_px: float) -> tuple[bool | None, str]:
    """Whole, broken or open, and why."""
    if blur_px > ENDS_BLUR_PX:
        return None, TOO_SOFT
    if score < FIRM_SCORE:
        return None, "not surely one hair from end to end"
    if "unclear" in kinds:
        return None, "an end is not clear"
    clubs = kinds.count("club")
    if clubs == 2:
        return None, "two clubs: two hairs, or one doubled"
    if clubs == 1:
        return True, "a club at one end"
    if kinds.count("taper") == 2:
        return None, "two tips and no root end"
    return False, "no club: a blunt end where the root should be"
