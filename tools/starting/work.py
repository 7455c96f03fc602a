"""Does the set-up: one step after the other, each told while it runs and kept in a log."""

from __future__ import annotations

import contextlib
import json
import os
import platform
import queue
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from importlib.util import find_spec
from pathlib import Path

from tools.starting import stamp
from tools.starting.words import PIP_CHANGES, CannotStart, explain, no_venv, progress

ROOT = Path(__file__).resolve().parents[2]
HOME = ROOT / ".coatwright"
VENV = HOME / "venv"
LOG = HOME / "set-up.log"
STAMP = VENV / "coatwright.json"
FETCHED_MB = {"run": 160, "dev": 310}  # summed over the wheels for Linux and Python 3.11, November 2026
DROPPED = (
    "PYTHONHOME", "PYTHONPATH", "PIP_USER", "PIP_TARGET", "PIP_PREFIX", "PIP_REQUIRE_VIRTUALENV",
    "PYTHONDONTWRITEBYTECODE",  # pip does not compile here, so Python must keep what it compiles
)  # fmt: skip


def in_venv(tool: str, *, venv: Path = VENV, system: str = sys.platform) -> Path:
    """Where a program of the environment lies: ``Scripts`` on Windows, ``bin`` elsewhere."""
    return venv / "Scripts" / f"{tool}.exe" if system == "win32" else venv / "bin" / tool


def clean(env: Mapping[str, str]) -> dict[str, str]:
    """The variables for what is started here: none that leads out of the environment or slows it down."""
    return {key: value for key, value in env.items() if key not in DROPPED}


def os_release() -> dict[str, str]:
    """What a Linux system says about itself; empty elsewhere."""
    try:
        return platform.freedesktop_os_release()
    except OSError:
        return {}


class Teller:
    """Tells how far a long step is: one changing line on a terminal, a line now and then elsewhere."""

    def __init__(self, title: str) -> None:
        self.title = title
        self.started = self.told = time.monotonic()
        self.live = sys.stdout.isatty()
        self.line(f"{title} ...")

    def line(self, text: str) -> None:
        """Print ``text``, over the line before it on a terminal."""
        if self.live:
            width = shutil.get_terminal_size().columns - 1
            print(f"\r{text[:width]:<{width}}", end="", flush=True)
        else:
            print(text, flush=True)

    def tell(self, text: str) -> None:
        """Show ``text`` with the seconds gone by; every five seconds where lines cannot be taken back."""
        now = time.monotonic()
        if self.live or now - self.told >= 5:
            self.told = now
            self.line(f"{self.title} ... {text} ({now - self.started:.0f} s)")

    def done(self) -> None:
        """Say that the step is over, and how long it took."""
        self.line(f"{self.title}: {time.monotonic() - self.started:.1f} s")
        if self.live:
            print(flush=True)


def run(title: str, command: list[str], *, lock: int | None = None, total: int = 0) -> None:
    """Run one step; its output goes to the log. Raises CannotStart with the cause when it fails.

    ``lock`` is the open lock file, which the step keeps open too: were this program killed, the next start
    would wait for the orphan. ``total`` is how many packages pip will name. The stamp is taken away when pip
    begins to change the environment, not before: a start without network leaves what works as it is.
    """
    teller = Teller(title)
    process = subprocess.Popen(
        command, cwd=ROOT, env=clean(os.environ), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT, text=True, encoding="utf-8", errors="replace",
        pass_fds=() if lock is None or os.name == "nt" else (lock,),
    )  # fmt: skip
    lines: queue.Queue[str | None] = queue.Queue()

    def read() -> None:
        assert process.stdout is not None
        with process.stdout:
            for line in process.stdout:
                lines.put(line)
        lines.put(None)

    threading.Thread(target=read, daemon=True).start()
    output: list[str] = []
    text, seen = "", 0
    try:
        while True:
            with contextlib.suppress(queue.Empty):
                line = lines.get(timeout=1)
                if line is None:
                    break
                output.append(line)
                if line.startswith(PIP_CHANGES):
                    STAMP.unlink(missing_ok=True)
                news, seen, total = progress(line.strip(), seen, total)
                text = news or text
            teller.tell(text or "working")
        code = process.wait()
    except BaseException:
        process.terminate()
        process.wait()
        raise
    finally:
        with LOG.open("a", encoding="utf-8") as log:
            log.write(f"$ {' '.join(command)}\n{''.join(output)}\n")
    if code != 0:
        last = "\n".join(line.rstrip()[:300] for line in output[-12:])
        cause = explain("".join(output))
        raise CannotStart(f"\n{last}\n\n{title}: this did not work. {cause}\nThe whole output is in {LOG}")
    teller.done()


@contextlib.contextmanager
def alone() -> Iterator[int]:
    """Only one set-up at a time in this folder; yields the open lock file."""
    HOME.mkdir(exist_ok=True)
    with (HOME / "lock").open("a+", encoding="utf-8") as file:
        told = False
        while not _take(file.fileno()):
            if not told:
                print("Another set-up is running in this folder; waiting for it ...", flush=True)
            told = True
            time.sleep(0.5)
        yield file.fileno()


def _take(handle: int) -> bool:
    """Lock an open file for this process until it is closed; False when another has it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def set_up(part: str) -> None:
    """Make the environment right for ``part``: "run" for the program, "dev" for the tests as well."""
    with alone() as lock:
        want = stamp.wanted(ROOT, VENV)
        now = stamp.read(STAMP, in_venv("python"))
        browser = all((ROOT / name).is_file() for name in stamp.BROWSER_FILES)
        todo = stamp.steps(now, want, part, browser)
        if "environment" in todo:
            print(f"Setting Coatwright up in {HOME}: about {FETCHED_MB[part]} MB to fetch, once.", flush=True)
        for step in todo:
            _do(step, part, lock)
            now = stamp.after(now or {}, want, step, part)
            STAMP.write_text(json.dumps(now, indent=1), encoding="utf-8")


def _do(step: str, part: str, lock: int) -> None:
    if step == "environment":
        _clear()
        run("Making an environment", [sys.executable, "-m", "venv", str(VENV)], lock=lock)
    elif step == "packages":
        _packages("Fetching packages", stamp.MADE_FROM[part][0], lock)
    elif step == "browser":
        if not (shutil.which("npm") and shutil.which("node")):
            _packages("Fetching Node.js, as there is no npm", "requirements-node.lock", lock)
        run("Fetching browser packages", [str(in_venv("python")), "hatch_build.py"], lock=lock)
    else:
        run("Installing Coatwright", [*_pip(), "--no-build-isolation", "--editable", "."], lock=lock)


def _clear() -> None:
    """Take away what is left of an environment, if there is what it takes to make another."""
    if find_spec("venv") is None or find_spec("ensurepip") is None:
        raise CannotStart(no_venv(sys.platform, os_release(), sys.version_info[:2]))
    STAMP.unlink(missing_ok=True)
    LOG.unlink(missing_ok=True)
    if VENV.exists():
        print("The environment is half made or was made for something else; making it anew.", flush=True)
        shutil.rmtree(VENV)


def _pip() -> list[str]:
    pip = [str(in_venv("python")), "-m", "pip", "--disable-pip-version-check", "--no-input"]
    return [*pip, "install", "--no-deps", "--progress-bar=off"]


def _packages(title: str, name: str, lock: int) -> None:
    """Install what a lock file names: ready-made packages with the right checksum, and no others."""
    total = len(re.findall(r"^\S+==", (ROOT / name).read_text(encoding="utf-8"), re.MULTILINE))
    options = ["--require-hashes", "--only-binary=:all:", "--no-compile", "--requirement", name]
    run(title, [*_pip(), *options], lock=lock, total=total)
