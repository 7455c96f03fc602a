"""What is said when something is missing or goes wrong: the cause and the remedy, in plain words."""

from __future__ import annotations

import platform
import re
from collections.abc import Mapping


class CannotStart(Exception):  # noqa: N818 - reads as what it is
    """Something is missing; the text says what, and what to do about it."""


def families(release: Mapping[str, str]) -> set[str]:
    """The names under which a Linux system goes, from its os-release file."""
    return {release.get("ID", ""), *release.get("ID_LIKE", "").split()} - {""}


def is_debian(release: Mapping[str, str]) -> bool:
    """Whether apt's package ``chromium`` is the browser itself (on Ubuntu it only points to a snap)."""
    return "debian" in families(release) and "ubuntu" not in families(release)


def no_chromium(system: str, release: Mapping[str, str]) -> str:
    """What to say when there is no browser for the tests and none can be installed from here."""
    if system == "win32":
        how = "Microsoft Edge, Google Chrome or Chromium will do; install one of them"
    elif system == "darwin":
        how = "Google Chrome, Microsoft Edge or Chromium will do; install one of them in Applications"
    elif is_debian(release):
        how = "Install it as root (apt-get update && apt-get install -y chromium)"
    else:
        how = "Install chromium or google-chrome with the package manager of this system"
    return (
        f"The browser tests need Chromium, and there is none here. {how}, or say where it is "
        "in COATWRIGHT_CHROMIUM.\nTo run the other tests only: python3 start.py test -m 'not e2e'"
    )


def no_venv(system: str, release: Mapping[str, str], version: tuple[int, int]) -> str:
    """What to say when Python comes without venv or ensurepip."""
    if families(release) & {"debian", "ubuntu"}:
        how = f"Install it as root: apt-get install python{version[0]}.{version[1]}-venv"
    elif system.startswith("linux"):
        how = "Install the system's packages for Python's venv and pip (often called python3-pip)"
    else:
        how = "Install Python anew, with the installer of the Python project"
    return f"This Python lacks venv or ensurepip, with which Coatwright makes its own environment. {how}."


# What pip, npm, apt and the system say, and what it means. The first that fits is told.
FAILURES: tuple[tuple[str, str], ...] = (
    (
        r"No space left|ENOSPC|not enough space",
        "The disk is full. Make 1.5 GB of room, then start again.",
    ),
    (
        r"DO NOT MATCH THE HASHES|EINTEGRITY",
        "A package is not the one that was locked: its checksum differs, so it was not installed. A proxy or "
        "mirror may have changed it. Start again; if that does not help, report it.",
    ),
    (
        r"CERTIFICATE_VERIFY_FAILED|SSLError|SELF_SIGNED_CERT|UNABLE_TO_GET_ISSUER_CERT",
        "The certificate of the package registry is not trusted here. Behind a company's proxy, name its "
        "certificate file in PIP_CERT and NODE_EXTRA_CA_CERTS, then start again.",
    ),
    (
        r"name resolution|Name or service not known|nodename nor servname|getaddrinfo|NewConnectionError|"
        r"unreachable|Connection refused|timed out|Max retries|ProxyError|ENOTFOUND|EAI_AGAIN|ECONN|"
        r"ETIMEDOUT|Could not resolve|Failed to fetch",
        "The packages could not be fetched: there is no way to the network. The first start needs one, later "
        "starts do not. Look at the connection (behind a proxy, set HTTPS_PROXY), then start again.",
    ),
    (
        r"No matching distribution|Could not find a version|not a supported wheel",
        "No ready-made package for {here} was found. If the network is there, the cause is this Python: "
        "3.11 to 3.14, 64 bit, on Linux, macOS or Windows will do.",
    ),
    (
        r"Long Path|WinError 206",
        "A path is too long for Windows. Move this folder nearer to the root of the drive, then start again.",
    ),
    (
        r"Permission denied|WinError 5\b|EACCES|Read-only file system",
        "This folder cannot be written to. Copy it to a place of your own, then start again.",
    ),
)


def explain(output: str) -> str:
    """The likely cause and the remedy, from what a program printed before it gave up."""
    here = f"Python {platform.python_version()} on {platform.system()} {platform.machine()}"
    for pattern, text in FAILURES:
        if re.search(pattern, output):
            return text.format(here=here)
    return "Its last words are above."


PIP_CHANGES = "Installing collected packages"  # what pip prints before it puts the first one in place


def progress(line: str, seen: int, total: int) -> tuple[str, int, int]:
    """How far pip is, from a line that it prints: (text, or "" for none; packages seen; of how many)."""
    if line.startswith("Ignoring "):
        return "", seen, total - 1
    if line.startswith(("Collecting ", "Requirement already satisfied: ")):
        name = re.split(r"[=<>~ ]", re.sub(r"^(Collecting|Requirement already satisfied:) ", "", line))[0]
        return f"{seen + 1} of {total}, {name}", seen + 1, total
    if found := re.search(r"Downloading (\S+?)-\S+ \(([\d.]+ [MG]B)\)", line):
        return f"{seen} of {total}, {found[1]}, {found[2]}", seen, total
    if line.startswith(PIP_CHANGES):
        return "all fetched, putting them in place", seen, total
    return "", seen, total
