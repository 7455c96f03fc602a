"""The keys of the desk: one list, which the script obeys, the dialog shows and a page explains."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Key:
    """One key, or two keys one after the other.

    ``press``  names of the keys as a browser tells them, such as ``("g", "t")``
    ``does``   what it does, in words
    ``go``     the page it leads to; one of a dog begins with ``dog``
    ``or_``    other keys that do the same
    """

    press: tuple[str, ...]
    does: str
    go: str = ""
    or_: tuple[str, ...] = ()


WAYS = (
    ("/", "Today", "t"),
    ("/dogs", "Dogs", "d"),
    ("/paper", "Paper test", "h"),
    ("/shows", "Shows", "s"),
    ("/people", "People", "p"),
)
"""The pages of the masthead: address, name, and the letter that follows ``g``."""

KEYS: tuple[tuple[str, tuple[Key, ...]], ...] = (
    (
        "Everywhere",
        (
            Key(("?",), "this list"),
            Key(("/",), "find a dog, a show, a person"),
            *(Key(("g", letter), name, address) for address, name, letter in WAYS),
            Key(("g", "e"), "Settings", "/settings"),
            Key(("Esc",), "close what is open"),
        ),
    ),
    (
        "With a dog",
        (
            Key(("c",), "its coat", "dog"),
            Key(("p",), "its plan", "dog/plan"),
            Key(("h",), "its next visit sheet", "dog/sheet"),
            Key(("v",), "log a visit", "dog/visit"),
            Key(("m",), "comb and ruler", "dog/readings"),
            Key(("r",), "read the coat", "dog/assess"),
            Key(("f",), "facts and wish", "dog/edit"),
        ),
    ),
    (
        "In a list",
        (
            Key(("j",), "the next dog", or_=("↓",)),
            Key(("k",), "the dog before", or_=("↑",)),
            Key(("Enter",), "open it"),
        ),
    ),
    (
        "In the grid of a plan",
        (
            Key(("←", "→", "↑", "↓"), "from cell to cell"),
            Key(("Home", "End"), "first and last visit of the zone"),
            Key(("Enter",), "open the cell or the visit"),
            Key(("+", "-"), "take 5 % more, or less, by hand"),
            Key(("Delete",), "let the plan choose this take again"),
        ),
    ),
)
"""By where they hold."""
