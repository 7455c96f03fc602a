"""Where Chromium is on this machine, for the tests that drive a real browser."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Mapping

from tools.starting.words import CannotStart, is_debian

Which = Callable[[str], str | None]
NAMES = (
    "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge", "msedge",
)  # fmt: skip
MAC_APPS = ("Chromium", "Google Chrome", "Microsoft Edge")
WINDOWS_PROGRAMS = (
    r"Chromium\Application\chrome.exe",
    r"Google\Chrome\Application\chrome.exe",
    r"Microsoft\Edge\Application\msedge.exe",
)
WINDOWS_FOLDERS = ("ProgramFiles", "ProgramFiles(x86)", "LocalAppData")


def places(system: str, env: Mapping[str, str]) -> list[str]:
    """Names to look for on the path, and full paths, in the order in which they are tried."""
    if system == "darwin":
        folders = ["/Applications", *([env["HOME"] + "/Applications"] if env.get("HOME") else [])]
        return [
            *NAMES,
            *(f"{folder}/{app}.app/Contents/MacOS/{app}" for folder in folders for app in MAC_APPS),
        ]
    if system == "win32":
        folders = [env[name] for name in WINDOWS_FOLDERS if env.get(name)]
        return [*NAMES, "chrome", *(f"{folder}\\{app}" for folder in folders for app in WINDOWS_PROGRAMS)]
    return list(NAMES)


def find_chromium(
    system: str = sys.platform,
    env: Mapping[str, str] = os.environ,
    which: Which = shutil.which,
) -> str | None:
    """The browser for the tests: ``COATWRIGHT_CHROMIUM`` if set, else the first one found, else None.

    Raises CannotStart when ``COATWRIGHT_CHROMIUM`` names something that is not there.
    """
    named = env.get("COATWRIGHT_CHROMIUM")
    if named:
        found = which(named)
        if found is None:
            raise CannotStart(f"COATWRIGHT_CHROMIUM names {named}, but there is no such program.")
        return found
    return next((found for place in places(system, env) if (found := which(place))), None)


def apt_command(
    release: Mapping[str, str], user: int | None, which: Callable[[str], str | None]
) -> list[str]:
    """How to install Chromium from here without asking anyone; empty where that cannot be done."""
    if user != 0 or not is_debian(release) or not which("apt-get"):
        return []
    return ["apt-get", "install", "-y", "--no-install-recommends", "chromium", "fonts-liberation"]
