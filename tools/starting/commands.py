"""The commands of start.py: the desk, the tests, the benchmarks."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

from tools.starting.browsers import apt_command, find_chromium
from tools.starting.words import CannotStart, no_chromium
from tools.starting.work import HOME, ROOT, clean, in_venv, os_release, run, set_up

COMMANDS = ("desk", "test", "bench")


def main(arguments: list[str], usage: str) -> int:
    """Do what the command line asks; the exit code."""
    command, options = split(arguments)
    if command == "help":
        print(usage)
        return 0
    if command not in COMMANDS:
        print(
            f"There is no command {command!r}; there are {', '.join(COMMANDS)}.\n\n{usage}", file=sys.stderr
        )
        return 2
    try:
        return {"desk": desk, "test": test, "bench": bench}[command](options)
    except CannotStart as error:
        print(error, file=sys.stderr)
    except PermissionError as error:
        print(
            f"{error.filename} cannot be changed. If this folder is not yours, copy it to a place of your "
            "own; if the desk is running from it, stop that first.",
            file=sys.stderr,
        )
    except KeyboardInterrupt:
        print("\nStopped. What is missing is made good at the next start.", file=sys.stderr)
        return 130
    return 1


def split(arguments: list[str]) -> tuple[str, list[str]]:
    """The command and its options: the desk when none is named."""
    if arguments[:1] in (["-h"], ["--help"], ["help"]):
        return "help", []
    if not arguments or arguments[0].startswith("-"):
        return "desk", arguments
    return arguments[0], arguments[1:]


def desk(options: list[str]) -> int:
    """The desk with the demo salon, until it is stopped."""
    set_up("run")
    data = []
    if not any(option.partition("=")[0] == "--data" for option in options):
        (HOME / "demo").mkdir(exist_ok=True)
        data = ["--data", str(HOME / "demo")]
    command = [str(in_venv("coatwright")), "desk", "--demo", *data, *options]
    if os.name != "nt":
        os.execve(command[0], command, clean(os.environ))
    return subprocess.call(command, env=clean(os.environ))


def bench(options: list[str]) -> int:
    """The benchmarks."""
    set_up("dev")
    command = [str(in_venv("python")), "-m", "tests.bench", *options]
    return subprocess.call(command, cwd=ROOT, env=clean(os.environ))


def test(options: list[str]) -> int:
    """Every check, then every test; 0 when all is well."""
    env = clean(os.environ)
    if wants_browser(options):
        env["COATWRIGHT_CHROMIUM"] = chromium()
    set_up("dev")
    failed = []
    started = {name: subprocess.Popen(command, cwd=ROOT, env=env) for name, command in aside().items()}
    for name, command in checks(options).items():
        print(f"\n== {name}", flush=True)
        running = started.get(name) or subprocess.Popen(command, cwd=ROOT, env=env)
        if running.wait() != 0:
            failed.append(name)
    if failed:
        print(f"\nNot well: {', '.join(failed)}", flush=True)
    return 1 if failed else 0


def checks(options: list[str]) -> dict[str, list[str]]:
    """The checks by name, quick ones first; ``options`` go to pytest, which uses two processes by itself, where the
    one that is done first takes tests over from the other.
    """
    python = str(in_venv("python"))
    own = any(option.startswith(("-n", "--numprocesses", "--pdb", "--trace")) for option in options)
    return {
        "ruff check": [python, "-m", "ruff", "check", "."],
        "ruff format": [python, "-m", "ruff", "format", "--check", "."],
        "mypy": [python, "-m", "mypy"],
        "lint-imports": [str(in_venv("lint-imports")), "--no-logo"],
        **aside(),
        "pytest": [python, "-m", "pytest", *([] if own else ["-n", "2", "--dist", "worksteal"]), *options],
    }


def aside() -> dict[str, list[str]]:
    """What goes on beside the quick checks, and is waited for in its turn."""
    return {"compile": [str(in_venv("python")), "-m", "tests.ahead"]}


def wants_browser(options: list[str]) -> bool:
    """Whether the tests to be run may drive a browser: unless ``-m "not e2e"`` rules them out."""
    return "not e2e" not in " ".join(options)


def chromium() -> str:
    """The browser for the tests, installed with apt where that can be done from here."""
    found = find_chromium()
    user = os.getuid() if sys.platform != "win32" else None
    if found is None and (command := apt_command(os_release(), user, shutil.which)):
        HOME.mkdir(exist_ok=True)
        os.environ["DEBIAN_FRONTEND"] = "noninteractive"
        run("Reading Debian's list of packages", ["apt-get", "update"])
        run("Installing Chromium", command)
        found = find_chromium()
    if found is None:
        raise CannotStart(no_chromium(sys.platform, os_release()))
    return found
