"""Finding a dog, a show or a person: every word of a search begins a word of what is kept, accents and case aside.

The pages find in the same way on the server and, while one types, in the browser (``static/search.js``).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from coatwright.salon.fold import Salon
from coatwright.salon.records import Dog
from coatwright.web.words import Words

LETTERS = str.maketrans(
    {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
)
"""Letters that no accent can be taken from, as they are typed without them."""


def folded(text: str) -> list[str]:
    """The words of a text in small letters without accents; whatever is no letter and no digit parts them."""
    plain = unicodedata.normalize("NFD", text.lower().translate(LETTERS))
    kept = (letter for letter in plain if not unicodedata.category(letter).startswith("M"))
    return "".join(letter if letter.isalnum() else " " for letter in kept if letter not in "'’").split()


class Sought:
    """What somebody looks for."""

    def __init__(self, query: str) -> None:
        self.parts = folded(query)

    def finds(self, dog: Dog) -> bool:
        """Whether a dog is meant; nothing sought finds every dog."""
        there = folded(" ".join(_said(dog)))
        return all(any(word.startswith(part) for word in there) for part in self.parts)


def near(query: str, dogs: Iterable[Dog]) -> list[Dog]:
    """Up to three dogs whose names are nearly what was looked for, as by a slip of the finger."""
    by_name = {" ".join(folded(dog.name)): dog for dog in dogs}
    close = get_close_matches(" ".join(folded(query)), list(by_name), 3, 0.6)
    return [by_name[name] for name in close]


def index_of(salon: Salon, words: Words) -> dict[str, list[list[Any]]]:
    """What a browser looks through: rows of id, name, what stands beside it, and what else finds it."""
    dogs = sorted(salon.dogs.values(), key=lambda dog: (dog.name.lower(), dog.id))
    shows = sorted(salon.shows.values(), key=lambda show: show.day)
    people = sorted(salon.people.values(), key=lambda person: person.name.lower())
    return {
        "dogs": [_dog_row(dog) for dog in dogs],
        "shows": [[show.id, show.name, words.date(show.day), show.place] for show in shows],
        "people": [[person.id, person.name, person.role, ""] for person in people],
    }


def _dog_row(dog: Dog) -> list[str]:
    name, *rest = _said(dog)
    beside = [dog.pattern.name, *([dog.owner.name] if dog.owner else [])]
    return [dog.id, name, ", ".join(beside), " ".join(word for word in rest if word not in beside)]


def _said(dog: Dog) -> list[str]:
    people = [who.name for who in (dog.owner, dog.handler) if who is not None]
    return [dog.name, dog.id, dog.pattern.name, *people, *(show.name for show in dog.wish.shows)]
