"""R4, shortened; its times and its memory are measured by the benchmark: python -m tests.bench.intake --pace 1.

Fifty tablets tap once a second each while plans are made: every tap is answered as kept, and every one is there.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.bench.intake import paced

SECONDS = float(os.environ.get("COATWRIGHT_TAPPING_S", "6"))
TABLETS = 50


@pytest.mark.slow
def test_fifty_tablets_lose_nothing_while_plans_are_made():
    with ThreadPoolExecutor(1) as aside:  # a browser's loop may run in this thread
        found, lost, _ = aside.submit(paced, TABLETS, SECONDS, 1.0).result()
    assert lost == 0
    assert found.kept >= TABLETS
