"""The printed sheets: where markers, clear area, bar and patches lie, mm from the upper left corner.

Eight ArUco markers (S. Garrido-Jurado and others, "Automatic generation and detection of highly reliable fiducial
markers under occlusion", Pattern Recognition 47 (2014), 2280-2292) of the dictionary 4 x 4, 50, tell where the sheet
lies and which sheet it is. Sizes of paper by ISO 216. Dark sheets are a white frame laid over matt black card.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from coatwright.errors import UnknownName
from coatwright.units import Millimetres

MARKER_MM: Millimetres = 10.0
EDGE_MM: Millimetres = 6.0
MARGIN_MM: Millimetres = 20.0
"""From the edge of the sheet to the clear area."""
BAR_MM: Millimetres = 100.0
BAR_LIMITS: tuple[Millimetres, Millimetres] = (90.0, 110.0)
"""Within these the printed bar of 100 mm can be allowed for."""
PLACES = (
    "top left", "top right", "bottom right", "bottom left",
    "top middle", "right middle", "bottom middle", "left middle",
)  # fmt: skip
"""What the markers are called, in the order of their numbers."""
GREYS = (0.25, 0.5, 0.75)
"""How light the patches are printed, as shares of the way from black to white in the printer's codes."""
LINES = ("Dog", "Zone", "Tool", "Date")

Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 in mm."""


@dataclass(frozen=True)
class SheetGeometry:
    """One kind of sheet. All lengths in mm, from the upper left corner of the sheet, x right and y down."""

    key: str
    name: str
    width_mm: Millimetres
    height_mm: Millimetres
    first_id: int
    """Number of the upper left marker; the others follow in the order of :data:`PLACES`."""
    dark: bool
    close_up: bool
    on_a4: int
    """How many are printed on one A4."""

    @property
    def page_mm(self) -> tuple[Millimetres, Millimetres]:
        """Width and height of the sheet."""
        return self.width_mm, self.height_mm

    @property
    def markers(self) -> Mapping[int, tuple[Millimetres, Millimetres]]:
        """The upper left corner of every marker, by its number."""
        far_x, far_y = self.width_mm - EDGE_MM - MARKER_MM, self.height_mm - EDGE_MM - MARKER_MM
        mid_x, mid_y = (self.width_mm - MARKER_MM) / 2, (self.height_mm - MARKER_MM) / 2
        corners = (
            (EDGE_MM, EDGE_MM), (far_x, EDGE_MM), (far_x, far_y), (EDGE_MM, far_y),
            (mid_x, EDGE_MM), (far_x, mid_y), (mid_x, far_y), (EDGE_MM, mid_y),
        )  # fmt: skip
        return MappingProxyType({self.first_id + k: corner for k, corner in enumerate(corners)})

    def marker_corners(self, number: int) -> tuple[tuple[float, float], ...]:
        """The four corners of a marker, clockwise from its upper left one."""
        x, y = self.markers[number]
        return (x, y), (x + MARKER_MM, y), (x + MARKER_MM, y + MARKER_MM), (x, y + MARKER_MM)

    @property
    def clear(self) -> Box:
        """The area for hairs."""
        return MARGIN_MM, MARGIN_MM, self.width_mm - MARGIN_MM, self.height_mm - MARGIN_MM

    @property
    def bar(self) -> Box:
        """The bar of 100 mm, between the clear area and the lower markers, a marker's cell away from them."""
        left = (self.width_mm - BAR_MM) / 2
        top = self.height_mm - MARGIN_MM + 1.0
        return left, top, left + BAR_MM, top + 1.2

    @property
    def patches(self) -> tuple[tuple[Box, float], ...]:
        """Grey patches, between the upper left and the upper middle marker, and how light each is."""
        left = EDGE_MM + MARKER_MM + 4.0
        return tuple(((left + 8.0 * k, 8.0, left + 8.0 * k + 7.0, 14.0), g) for k, g in enumerate(GREYS))

    @property
    def lines(self) -> tuple[tuple[str, Box], ...]:
        """What is written by hand, each with the box of its line: beside the lower middle marker."""
        mid = self.width_mm / 2
        gap = EDGE_MM + MARKER_MM + 3.0
        near, far = (gap, mid - MARKER_MM), (mid + MARKER_MM, self.width_mm - gap)
        rows = (self.height_mm - 15.5, self.height_mm - 9.0)
        spots = [(x0, y, x1, y + 4.5) for x0, x1 in (near, far) for y in rows]
        return tuple(zip(LINES, spots, strict=True))


def _sheets() -> dict[str, SheetGeometry]:
    kinds = (
        ("a5", "A5 sheet", 210.0, 148.0, False, 2),
        ("a5-dark", "A5 dark frame", 210.0, 148.0, True, 2),
        ("a4", "A4 sheet", 297.0, 210.0, False, 1),
        ("a4-dark", "A4 dark frame", 297.0, 210.0, True, 1),
        ("half", "half sheet for close-ups", 148.0, 105.0, False, 4),
        ("half-dark", "half dark frame for close-ups", 148.0, 105.0, True, 4),
    )
    return {
        key: SheetGeometry(key, name, w, h, 8 * k, dark, key.startswith("half"), many)
        for k, (key, name, w, h, dark, many) in enumerate(kinds)
    }


SHEETS: Mapping[str, SheetGeometry] = MappingProxyType(_sheets())
"""Every sheet by its key. A5 and A6 landscape, A4 landscape (ISO 216); numbers 0 to 47 of the 50 markers."""


def sheet(key: str) -> SheetGeometry:
    """The sheet of a ``key``. Raises :class:`~coatwright.errors.UnknownName`."""
    if key not in SHEETS:
        raise UnknownName.of("sheet", key, SHEETS)
    return SHEETS[key]


def sheet_of_marker(number: int) -> tuple[SheetGeometry, int] | None:
    """The sheet that bears a marker, and its place 0 to 7; None for the two numbers that no sheet bears."""
    for one in SHEETS.values():
        if 0 <= number - one.first_id < 8:
            return one, number - one.first_id
    return None


def marker_cells(number: int) -> tuple[tuple[bool, ...], ...]:
    """The 6 x 6 cells of a marker with its black rim, row by row; True is black."""
    import cv2

    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    image = cv2.aruco.generateImageMarker(book, number, 6)
    return tuple(tuple(bool(v < 128) for v in row) for row in image)


def sheet_svg(geometry: SheetGeometry) -> str:
    """The sheet without its words, as SVG in mm: markers, bar, patches, lines and the frame of the clear area.

    White cells that touch are cut out as one shape, so that no viewer draws seams between them.
    """
    w, h = geometry.page_mm
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w:g}mm" height="{h:g}mm" viewBox="0 0 {w:g} {h:g}">',
    ]
    for number, (x, y) in geometry.markers.items():
        parts.append(f'<path fill="#000" d="{_cells_path(number, x, y)}"/>')
    parts.append(_rect(geometry.bar, 'fill="#000"'))
    for box, grey in geometry.patches:
        code = round(255 * grey)
        parts.append(_rect(box, f'fill="#{code:02x}{code:02x}{code:02x}"'))
    for _, (x0, _, x1, y1) in geometry.lines:
        parts.append(f'<path stroke="#000" stroke-width="0.15" d="M{x0 + 9:g} {y1:g}H{x1:g}"/>')
    if geometry.dark:  # cut along this line; the card shows through
        parts.append(
            _rect(geometry.clear, 'fill="none" stroke="#000" stroke-width="0.2" stroke-dasharray="2 1.5"')
        )
    else:
        parts += [
            f'<path fill="none" stroke="#999" stroke-width="0.15" d="{d}"/>' for d in _corners(geometry)
        ]
    return "\n".join([*parts, "</svg>"])


def _cells_path(number: int, x: float, y: float) -> str:
    """One path for the whole marker: its black square with the white shapes cut out (counted the other way)."""
    cell = MARKER_MM / 6
    out = [f"M{x:g} {y:g}h{MARKER_MM:g}v{MARKER_MM:g}h{-MARKER_MM:g}z"]
    for loop in _outlines(marker_cells(number)):
        points = [f"{x + column * cell:.5f} {y + row * cell:.5f}" for column, row in loop]
        out.append(f"M{'L'.join(points)}z")
    return "".join(out)


def _outlines(cells: tuple[tuple[bool, ...], ...]) -> list[list[tuple[int, int]]]:
    """The outlines of the white shapes as loops of (column, row) corners, anticlockwise, without inner seams."""
    ways: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for r, row in enumerate(cells):
        for c, black in enumerate(row):
            if black:
                continue
            corners = (c, r), (c, r + 1), (c + 1, r + 1), (c + 1, r)
            beside = (r, c - 1), (r + 1, c), (r, c + 1), (r - 1, c)
            for start, end, (i, j) in zip(corners, (*corners[1:], corners[0]), beside, strict=True):
                if cells[i][j]:  # the rim is black, so that every white cell has four neighbours
                    ways.setdefault(start, []).append(end)
    loops = []
    while ways:
        start = at = min(ways)
        loop: list[tuple[int, int]] = []
        while not loop or at != start:
            loop.append(at)
            at = ways[at].pop()
            if not ways[loop[-1]]:
                del ways[loop[-1]]
        loops.append(loop)
    return loops


def _corners(geometry: SheetGeometry) -> list[str]:
    """Small corners just outside the clear area."""
    x0, y0, x1, y1 = geometry.clear
    return [
        f"M{x:g} {y + dy:g}V{y:g}H{x + dx:g}"
        for x, y, dx, dy in ((x0, y0, 4, 4), (x1, y0, -4, 4), (x1, y1, -4, -4), (x0, y1, 4, -4))
    ]


def _rect(box: Box, look: str) -> str:
    x0, y0, x1, y1 = box
    return f'<rect x="{x0:g}" y="{y0:g}" width="{x1 - x0:g}" height="{y1 - y0:g}" {look}/>'
