"""What start.py decides: what is still to be done, where things are on each system, and what it says."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tools.starting import stamp
from tools.starting.browsers import apt_command, find_chromium, places
from tools.starting.commands import checks, main, split, wants_browser
from tools.starting.words import CannotStart, explain, no_chromium, no_venv, progress
from tools.starting.work import clean, in_venv

ROOT = Path(__file__).resolve().parent.parent
DEBIAN = {"ID": "debian"}
RASPBIAN = {"ID": "raspbian", "ID_LIKE": "debian"}
UBUNTU = {"ID": "ubuntu", "ID_LIKE": "debian"}
MINT = {"ID": "linuxmint", "ID_LIKE": "ubuntu debian"}
FEDORA = {"ID": "fedora"}

WANT = {"python": "P", "place": "V", "run": "r1", "dev": "d1", "browser": "b1", "project": "p1"}
WHOLE = dict(WANT)
RUNNING = {key: value for key, value in WANT.items() if key != "dev"}
ALL = ["environment", "packages", "browser", "project"]


# --- what is to be done -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("have", "part", "browser", "todo"),
    [
        (None, "run", True, ALL),  # nothing there, or half made
        (None, "dev", False, ALL),
        (WHOLE, "run", True, []),
        (WHOLE, "dev", True, []),
        (RUNNING, "run", True, []),
        (RUNNING, "dev", True, ["packages"]),  # the tests need more than the program
        (WHOLE, "run", False, ["browser"]),  # someone cleaned the ignored files away
        (WHOLE | {"python": "other"}, "run", True, ALL),  # another Python
        (WHOLE | {"place": "moved"}, "run", True, ALL),  # an environment cannot be moved
        (WHOLE | {"run": "old"}, "run", True, ["packages"]),
        (WHOLE | {"run": "old"}, "dev", True, []),  # what the tests need is in
        (WHOLE | {"browser": "old"}, "run", True, ["browser"]),
        (WHOLE | {"project": "old"}, "dev", True, ["project"]),
        ({"python": "P", "place": "V"}, "run", True, ["packages", "browser", "project"]),
    ],
)
def test_only_what_is_missing_is_done(have, part, browser, todo):
    assert stamp.steps(have, WANT, part, browser) == todo


@pytest.mark.parametrize("part", ["run", "dev"])
@pytest.mark.parametrize(
    "have", [None, RUNNING, WHOLE, WHOLE | {"run": "old", "dev": "old", "project": "old"}]
)
def test_after_the_steps_nothing_is_left_to_do(have, part):
    now = have
    for step in stamp.steps(have, WANT, part, browser=True):
        now = stamp.after(now or {}, WANT, step, part)
    assert stamp.steps(now, WANT, part, browser=True) == []


def test_stopped_after_any_step_the_rest_is_still_to_do():
    now: dict[str, str] = {}
    for done, step in enumerate(ALL, 1):
        now = stamp.after(now, WANT, step, "dev")
        assert stamp.steps(now, WANT, "dev", browser=True) == ALL[done:]


def test_newer_packages_for_running_put_those_for_the_tests_in_question():
    now = stamp.after(WHOLE | {"run": "old"}, WANT, "packages", "run")
    assert stamp.steps(now, WANT, "dev", browser=True) == ["packages"]


@pytest.mark.parametrize(
    ("name", "changed"),
    [
        ("requirements.lock", "run"),
        ("requirements-dev.lock", "dev"),
        ("browser/package-lock.json", "browser"),
        ("pyproject.toml", "project"),
        ("hatch_build.py", "project"),
    ],
)
def test_a_changed_file_changes_its_part_of_the_stamp_only(tmp_path, name, changed):
    for file in (file for files in stamp.MADE_FROM.values() for file in files):
        (tmp_path / file).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / file).write_bytes((ROOT / file).read_bytes())
    before = stamp.wanted(tmp_path, tmp_path / "venv")
    (tmp_path / name).write_bytes(b"another")
    after = stamp.wanted(tmp_path, tmp_path / "venv")
    assert {key for key in before if before[key] != after[key]} == {changed}


def test_a_broken_stamp_or_a_lost_python_counts_as_half_made(tmp_path):
    path, python = tmp_path / "stamp.json", Path(sys.executable)
    assert stamp.read(path, python) is None
    path.write_text('{"run": "r1"', encoding="utf-8")
    assert stamp.read(path, python) is None
    path.write_text("[]", encoding="utf-8")
    assert stamp.read(path, python) is None
    path.write_text('{"run": "r1"}', encoding="utf-8")
    assert stamp.read(path, python) == {"run": "r1"}
    assert stamp.read(path, tmp_path / "python-that-was-uninstalled") is None


# --- each system ------------------------------------------------------------------------------------------


def test_programs_of_the_environment_lie_where_each_system_puts_them():
    venv = Path("home", "venv")
    assert in_venv("python", venv=venv, system="linux") == venv / "bin" / "python"
    assert in_venv("coatwright", venv=venv, system="darwin") == venv / "bin" / "coatwright"
    assert in_venv("coatwright", venv=venv, system="win32") == venv / "Scripts" / "coatwright.exe"


def test_variables_that_lead_out_of_the_environment_or_slow_it_down_are_dropped():
    env = {
        "PYTHONPATH": "x",
        "PIP_USER": "1",
        "PIP_TARGET": "y",
        "PYTHONDONTWRITEBYTECODE": "1",
        "PIP_CERT": "kept",
        "PATH": "kept",
    }
    assert clean(env) == {"PIP_CERT": "kept", "PATH": "kept"}


@pytest.mark.parametrize(
    ("system", "env", "there"),
    [
        ("linux", {}, "chromium-browser"),
        ("darwin", {}, "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"),
        ("darwin", {"HOME": "/Users/u"}, "/Users/u/Applications/Chromium.app/Contents/MacOS/Chromium"),
        ("win32", {"ProgramFiles(x86)": "C:\\P"}, r"C:\P\Microsoft\Edge\Application\msedge.exe"),
        ("win32", {"LocalAppData": "C:\\L"}, r"C:\L\Google\Chrome\Application\chrome.exe"),
    ],
)
def test_chromium_is_found_where_each_system_keeps_it(system, env, there):
    assert find_chromium(system, env, lambda place: place if place == there else None) == there


def test_chromium_itself_comes_before_browsers_made_from_it():
    assert find_chromium("linux", {}, lambda place: f"/usr/bin/{place}") == "/usr/bin/chromium"
    assert places("linux", {}).index("chromium-browser") < places("linux", {}).index("google-chrome")


def test_a_named_chromium_is_taken_or_its_absence_told():
    env = {"COATWRIGHT_CHROMIUM": "/opt/own/chromium"}
    assert find_chromium("linux", env, lambda place: place) == "/opt/own/chromium"
    with pytest.raises(CannotStart, match="/opt/own/chromium"):
        find_chromium("linux", env, lambda place: None if place.startswith("/opt") else place)


def test_no_chromium_anywhere_is_none():
    assert find_chromium("win32", {"ProgramFiles": "C:\\P"}, lambda place: None) is None


@pytest.mark.parametrize(
    ("release", "user", "apt", "possible"),
    [
        (DEBIAN, 0, True, True),
        (RASPBIAN, 0, True, True),
        (DEBIAN, 1000, True, False),  # asks nobody for a password
        (DEBIAN, 0, False, False),
        (UBUNTU, 0, True, False),  # its package is only a pointer to a snap
        (MINT, 0, True, False),
        (FEDORA, 0, False, False),
        ({}, None, False, False),
    ],
)
def test_apt_is_used_only_by_root_on_debian(release, user, apt, possible):
    command = apt_command(release, user, lambda name: f"/usr/bin/{name}" if apt else None)
    assert (command[:3] == ["apt-get", "install", "-y"]) is possible
    assert bool(command) is possible


# --- what it says -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("system", "release", "remedy"),
    [
        ("linux", DEBIAN, "apt-get install -y chromium"),
        ("linux", UBUNTU, "package manager"),
        ("linux", FEDORA, "package manager"),
        ("darwin", {}, "Applications"),
        ("win32", {}, "Microsoft Edge"),
    ],
)
def test_a_missing_chromium_is_told_with_its_remedy(system, release, remedy):
    text = no_chromium(system, release)
    assert remedy in text
    assert "COATWRIGHT_CHROMIUM" in text
    assert "start.py test -m 'not e2e'" in text


def test_the_way_round_a_missing_chromium_needs_none():
    assert not wants_browser(["-m", "not e2e"])
    assert wants_browser([])
    assert wants_browser(["-k", "project"])


@pytest.mark.parametrize(
    ("system", "release", "remedy"),
    [
        ("linux", DEBIAN, "apt-get install python3.11-venv"),
        ("linux", UBUNTU, "apt-get install python3.11-venv"),
        ("linux", FEDORA, "python3-pip"),
        ("win32", {}, "installer"),
    ],
)
def test_a_missing_venv_is_told_with_its_remedy(system, release, remedy):
    assert remedy in no_venv(system, release, (3, 11))


# Words that pip 23 and npm 11 printed when each was brought about; the last three are from memory.
@pytest.mark.parametrize(
    ("output", "cause"),
    [
        ("NewConnectionError('...: [Errno 111] Connection refused')", "network"),
        ("NewConnectionError('...: [Errno -2] Name or service not known')", "network"),
        ("npm error   code: 'ECONNREFUSED',", "network"),
        ("ERROR: No matching distribution found for numpy==2.4.6", "this Python"),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.", "checksum"),
        ("[Errno 28] No space left on device: 'styles/vim.py'", "disk is full"),
        ("[SSL: CERTIFICATE_VERIFY_FAILED] certificate verify failed", "certificate"),
        ("PermissionError: [WinError 5] Access is denied", "cannot be written"),
        ("HINT: this system does not have Windows Long Path support enabled", "too long"),
    ],
)  # fmt: skip
def test_a_failure_is_told_by_its_cause(output, cause):
    assert cause in explain(f"Collecting numpy\n{output}\n")


def test_a_network_failure_is_not_taken_for_the_missing_package_that_pip_names_last():
    output = (
        "WARNING: Retrying after connection broken by 'NewConnectionError'\nERROR: No matching distribution"
    )
    assert "network" in explain(output)


def test_an_unknown_failure_claims_nothing():
    assert explain("Segmentation fault") == "Its last words are above."


def test_progress_counts_the_packages_that_apply_here():
    lines = [
        "Ignoring colorama: markers 'sys_platform == \"win32\"' don't match your environment",
        "Collecting numpy==2.4.6 (from -r requirements.lock (line 391))",
        "Downloading numpy-2.4.6-cp311-cp311-manylinux_2_28_x86_64.whl (16.9 MB)",
        "Requirement already satisfied: idna==3.20 in /x (from -r requirements.lock (line 144)) (3.20)",
        "Using cached something.whl (5 kB)",
        "Installing collected packages: numpy, idna",
    ]
    seen, total, said = 0, 3, []
    for line in lines:
        text, seen, total = progress(line, seen, total)
        said.append(text)
    assert said == [
        "",
        "1 of 2, numpy",
        "1 of 2, numpy, 16.9 MB",
        "2 of 2, idna",
        "",
        "all fetched, putting them in place",
    ]


# --- its commands -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "command", "options"),
    [
        ([], "desk", []),
        (["--port", "8100"], "desk", ["--port", "8100"]),
        (["desk", "--no-browser"], "desk", ["--no-browser"]),
        (["test", "-k", "project"], "test", ["-k", "project"]),
        (["bench"], "bench", []),
        (["--help"], "help", []),
    ],
)
def test_the_command_line_is_taken_apart(arguments, command, options):
    assert split(arguments) == (command, options)


def test_an_unknown_command_is_told_before_anything_is_set_up(capsys):
    assert main(["tset"], "usage") == 2
    assert "There is no command 'tset'; there are desk, test, bench." in capsys.readouterr().err


def test_every_check_is_run_and_pytest_comes_last():
    names = list(checks([]))
    assert {"ruff check", "ruff format", "mypy", "lint-imports", "compile", "pytest"} == set(names)
    assert names[-1] == "pytest"


TWO = ["-n", "2", "--dist", "worksteal"]


@pytest.mark.parametrize(
    ("options", "tail"),
    [([], TWO), (["-x"], [*TWO, "-x"]), (["-n0"], ["-n0"]), (["--pdb"], ["--pdb"])],
)
def test_two_processes_test_unless_told_otherwise(options, tail):
    assert checks(options)["pytest"][3:] == tail


# --- its promise to need nothing but Python ---------------------------------------------------------------

FILES = [ROOT / "start.py", *sorted((ROOT / "tools" / "starting").glob("*.py"))]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_only_the_standard_library_is_imported(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        for name in names:
            assert name.split(".")[0] in sys.stdlib_module_names | {"tools", "__future__"}, name


def test_an_old_python_reads_start_py_as_far_as_its_one_sentence():
    source = (ROOT / "start.py").read_text(encoding="utf-8")
    tree = ast.parse(source, feature_version=(3, 8))
    before = tree.body[: next(i for i, node in enumerate(tree.body) if isinstance(node, ast.If))]
    assert {alias.name for node in before if isinstance(node, ast.Import) for alias in node.names} == {
        "platform",
        "sys",
    }
    old = re.sub(r"sys\.version_info < \(3, 11\)", "sys.version_info > (3, 11)", source)
    assert old != source
    ran = subprocess.run([sys.executable, "-c", old], capture_output=True, text=True, check=False)
    assert ran.returncode == 1
    assert re.fullmatch(r"Coatwright needs Python 3\.11 or later, and this is Python [\d.]+\S*\n", ran.stderr)


def test_help_is_given_without_setting_anything_up(tmp_path):
    ran = subprocess.run(
        [sys.executable, "-I", "-B", str(ROOT / "start.py"), "--help"],
        cwd=tmp_path,
        env={key: os.environ[key] for key in ("PATH", "SYSTEMROOT") if key in os.environ},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert "python3 start.py test" in ran.stdout
