"""What of the environment is there already, and what is still to be done.

The stamp is a small file in the environment that names what is in it. It is taken away when pip begins to
change something and written again afterwards: an environment without its stamp is half made, and made anew.
"""

from __future__ import annotations

import hashlib
import json
import platform
import sys
from collections.abc import Mapping
from pathlib import Path

Stamp = Mapping[str, str]

# What decides whether a part of the environment is still right: the files that it was made from.
MADE_FROM: dict[str, tuple[str, ...]] = {
    "run": ("requirements.lock",),
    "dev": ("requirements-dev.lock",),
    "browser": ("browser/package.json", "browser/package-lock.json"),
    "project": ("pyproject.toml", "hatch_build.py", "src/coatwright/__init__.py"),
}
BROWSER_FILES = (
    "src/coatwright/web/static/vendor/packages.json",
    "browser/node_modules/axe-core/axe.min.js",
)


def wanted(root: Path, venv: Path) -> dict[str, str]:
    """The stamp of an environment in which all is right."""
    stamp = {
        part: hashlib.sha256(b"\0".join((root / name).read_bytes() for name in names)).hexdigest()
        for part, names in MADE_FROM.items()
    }
    stamp["python"] = f"{sys.implementation.name} {platform.python_version()} {platform.machine()}"
    stamp["place"] = str(venv)  # an environment cannot be moved
    return stamp


def read(path: Path, python: Path) -> dict[str, str] | None:
    """The stamp of the environment that is there; None when there is none or it is half made."""
    try:
        stamp = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return stamp if isinstance(stamp, dict) and python.exists() else None


def steps(have: Stamp | None, want: Stamp, part: str, browser: bool) -> list[str]:
    """What must be done so that ``part`` ("run" or "dev") works; ``browser``: its files are there."""
    if have is None or any(have.get(key) != want[key] for key in ("python", "place")):
        return ["environment", "packages", "browser", "project"]
    todo = []
    if have.get(part) != want[part]:
        todo.append("packages")
    if not browser or have.get("browser") != want["browser"]:
        todo.append("browser")
    if have.get("project") != want["project"]:
        todo.append("project")
    return todo


def after(have: Stamp, want: Stamp, step: str, part: str) -> dict[str, str]:
    """The stamp when ``step`` is done.

    Packages for the tests contain those for running; packages for running may have replaced some of those for
    the tests, so that these count as missing afterwards.
    """
    if step == "environment":
        return {key: want[key] for key in ("python", "place")}
    if step == "packages":
        kept = {key: value for key, value in have.items() if key not in ("run", "dev")}
        return kept | {key: want[key] for key in (("run", "dev") if part == "dev" else ("run",))}
    return {**have, step: want[step]}
