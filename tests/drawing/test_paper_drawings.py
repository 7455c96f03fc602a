"""Drawings of the paper test: traced hairs over a photo, lengths of a sheet, what to change about a photo."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from coatwright.drawing.hair_tracks import DoubtMark, hair_tracks, tracks_of
from coatwright.drawing.length_histogram import LengthHistogram, length_histogram, length_histogram_table
from coatwright.drawing.refusal_pictures import PICTURES, refusal_picture
from coatwright.errors import OutOfRange
from coatwright.paper.marks import Hair, Rectified, Trace
from coatwright.paper.refusals import CODES

SVG = "{http://www.w3.org/2000/svg}"


def place(px_per_mm: float = 12.0) -> Rectified:
    """A sheet that lies straight in the photo, its corner at pixel 100, 50."""
    back = np.array([[1 / px_per_mm, 0, -100 / px_per_mm], [0, 1 / px_per_mm, -50 / px_per_mm], [0, 0, 1]])
    return Rectified(
        "a5", (2800, 2000), back, np.zeros((10, 2)), (210.0, 148.0), tuple(range(8)), px_per_mm,
        0.0, 0.8, 0.01, 1.1, 0.0,
    )  # fmt: skip


def hair(points: list[tuple[float, float]], ends: tuple[str, str] = ("club", "taper")) -> Hair:
    line = np.array(points)
    length = float(np.hypot(*np.diff(line, axis=0).T).sum())
    return Hair(Trace(line, 0.1, 0.7, (0.1, 0.1, 0.1)), length, True, ends, 0.9, "a club at one end")


def points_of(path: str) -> np.ndarray:
    """Where a path of relative steps goes."""
    numbers = [float(n) for n in re.findall(r"-?\d+", path)]
    return np.cumsum(np.array(numbers).reshape(-1, 2), axis=0)


HAIRS = {
    0: hair([(30, 30), (50, 40), (70, 42)]),
    3: hair([(40, 90), (60, 60)], ("blunt", "taper")),
    7: hair([(80, 80), (90, 85)], ("unclear", "unclear")),
}
STATES = {0: "whole", 3: "broken", 7: "not a hair"}


def test_lines_lie_where_the_hairs_lie_in_the_photo() -> None:
    tracks = tracks_of(HAIRS, STATES, place())
    assert [track.number for track in tracks] == [0, 3, 7]
    for track in tracks:
        wanted = HAIRS[track.number].trace.points * 12.0 + (100, 50)
        assert points_of(track.path) == pytest.approx(wanted, abs=1.0)
        assert track.ends[0][:2] == pytest.approx(wanted[0], abs=0.51)


def test_a_line_of_many_points_is_drawn_by_few_and_stays_near() -> None:
    angle = np.linspace(0, 2, 300)
    curl = hair([(60 + 20 * np.cos(a), 60 + 20 * np.sin(a)) for a in angle])
    (track,) = tracks_of({1: curl}, {1: "whole"}, place())
    drawn = points_of(track.path)
    assert len(drawn) < 40
    true = curl.trace.points * 12.0 + (100, 50)
    steps = np.linspace(0, 1, 21)
    dense = np.concatenate([drawn[:-1, None] + steps[:, None] * np.diff(drawn, axis=0)[:, None]]).reshape(
        -1, 2
    )
    off = np.sqrt(((true[:, None] - dense[None]) ** 2).sum(axis=2)).min(axis=1)
    assert off.max() < 3.0


def test_what_a_hair_counts_as_is_told_by_the_stroke() -> None:
    drawn = ET.fromstring(
        hair_tracks(tracks_of(HAIRS, STATES, place()), (2800, 2000), link="/paper/x?hair={hair}")
    )
    links = {a.get("data-hair"): a for a in drawn.iter(f"{SVG}a")}
    assert {key: a.get("class") for key, a in links.items()} == {"0": "whole", "3": "broken", "7": "none"}
    dashes = {key: a.find(f"{SVG}path[@class='over']").get("stroke-dasharray") for key, a in links.items()}
    assert dashes["0"] is None
    assert len(set(dashes.values())) == 3
    assert links["3"].get("href") == "/paper/x?hair=3"
    assert [a.find(f"{SVG}path[@class='end club']") is not None for a in links.values()] == [
        True,
        False,
        False,
    ]
    assert links["3"].find(f"{SVG}path[@class='end blunt']") is not None


def test_the_chosen_hair_and_the_doubt_are_marked_and_words_are_escaped() -> None:
    drawn = hair_tracks(
        tracks_of(HAIRS, STATES, place()), (2800, 2000), link="/x?hair={hair}", chosen=3,
        spoken={3: '"3" & <b>'}, doubts=[DoubtMark(1, 400, 500, chosen=True)], doubt_link="/x?doubt={doubt}",
    )  # fmt: skip
    root = ET.fromstring(drawn)
    assert root.find(f"{SVG}a[@aria-current='true']").get("aria-label") == '"3" & <b>'
    assert root.find(f"{SVG}a[@class='doubt chosen']").get("href") == "/x?doubt=1"
    assert drawn.index('class="glow"') < drawn.index("data-hair")


def test_lines_on_dark_card_are_light_and_those_on_paper_dark() -> None:
    from coatwright.drawing.hair_tracks import COLOURS, ON_DARK
    from coatwright.drawing.svg import luminance

    def contrast(one: str, other: str) -> float:  # WCAG 2.2, 1.4.11: 3 : 1 for what must be told apart
        low, high = sorted((luminance(one), luminance(other)))
        return (high + 0.05) / (low + 0.05)

    for colours, ground in ((COLOURS, "#d5dcdf"), (ON_DARK, "#2b2b2b")):
        assert set(colours) == {"whole", "broken", "unjudged", "none"}
        assert min(contrast(colour, ground) for colour in colours.values()) >= 3.0
    tracks = tracks_of(HAIRS, STATES, place())
    drawn = hair_tracks(tracks, (2800, 2000), dark=True)
    assert ON_DARK["broken"] in drawn
    assert COLOURS["broken"] not in drawn


def bars(drawn: str, kind: str) -> list[tuple[float, float, float, float]]:
    """x, y, width and height of the bars of a kind; the one of the key is left out."""
    return [
        tuple(float(one.get(key)) for key in ("x", "y", "width", "height"))
        for one in ET.fromstring(drawn).iter(f"{SVG}rect")
        if one.get("class") == kind and float(one.get("y")) >= 0
    ]


CHART = LengthHistogram((31.0, 33.0, 38.0, 38.5, 39.9), (7.0, 12.0, 12.4), (36.0,), (38.0, 39.0))


@pytest.mark.parametrize("width", [900.0, 380.0])
def test_whole_hairs_stand_and_broken_ones_hang(width: float) -> None:
    drawn = length_histogram(CHART, width=width)
    whole, broken = bars(drawn, "cw-whole"), bars(drawn, "cw-broken")
    line = max(y + h for _, y, _, h in whole)
    assert all(y + h == pytest.approx(line, abs=0.11) for _, y, _, h in whole)
    assert all(y == pytest.approx(line, abs=0.11) for _, y, _, _ in broken)
    # numbers are heights: five whole against three broken
    assert sum(h for *_, h in whole) / 5 == pytest.approx(sum(h for *_, h in broken) / 3, rel=0.05)
    assert max(x for x, *_ in broken) < min(x for x, *_ in whole)


def test_the_table_counts_every_hair_once_and_scales_the_control() -> None:
    for unit in ("mm", "in"):
        head, *rows = length_histogram_table(CHART, unit=unit)
        assert head[-1] == "Of as many pulled by fingers"
        assert [sum(int(row[k]) for row in rows) for k in (1, 2, 3)] == [5, 3, 1]
        # two measured stand for the six that are whole or unjudged
        assert sum(float(row[4]) for row in rows) == pytest.approx(6.0)
    assert all(row[0].endswith(" in") for row in rows)


def test_a_sheet_without_broken_hair_says_so_and_bad_lengths_are_refused() -> None:
    assert "no broken hair" in length_histogram(LengthHistogram((30.0,)))
    with pytest.raises(OutOfRange, match="between 0 and 1000"):
        LengthHistogram((float("nan"),))


def test_every_refusal_has_a_drawing_of_its_own() -> None:
    drawn = {code: refusal_picture(code) for code in CODES}
    assert set(CODES) <= set(PICTURES)
    assert len(set(drawn.values())) == len(CODES)
    for picture in drawn.values():
        root = ET.fromstring(picture)
        assert "style" not in picture
        assert root.get("aria-hidden") == "true"


def test_every_reason_that_the_file_itself_gives_has_a_drawing() -> None:
    import inspect

    from coatwright.paper import photo

    source = inspect.getsource(photo)
    codes = set(re.findall(r'"(empty|huge|unreadable|damaged|tiny|animated|black|white|flat)"', source))
    assert len(codes) == 9
    assert codes <= set(PICTURES)
    assert 'aria-label="Go nearer"' in refusal_picture("far", "Go nearer")
