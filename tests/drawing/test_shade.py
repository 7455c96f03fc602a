"""The scale from straw to bark: read by lightness alone, and so by every kind of colour sight."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatwright.drawing.shade import Scale, ZoneValue, ink_on, scale_of, straw_to_bark
from coatwright.drawing.svg import luminance, rgb

STEPS = np.linspace(0.0, 1.0, 21)
# Machado, Oliveira & Fernandes 2009, IEEE TVCG 15:1291-1298, severity 1.0, on linear RGB (from memory).
SIGHT = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(colour):
    coded = np.array(rgb(colour)) / 255
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def lightness(light):
    """L* of CIE 1976 from relative luminance (CIE 15)."""
    return 116 * np.cbrt(light) - 16


def test_lightness_falls_evenly():
    found = np.array([lightness(luminance(straw_to_bark(share))) for share in STEPS])
    assert found[0] == pytest.approx(90.0, abs=0.7)
    assert found[-1] == pytest.approx(22.0, abs=0.7)
    assert np.diff(found) == pytest.approx(-68.0 / 20, abs=0.6)


@pytest.mark.parametrize("sight", SIGHT)
def test_the_order_is_kept_for_every_kind_of_colour_sight(sight):
    weights = np.array([0.2126, 0.7152, 0.0722])
    seen = [weights @ np.clip(np.array(SIGHT[sight]) @ linear(straw_to_bark(share)), 0, 1) for share in STEPS]
    assert (np.diff(lightness(np.array(seen))) < -2.0).all()


@given(st.floats(0.0, 1.0))
def test_words_on_a_shaded_zone_have_the_contrast_that_wcag_asks(share):
    # WCAG 2.2, 1.4.3: at least 4.5 to 1 for text.
    ground = straw_to_bark(share)
    light, dark = sorted((luminance(ground), luminance(ink_on(ground))), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_luminance_of_black_white_and_the_middle_grey_of_the_standard():
    # IEC 61966-2-1: 8-bit 188 is close to half the light of white.
    assert luminance("#000000") == 0.0
    assert luminance("#ffffff") == pytest.approx(1.0)
    assert luminance("#bcbcbc") == pytest.approx(0.5, abs=0.005)


def test_a_scale_fits_its_values_and_holds_what_lies_beyond():
    scale = scale_of({"back": ZoneValue(3.0, "3 days"), "neck": ZoneValue(21.0, "21 days")}, "Since pulled")
    assert (scale.low, scale.high, scale.low_text, scale.high_text) == (3.0, 21.0, "3 days", "21 days")
    assert scale.colour(-5) == scale.colour(3.0) == straw_to_bark(0)
    assert scale.colour(99) == straw_to_bark(1)
    assert scale_of({}, "nothing").colour(0.5) == straw_to_bark(0.5)
    assert Scale("flat", 1.0, 1.0, "", "").colour(1.0) == straw_to_bark(0)
