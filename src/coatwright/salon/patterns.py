"""A dog's pattern as it is kept: by the key of one that comes with the program, or whole, as TOML text."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from coatwright.errors import UnknownName

if TYPE_CHECKING:
    from coatwright.patterns.model import Pattern


def pattern_plain(pattern: Pattern) -> tuple[str, str]:
    """Key and text of a pattern; the text is empty for a pattern that comes with the program."""
    from coatwright.patterns.library import pattern as shipped
    from coatwright.patterns.writing import write_pattern

    try:
        if shipped(pattern.key) == pattern:
            return pattern.key, ""
    except UnknownName:
        pass
    return pattern.key, write_pattern(pattern)


@lru_cache(maxsize=256)
def pattern_from(key: str, text: str = "") -> Pattern:
    """The pattern that :func:`pattern_plain` told."""
    from coatwright.patterns.library import pattern as shipped
    from coatwright.patterns.reading import parse_pattern

    return parse_pattern(text, f"pattern {key}", key, shipped) if text else shipped(key)
