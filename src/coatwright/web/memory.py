"""Memory that is free, handed back to the system: the C library keeps it otherwise, in case it is wanted again."""

from __future__ import annotations

import ctypes
import sys
from collections.abc import Callable


def _found() -> Callable[[int], int] | None:
    """``malloc_trim`` of the GNU C library (its manual, malloc_trim(3)); other libraries have none."""
    if not sys.platform.startswith("linux"):
        return None
    try:
        trim: Callable[[int], int] = ctypes.CDLL(None).malloc_trim
    except (AttributeError, OSError):
        return None
    return trim


_TRIM = _found()


def give_back() -> None:
    """Hand back what is free; nothing where the system cannot."""
    if _TRIM is not None:
        _TRIM(0)
