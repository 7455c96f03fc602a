"""Compile the inner loops once, before tests in several processes would each do so: a desk plans one of the demo's
dogs while a drawn sheet is read. Nothing is done where these sources were compiled before.

python -m tests.ahead
"""

from __future__ import annotations

import json
import time
import urllib.request
from pathlib import Path

from coatwright.compiling import numba
from tests.conftest import running_desk

PATIENCE_S = 300.0


def planned(url: str) -> None:
    """Wait until a dog of a desk is planned, and ask for what is known of it: by then every loop has run."""
    until = time.monotonic() + PATIENCE_S
    while True:
        with urllib.request.urlopen(f"{url}/api/dogs", timeout=60) as answer:
            ready = [dog["id"] for dog in json.load(answer)["dogs"] if dog["plan"] == "ready"]
        if ready:
            break
        if time.monotonic() > until:
            raise TimeoutError("The demo's plans are not made.")
        time.sleep(0.5)
    for page in ("", "/known", "/plan"):
        urllib.request.urlopen(f"{url}/dogs/{ready[0]}{page}", timeout=60).close()


def read() -> None:
    """Read a drawn sheet, and pool it with itself."""
    from coatwright.paper.pool import pool_unmoved
    from coatwright.paper.whole import read_sheet
    from tests.paper.rendering import FIGURES, render

    photo = render(FIGURES, 91, hairs=16, size=(2800, 2100))
    sheet = read_sheet(photo.jpeg)
    pool_unmoved(sheet.hairs, sheet.hairs)


if __name__ == "__main__" and not any(Path(numba.config.CACHE_DIR).glob("**/*.nbc")):
    with running_desk("--demo") as desk:
        read()
        planned(desk.url)
