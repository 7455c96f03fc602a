"""How often the verdict of the paper test is right: ``python -m tests.bench.verdict`` prints the whole table.

``--write`` keeps it in docs/reference/paper-test-figures.md, ``--sheets`` sets how many sheets make up one row.
Sheets are simulated hair by hair (tests/paper/tools.py); every sheet has a start of its own for the random numbers,
so a row comes out the same each time.
"""

from __future__ import annotations

import argparse
import math
import os
import platform
import time
from datetime import date
from pathlib import Path

import numpy as np
from scipy import stats

from coatwright.paper.compare import difference_of_ends
from coatwright.paper.history import ToolTest, trend
from coatwright.paper.verdict import BREAKS, DOUBTFUL, LIMIT, SOUND, SURE, word_for
from coatwright.paper.witness_ends import Misjudged, ends_belief
from coatwright.paper.witness_lengths import Layers, lengths_belief
from tests.paper import tools

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "paper-test-figures.md"
WITNESSES = ("ends", "lengths, fingers", "lengths, model", "both, fingers")
SWEEPS = 1500
Row = list[tuple[float, float, str]]


def one_sheet(seed: list[int], share: float, kind: str, count: int, joins: float, stub: float) -> Row:
    """Low and high end of the interval and the word, for each witness."""
    rng = np.random.default_rng(seed)
    sheet = tools.sheet(rng, share, kind, count, wrong_joins=joins, stub=stub)
    known = int((sheet.judged >= 0).sum())
    y, judged = sheet.lengths, sheet.judged
    beliefs = (
        ends_belief(int((judged == 1).sum()), known, sheet.misjudged),
        lengths_belief(y, sheet.fingers, rng, sweeps=SWEEPS).belief,
        lengths_belief(y, model(sheet, rng), rng, sweeps=SWEEPS).belief,
        lengths_belief(y, sheet.fingers, rng, judged=judged, misjudged=sheet.misjudged, sweeps=SWEEPS).belief,
    )
    return [(*belief.interval(), word_for(belief)) for belief in beliefs]


def model(sheet: tools.Sheet, rng: np.random.Generator) -> Layers:
    """The coat's layers as a coat model would have them: lengths 5 % off, weights as good as from 30 hairs."""
    means = sheet.means * np.exp(0.05 * rng.standard_normal())
    weights = np.maximum(rng.dirichlet(30.0 * sheet.weights), 1e-6)
    return Layers(tuple(means), tuple(0.1 * means), tuple(weights))


def series(share: float, count: int, sheets: int, *, joins: float = 0.0, stub: float = 0.0) -> list[Row]:
    """Many sheets, the three kinds of coat in turn."""
    start = [round(1000 * share), count, round(1000 * joins), round(10 * stub)]
    return [
        one_sheet([*start, k], share, tools.LAWS[k % len(tools.LAWS)], count, joins, stub)
        for k in range(sheets)
    ]


def held(rows: list[Row], witness: int, share: float) -> float:
    """Share of sheets whose interval holds the true share."""
    return float(np.mean([row[witness][0] <= share <= row[witness][1] for row in rows]))


def called(rows: list[Row], witness: int, word: str) -> float:
    """Share of sheets with this word."""
    return float(np.mean([row[witness][2] == word for row in rows]))


def per_cent(value: float) -> str:
    """A share for the table."""
    return f"{100 * value:.1f}"


def coverage_and_words(
    title: str, count: int, sheets: int, shares: tuple[float, ...], *, joins: float = 0.0, stub: float = 0.0
) -> list[str]:
    """One block: coverage of each witness, then how often each word falls."""
    found = {share: series(share, count, sheets, joins=joins, stub=stub) for share in shares}
    positive = [share for share in shares if share > 0.0]
    lines = [
        f"| {title}: interval holds the truth, % | " + " | ".join(f"true {s:.0%}" for s in positive) + " |",
        "| --- |" + " ---: |" * len(positive),
    ]
    for i, name in enumerate(WITNESSES):
        cells = (per_cent(held(found[share], i, share)) for share in positive)
        lines.append(f"| {name} | {' | '.join(cells)} |")
    words = [
        f"| {title}: breaks / doubtful / sound, % | " + " | ".join(f"true {s:.0%}" for s in shares) + " |",
        "| --- |" + " ---: |" * len(shares),
    ]
    for i, name in enumerate(WITNESSES):
        cells = (
            " / ".join(f"{100 * called(found[share], i, word):.0f}" for word in (BREAKS, DOUBTFUL, SOUND))
            for share in shares
        )
        words.append(f"| {name} | {' | '.join(cells)} |")
    return ["\n".join(lines), "\n".join(words)]


def plain_against_misjudged(runs: int) -> list[str]:
    """400 judged hairs, sensitivity .97 and specificity .95 known from 150 hairs each."""
    lines = [
        "| interval, 400 judged hairs: holds the truth, % | true 3% | true 10% | true 30% |",
        "| --- | ---: | ---: | ---: |",
    ]
    plain, careful = [], []
    for share in (0.03, 0.10, 0.30):
        rng = np.random.default_rng([400, round(1000 * share)])
        inside = np.zeros(2)
        for _ in range(runs):
            right_broken, right_whole = rng.binomial(150, 0.97), rng.binomial(150, 0.95)
            known = Misjudged(right_broken, 150 - right_broken, right_whole, 150 - right_whole)
            seen = int(rng.binomial(400, share * 0.97 + (1 - share) * 0.05))
            low, high = stats.beta(seen + 0.5, 400 - seen + 0.5).ppf([0.025, 0.975])
            inside[0] += low <= share <= high
            low, high = ends_belief(seen, 400, known).interval()
            inside[1] += low <= share <= high
        plain.append(per_cent(inside[0] / runs))
        careful.append(per_cent(inside[1] / runs))
    return [
        "400 judged hairs, sensitivity 0.97 and specificity 0.95 known from 150 hairs of each kind; twice as many "
        "runs.",
        "\n".join(
            [
                *lines,
                f"| plain (no misjudgement) | {' | '.join(plain)} |",
                f"| ours | {' | '.join(careful)} |",
            ]
        ),
    ]


def two_tools_and_time(runs: int) -> list[str]:
    """Coverage of the difference of two tools, and of the slope of one tool over time."""
    rng = np.random.default_rng(77)
    inside = told = 0
    for _ in range(runs):
        known = Misjudged(*_split(rng, 0.96), *_split(rng, 0.97))
        counts = [int(rng.binomial(100, p * 0.96 + (1 - p) * 0.03)) for p in (0.15, 0.05)]
        found = difference_of_ends((counts[0], 100), (counts[1], 100), known)
        inside += found.interval[0] <= 0.10 <= found.interval[1]
        told += found.chance >= 0.95
    lines = [
        "| what | runs | interval holds the truth, % | told with 95 %, % |",
        "| --- | ---: | ---: | ---: |",
        f"| two tools, 15 % and 5 %, 100 judged hairs each | {runs} | {per_cent(inside / runs)} | "
        f"{per_cent(told / runs)} |",
    ]
    for growth in (0.0, 0.5, 1.0):
        inside = told = 0
        for _ in range(runs):
            tests = []
            for i in range(6):
                line = -3.0 + 0.6 * growth * i + 0.3 * rng.standard_normal()
                count = int(rng.binomial(100, 1 / (1 + math.exp(-line))))
                tests.append(ToolTest(60 * i, ends_belief(count, 100)))
            over_time = trend(tests)
            inside += over_time.interval[0] <= math.exp(growth) <= over_time.interval[1]
            told += over_time.chance >= 0.95
        lines.append(
            f"| odds of a break x {math.exp(growth):.2f} in 100 days, from 5 %; six tests of 100 hairs, 300 days "
            f"| {runs} | {per_cent(inside / runs)} | {per_cent(told / runs)} |"
        )
    return ["\n".join(lines)]


def _split(rng: np.random.Generator, chance: float) -> tuple[int, int]:
    right = int(rng.binomial(tools.KNOWN, chance))
    return right, tools.KNOWN - right


def main() -> None:
    """Run everything, print it, and keep it on the page when asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--write", action="store_true", help=f"keep the figures in docs/reference/{PAGE.name}"
    )
    parser.add_argument("--sheets", type=int, default=600, help="sheets per row and share")
    options = parser.parse_args()
    n = options.sheets
    begun = time.perf_counter()
    every, fewer = (0.0, 0.03, 0.05, 0.10, 0.15, 0.30), (0.0, 0.03, 0.10, 0.15, 0.30)
    error = 100 * math.sqrt(0.95 * 0.05 / n)
    parts = [
        "# Figures of the paper test's verdict",
        f"Measured on {date.today().isoformat()} with `python -m tests.bench.verdict --write`: "  # noqa: DTZ011
        f"{n} simulated sheets for every figure, unless said otherwise, so that a 95 % is known to about "
        f"{error:.1f} points (standard error). Simulated sheets are kinder than real ones: take these figures as the "
        "best that can be hoped for.",
        f"A third each of coats that give one, three or five layers of 20 to 70 mm, each 10 % wide. Pieces are a "
        f"uniform part of the hair, at least {tools.SHORTEST:g} mm. Ends: {tools.JUDGEABLE:.0%} of the hairs can be "
        f"judged, with sensitivity {tools.SENSITIVITY} and specificity {tools.SPECIFICITY}, found from "
        f"{tools.KNOWN} hairs of each kind. Fingers: a control sheet of as many hairs. Model: layer lengths 5 % off, "
        f"weights as good as from 30 hairs. The words are those of the belief alone; *breaks*: {SURE:.0%} sure that "
        f"more than {LIMIT:.0%} of the hairs break; *sound*: as sure that fewer do; *doubtful*: neither.",
    ]
    _show(parts)
    for heading, blocks in (
        ("100 + 100 hairs", lambda: coverage_and_words("100 + 100 hairs", 100, n, every)),
        ("200 + 200 hairs", lambda: coverage_and_words("200 + 200 hairs", 200, n, every)),
        (
            "One hair in twenty wrongly joined at a crossing, on both sheets",
            lambda: coverage_and_words("100 + 100 hairs", 100, n, fewer, joins=0.05),
        ),
        (
            "Every break 3 mm above the root",
            lambda: coverage_and_words("100 + 100 hairs", 100, n, (0.0, 0.15), stub=3.0),
        ),
        ("Misjudged ends", lambda: plain_against_misjudged(2 * n)),
        ("Two tools; one tool over time", lambda: two_tools_and_time(n)),
    ):
        more = [f"## {heading}", *blocks()]
        _show(more)
        parts += more
    parts.append(
        f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}; "
        f"{(time.perf_counter() - begun) / 60:.0f} minutes."
    )
    _show(parts[-1:])
    if options.write:
        PAGE.write_text("\n\n".join(parts) + "\n", encoding="utf-8")
        print(f"kept in {PAGE.name}")


def _show(parts: list[str]) -> None:
    print("\n\n".join(parts), end="\n\n", flush=True)


if __name__ == "__main__":
    main()
