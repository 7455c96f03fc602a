"""A sheet as its page shows it: its hairs over the photo, what they say, and what was put right by hand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING
from urllib.parse import quote

from markupsafe import Markup

from coatwright.paper.marks import Hair
from coatwright.paper.repair import Doubt, apply
from coatwright.paper.repair_record import Repair
from coatwright.paper.sheet import sheet as geometry_of
from coatwright.salon.paper_drafts import (
    BROKEN,
    MARKS,
    NO_HAIR,
    OPEN,
    WHOLE,
    ByHand,
    SheetHead,
    record_of,
    repaired,
    state_of,
)
from coatwright.salon.records import Dog, PaperCount
from coatwright.units import inches
from coatwright.web.words import Words

if TYPE_CHECKING:
    from coatwright.drawing.hair_tracks import Track
    from coatwright.drawing.length_histogram import LengthHistogram
    from coatwright.paper.whole import SheetRead
    from coatwright.salon.verdicts import Trial

ENDS = {
    "club": ("a root", "a club, thicker than the hair: at least 3 chances in 4"),
    "taper": ("a tip", "it tapers: at least 3 chances in 4"),
    "blunt": ("blunt", "neither club nor tip: at least 3 chances in 4"),
    "unclear": ("not clear", "no kind has 3 chances in 4"),
}
"""What an end is, and how surely."""
GROUPS = ((BROKEN, "Broken"), (WHOLE, "Whole"), (OPEN, "Not judged"), (NO_HAIR, "Not a hair"))
RING_MM = 1.8
"""Radius of the ring around a doubtful join."""
END_MM = 3.0
"""A close-up of an end shows this much to each side of it."""


@dataclass(frozen=True)
class EndSeen:
    """An end of the chosen hair: its close-up, what it is, and how surely."""

    picture: Markup
    name: str
    how: str


@dataclass(frozen=True)
class Picked:
    """The chosen hair, in words and close-ups; ``before`` and ``after`` are the numbers of its neighbours."""

    number: int
    state: str
    by_hand: bool
    length: Markup
    ends: tuple[EndSeen, EndSeen]
    why: str
    score: int
    before: int
    after: int


@dataclass(frozen=True)
class DoubtSeen:
    """A doubtful join: what to do about it in words, and pictures of it as it is and the other way."""

    number: int
    key: str
    """The repair as a form names it."""
    what: str
    do: str
    how: str
    now: Markup
    then: Markup


@dataclass(frozen=True, eq=False)
class Sheet:
    """A photographed sheet: a draft, or the traces of a kept test."""

    head: SheetHead
    read: SheetRead
    by_hand: ByHand
    photo: str
    place: str
    """The address of its page."""
    kept: bool

    @cached_property
    def hairs(self) -> Mapping[int, Hair]:
        """The hairs by number after all repairs."""
        return repaired(self.read, self.by_hand)

    @cached_property
    def states(self) -> dict[int, str]:
        """What each hair counts as."""
        return {number: state_of(self.hairs, self.counted, number) for number in self.hairs}

    @cached_property
    def counted(self) -> ByHand:
        """What was put right by hand and counts on a sheet of this purpose."""
        return self.by_hand.counted(self.head.purpose)

    @property
    def dark(self) -> bool:
        """Whether the hairs lie on dark card."""
        return geometry_of(self.read.sheet).dark

    @property
    def photo_place(self) -> str:
        """The address of the photo."""
        return f"{self.place}/photo.jpg?v={self.photo[:16]}"

    @cached_property
    def record(self) -> PaperCount | None:
        """The test as it would be kept; None where no hair is left."""
        if not any(state != NO_HAIR for state in self.states.values()):
            return None
        return record_of(self.head, self.read, self.by_hand, self.photo, "")

    @cached_property
    def tracks(self) -> tuple[Track, ...]:
        """The lines over the photo."""
        from coatwright.drawing.hair_tracks import tracks_of

        return tracks_of(self.hairs, self.states, self.read.place)

    def count(self, state: str) -> int:
        """How many hairs count as something."""
        return sum(each == state for each in self.states.values())


def hair_length(mm: float, words: Words) -> Markup:
    """The length of one hair, to a tenth of a millimetre or a hundredth of an inch."""
    if words.unit == "in":
        return Markup('{}<span class="unit">&#8239;in</span>').format(words.decimal(inches(mm), 2))
    return Markup('{}<span class="unit">&#8239;mm</span>').format(f"{mm:.1f}".replace(".", words.locale.mark))


def groups_of(sheet: Sheet, words: Words) -> list[tuple[str, str, list[tuple[int, Markup]]]]:
    """The hairs by what they count as, longest first: the word, the heading, and number with length of each."""
    found = []
    for state, heading in GROUPS:
        rows = [
            (number, hair.length_mm) for number, hair in sheet.hairs.items() if sheet.states[number] == state
        ]
        rows.sort(key=lambda row: -row[1])
        if rows:
            found.append((state, heading, [(number, hair_length(mm, words)) for number, mm in rows]))
    return found


def overlay(
    sheet: Sheet, words: Words, chosen: int | None, doubts: Iterable[Doubt], doubt: int | None
) -> Markup:
    """The lines over the photo; doubtful joins as rings where the sheet can still be changed."""
    from coatwright.drawing.hair_tracks import DoubtMark, hair_tracks

    rings = []
    for number, each in enumerate(doubts):
        x, y = sheet.read.place.to_px([each.repair.at])[0]
        radius = round(RING_MM * sheet.read.place.px_per_mm)
        rings.append(DoubtMark(number, round(float(x)), round(float(y)), radius, number == doubt))
    spoken = {}
    for number, hair in sheet.hairs.items():
        length = hair_length(hair.length_mm, words).striptags()
        spoken[number] = f"hair {number + 1}, {sheet.states[number]}, {length}"
    return Markup(
        hair_tracks(
            sheet.tracks,
            sheet.read.size_px,
            spoken=spoken,
            link=f"{sheet.place}?hair={{hair}}#picked",
            chosen=chosen,
            doubts=rings,
            doubt_link=f"{sheet.place}?doubt={{doubt}}#d{{doubt}}",
            dark=sheet.dark,
        )
    )


def picked(sheet: Sheet, number: int, words: Words) -> Picked:
    """The chosen hair."""
    hair = sheet.hairs[number]
    order = sorted(sheet.hairs)
    at = order.index(number)
    points = sheet.read.place.to_px(hair.trace.points[[0, -1]])
    ends = tuple(
        EndSeen(_close_up(sheet, float(x), float(y)), *ENDS[kind])
        for (x, y), kind in zip(points, hair.ends, strict=True)
    )
    return Picked(
        number,
        sheet.states[number],
        number in sheet.counted.marks,
        hair_length(hair.length_mm, words),
        (ends[0], ends[1]),
        hair.why,
        round(100 * hair.score),
        order[at - 1],
        order[(at + 1) % len(order)],
    )


def _close_up(sheet: Sheet, x: float, y: float) -> Markup:
    """The photo around a point, without lines over it."""
    width, height = sheet.read.size_px
    half = END_MM * sheet.read.place.px_per_mm
    return Markup(
        '<svg class="closeup" viewBox="{:.0f} {:.0f} {:.0f} {:.0f}" aria-hidden="true">'
        '<image href="{}" width="{}" height="{}"/></svg>'
    ).format(x - half, y - half, 2 * half, 2 * half, sheet.photo_place, width, height)


def doubts_seen(sheet: Sheet, doubts: Iterable[Doubt]) -> list[DoubtSeen]:
    """The doubtful joins in words, each with its two ways drawn."""
    found = []
    for number, each in enumerate(doubts):
        repair = each.repair
        a, b = repair.hairs[0] + 1, repair.hairs[-1] + 1
        what, do = {
            "join": (f"Hairs {a} and {b} end beside each other.", "They are one: join them"),
            "split": (f"Hair {a} may be two, one after the other.", "They are two: split it"),
            "exchange": (f"Hairs {a} and {b} meet, and may go on in each other.", "Join the other way"),
        }[repair.kind]
        how = "hardly likelier as it is" if each.margin < 0.7 else "likelier as it is"
        if each.margin < 0:
            how = "likelier the other way by itself, but not with what lies beside it"
        found.append(DoubtSeen(number, repair_key(repair), what, do, how, *_two_ways(sheet, repair)))
    return found


def repair_key(repair: Repair) -> str:
    """A repair as a form names it: by all of it, so that it cannot be taken for another."""
    hairs = "-".join(map(str, repair.hairs))
    return f"{repair.kind}.{hairs}.{repair.at[0]:.2f}.{repair.at[1]:.2f}.{repair.way}"


def _two_ways(sheet: Sheet, repair: Repair) -> tuple[Markup, Markup]:
    """The place of a repair in the photo with the hairs concerned, before and after it."""
    from coatwright.drawing.hair_tracks import tracks_of

    after = apply(sheet.hairs, repair, blur_px=sheet.read.place.blur_px).hairs
    pictures = []
    for hairs in (sheet.hairs, after):
        some = {number: hairs[number] for number in sorted(repair.touched) if number in hairs}
        tracks = tracks_of(some, dict.fromkeys(some, WHOLE), sheet.read.place)
        pictures.append(_way(sheet, repair, tracks))
    return pictures[0], pictures[1]


def _way(sheet: Sheet, repair: Repair, tracks: Iterable[Track]) -> Markup:
    width, height = sheet.read.size_px
    half = 2.2 * END_MM * sheet.read.place.px_per_mm
    x, y = (float(value) for value in sheet.read.place.to_px([repair.at])[0])
    lines = "".join(
        f'<path class="way way{k % 2}" d="{track.path}" fill="none" vector-effect="non-scaling-stroke"/>'
        for k, track in enumerate(tracks)
    )
    return Markup(
        '<svg class="closeup" viewBox="{:.0f} {:.0f} {:.0f} {:.0f}" aria-hidden="true">'
        '<image href="{}" width="{}" height="{}"/>{}</svg>'
    ).format(x - half, y - half, 2 * half, 2 * half, sheet.photo_place, width, height, Markup(lines))


def changes_of(sheet: Sheet) -> tuple[list[tuple[int, str]], list[tuple[int, str, str, bool]]]:
    """What was put right by hand: repairs with their place in the list, and marks with what was read and whether they
    count on this sheet.
    """
    bare = replace(sheet.by_hand, marks={})
    laid = sheet.by_hand.laid or ({},) * len(sheet.by_hand.repairs)
    repairs = [
        (k, one_based(each) + _laid_aside(aside))
        for k, (each, aside) in enumerate(zip(sheet.by_hand.repairs, laid, strict=True))
    ]
    marks = [
        (number, word, state_of(sheet.hairs, bare, number), number in sheet.counted.marks)
        for number, word in sorted(sheet.by_hand.marks.items())
    ]
    return repairs, marks


def _laid_aside(marks: Mapping[int, str]) -> str:
    """The marks that a repair laid aside, in words."""
    told = " and ".join(f"hair {number + 1} ({word})" for number, word in sorted(marks.items()))
    return f" The mark of {told} is laid aside, and comes back when this is taken back." if told else ""


def one_based(repair: Repair) -> str:
    """A repair in words, hairs counted from 1 as on the page."""
    a, b = repair.hairs[0] + 1, repair.hairs[-1] + 1
    if repair.kind == "join":
        return f"Hairs {a} and {b} were joined to hair {a}."
    if repair.kind == "split":
        return f"Hair {a} was split into {a} and {repair.made + 1}."
    return f"Hairs {a} and {b} were joined the other way where they meet."


def histogram_of(trial: Trial | None, sheet_record: PaperCount | None, dog: Dog) -> LengthHistogram | None:
    """The lengths of all sheets of a trial, and of the finger-pulled control that it was held against."""
    from coatwright.drawing.length_histogram import LengthHistogram
    from coatwright.salon.hearing import FINGERS, pulled_by_fingers

    papers: tuple[PaperCount, ...] = () if sheet_record is None else (sheet_record,)
    control: tuple[float, ...] = ()
    if trial is not None:
        papers = trial.papers
        if trial.heard.control == FINGERS:
            control = pulled_by_fingers(dog.papers, trial.key.zone, trial.key.day)
    lengths = [
        [mm for paper in papers for mm in getattr(paper, key) if mm > 0.0]
        for key in ("whole_mm", "broken_mm", "open_mm")
    ]
    if not any(lengths):
        return None
    return LengthHistogram(tuple(lengths[0]), tuple(lengths[1]), tuple(lengths[2]), control)


def draft_place(id: str) -> str:
    """The address of a draft."""
    return f"/paper/drafts/{quote(id)}"


def test_place(dog: str, id: str) -> str:
    """The address of a kept test."""
    return f"/paper/tests/{quote(dog)}/{quote(id)}"


__all__ = [
    "ENDS",
    "GROUPS",
    "MARKS",
    "DoubtSeen",
    "Picked",
    "Sheet",
    "changes_of",
    "doubts_seen",
    "draft_place",
    "groups_of",
    "hair_length",
    "histogram_of",
    "overlay",
    "picked",
    "repair_key",
    "test_place",
]
