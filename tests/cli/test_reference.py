"""The reference of the command line is as the program has it, and help is quick."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from coatwright.cli.reference import BEGIN, END, filled, helps, pages
from tests.cli.conftest import ROOT, Coatwright

PAGE = ROOT / "docs" / "reference" / "command-line.md"
HELP_S = 0.3
HEAVY = {
    "numpy",
    "scipy",
    "rich",
    "sqlalchemy",
    "highspy",
    "numba",
    "fastapi",
    "typst",
    "alembic",
    "icalendar",
}


def test_the_reference_has_the_help_of_every_command() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert pages()["command-line.md"] in page, "python -m coatwright.cli.reference docs/reference"
    for path, text in helps():
        assert f"## `{path}`" in page
        for option in re.findall(r"^ +(--[a-z-]+)", text, re.MULTILINE):
            assert option in page


def test_the_error_in_the_reference_is_the_one_that_is_told(
    coatwright: Coatwright, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    example = (ROOT / "examples" / "bracken.toml").read_text(encoding="utf-8")
    spoilt = example.replace("back = { share = 0.35", "back = { share = 1.4")
    assert spoilt != example
    Path("bracken.toml").write_text(spoilt, encoding="utf-8")
    told = coatwright("plan", "bracken.toml").err
    assert f"```text\n{told}```" in PAGE.read_text(encoding="utf-8")


def test_every_option_says_what_it_is_for() -> None:
    for path, text in helps():
        _, _, options = text.partition("Options:\n")
        options, _, _ = options.partition("Commands:\n")
        for line in re.findall(r"^  -.*(?:\n {10,}.*)*", options, re.MULTILINE):
            assert re.search(r"  \w.*|\n +\w", line), f"{path}: {line}"


def test_help_lines_fit_eighty_columns_and_summaries_are_whole() -> None:
    for path, text in helps():
        assert max(map(len, text.splitlines())) <= 80, path
        commands = text.partition("Commands:\n")[2]
        assert "..." not in commands, path


def test_the_help_that_is_shown_is_the_one_in_the_reference(coatwright: Coatwright) -> None:
    shown = coatwright("plan", "--help")
    assert shown.code == 0
    words = dict(helps())["coatwright plan"].split()
    assert shown.out.split() == words


@pytest.mark.parametrize("group", [(), ("salon",), ("pattern",)])
def test_a_bare_group_shows_its_help(coatwright: Coatwright, group: tuple[str, ...]) -> None:
    ran = coatwright(*group)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.split() == coatwright(*group, "--help").out.split()


def test_pages_are_filled_between_their_marks_only() -> None:
    page = f"before\n\n{BEGIN}\nold\n{END}\n\nafter\n"
    once = filled(page, "new\n")
    assert once == f"before\n\n{BEGIN}\n\nnew\n\n{END}\n\nafter\n"
    assert filled(once, "new\n") == once


def test_the_commands_that_documents_name_are_there() -> None:
    known = {path.removeprefix("coatwright").strip() for path, _ in helps()}
    firsts = {path.split()[0] for path in known if path}
    groups = {path.split()[0] for path in known if " " in path}
    for document in [*ROOT.glob("docs/**/*.md"), ROOT / "README.md"]:
        for found in re.finditer(
            r"(?m)(?:^ {4}|^|`)coatwright ([a-z][a-z-]*)(?: ([a-z][a-z-]*))?",
            document.read_text(encoding="utf-8"),
        ):
            assert found[1] in firsts, f"{document.name}: {found[0]}"
            if found[1] in groups and found[2]:
                assert f"{found[1]} {found[2]}" in known, f"{document.name}: {found[0]}"


def fresh(*arguments: str) -> subprocess.CompletedProcess[str]:
    """A Python of its own that runs the command line."""
    code = "import sys; from coatwright.cli.main import run; run()"
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def test_help_and_version_load_nothing_heavy() -> None:
    code = (
        "import sys, json; from coatwright.cli.main import call; call(sys.argv[1:]);"
        "print(json.dumps(sorted(sys.modules)), file=sys.stderr)"
    )
    for arguments in (["--help"], ["--version"], ["plan", "--help"], ["salon"]):
        ran = subprocess.run(
            [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=True
        )
        loaded = {name.partition(".")[0] for name in json.loads(ran.stderr)}
        assert not loaded & HEAVY, arguments


def test_help_answers_within_three_tenths_of_a_second() -> None:
    fresh("--help")
    times = []
    for _ in range(7):
        start = time.perf_counter()
        ran = fresh("--help")
        times.append(time.perf_counter() - start)
        assert ran.returncode == 0
    assert min(times) < HELP_S, times


def test_the_version_is_the_packages_own(coatwright: Coatwright) -> None:
    import coatwright as package

    assert coatwright("--version").out == f"Coatwright {package.__version__}\n"


def test_json_alone_is_on_the_standard_output(quick: Path) -> None:
    ran = fresh("plan", str(quick), "--json")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert json.loads(ran.stdout)["kind"] == "plan"


def test_errors_of_a_real_process_go_to_the_standard_error(quick: Path) -> None:
    ran = fresh("sheet", str(quick), "--day", "2027-02-01")
    assert (ran.returncode, ran.stdout.partition("{")[0]) == (2, "")
    assert ran.stderr.startswith("Error   No visit is planned on 2027-02-01.")
