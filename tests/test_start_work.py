"""The set-up at work: steps that fail, are cut off, or get in each other's way."""

from __future__ import annotations

import json
import subprocess
import sys
import textwrap
import threading

import pytest

from tools.starting import stamp, work
from tools.starting.words import PIP_CHANGES, CannotStart


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A folder for the set-up to work in, with an environment that has a Python and a stamp."""
    venv = tmp_path / ".coatwright" / "venv"
    python = work.in_venv("python", venv=venv)
    python.parent.mkdir(parents=True)
    python.touch()
    monkeypatch.setattr(work, "HOME", tmp_path / ".coatwright")
    monkeypatch.setattr(work, "VENV", venv)
    monkeypatch.setattr(work, "LOG", tmp_path / ".coatwright" / "set-up.log")
    monkeypatch.setattr(work, "STAMP", venv / "coatwright.json")
    monkeypatch.setattr(work, "in_venv", lambda tool: python.with_name(tool))
    return tmp_path


def program(source: str) -> list[str]:
    return [sys.executable, "-c", textwrap.dedent(source)]


def test_a_step_that_works_is_told_with_its_time_and_kept_in_the_log(home, capsys):
    work.run("Fetching", program("print('Collecting numpy==2.0')"))
    assert "Fetching: " in capsys.readouterr().out
    assert "Collecting numpy==2.0" in work.LOG.read_text(encoding="utf-8")


def test_a_step_that_fails_is_told_with_its_last_words_and_the_cause(home):
    with pytest.raises(CannotStart) as told:
        work.run(
            "Fetching", program("print('x' * 9000); raise SystemExit('[Errno 28] No space left on device')")
        )
    text = str(told.value)
    assert "No space left on device" in text
    assert "Fetching: this did not work. The disk is full." in text
    assert str(work.LOG) in text
    assert len(text) < 1000


def test_a_step_reads_nothing_from_the_keyboard(home):
    work.run("Fetching", program("import sys; assert sys.stdin.read() == ''"))


def test_a_failure_before_pip_changes_anything_leaves_the_stamp(home):
    work.STAMP.write_text("{}", encoding="utf-8")
    with pytest.raises(CannotStart):
        work.run("Fetching", program("print('Collecting numpy'); raise SystemExit(1)"))
    assert work.STAMP.exists()


def test_the_stamp_is_away_once_pip_changes_something(home):
    work.STAMP.write_text("{}", encoding="utf-8")
    with pytest.raises(CannotStart):
        work.run("Fetching", program(f"print('{PIP_CHANGES}: numpy'); raise SystemExit(1)"))
    assert not work.STAMP.exists()


def test_pip_says_what_the_stamp_waits_for(tmp_path):
    """The words are pip's own: a package of one file, installed for real, without any network."""
    (tmp_path / "pyproject.toml").write_text(
        '[build-system]\nrequires = ["hatchling"]\nbuild-backend = "hatchling.build"\n'
        '[project]\nname = "one-file"\nversion = "1"\n[tool.hatch.build]\ninclude = ["one_file.py"]\n',
        encoding="utf-8",
    )
    (tmp_path / "one_file.py").touch()
    command = [sys.executable, "-m", "pip", "install", "--no-index", "--no-deps", "--no-build-isolation"]
    command += ["--target", str(tmp_path / "there"), str(tmp_path)]
    said = subprocess.run(command, capture_output=True, text=True, check=True, env=work.clean({})).stdout
    assert any(line.startswith(PIP_CHANGES) for line in said.splitlines())


def test_a_second_set_up_waits_for_the_first(home, capsys):
    order = []

    def second() -> None:
        with work.alone():
            order.append("second")

    thread = threading.Thread(target=second)
    with work.alone():
        thread.start()
        thread.join(timeout=0.3)
        assert thread.is_alive()
        order.append("first")
    thread.join(timeout=10)
    assert order == ["first", "second"]
    assert "waiting for it" in capsys.readouterr().out


def test_set_up_goes_on_where_it_failed_and_does_nothing_twice(home, monkeypatch):
    done = []
    network = False

    def do(step: str, part: str, lock: int) -> None:
        if step == "browser" and not network:
            raise CannotStart("no network")
        done.append(step)

    monkeypatch.setattr(work, "_do", do)
    monkeypatch.setattr(stamp, "BROWSER_FILES", ())
    with pytest.raises(CannotStart):
        work.set_up("dev")
    assert done == ["environment", "packages"]
    network = True
    work.set_up("dev")
    assert done == ["environment", "packages", "browser", "project"]
    work.set_up("dev")
    work.set_up("run")
    assert len(done) == 4
    assert json.loads(work.STAMP.read_text(encoding="utf-8")) == stamp.wanted(work.ROOT, work.VENV)


def test_an_environment_without_its_stamp_is_made_anew(home, monkeypatch, capsys):
    commands = []

    def run(title: str, command: list[str], **_: object) -> None:
        commands.append(command)
        work.VENV.mkdir(exist_ok=True)

    monkeypatch.setattr(work, "run", run)
    monkeypatch.setattr(stamp, "BROWSER_FILES", ())
    half = work.VENV / "half a package"
    half.touch()
    work.set_up("run")
    assert not half.exists()
    assert "half made" in capsys.readouterr().out
    assert commands[0][1:] == ["-m", "venv", str(work.VENV)]
    assert "--require-hashes" in commands[1]
    assert commands[-1][-2:] == ["--editable", "."]
