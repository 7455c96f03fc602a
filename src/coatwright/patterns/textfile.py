"""Read a small text file that a user wrote, or say plainly why it cannot be used."""

from __future__ import annotations

from pathlib import Path

from coatwright.errors import FileFormatError


def read_small_text(file: Path, *, thing: str, choose: str, largest: int) -> str:
    """The text of a UTF-8 file of at most ``largest`` bytes.

    ``thing`` is what the file should hold ("a pattern") and ``choose`` the file to choose instead ("a pattern
    file"). Raises :class:`FileFormatError` for a file that cannot be read, is too large or is not text.
    """
    try:
        data = file.read_bytes()
    except OSError as error:
        raise FileFormatError(
            f"The file cannot be read: {error.strerror or error}.",
            where=str(file),
            remedy="Check its name and place, and that you may read it.",
        ) from error
    if len(data) > largest:
        raise FileFormatError(
            f"The file has {len(data) / 1e6:.1f} MB; {thing} has a few kB.",
            where=str(file),
            remedy=f"Choose {choose}.",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FileFormatError(
            "The file is not text in UTF-8.",
            where=f"{file}, line {line}",
            remedy=f"Save it as UTF-8 in your editor, or choose {choose}.",
        ) from error
