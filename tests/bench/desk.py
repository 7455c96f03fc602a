"""The desk in a browser: what a page weighs, how soon it is seen, and from a key in the grid to the new picture."""

from __future__ import annotations

import statistics
from typing import Any

from tests.bench.picture import SCREEN, browser_at_hand, largest_dog
from tests.conftest import running_desk

SLOWER = 6
LOADS = 5
CELLS = 8
KILOBYTE = 1000.0

SEEN = """() => new Promise(done => {
  let largest = 0;
  new PerformanceObserver(list => { largest = list.getEntries().at(-1).startTime; })
    .observe({ type: "largest-contentful-paint", buffered: true });
  setTimeout(() => done([performance.getEntriesByName("first-contentful-paint")[0].startTime, largest]), 2500);
})"""
BEND = """async ([id, key]) => {
  const cell = document.getElementById(id);
  const take = cell.dataset.take, shot = document.getElementById("plan-shot").src;
  cell.focus();
  const begin = performance.now();
  cell.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
  while (performance.now() - begin < 20000) {
    await new Promise(next => setTimeout(next, 4));
    const now = document.getElementById(id), picture = document.getElementById("plan-shot");
    if (now && now !== cell && now.dataset.take !== take && picture && picture.src !== shot && picture.complete) {
      return performance.now() - begin;
    }
  }
  return NaN;
}"""
FREE = """() => [...document.querySelectorAll(".grid a[data-take]")]
  .filter(({ dataset }) => Number(dataset.take) >= 10 && !("fixed" in dataset)).map(({ id }) => id)"""


def at_the_screen() -> list[str]:
    """Rows of two tables: the pages of the demo's largest dog, and the plans of three dogs bent by keys."""
    lines = [
        f"| page | weight, compressed | first seen, {SLOWER} times slower | largest part seen | target |",
        "| --- | ---: | ---: | ---: | --- |",
    ]
    with running_desk("--demo") as desk, browser_at_hand() as browser:
        dog, _ = largest_dog(desk.url)
        for name, path in (("Today", "/"), ("dog", f"/dogs/{dog}"), ("plan", f"/dogs/{dog}/plan")):
            weight, first, largest = _loaded(browser, desk.url + path)
            lines.append(
                f"| {name} | {weight / KILOBYTE:.0f} kB | {first:.2f} s | {largest:.2f} s | 200 kB, 1 s |"
            )
        lines += [
            "",
            "| a take changed by a key | median | least | most | target |",
            "| --- | ---: | ---: | ---: | --- |",
        ]
        for key in ("bramble", "fennel", dog):
            times = _bent(browser, f"{desk.url}/dogs/{key}/plan")
            lines.append(
                f"| {key.capitalize()}, from key to picture | {statistics.median(times):.2f} s "
                f"| {min(times):.2f} s | {max(times):.2f} s | 0.3 s |"
            )
    return lines


def _loaded(browser: Any, address: str) -> tuple[float, float, float]:
    """Bytes that come over the line, and seconds until something and until the largest part is seen, in medians."""
    seen: list[list[float]] = []
    weight = 0.0
    for _ in range(LOADS):
        context = browser.new_context(viewport=SCREEN, locale="en-GB")
        page = context.new_page()
        devtools = context.new_cdp_session(page)
        devtools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        devtools.send("Network.enable")
        sizes: list[float] = []
        devtools.on(
            "Network.loadingFinished", lambda event, sizes=sizes: sizes.append(event["encodedDataLength"])
        )
        page.goto(address, wait_until="commit")
        seen.append(page.evaluate(SEEN))
        page.wait_for_load_state("networkidle")
        weight = sum(sizes)
        context.close()
    first, largest = (statistics.median(column) / 1000.0 for column in zip(*seen, strict=True))
    return weight, first, largest


def _bent(browser: Any, address: str) -> list[float]:
    """Seconds from a key in a cell to the new plan with its picture, for cells not tried before."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, locale="en-GB")
    page = context.new_page()
    page.goto(address)
    cells = page.evaluate(FREE)
    some = cells[:: max(len(cells) // CELLS, 1)][:CELLS]
    times = [page.evaluate(BEND, [cell, "-"]) / 1000.0 for cell in some]
    context.close()
    return times
