"""What a plan took while it was made goes back to the system."""

from __future__ import annotations

import sys

import psutil
import pytest

from coatwright.web.memory import give_back


@pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="only the GNU C library can hand memory back"
)
def test_memory_that_is_free_goes_back() -> None:
    """Free pieces below one that is held: without a word the C library keeps them."""
    pieces = [bytearray(20_000) for _ in range(5_000)]
    held = pieces[::50]
    used = psutil.Process().memory_info().rss
    del pieces
    before = psutil.Process().memory_info().rss
    give_back()
    after = psutil.Process().memory_info().rss
    assert len(held) == 100
    assert after < used - 50_000_000
    assert before >= after
