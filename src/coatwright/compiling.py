"""The compiler of the inner loops, and where it keeps what it compiled.

numba keeps compiled functions by the file that each stands in. A function that calls another file's, or reads its
constants, would be kept as it was when that other file changes: after an update old constants would live on. So
everything compiled is kept under a mark of all sources that are compiled together.
"""

from __future__ import annotations

import hashlib
import os
import sys
from pathlib import Path

import numba
import platformdirs

ROOMS = ("coat", "learning", "paper")
"""Rooms with compiled functions."""


def mark_of(package: Path) -> str:
    """A short text that differs whenever a source of these rooms does."""
    found = hashlib.sha256()
    for room in ROOMS:
        for source in sorted((package / room).glob("*.py")):
            found.update(source.name.encode() + source.read_bytes())
    return found.hexdigest()[:16]


def folder(package: Path) -> Path:
    """Where what these sources compile to is kept: with the package where it may be written, else with the user's."""
    beside = Path(sys.pycache_prefix) if sys.pycache_prefix else package / "__pycache__"
    writable = os.access(beside if beside.exists() else package, os.W_OK)
    place = beside if writable else Path(platformdirs.user_cache_dir("coatwright"))
    return place / f"compiled-{mark_of(package)}"


if not numba.config.CACHE_DIR:
    numba.config.CACHE_DIR = str(folder(Path(__file__).parent))

__all__ = ["numba"]
