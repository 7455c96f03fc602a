"""The reference page of the patterns, written from the data: ``python -m coatwright.patterns.reference``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from coatwright.patterns.library import patterns
from coatwright.patterns.model import MARKS, Band, Pattern
from coatwright.patterns.zones import Zone, zones

INTRO = """# Patterns

<!-- Written by `python -m coatwright.patterns.reference`; change the data, not this page. -->

A pattern says how long the coat of each zone should be on the day it is judged: a band from the shortest
to the longest outline, in millimetres. It is where planning starts, not a rule: your ring, your dog and
your eye decide, and every band can be changed ([how to make your own pattern](../how-to/own-pattern.md)).
Breed standards change. The year is the one in which the lengths were last held against our notes of their
sources; look a standard up with its kennel club before you rely on it.

Every length carries a mark:

"""

BREEDS = """
Where a standard gives one length only, the band reaches from four fifths to six fifths of it (at least 3
mm either way): that width is practice. Where a standard describes the coat in words, all lengths are
practice and say so. Heights and weights are those of a typical adult, from memory, to start a dog's
record with. How long hair grows before it rests (`end_mm`) is an assumption for each zone: what
you measure on your own dog is better.

## Breeds

The body band is that of the back.

"""

PUBLISHED = """
## Lengths that rest on a published text

"""

ZONES = """
## Zones

In working order: the least tender first, the head late, tender zones last. A tender zone is taken a
little at a time, skin held taut; *most at once* is the largest take at one visit of a rolling coat
(common practice). Minutes are for the whole zone, both sides, on a dog of 10 kg, and grow with the skin:
0.101 m2 x kg^(2/3), the standard veterinary formula (from memory). Pulling every pulled zone once takes
{hours:.1f} h; a full show strip takes eight to ten hours over several days (common practice), and no dog
stands more than three in a day.

"""

CAUTIONS = """
## When to stop, and when to see a vet

The moment to stop is the first red or pin-pricked skin, and any sign that the dog has had enough: it
flinches, cries, snaps or pants. Hair that must be forced, or that comes with a soft white root, is not
ripe: leave it. Skin that is sore, infected, sunburnt or has parasites is not worked on, nor is a dog that
is ill, in distress or fresh from a vaccination, nor hair loss that nobody can explain: these belong to a
vet, and so does hair still missing three to four months after it was pulled. Scissors never go over a
pad. A dog with little hair burns and chills, so give it shade or a light jacket. What local
animal-welfare law and the rules of your shows say goes before anything written here.
"""


def page() -> str:
    """The whole page as Markdown."""
    found = patterns().values()
    pulled = sum(row.minutes for row in zones().values() if row.work == "pull")
    marks = "".join(f"- **{mark}** {text}\n" for mark, text in MARKS.items())
    breed_rows = [_breed(row) for row in found]
    published = [row for pattern in found for row in _published(pattern)]
    zone_rows = [_zone(row) for row in zones().values()]
    breeds = ("Pattern", "Key", "Body, mm", "Mark", "Build", "Coat", "Checked")
    zone_heads = ("Zone", "Key", "From the side", "Work", "Most at once", "Minutes")
    return "".join(
        (
            INTRO,
            marks,
            BREEDS,
            _table(breeds, breed_rows),
            PUBLISHED,
            _table(("Pattern", "Zones", "mm", "Mark", "Source"), published),
            ZONES.format(hours=pulled / 60.0),
            _table(zone_heads, zone_rows),
            CAUTIONS,
        )
    )


def _breed(row: Pattern) -> tuple[str, ...]:
    back = row.aims["back"]
    coat = "double" if row.double_coat else "single"
    build = row.build.replace("_", " ")
    return row.name, f"`{row.key}`", _span(back), back.mark, build, coat, str(row.year_checked)


def _published(row: Pattern) -> list[tuple[str, ...]]:
    groups: dict[tuple[str, str, str], list[str]] = {}
    for zone, band in row.aims.items():
        if band.mark != "P":
            name = zones()[zone].name.lower()
            groups.setdefault((_span(band), band.mark, band.source), []).append(name)
    return [(row.name, ", ".join(names), *group) for group, names in groups.items()]


def _zone(row: Zone) -> tuple[str, ...]:
    seen = "seen" if row.seen else "unseen"
    cap = f"{100 * row.cap:.0f} % (tender)" if row.tender else "all"
    return row.name, f"`{row.key}`", seen, row.work, cap, f"{row.minutes:.0f}"


def _span(band: Band) -> str:
    return f"{band.lo:g}–{band.hi:g}"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


if __name__ == "__main__":
    import sys

    sys.stdout.write(page())
