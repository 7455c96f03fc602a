"""The sheets for pulled hair as tagged PDF, to the millimetre: one a page, or as many as a page of paper holds.

Where everything lies comes from :mod:`coatwright.paper.sheet`, by which photographs are read; only the words and how
many sheets share a page are settled here. Sizes of paper by ISO 216 (A4 210 x 297, A5 148 x 210, A6 105 x 148 mm),
and Letter by ANSI/ASME Y14.1 (8 1/2 x 11 in).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from coatwright.errors import OutOfRange, UnknownName
from coatwright.paper.sheet import EDGE_MM, LINES, MARKER_MM, SheetGeometry, sheet, sheet_svg
from coatwright.printing.typeset import PAPERS, typeset
from coatwright.units import Millimetres

OWN = "own"
"""One sheet on a page of its own size."""
PAGES = (OWN, *PAPERS)
"""What a sheet can be printed on."""
NOTE = "Print at 100 %, not fitted to the page, and measure the bar."
APART_MM: Millimetres = 1.0
"""Edges nearer together, or nearer to the edge of the page, are cut as one."""
LETTER_MM: Millimetres = 1.6
"""Width of a letter of what is written on the lines, rather more than on average."""
QUIET_MM: Millimetres = 3.0
"""Left free around a marker: nearly two of its cells."""


def paper_sheet_pdf(
    key: str, *, made: date, page: str = "a4", filled: Mapping[str, str] | None = None, copies: int = 1
) -> bytes:
    """Printed sheets of a ``key`` of :data:`coatwright.paper.sheet.SHEETS` as PDF/UA-1.

    ``page`` is "own", "a4" or "letter"; ``filled`` is what stands on the lines of the sheet, by the names of
    :data:`coatwright.paper.sheet.LINES`; ``copies`` pages. Raises :class:`~coatwright.errors.UnknownName` for an
    unknown sheet or line, :class:`~coatwright.errors.OutOfRange` for a page that does not hold it.
    """
    geometry = sheet(key)
    wide, high = page_size(geometry, page)
    places = sheets_on(geometry, page)
    if not 1 <= copies <= 50:
        raise OutOfRange(f"{copies} pages were asked for.", where="copies", remedy="Ask for 1 to 50.")
    for name in filled or {}:
        if name not in LINES:
            raise UnknownName.of("line of the sheet", name, LINES)
    data = {
        "title": f"{geometry.name} for pulled hair",
        "description": f"{NOTE} Markers {geometry.first_id} to {geometry.first_id + 7}.",
        "page": [wide, high],
        "size": list(geometry.page_mm),
        "places": [list(place) for place in places],
        "pages": copies,
        "cuts": _cuts(geometry, places, (wide, high)),
        "words": _words(geometry, dict(filled or {})),
        "alt": _alt(geometry),
    }
    return typeset(
        "paper_sheet",
        data,
        paper="a4",
        made=made,
        picture_svg=None,
        charts={"sheet": sheet_svg(geometry)},
        alone=True,
    )


def page_size(geometry: SheetGeometry, page: str) -> tuple[Millimetres, Millimetres]:
    """Width and height of the page, mm, turned so that it holds the most sheets."""
    if page not in PAGES:
        raise UnknownName.of("page", page, PAGES)
    if page == OWN:
        return geometry.page_mm
    upright = PAPERS[page]
    both = (upright, (upright[1], upright[0]))
    return max(both, key=lambda size: _many(geometry, size)[0] * _many(geometry, size)[1])


def sheets_on(geometry: SheetGeometry, page: str) -> tuple[tuple[Millimetres, Millimetres], ...]:
    """The upper left corners of the sheets on a page, mm, each in the middle of its part of the page."""
    size = page_size(geometry, page)
    across, down = _many(geometry, size)
    if across * down == 0:
        raise OutOfRange(
            f"The {geometry.name} of {geometry.width_mm:g} x {geometry.height_mm:g} mm does not fit on {page}.",
            where="page",
            remedy=f"Use {'a4' if page != 'a4' else 'own'}, or a smaller sheet.",
        )
    wide, high = size[0] / across, size[1] / down
    return tuple(
        (
            column * wide + (wide - geometry.width_mm) / 2,
            row * high + (high - geometry.height_mm) / 2,
        )
        for row in range(down)
        for column in range(across)
    )


def _many(geometry: SheetGeometry, size: tuple[float, float]) -> tuple[int, int]:
    return int((size[0] + 1e-6) // geometry.width_mm), int((size[1] + 1e-6) // geometry.height_mm)


def _cuts(
    geometry: SheetGeometry, places: tuple[tuple[float, float], ...], size: tuple[float, float]
) -> list[list[list[float]]]:
    """Lines to cut along: the edges of the sheets that lie inside the page."""
    xs = _merged(x + side for x, _ in places for side in (0.0, geometry.width_mm))
    ys = _merged(y + side for _, y in places for side in (0.0, geometry.height_mm))
    found = [[[x, 0.0], [x, size[1]]] for x in xs if APART_MM < x < size[0] - APART_MM]
    found += [[[0.0, y], [size[0], y]] for y in ys if APART_MM < y < size[1] - APART_MM]
    return found


def _merged(values: Iterable[float]) -> list[float]:
    """Values in order; the middle of those that lie nearly together."""
    groups: list[list[float]] = []
    for value in sorted(values):
        if groups and value - groups[-1][-1] < APART_MM:
            groups[-1].append(value)
        else:
            groups.append([value])
    return [(group[0] + group[-1]) / 2 for group in groups]


def _words(geometry: SheetGeometry, filled: Mapping[str, str]) -> list[dict[str, Any]]:
    """Words with their boxes, mm, clear of the markers and of the band around the clear area."""
    width = geometry.width_mm
    mid, gap = width / 2, EDGE_MM + MARKER_MM + QUIET_MM
    patches_end = max(box[2] for box, _ in geometry.patches)
    near = mid - MARKER_MM / 2 - QUIET_MM
    far = mid + MARKER_MM / 2 + QUIET_MM
    words = [
        _word(far, 6.8, width - gap - far, 3.2, _title(geometry), 7.5, caps=True, top=True),
        _word(far, 10.6, width - gap - far, 5.6, _how(geometry), 6.5, top=True),
    ]
    room = near - patches_end - 3.0
    if room > 30.0:
        words.append(_word(patches_end + 3.0, 7.2, room, 9.4, _lay(geometry), 6.5, top=True))
    x0, _, x1, bottom = geometry.bar
    words += [
        _word(x0, bottom + 0.35, near - x0, 1.9, "This bar is 100 mm long.", 5.5),
        _word(far, bottom + 0.35, x1 - far, 1.9, "Print at 100 %, not fitted to the page.", 5.5),
    ]
    for name, (left, line_top, right, base) in geometry.lines:
        words.append(_word(left, line_top, 9.0, base - line_top, name, 6.5, caps=True))
        value = _short(filled.get(name, ""), right - left - 9.5)
        if value:
            words.append(_word(left + 9.5, line_top, right - left - 9.5, base - line_top - 0.3, value, 8.0))
    return words


def _word(
    x: float,
    y: float,
    width: float,
    height: float,
    text: str,
    size: float,
    *,
    caps: bool = False,
    top: bool = False,
) -> dict[str, Any]:
    box = {"x": x, "y": y, "width": width, "height": height}
    return {**box, "text": text, "size": size, "caps": caps, "top": top}


def _short(text: str, room: Millimetres) -> str:
    """``text`` as far as a line of ``room`` mm holds it."""
    most = int(room / LETTER_MM)
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _title(geometry: SheetGeometry) -> str:
    size = "half" if geometry.close_up else geometry.key[:2].upper()
    return f"Pulled hair · {size}, {'dark frame' if geometry.dark else 'white'}"


def _how(geometry: SheetGeometry) -> str:
    if geometry.dark:
        return "For white and pale hair. Cut out along the dashes, lay over matt black card."
    return "For black, red, grey and banded hair. Pale hair needs the dark frame."


def _lay(geometry: SheetGeometry) -> str:
    many = "30 to 40" if geometry.close_up else "60 to 100"
    return (
        f"Lay {many} hairs within the frame, spread, none in tufts. Photograph from straight above in daylight, "
        "without flash, all eight marks in the picture."
    )


def _alt(geometry: SheetGeometry) -> str:
    x0, y0, x1, y1 = geometry.clear
    return (
        f"{geometry.name}: eight square marks along the edges, an empty area of {x1 - x0:g} by {y1 - y0:g} mm, "
        "a bar of 100 mm, three grey patches, and lines for dog, zone, tool and date."
    )
