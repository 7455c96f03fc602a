"""A photograph of a printed sheet, from its bytes to its hairs, and what is kept of it to tell all of it again."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from coatwright.errors import FileFormatError
from coatwright.paper.marks import Hair, Rectified
from coatwright.paper.photo import read_photo
from coatwright.paper.rectify import rectify
from coatwright.paper.refusals import Refusal, check_bar, judge_file, judge_hairs, judge_photo
from coatwright.paper.sheet import BAR_MM, sheet
from coatwright.units import Millimetres

# paper.read is brought in where it is used: it needs the compiler, for which a desk that starts must not wait
if TYPE_CHECKING:
    from coatwright.paper.read import Reading

VERSION = 1
"""Version of the shape of what is kept."""
ROUGHLY = 0.15
"""A crowded sheet's count is told within this share: an assumption, above the worst seen on drawn photographs."""

Progress = Callable[[str, int, int], None]
"""What is being done, how many steps are behind, and how many there are."""
STEPS = ("opening the photo", "finding the sheet", "tracing the hairs", "judging")


@dataclass(frozen=True, eq=False)
class SheetRead:
    """One photograph, read: where the sheet lies, its hairs, and what to mind."""

    place: Rectified
    reading: Reading
    remarks: tuple[Refusal, ...] = ()
    """Warnings only: a photograph that must be refused is never read."""
    camera: str = ""
    """Maker and model as the file told them, empty where it told nothing."""

    @property
    def sheet(self) -> str:
        """The key of the sheet that was photographed."""
        return self.place.sheet

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the upright photograph."""
        return self.place.size_px

    @property
    def hairs(self) -> tuple[Hair, ...]:
        """The hairs, from the upper left down."""
        return self.reading.hairs

    def as_json(self) -> dict[str, Any]:
        """Numbers, words and lists only."""
        return {
            "version": VERSION,
            "place": self.place.as_json(),
            "hairs": [hair.as_json() for hair in self.hairs],
            "left_out": self.reading.left_out,
            "opposite": self.reading.opposite,
            "tufted": self.reading.tufted,
            "remarks": [one.as_json() for one in self.remarks],
            "camera": self.camera,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> SheetRead:
        """What :meth:`as_json` wrote. Raises :class:`~coatwright.errors.FileFormatError`."""
        from coatwright.paper.read import Reading

        try:
            if data["version"] != VERSION:
                raise FileFormatError(
                    f"The traces have version {data['version']}; this program knows {VERSION}.",
                    remedy="Update Coatwright on this machine, or read the photo again.",
                )
            hairs = tuple(Hair.from_json(one) for one in data["hairs"])
            reading = Reading(hairs, int(data["left_out"]), float(data["opposite"]), float(data["tufted"]))
            remarks = tuple(
                Refusal(str(one["code"]), str(one["what"]), str(one["change"]), bool(one["stops"]))
                for one in data["remarks"]
            )
            return cls(Rectified.from_json(data["place"]), reading, remarks, str(data["camera"]))
        except (KeyError, TypeError, ValueError) as error:
            raise FileFormatError(
                f"What is kept of a photo cannot be read ({error}).", remedy="Read the photo again."
            ) from error


def read_sheet(
    data: bytes, *, name: str = "", bar_mm: Millimetres = BAR_MM, progress: Progress | None = None
) -> SheetRead:
    """The hairs on the photographed sheet in ``data``, the bytes of a JPEG, PNG, WebP or HEIC file.

    ``bar_mm`` is what a ruler says of the printed bar of 100 mm. Raises
    :class:`~coatwright.errors.OutOfRange` for a bar that cannot be allowed for, and
    :class:`~coatwright.paper.photo.PhotoError` (with a ``code``) for a photograph that is refused; nothing is kept
    of one.
    """
    from coatwright.paper.read import read_hairs

    tell = progress or _quiet
    check_bar(bar_mm)
    tell(STEPS[0], 0, len(STEPS))
    photo = read_photo(data, name=name)
    found = _checked(judge_file(photo), name)
    tell(STEPS[1], 1, len(STEPS))
    try:
        place = rectify(photo.pixels, bar_mm=bar_mm)
    except FileFormatError as error:
        raise error.at(name) if name else error from error.__cause__
    found += _checked(judge_photo(place), name)
    tell(STEPS[2], 2, len(STEPS))
    reading = read_hairs(photo.pixels, place)
    tell(STEPS[3], 3, len(STEPS))
    dark = sheet(place.sheet).dark
    faults = judge_hairs(reading.hairs, dark=dark, opposite=reading.opposite, tufted=reading.tufted)
    found += _checked([_told(one, reading.hairs) for one in faults], name)
    if not reading.hairs:
        found.append(_nothing())
    tell(STEPS[3], len(STEPS), len(STEPS))
    return SheetRead(place, reading, tuple(found), photo.camera)


def _nothing() -> Refusal:
    """What is said of a sheet on which no hair was found."""
    return Refusal(
        "empty-sheet",
        "No hair of 4 mm or more was found on the sheet.",
        "Lay the hairs within the frame; pale hair belongs on the dark frame.",
        False,
    )


def _checked(found: Sequence[Refusal], name: str) -> list[Refusal]:
    """The warnings among what was found; the first that stops is raised."""
    for one in found:
        if one.stops:
            raise one.error.at(name) if name else one.error
    return list(found)


def _told(one: Refusal, hairs: Sequence[Hair]) -> Refusal:
    """Of a crowded sheet the whole length and a rough count are told all the same."""
    if one.code != "crowded":
        return one
    low, high = (round(len(hairs) * (1 + way * ROUGHLY), -1) for way in (-1, 1))
    metres = sum(hair.length_mm for hair in hairs) / 1000.0
    return replace(
        one, what=f"{one.what} About {low:.0f} to {high:.0f} hairs, together about {metres:.1f} m."
    )


def _quiet(what: str, done: int, total: int) -> None:
    """Nobody looks."""
