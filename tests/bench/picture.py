"""The living picture in a browser: milliseconds per frame while the day slider moves, and until it first shows.

A tablet's screen (820 px wide, two pixels to each) on a processor made slower by the browser itself
(``Emulation.setCPUThrottlingRate`` of the DevTools protocol). There is no graphics card in it: a tablet has one.
"""

from __future__ import annotations

import gzip
import json
import os
import statistics
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from tests.conftest import FLAGS, running_desk
from tools.starting.browsers import find_chromium

FRAMES = 150
SLIDER_SLOWER = 4
FIRST_SLOWER = 6
READY_S = 240.0
SCREEN = {"width": 820, "height": 1180}

COAT = "document.querySelector('[data-coat]')?.coat"
SLIDE = f"""async ([frames, by]) => {{
  const coat = {COAT};
  const {{first, last}} = coat.dog;
  coat.setBy(by);
  const intervals = [], work = [];
  let before = null;
  for (let k = 0; k < frames; k++) {{
    coat.setDay(first + Math.round((last - first) * k / frames));
    const now = await new Promise(requestAnimationFrame);
    if (before !== null) intervals.push(now - before);
    work.push(coat.took);
    before = now;
  }}
  return [intervals, work];
}}"""
FIRST = f"""() => new Promise(done => {{
  const look = () => {COAT}?.took ? done(performance.now()) : requestAnimationFrame(look);
  look();
}})"""


def slider() -> list[str]:
    """Rows of a table: frames per second for the dog of the demo with the most to tell, as a coat and shaded."""
    lines = [
        f"| day slider, {SCREEN['width']} px, 2 pixels to 1, {SLIDER_SLOWER} times slower "
        "| median frame | frames a second | slowest of 20 | own work | target |",
        "| --- | ---: | ---: | ---: | ---: | --- |",
    ]
    with running_desk("--demo") as desk, browser_at_hand() as browser:
        dog, size = largest_dog(desk.url)
        address = f"{desk.url}/dogs/{dog}"
        context = browser.new_context(viewport=SCREEN, device_scale_factor=2, locale="en-GB")
        page = context.new_page()
        slower = context.new_cdp_session(page)
        page.goto(address)
        page.evaluate(FIRST)
        page.wait_for_timeout(1000)
        slower.send("Emulation.setCPUThrottlingRate", {"rate": SLIDER_SLOWER})
        for by, words in (("", "the coat"), ("cover", "shaded by cover")):
            page.evaluate(SLIDE, [20, by])
            intervals, work = page.evaluate(SLIDE, [FRAMES, by])
            frame = statistics.median(intervals)
            slow = statistics.quantiles(intervals, n=20)[-1]
            lines.append(
                f"| {dog.capitalize()}, {words} | {frame:.1f} ms | {1000 / frame:.0f} | {slow:.1f} ms | "
                f"{statistics.median(work):.1f} ms | 30 frames a second |"
            )
        slower.send("Emulation.setCPUThrottlingRate", {"rate": FIRST_SLOWER})
        shown = []
        for _ in range(5):
            page.goto("about:blank")
            page.wait_for_timeout(500)  # what the page before still had under way is over
            page.goto(address, wait_until="commit")
            shown.append(page.evaluate(FIRST) / 1000)
        context.close()
        lines += [
            "",
            f"The page of {dog.capitalize()} shows the coat {statistics.median(shown):.2f} s after it is asked for, "
            f"on a processor {FIRST_SLOWER} times slower ({min(shown):.2f} to {max(shown):.2f} s in "
            f"{len(shown)} loads; target 1 s). Its parcel weighs {size / 1000:.0f} kB compressed (target 60 kB).",
        ]
    return lines


@contextmanager
def browser_at_hand() -> Iterator[Any]:
    """The system's Chromium, as the walks start it."""
    from playwright.sync_api import sync_playwright

    found = find_chromium()
    if found is None:
        raise SystemExit("No Chromium is found: python3 start.py test says what to install.")
    root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=[*FLAGS, *root])
        yield browser
        browser.close()


def largest_dog(url: str) -> tuple[str, int]:
    """The dog whose parcel is the largest, once every plan is made; and its size, bytes compressed."""
    until = time.monotonic() + READY_S
    while any(dog["plan"] == "working" for dog in json.loads(_read(f"{url}/api/dogs"))["dogs"]):
        if time.monotonic() > until:
            raise SystemExit("The demo's plans are not made in time.")
        time.sleep(0.3)
    dogs = [dog["id"] for dog in json.loads(_read(f"{url}/api/dogs"))["dogs"]]
    sizes = {dog: len(gzip.compress(_read(f"{url}/dogs/{dog}/coat.json"), 5)) for dog in dogs}
    return max(sizes.items(), key=lambda item: item[1])


def _read(address: str) -> bytes:
    with urllib.request.urlopen(address, timeout=60) as answer:
        found: bytes = answer.read()
        return found
