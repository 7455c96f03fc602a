"""How well hairs are read: drawn photographs with exact truth, the table of figures, and a plain skeleton beside it.

``python -m tests.bench.paper`` prints the table; ``--write`` keeps it. The photographs are drawn in the style
FIGURES, seeds from 20000 on; what is learned was learned from the style TRAINING, seeds 1000 to 1999.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from coatwright.paper.marks import Rectified
from coatwright.paper.read import Reading, read_hairs
from coatwright.paper.rectify import rectify
from coatwright.paper.refusals import judge_hairs, judge_photo
from coatwright.paper.sheet import sheet
from tests.bench.skeleton import branches_and_lines
from tests.paper.rendering import FIGURES, Photo, render
from tests.paper.scoring import Score, score

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "paper-reading-figures.md"
FIRST_SEED = 20000
WHITE, DARK = ("black", "red", "grey", "banded"), ("white", "cream")
PLAN = {
    **{("good", n): (8 if n < 100 else 7) for n in (20, 60, 120, 150)},
    **{("medium", n): (8 if n < 100 else 7) for n in (20, 60, 120, 150)},
    ("good", 250): 2, ("medium", 250): 2,
    ("poor", 20): 4, ("poor", 60): 4, ("poor", 120): 4, ("poor", 150): 2, ("poor", 250): 2,
}  # fmt: skip
"""Photographs of each quality and crowd; those good and medium up to 150 hairs are the sixty of the targets."""


@dataclass
class Read:
    """One photograph read both ways."""

    quality: str
    coat: str
    score: Score
    skeleton: Score
    branches: int
    seconds: float
    skeleton_seconds: float
    judged: int
    judged_broken: tuple[int, int]
    """Of the truly broken that were judged: judged broken, all."""
    judged_whole: tuple[int, int]
    refused: list[str]


def lines_score(photo: Photo, lines: list[np.ndarray], lengths: list[float]) -> Score:
    """Found lines against what was drawn."""
    return score(
        lines, lengths, [photo.seen(h) for h in photo.hairs], [h.length for h in photo.hairs],
        [photo.seen(o) for o in photo.others if o.kind == "fluff"],
    )  # fmt: skip


def timed_read(image: np.ndarray) -> tuple[Rectified, Reading, float]:
    """Place, hairs and seconds for both."""
    begun = time.perf_counter()
    place = rectify(image)
    reading = read_hairs(image, place)
    return place, reading, time.perf_counter() - begun


def read_both_ways(photo: Photo, quality: str, coat: str) -> Read:
    """Ours and the skeleton on one photograph."""
    image = photo.image
    place, reading, seconds = timed_read(image)
    ours = lines_score(
        photo, [hair.trace.points for hair in reading.hairs], [hair.length_mm for hair in reading.hairs]
    )
    begun = time.perf_counter()
    branches, lines, lengths = branches_and_lines(image, place)
    skeleton_seconds = time.perf_counter() - begun
    known = [(reading.hairs[i].whole, photo.hairs[j].broken) for i, j in ours.pairs]
    broken = [whole is False for whole, truly in known if whole is not None and truly]
    whole = [bool(found) for found, truly in known if found is not None and not truly]
    dark = sheet(place.sheet).dark
    faults = [
        *judge_photo(place),
        *judge_hairs(reading.hairs, dark=dark, opposite=reading.opposite, tufted=reading.tufted),
    ]
    return Read(
        quality, coat, ours, lines_score(photo, lines, lengths), branches, seconds, skeleton_seconds,
        sum(hair.whole is not None for hair in reading.hairs),
        (sum(broken), len(broken)), (sum(whole), len(whole)), [fault.code for fault in faults if fault.stops],
    )  # fmt: skip


def row(name: str, reads: list[Read], of: Callable[[Read], Score]) -> str:
    """One line of the table."""
    scores = [of(one) for one in reads]
    errors = np.abs(np.concatenate([one.errors for one in scores]))
    true = sum(one.true for one in scores)
    counts = np.array([abs(one.found / one.true - 1) for one in scores])
    found, matched = sum(one.found for one in scores), sum(one.matched for one in scores)
    total = sum(one.total_found for one in scores) / sum(one.total_true for one in scores) - 1
    middle = f"{np.median(errors):.2f} / {np.percentile(errors, 95):.1f}" if len(errors) else "-"
    fluff = sum(one.fluff_taken for one in scores), sum(one.fluff for one in scores)
    return (
        f"| {name} | {len(reads)} | {100 * counts.mean():.1f} / {100 * counts.max():.0f} % | "
        f"{matched / max(1, found):.3f} / {matched / true:.3f} | {middle} | {(errors <= 1).sum() / true:.3f} | "
        f"{100 * total:+.1f} % | {fluff[0]} of {fluff[1]} |"
    )


HEAD = [
    "| photo, hairs | photos | count error, mean / worst | P / R at IoU 0.5 | length median / p95 mm | "
    "true hairs found within 1 mm | total length | fluff taken |",
    "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
]


def tables(reads: dict[tuple[str, int], list[Read]]) -> list[str]:
    """All tables as lines of Markdown."""
    sixty = [one for (quality, n), some in reads.items() if quality != "poor" and n <= 150 for one in some]
    lines = [
        f"## Read by Coatwright ({len(sixty)} photographs good and medium up to 150 hairs, and more)",
        "",
        *HEAD,
    ]
    for (quality, n), some in reads.items():
        lines.append(row(f"{quality} {n}", some, lambda one: one.score))
    for name, some in (
        ("white sheet", [r for r in sixty if r.coat in WHITE]),
        ("dark frame", [r for r in sixty if r.coat in DARK]),
        ("all good and medium to 150", sixty),
    ):
        if some:
            lines.append(row(name, some, lambda one: one.score))
    lines += [
        "",
        "## The same photographs by skeleton and branches (scikit-image, skan; straightest pairs joined)",
        "",
        *HEAD,
    ]
    for (quality, n), some in reads.items():
        lines.append(row(f"{quality} {n}", some, lambda one: one.skeleton))
    if sixty:
        lines.append(row("all good and medium to 150", sixty, lambda one: one.skeleton))
    lines += ["", "## Time, ends, refusals", ""]
    lines += [
        "| photo, hairs | seconds, median / worst | skeleton, median s | branches of 4 mm and more, mean | "
        "judged whole or broken | broken seen as broken | whole seen as whole | wrongly refused |",
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | --- |",
    ]
    for (quality, n), some in reads.items():
        b, w = (
            np.array([getattr(one, key) for one in some]).sum(axis=0)
            for key in ("judged_broken", "judged_whole")
        )
        times = [one.seconds for one in some]
        refused = sorted(code for one in some for code in one.refused)
        lines.append(
            f"| {quality} {n} | {np.median(times):.2f} / {max(times):.2f} | "
            f"{np.median([one.skeleton_seconds for one in some]):.2f} | "
            f"{np.mean([one.branches for one in some]):.0f} | "
            f"{sum(one.judged for one in some) / sum(one.score.true for one in some):.2f} | "
            f"{b[0]} of {b[1]} | {w[0]} of {w[1]} | {', '.join(refused) or '-'} |"
        )
    return lines


def memory(jpeg: bytes) -> str:
    """Peak memory of a fresh process that reads one photograph."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "photo.jpg"
        path.write_bytes(jpeg)
        code = "import sys; from tests.bench.paper import alone; alone(sys.argv[1])"
        return subprocess.run(
            [sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True
        ).stdout


def _peak_mb() -> float:
    """The most memory this process has held, MB (Linux: VmHWM starts afresh with every program)."""
    status = Path("/proc/self/status").read_text("ascii")
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def alone(path: str) -> None:
    """Read one photograph again and again and say what it took."""
    data = Path(path).read_bytes()
    import coatwright.paper.whole as reader

    before = _peak_mb()
    found = reader.read_sheet(data)  # compiles, or takes what was compiled
    seconds = []
    for _ in range(5):
        begun = time.perf_counter()
        found = reader.read_sheet(data)
        seconds.append(time.perf_counter() - begun)
    print(
        f"{len(found.hairs)} hairs, {np.median(seconds):.2f} s warm from the file's bytes (median of five), "
        f"peak {_peak_mb():.0f} MB ({before:.0f} MB before)"
    )


def enlarged(jpeg: bytes) -> bytes:
    """The same photograph with 50 megapixels, as telephones with such sensors make them: larger, not sharper."""
    import cv2

    image = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)
    large = cv2.resize(image, (8160, 6120), interpolation=cv2.INTER_CUBIC)
    return cv2.imencode(".jpg", large, [cv2.IMWRITE_JPEG_QUALITY, 93])[1].tobytes()


def main() -> None:
    """Draw, read, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--write", action="store_true", help=f"keep the figures in docs/reference/{PAGE.name}"
    )
    parser.add_argument("--each", type=int, default=0, help="photographs of each kind, for a quick look")
    parser.add_argument("--seed", type=int, default=FIRST_SEED)
    options = parser.parse_args()
    begun = time.perf_counter()
    reads: dict[tuple[str, int], list[Read]] = {}
    sample = b""
    seed = options.seed
    for (quality, n), count in PLAN.items():
        for k in range(min(count, options.each) if options.each else count):
            coat = DARK[k // 2 % 2] if k % 2 else WHITE[(k // 2 + n // 20) % 4]
            photo = render(FIGURES, seed, hairs=n, coat=coat, quality=quality)
            seed += 1
            if not reads:
                timed_read(photo.image)  # warm
            if (quality, n, k) == ("good", 120, 0):
                sample = photo.jpeg
            reads.setdefault((quality, n), []).append(read_both_ways(photo, quality, coat))
    lines = tables(reads)
    if sample:
        lines += ["", f"A fresh process on 12 megapixels, 120 hairs: {memory(sample).strip()}."]
        lines += ["", f"On 50 megapixels, the same photo enlarged: {memory(enlarged(sample)).strip()}."]
    lines += [
        "",
        f"Drawn photographs are kinder than real ones: take these figures as the best that can be hoped for. "
        f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}; "
        f"{(time.perf_counter() - begun) / 60:.0f} minutes.",
    ]
    print("\n".join(lines), flush=True)
    if options.write:
        head = [
            "# Figures of the paper test's reading",
            "",
            f"Measured on {date.today().isoformat()} with `python -m tests.bench.paper --write`. "  # noqa: DTZ011
            "What is read was learned by `python -m tools.paper` from photographs drawn in another style (curl law, "
            "lie, colour, camera, light, sensor, pinches; `tests/paper/rendering/styles.py` lists both) with other "
            "seeds. Three layers of 34, 24 and 14 mm, 15 % broken, a quarter of the hairs in pinches, one piece of "
            "underwool to five hairs, a speck to two. A hair counts as found when it and a read line share half of "
            "their joint length within 0.4 mm.",
            "",
        ]
        PAGE.write_text("\n".join(head + lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
