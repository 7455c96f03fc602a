"""Setting a page with Typst: templates of this package, everything else as data.

What a user wrote reaches Typst as a JSON string in ``sys.inputs`` and is printed as a string, so no name can be
read as markup. Only faces that Typst brings along are used (Libertinus Serif, DejaVu Sans Mono), so that paper is
the same on every machine; letters that these do not have are looked for among the system's faces, and where there is
none, a letter is told by its Unicode name in brackets.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from importlib.resources import files
from typing import Any

from coatwright.errors import CoatwrightError, OutOfRange
from coatwright.printing import words

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height, mm: A4 by ISO 216, Letter 8 1/2 x 11 in (ANSI/ASME Y14.1 size A)."""
TYPST_PAPERS = {"a4": "a4", "letter": "us-letter"}
MISSING = re.compile(r'the text `"((?:[^"\\]|\\.)*)"` could not be displayed')
ENDLESS = re.compile(r"\S{41,}")
"""A word that no line can hold."""
ROUNDS = 40
"""How often unknown letters are named and the page set again; each round names all those that Typst reports."""


class PrintError(CoatwrightError):
    """The page could not be set: a fault of this program or of a picture given to it."""


def check_paper(paper: str) -> str:
    """``paper`` if it is known, else :class:`OutOfRange`."""
    if paper not in PAPERS:
        raise OutOfRange(f"There is no paper {paper!r}.", remedy=f"Use {' or '.join(PAPERS)}.")
    return paper


def typeset(
    template: str,
    data: Mapping[str, Any],
    *,
    paper: str,
    made: date,
    picture_svg: str | None,
    charts: Mapping[str, str] | None = None,
    alone: bool = False,
) -> bytes:
    """A tagged PDF (PDF/UA-1) from a template of this package.

    ``template`` is the name of a ``.typ`` file, set after ``almanac.typ`` unless it stands ``alone``; ``data`` is
    what it prints; ``made`` is the day that the file gives as its own. The picture, and ``charts`` by the names that
    the template knows them by, are drawn in ink where they ask for the current colour.
    Raises :class:`PrintError` when Typst refuses.
    """
    check_paper(paper)
    folder = files(__package__)
    names = (f"{template}.typ",) if alone else ("almanac.typ", f"{template}.typ")
    source = "\n".join(folder.joinpath(name).read_text(encoding="utf-8") for name in names)
    clean = _cleaned(data)
    drawn = dict(charts or {}) | ({} if picture_svg is None else {"picture": picture_svg})
    pictures = {name: _inked(text) for name, text in drawn.items()}
    stamp = datetime.combine(made, time(), tzinfo=UTC)
    for number in range(ROUNDS):
        inputs = {"data": json.dumps(clean, ensure_ascii=False), "paper": TYPST_PAPERS[paper], **pictures}
        done = _compile(source, inputs, stamp, system_fonts=number > 0)
        if isinstance(done, bytes):
            return done
        clean = _cleaned(clean, names={letters: name_of(letters) for letters in done} if number > 0 else {})
    raise PrintError("The page holds too many letters that no face has.", where=template)


def _compile(source: str, inputs: dict[str, str], stamp: datetime, *, system_fonts: bool) -> bytes | set[str]:
    """The PDF, or the letters that no face could show."""
    import typst

    refused: typst.TypstError
    try:
        pdf = typst.compile(
            source.encode(),
            format="pdf",
            ignore_system_fonts=not system_fonts,
            sys_inputs=inputs,
            pdf_standards=["ua-1"],
            timestamp=stamp,
        )
    except typst.TypstError as error:
        refused = error
    else:
        return bytes(pdf)
    missing = {_unescaped(found) for found in MISSING.findall(f"{refused.message}\n{refused.diagnostic}")}
    if not missing:
        raise PrintError(
            f"The page could not be set: {refused.message}.",
            where="printing",
            remedy="Print it without the picture; if that fails too, please report it.",
        ) from refused
    return missing


def name_of(letters: str) -> str:
    """Letters that cannot be shown, by their Unicode names: ``[dog]``."""
    found = [
        unicodedata.name(ch, "").lower() or f"U+{ord(ch):04X}" for ch in letters if ch not in "\u200d\ufe0f"
    ]
    return f"[{' '.join(found)}]" if found else ""


def _cleaned(value: Any, names: Mapping[str, str] | None = None) -> Any:
    """Every string without control characters, and with ``names`` in the place of letters."""
    if isinstance(value, str):
        text = spaced(value)
        for letters in sorted(names or {}, key=len, reverse=True):
            text = text.replace(letters, (names or {})[letters])
        return text
    if isinstance(value, Mapping):
        return {key: _cleaned(item, names) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_cleaned(item, names) for item in value]
    return value


def spaced(text: str) -> str:
    """``text`` as it can be set: composed, on one line, no control characters, and endless words breakable."""
    plain = unicodedata.normalize("NFC", re.sub(r"[\t\r\n]+", " ", text)).translate(words.UNWANTED)
    return ENDLESS.sub(lambda found: "\u200b".join(re.findall(".{1,20}", found[0])), plain)


def _inked(svg: str) -> str:
    """The picture with ink as its current colour, which Typst would take for black."""
    return re.sub(r"<svg\b", '<svg color="#2b2621"', svg, count=1)


def _unescaped(text: str) -> str:
    """Text as Rust writes it between quotes, back to what it was."""
    plain = re.sub(r"\\u\{([0-9a-fA-F]+)\}", lambda found: chr(int(found[1], 16)), text)
    return re.sub(
        r"\\(.)", lambda found: {"n": "\n", "t": "\t", "r": "\r", "0": "\0"}.get(found[1], found[1]), plain
    )
