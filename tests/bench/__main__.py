"""Time the planner and the forecast, side by side with the raw solver and a modelling layer, and the picture."""

from __future__ import annotations

import argparse
import gc
import os
import platform
import statistics
import time
import tracemalloc
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import numpy as np

from coatwright.coat.forecast import Draws, Epochs, carry_out, forecast
from coatwright.coat.growth import Growth
from coatwright.planning.compare import best_cadence
from coatwright.planning.problem import Problem
from coatwright.planning.program import build
from coatwright.planning.solve import PlanSession
from coatwright.programs import Matrix, forget_bases
from tests.bench import dogs, modelling_layer, picture
from tests.bench.desk import at_the_screen

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "performance.md"


def timed(work: Callable[[], object], runs: int = 7) -> tuple[float, float, float]:
    """Median, least and greatest seconds of ``work`` after one run that does not count."""
    work()
    found = []
    for _ in range(runs):
        gc.collect()
        begun = time.perf_counter()
        work()
        found.append(time.perf_counter() - begun)
    return statistics.median(found), min(found), max(found)


def in_turn(works: dict[str, Callable[[], object]], runs: int = 7) -> dict[str, float]:
    """Median seconds of several works, run A B C A B C ... so that a drifting machine hits all alike."""
    for work in works.values():
        work()
    found: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(runs):
        for name, work in works.items():
            gc.collect()
            begun = time.perf_counter()
            work()
            found[name].append(time.perf_counter() - begun)
    return {name: statistics.median(values) for name, values in found.items()}


def raw(matrix: Matrix) -> float:
    """HiGHS on the finished matrix, nothing of ours around it."""
    import highspy

    highs = highspy.Highs()
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", 1)
    matrix.pass_to(highs)
    highs.run()
    return float(highs.getObjectiveValue())


def ours(problem: Problem) -> float:
    """From the problem to its relaxed optimum, nothing remembered."""
    forget_bases()
    return PlanSession(problem).relaxed().objective


def forgotten(work: Callable[[], object]) -> object:
    """Some work with nothing remembered of programs solved before."""
    forget_bases()
    return work()


def sizes() -> list[str]:
    """Build and solve against the raw solver and linopy."""
    lines = [
        "| zones x visits | columns | rows | coatwright | raw HiGHS | ratio | linopy | ratio |",
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    for zones, visits, every in ((16, 40, 14), (18, 26, 7), (18, 52, 7)):
        problem = dogs.rolling(zones, visits, every=every)
        matrix = build(problem).matrix
        assert matrix is not None
        answers = [ours(problem), raw(matrix), modelling_layer.solve(matrix)]
        assert np.ptp(answers) <= 1e-5 * abs(answers[0]), answers
        found = in_turn(
            {
                "ours": lambda p=problem: ours(p),
                "raw": lambda m=matrix: raw(m),
                "linopy": lambda m=matrix: modelling_layer.solve(m),
            }
        )
        lines.append(
            f"| {zones} x {visits} | {len(matrix.cost)} | {len(matrix.row_low)} | {found['ours']:.3f} s | "
            f"{found['raw']:.3f} s | {found['ours'] / found['raw']:.2f} | {found['linopy']:.3f} s | "
            f"{found['linopy'] / found['ours']:.1f} |"
        )
    return lines


def at_the_desk() -> list[str]:
    """Re-solve, futures, cadences."""
    session = PlanSession(dogs.rolling(16, 40))
    session.plan()
    session.relaxed()
    rng = np.random.default_rng(3)

    def refix() -> None:
        day = dogs.TODAY + 14 * int(rng.integers(0, 38))
        zone = f"zone{int(rng.integers(0, 16)):02d}"
        session.fix(zone, day, float(rng.choice([0.05, 0.1, 0.15])))
        session.relaxed()
        session.free(zone, day)

    rows = [
        ("warm re-solve after one fixed cell, 16 x 40", timed(refix, 21), "30 ms"),
        (
            "whole plan in steps of 5 %, 16 x 40",
            timed(lambda: forgotten(lambda: PlanSession(dogs.rolling(16, 40)).plan()), 5),
            "",
        ),
        (
            "50 futures with bounded tail, 16 x 40, one show",
            timed(lambda: ours(dogs.show(16, 40, 50)), 5),
            "0.4 s",
        ),
    ]
    case = dogs.case(18)
    rows.append(
        ("five cadences, 18 zones, 26 weeks", timed(lambda: forgotten(lambda: best_cadence(case)), 3), "1 s")
    )
    return [
        "| work | median | least | most | target |",
        "| --- | ---: | ---: | ---: | ---: |",
        *(f"| {name} | {m:.3f} s | {a:.3f} s | {b:.3f} s | {goal} |" for name, (m, a, b), goal in rows),
    ]


def the_forecast() -> list[str]:
    """1,000 draws x 18 zones x 365 days, with a fifth and with 15 % pulled every two weeks."""
    growths = [Growth()] * 18
    tasks = dogs.zones(18, staged=False)
    draws = Draws.prior(growths, 1000, np.random.default_rng(1))
    aims = [task.aim for task in tasks]
    lines = [
        "| forecast, 1,000 draws x 18 zones x 365 days | median | least | most | peak memory | target |",
        "| --- | ---: | ---: | ---: | ---: | --- |",
    ]
    for share, words in (
        (0.2, "20 % a visit: 5 layers"),
        (0.15, "15 % a visit: 7 layers, the oldest a rest"),
    ):
        takes = [(dogs.TODAY + 14 * k, share) for k in range(26)]
        epochs = [carry_out(task.coat, dogs.TODAY, takes, task.growth) for task in tasks]

        def work(zones: Sequence[Epochs] = tuple(epochs)) -> None:
            forecast(zones, growths, dogs.TODAY, 365, aims=aims, draws=draws)

        median, least, most = timed(work)
        tracemalloc.start()
        work()
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        lines.append(
            f"| {words} | {median:.3f} s | {least:.3f} s | {most:.3f} s | {peak:.0f} MB | 0.15 s, 200 MB |"
        )
    return lines


def slopes() -> list[str]:
    """How the time grows: the exponent of a power law through the medians."""
    lines = ["| grows with | sizes | seconds | exponent |", "| --- | --- | --- | ---: |"]
    series: tuple[tuple[str, list[int], Callable[[int], Problem]], ...] = (
        ("visits (16 zones)", [13, 26, 52], lambda n: dogs.rolling(16, n)),
        ("zones (26 visits)", [6, 12, 24], lambda n: dogs.rolling(n, 26)),
        ("futures (16 zones, 20 visits)", [25, 50, 100], lambda n: dogs.show(16, 20, n)),
    )
    for name, numbers, make in series:
        medians = [timed(lambda p=problem: ours(p), 3)[0] for problem in map(make, numbers)]
        exponent = np.polyfit(np.log(numbers), np.log(medians), 1)[0]
        lines.append(
            f"| {name} | {', '.join(map(str, numbers))} | {', '.join(f'{m:.3f}' for m in medians)} | {exponent:.1f} |"
        )
    return lines


def machine() -> str:
    """What this ran on, without naming the machine."""
    return f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}"


def main() -> None:
    """Run everything, print it, and keep it on the page when asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--write", action="store_true", help="keep the figures in docs/reference/performance.md"
    )
    options = parser.parse_args()
    parts = [
        "# Performance",
        f"Measured on {date.today().isoformat()} ({machine()}) by `python3 start.py bench`; medians, the works of "  # noqa: DTZ011
        "a table run in turn. Machines differ and are noisy: compare within one run.",
        "## Build and solve, against the raw solver and a modelling layer",
        "A rolling coat, relaxed. The same matrix goes to all three; the optima agree to 1e-5. Targets: at most 1.15 "
        "times the raw solver, at least 3 times as fast as linopy.",
        *_table(sizes()),
        "## At the desk",
        *_table(at_the_desk()),
        "## Forecast",
        *_table(the_forecast()),
        "## Growth of the time",
        *_table(slopes()),
        "## The coat picture",
        *_table(picture.slider()),
        "## Pages",
        "First seen is the first contentful paint, the largest part the largest contentful paint, both of the Paint "
        "Timing and Largest Contentful Paint drafts of the W3C; nothing is in the browser's cache.",
        *_table(at_the_screen()),
    ]
    text = "\n\n".join(parts) + "\n"
    if options.write:
        PAGE.write_text(text, encoding="utf-8")
        print(f"kept in {PAGE.name}")


def _table(lines: list[str]) -> list[str]:
    text = "\n".join(lines)
    print(text, end="\n\n", flush=True)
    return [text]


if __name__ == "__main__":
    main()
