"""Makes the lock files again: ``python tools/lock.py`` keeps the versions, ``--upgrade`` takes the newest.

Needs ``uv`` and ``npm``. Four files come out, all with checksums and none with the address of a registry:

    requirements.lock        what the program runs with, and what builds it
    requirements-dev.lock    the same versions, and what the tests need besides
    requirements-node.lock   Node.js as a wheel, for machines without npm
    browser/package-lock.json
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
UV = ["pip", "compile", "--quiet", "--universal", "--python-version", "3.11", "--generate-hashes"]
UV += ["--no-emit-index-url", "--no-emit-find-links", "--no-header"]
FILES: dict[str, list[str]] = {
    "requirements.lock": ["--group", "build", "pyproject.toml"],
    "requirements-dev.lock": ["--group", "dev", "--constraints", "requirements.lock", "pyproject.toml"],
    "requirements-node.lock": ["--group", "node"],
}


def tool(name: str) -> str:
    """Where ``name`` is: beside this Python, or on the path."""
    found = shutil.which(name, path=str(Path(sys.executable).parent)) or shutil.which(name)
    if found is None:
        sys.exit(f"{name} is needed to make the lock files, and is not here. Install it and try again.")
    return found


def main(upgrade: bool) -> None:
    """Write every lock file anew."""
    uv, npm = tool("uv"), tool("npm")
    for name, inputs in FILES.items():
        options = ["--upgrade"] if upgrade else []
        subprocess.run([uv, *UV, *options, *inputs, "-o", name], cwd=ROOT, check=True)
        print(f"{name}: {(ROOT / name).read_text(encoding='utf-8').count('==')} packages")
    verb = "update" if upgrade else "install"
    subprocess.run([npm, verb, "--package-lock-only"], cwd=ROOT / "browser", check=True)


if __name__ == "__main__":
    main("--upgrade" in sys.argv[1:])
