"""The thin strip of a band: places along its axis, never outside it, and words for who does not see it."""

from __future__ import annotations

import re

import pytest

from coatwright.drawing.band_strip import EDGE, WIDTH, BandStrip, band_strip


def bar(drawn: str, kind: str) -> tuple[float, float]:
    """Left and right end of a bar."""
    found = re.search(rf'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"[^>]* class="{kind}"', drawn)
    assert found is not None
    left, wide = float(found[1]), float(found[2])
    return left, left + wide


def test_bars_stand_where_their_values_are() -> None:
    drawn = band_strip(BandStrip(0.0, 10.0, (4.0, 6.0), 5.0, was=(0.0, 10.0)))
    assert bar(drawn, "was") == pytest.approx((EDGE, WIDTH - EDGE), abs=0.1)
    span = WIDTH - 2 * EDGE
    assert bar(drawn, "now") == pytest.approx((EDGE + 0.4 * span, EDGE + 0.6 * span), abs=0.1)
    assert f'x1="{WIDTH / 2:.0f}"' in drawn


def test_values_beyond_the_axis_end_at_it_and_a_point_is_seen() -> None:
    drawn = band_strip(BandStrip(0.0, 1.0, (-3.0, 7.0), 9.0))
    assert bar(drawn, "now") == pytest.approx((EDGE, WIDTH - EDGE), abs=0.1)
    left, right = bar(band_strip(BandStrip(0.0, 1.0, (0.5, 0.5), 0.5)), "now")
    assert right - left >= 2.0


def test_marks_are_told_by_shape() -> None:
    drawn = band_strip(BandStrip(0.0, 1.0, (0.1, 0.2), 0.15, marks=((0.1, "planned"), (0.3, "recorded"))))
    assert drawn.count('class="planned"') == 1
    assert drawn.count('class="recorded"') == 1
    assert "<circle" in drawn


def test_a_strip_alone_speaks_and_one_beside_words_is_silent() -> None:
    strip = BandStrip(0.0, 1.0, (0.1, 0.2), 0.15)
    assert 'aria-hidden="true"' in band_strip(strip)
    assert 'role="img" aria-label="a &lt;tenth"' in band_strip(strip, spoken="a <tenth")
    assert "style=" not in band_strip(strip)
