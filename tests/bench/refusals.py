"""How many photographs are refused, and why: spoiled ones of every kind, and good ones.

``python -m tests.bench.refusals`` prints the tables; with ``--what good`` and ``--what spoiled`` two processes share
the work. Photographs are drawn in the style FIGURES, seeds from 51000 on; limits were set with ``--style training``.
"""

from __future__ import annotations

import argparse
from collections import Counter

import numpy as np

from coatwright.errors import CoatwrightError
from coatwright.paper.photo import PhotoError
from coatwright.paper.whole import read_sheet
from tests.paper.rendering import FIGURES, TRAINING, Photo, Style, render
from tests.paper.rendering.styles import COATS
from tests.paper.spoiling import SPOILED, UNSPOILED

FIRST_SEED = 51000
BAD_BARS = (60.0, 85.0, 89.9, 110.1, 140.0)


def verdict(data: bytes) -> str:
    """The code by which a photograph is refused; empty where it is read."""
    try:
        read_sheet(data)
    except PhotoError as error:
        return error.code
    return ""


def sheets(count: int, first: int, style: Style) -> list[Photo]:
    """Sheets of every coat, good and medium, 20 to 100 hairs."""
    return [
        render(
            style, first + k, hairs=(20, 40, 60, 80, 100)[k % 5], coat=COATS[k % len(COATS)],
            quality=("good", "medium")[k // 2 % 2],
        )
        for k in range(count)
    ]  # fmt: skip


def main() -> None:
    """Draw, spoil, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=12, help="photographs of each spoiled kind")
    parser.add_argument("--good", type=int, default=30, help="sheets, each taken in seven ways")
    parser.add_argument("--only", default="", help="one spoiled kind")
    parser.add_argument("--what", choices=("all", "good", "spoiled"), default="all")
    parser.add_argument("--style", choices=("figures", "training"), default="figures")
    options = parser.parse_args()
    style = {"figures": FIGURES, "training": TRAINING}[options.style]
    if options.what != "good":
        spoiled_table(options.each, options.only, style)
    if options.what != "spoiled":
        good_table(options.good, style)


def spoiled_table(each: int, only: str, style: Style) -> None:
    """Print how many of each spoiled kind are refused."""
    print("| spoiled | photographs | refused | by |\n| --- | ---: | ---: | --- |")
    bases = sheets(min(each, 6), FIRST_SEED, style)
    for number, (kind, (spoil, _)) in enumerate(SPOILED.items()):
        if only not in ("", kind):
            continue
        codes: Counter[str] = Counter()
        for k in range(each):
            codes[verdict(spoil(bases[k % len(bases)], np.random.default_rng([FIRST_SEED, number, k])))] += 1
        refused = sum(count for code, count in codes.items() if code)
        words = ", ".join(f"{code or 'not refused'} {count}" for code, count in codes.most_common())
        print(f"| {kind} | {each} | {refused} | {words} |", flush=True)
    refused = 0
    for bar in BAD_BARS:
        try:
            read_sheet(bases[0].jpeg, bar_mm=bar)
        except CoatwrightError:
            refused += 1
    print(f"| bar outside 90 to 110 mm | {len(BAD_BARS)} | {refused} | OutOfRange {refused} |")


def good_table(count: int, style: Style) -> None:
    """Print how many good photographs are refused."""
    print("| good | photographs | refused | by |\n| --- | ---: | ---: | --- |")
    good: dict[str, Counter[str]] = {name: Counter() for name in UNSPOILED}
    for k, photo in enumerate(sheets(count, FIRST_SEED + 500, style)):
        for number, (name, change) in enumerate(UNSPOILED.items()):
            good[name][verdict(change(photo, np.random.default_rng([FIRST_SEED, 99, number, k])))] += 1
    good["all"] = sum(good.values(), Counter())
    for name, codes in good.items():
        words = ", ".join(f"{code} {count}" for code, count in codes.most_common() if code) or "-"
        print(f"| {name} | {codes.total()} | {codes.total() - codes['']} | {words} |", flush=True)


if __name__ == "__main__":
    main()
