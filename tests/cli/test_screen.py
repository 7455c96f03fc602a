"""Tables that fit: narrow and wide terminals, pipes, plain letters, no colour."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from coatwright.cli.screen import Letters, Page
from tests.cli.conftest import QUICK, Coatwright

ESCAPE = re.compile(r"\x1b\[")


def page(width: int, encoding: str = "utf-8") -> tuple[Page, io.StringIO]:
    """A page of this width, and what is written on it."""
    made, out = Page(), io.StringIO()
    made.console = Console(file=out, width=width, highlight=False, emoji=False, markup=False)
    made.letters = Letters.of(encoding)
    return made, out


@pytest.fixture
def long(tmp_path: Path) -> Path:
    """A dog with weekly visits for half a year."""
    shows = QUICK.partition("[[shows]]")[2].partition("[coat]")[0]
    text = QUICK.replace("[[shows]]" + shows, "").replace("cadences = [14]", "cadences = [7]")
    file = tmp_path / "long.toml"
    file.write_text(text.replace("[wish]", "[wish]\nready_from = 2027-06-01"), encoding="utf-8")
    return file


@pytest.mark.parametrize("width", [60, 80, 100, 132, 200])
def test_no_line_is_wider_than_the_terminal(
    coatwright: Coatwright, long: Path, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    for arguments in (
        ("plan", long),
        ("forecast", long),
        ("sheet", long),
        ("forecast", long, "--zone", "back"),
    ):
        ran = coatwright(*arguments)
        assert ran.code == 0
        assert max(cell_len(line) for line in ran.out.splitlines()) <= width, arguments


@pytest.mark.parametrize("width", [80, 100])
def test_lists_fit_too(
    coatwright: Coatwright, quick: Path, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    for arguments in (
        ("plan", quick, "--compare"),
        ("forecast", quick, "--draws", "20"),
        ("forecast", quick, "--draws", "20", "--zone", "back", "--unit", "in"),
        ("pattern", "list"),
        ("pattern", "show", "wirehaired_pointing_griffon"),
    ):
        lines = coatwright(*arguments).out.splitlines()
        assert max(cell_len(line) for line in lines) <= width, arguments


def test_visits_that_do_not_fit_go_on_in_a_second_block(
    coatwright: Coatwright, long: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cells = {}
    for width in (60, 80, 132):
        monkeypatch.setenv("COLUMNS", str(width))
        text = coatwright("plan", long).out.partition("What to pull")[2].partition("When ready")[0]
        blocks = [line.split()[1:] for line in text.splitlines() if line.startswith("  Back ")]
        cells[width] = [cell for block in blocks for cell in block]
        heads = [line.split() for line in text.splitlines() if re.fullmatch(r" +\d[\d ]*", line)]
        assert [len(head) for head in heads] == [len(block) for block in blocks]
        assert len(blocks) >= (2 if width < 100 else 1)
    assert cells[60] == cells[80] == cells[132]
    assert len(cells[80]) > 20


@given(
    width=st.integers(40, 140),
    columns=st.integers(1, 60),
    names=st.lists(st.text("abcdefgh ", min_size=1, max_size=20), min_size=1, max_size=6),
)
def test_a_grid_of_any_size_shows_every_cell_once(width: int, columns: int, names: list[str]) -> None:
    made, out = page(width)
    rows = [[str(row * 60 + column) for column in range(columns)] for row in range(len(names))]
    heads = [("Mar" if column < 9 else "Apr", str(column)) for column in range(columns)]
    made.grid([(f"z{name}", "") for name in names], heads, rows, cell=4)
    text = out.getvalue()
    assert max(map(cell_len, text.splitlines())) <= max(width, 40)
    numbers = [int(cell) for line in text.splitlines() if "z" in line for cell in re.findall(r"\d+", line)]
    assert sorted(numbers) == list(range(0)) + sorted(int(cell) for row in rows for cell in row)


def test_a_table_leaves_out_what_can_be_spared() -> None:
    heads, rows = ["name", "key", "aim"], [["Back", "back" * 8, "13-25"]]
    made, out = page(40)
    made.table(heads, rows, left=2, spare=(1,))
    assert out.getvalue().split() == ["name", "aim", "Back", "13-25"]
    made, out = page(80)
    made.table(heads, rows, left=2, spare=(1,))
    assert "backback" in out.getvalue()


def test_nothing_is_coloured_in_a_pipe_or_when_it_is_not_wanted(
    coatwright: Coatwright, quick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert not ESCAPE.search(coatwright("plan", quick).out)
    monkeypatch.delenv("NO_COLOR")
    assert not ESCAPE.search(coatwright("plan", quick).out)
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    assert ESCAPE.search(coatwright("plan", quick).out)
    # NO_COLOR, an informal standard (from memory): when it is set and not empty, no colour is added. Bold and dim
    # may stay.
    monkeypatch.setenv("NO_COLOR", "1")
    assert not re.search(r"\x1b\[[\d;]*3[0-9]", coatwright("plan", quick).out)


COMPILED = {key: os.environ[key] for key in ("PYTHONPYCACHEPREFIX",) if key in os.environ}
"""Where the inner loops are kept that were compiled before."""
ONE_AFTER_THE_OTHER = """
import sys
from coatwright.cli.main import run
*commands, file = sys.argv[1:]
for left, command in enumerate(commands, 1 - len(commands)):
    sys.argv[1:] = [command, file]
    try:
        run()
    except SystemExit as end:
        if end.code or not left:
            raise
    print(end="\\f")
"""
"""Commands on one file in one process, each as it runs by itself, parted by form feeds."""


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_a_terminal_without_the_letters_gets_plain_ones(quick: Path, encoding: str) -> None:
    ran = subprocess.run(
        [sys.executable, "-X", "utf8=0", "-c", ONE_AFTER_THE_OTHER, "plan", "forecast", "sheet", str(quick)],
        env={"PYTHONIOENCODING": encoding, "PATH": "", "NO_COLOR": "1", "LC_ALL": "C", **COMPILED},
        capture_output=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr.decode(encoding, "replace")
    plan, forecast, sheet = ran.stdout.decode(encoding).split("\f")
    assert all("Quill" in text for text in (plan, forecast, sheet))
    assert ("─" in plan) == ("─" in forecast) == (encoding == "utf-8")
    assert "─" not in sheet


@pytest.mark.skipif(os.name == "nt", reason="Windows has no pseudo-terminals of this kind")
def test_long_work_is_told_on_the_standard_error_while_that_is_a_terminal(quick: Path) -> None:
    import pty

    code = "import sys; from coatwright.cli.main import run; run()"
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-c", code, "plan", str(quick), "--json"],
        stdout=subprocess.PIPE, stderr=theirs, env={**os.environ, "TERM": "xterm"},
    ) as process:  # fmt: skip
        os.close(theirs)
        assert process.stdout is not None
        plan = json.loads(process.stdout.read())
        told = b""
        with contextlib.suppress(OSError):  # the other end is closed when the process ends
            while part := os.read(ours, 65536):
                told += part
        assert process.wait() == 0
    os.close(ours)
    assert plan["dog"]["name"] == "Quill"
    assert b"Planning Quill" in told


def test_the_reader_of_a_pipe_may_stop_early(quick: Path) -> None:
    code = "import sys; from coatwright.cli.main import run; run()"
    with subprocess.Popen(
        [sys.executable, "-c", code, "forecast", str(quick), "--json", "--unpulled", "--days", "700"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.read(10)
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(timeout=60) in (0, 1)
