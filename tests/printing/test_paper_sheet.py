"""Printed sheets to the millimetre: the page, the markers and the bar as the vectors of the PDF have them, the words.

Sizes of paper by ISO 216 and of Letter by ANSI/ASME Y14.1, both from memory; a point of PDF is 1/72 inch (ISO
32000-1, 8.3.2.3, from memory).
"""

from __future__ import annotations

import shutil
import subprocess
from datetime import date
from itertools import product

import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from coatwright.errors import OutOfRange, UnknownName
from coatwright.paper.rectify import rectify
from coatwright.paper.sheet import BAR_MM, LINES, MARKER_MM, SHEETS, sheet
from coatwright.printing.paper_sheet import _words, paper_sheet_pdf, sheets_on
from tests.printing.making import reader, text_of

MM = 25.4 / 72.0
MADE = date(2026, 11, 25)
SIZES = {"a5": (210.0, 148.0), "a4": (297.0, 210.0), "half": (148.0, 105.0)}
A4, LETTER = (210.0, 297.0), (215.9, 279.4)


def filled_boxes(pdf: PdfReader, page: int = 0) -> list[tuple[float, float, float, float]]:
    """x0, y0, x1, y1 (mm from the upper left) of every subpath that is filled, whatever it is nested in."""
    one = pdf.pages[page]
    height = float(one.mediabox.height)
    found: list[tuple[float, float, float, float]] = []

    def read(content, resources, base: np.ndarray) -> None:
        matrix, stack = base, []
        paths: list[list[tuple[float, float]]] = []

        def at(x: float, y: float) -> tuple[float, float]:
            px, py, _ = np.array([x, y, 1.0]) @ matrix
            return px * MM, (height - py) * MM

        for operands, operator in content.operations:
            name = operator.decode()
            values = [float(v) for v in operands] if name in ("cm", "m", "l", "re", "c") else []
            if name == "q":
                stack.append(matrix)
            elif name == "Q":
                matrix = stack.pop()
            elif name == "cm":
                a, b, c, d, e, f = values
                matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
            elif name == "m":
                paths.append([at(*values)])
            elif name == "l":
                paths[-1].append(at(*values))
            elif name == "c":
                paths[-1].append(at(*values[4:]))
            elif name == "re":
                x, y, w, h = values
                paths.append([at(x, y), at(x + w, y + h)])
            elif name in ("f", "F", "f*", "B", "b"):
                for path in paths:
                    xs, ys = zip(*path, strict=True)
                    found.append((min(xs), min(ys), max(xs), max(ys)))
                paths = []
            elif name in ("n", "S", "s", "W"):
                paths = [] if name != "W" else paths
            elif name == "Do":
                form = resources["/XObject"][operands[0]].get_object()
                if form["/Subtype"] == "/Form":
                    a, b, c, d, e, f = (float(v) for v in form.get("/Matrix", [1, 0, 0, 1, 0, 0]))
                    inner = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
                    read(ContentStream(form, pdf), form.get("/Resources", resources), inner)

    read(ContentStream(one.get_contents(), pdf), one["/Resources"], np.eye(3))
    return found


def near(box, boxes) -> float:
    """How far the nearest box is, mm: the largest difference of a side."""
    return min(max(abs(a - b) for a, b in zip(box, other, strict=True)) for other in boxes)


@pytest.mark.parametrize("key", SHEETS)
def test_a_sheet_alone_has_the_size_of_its_standard_and_its_marks_where_photographs_look_for_them(key):
    pdf = reader(paper_sheet_pdf(key, made=MADE, page="own"))
    (page,) = pdf.pages
    wanted = SIZES[key.removesuffix("-dark")]
    size = float(page.mediabox.width) * MM, float(page.mediabox.height) * MM
    assert size == pytest.approx(wanted, abs=0.02)
    boxes = filled_boxes(pdf)
    geometry = sheet(key)
    assert len(geometry.markers) == 8
    for x, y in geometry.markers.values():
        assert near((x, y, x + MARKER_MM, y + MARKER_MM), boxes) < 0.02
    assert near(geometry.bar, boxes) < 0.02
    assert geometry.bar[2] - geometry.bar[0] == BAR_MM


@pytest.mark.parametrize(("key", "page", "wanted", "many"), [
    ("a5", "a4", A4, 2), ("a5-dark", "a4", A4, 2), ("half", "a4", A4[::-1], 4), ("a4", "a4", A4[::-1], 1),
    ("a5", "letter", LETTER, 1), ("half-dark", "letter", LETTER, 2),
])  # fmt: skip
def test_a_page_holds_as_many_sheets_as_fit_each_at_its_size(key, page, wanted, many):
    pdf = reader(paper_sheet_pdf(key, made=MADE, page=page))
    one = pdf.pages[0]
    size = float(one.mediabox.width) * MM, float(one.mediabox.height) * MM
    assert size == pytest.approx(wanted, abs=0.02)
    geometry = sheet(key)
    places = sheets_on(geometry, page)
    assert len(places) == many
    boxes = filled_boxes(pdf)
    for (left, top), (x, y) in product(places, geometry.markers.values()):
        spot = (left + x, top + y, left + x + MARKER_MM, top + y + MARKER_MM)
        assert near(spot, boxes) < 0.02
        assert 0 <= spot[0] < spot[2] <= wanted[0]
        assert 0 <= spot[1] < spot[3] <= wanted[1]


def test_it_says_how_to_print_and_what_to_measure():
    text = text_of(paper_sheet_pdf("a5", made=MADE))
    assert text.count("This bar is 100 mm long.") == 2
    assert text.count("not fitted to the page") == 2
    assert "matt black card" in text_of(paper_sheet_pdf("a5-dark", made=MADE))


def test_it_is_tagged_and_tells_what_it_shows():
    pdf = reader(paper_sheet_pdf("a5", made=MADE))
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in pdf.trailer["/Root"]
    assert "pulled hair" in pdf.metadata.title


def test_what_is_known_already_is_written_on_the_lines_and_is_no_markup():
    dog = "#panic() <b> & Bramble"
    assert dog in text_of(paper_sheet_pdf("a5", made=MADE, page="own", filled={"Dog": dog, "Zone": "Back"}))


def test_a_name_too_long_for_its_line_is_cut():
    text = text_of(paper_sheet_pdf("half", made=MADE, page="own", filled={"Dog": "Longshanks " * 20}))
    assert "Longshanks" in text
    assert "…" in text
    assert text.count("Longshanks") < 5


@pytest.mark.parametrize("key", SHEETS)
def test_words_keep_clear_of_everything_that_a_photograph_is_read_by(key):
    geometry = sheet(key)
    x0, y0, x1, y1 = geometry.bar
    marks = [
        (x - 1.5, y - 1.5, x + MARKER_MM + 1.5, y + MARKER_MM + 1.5) for x, y in geometry.markers.values()
    ]
    ends = [(x0 - 2, y0, x0, y1), (x1, y0, x1 + 2, y1)]  # where the reader looks for the bar's ends
    ring = [(18, 17.4, geometry.width_mm - 18, 17.6)]  # where it looks for shadows on a frame
    for word in _words(geometry, dict.fromkeys(LINES, "Wx" * 40)):
        box = word["x"], word["y"], word["x"] + word["width"], word["y"] + word["height"]
        for left, top, right, bottom in [*marks, *ends, *ring, geometry.clear]:
            assert box[2] <= left or box[0] >= right or box[3] <= top or box[1] >= bottom, word


def test_as_many_pages_as_asked_for():
    assert len(reader(paper_sheet_pdf("half", made=MADE, copies=3)).pages) == 3


@pytest.mark.parametrize(("arguments", "error"), [
    ({"key": "a6"}, UnknownName),
    ({"key": "a5", "page": "a3"}, UnknownName),
    ({"key": "a4", "page": "letter"}, OutOfRange),
    ({"key": "a5", "copies": 0}, OutOfRange),
    ({"key": "a5", "filled": {"Owner": "x"}}, UnknownName),
])  # fmt: skip
def test_what_cannot_be_printed_is_refused(arguments, error):
    with pytest.raises(error):
        paper_sheet_pdf(**{"made": MADE, **arguments})


@pytest.mark.parametrize("key", ["a5", "half-dark"])
def test_the_printed_sheet_is_found_by_the_reader_of_photographs(key, tmp_path):
    if shutil.which("pdftoppm") is None:
        pytest.skip("no pdftoppm (Poppler) on this machine")
    import cv2

    file = tmp_path / "sheet.pdf"
    file.write_bytes(paper_sheet_pdf(key, made=MADE, page="own"))
    subprocess.run(["pdftoppm", "-r", "400", "-png", str(file), str(tmp_path / "sheet")], check=True)
    (page,) = tmp_path.glob("*.png")
    picture = cv2.imread(str(page))
    place = rectify(picture)
    assert place.sheet == key
    assert len(place.markers) == 8
    assert place.residual_mm < 0.1
    left, top, right, bottom = sheet(key).bar
    along = np.arange(left - 1.5, right + 1.5, 0.01)
    x, y = np.rint(place.to_px(np.c_[along, np.full(len(along), (top + bottom) / 2)])).astype(int).T
    inked = along[picture[y, x, 1] < 128]
    assert inked[-1] - inked[0] == pytest.approx(BAR_MM, abs=0.1)
    assert place.px_per_mm == pytest.approx(400 / 25.4, rel=0.002)
