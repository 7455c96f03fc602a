"""Photographs spoiled in every way that must be refused, and changed in ways that must not be."""

from __future__ import annotations

import io
from collections.abc import Callable

import cv2
import numpy as np
from PIL import Image, PngImagePlugin

from tests.paper.rendering import FIGURES, TRAINING, Photo, Style, render
from tests.paper.rendering.hairs import draw_hair
from tests.paper.rendering.photo import QUALITIES, _photographed
from tests.paper.rendering.styles import COATS

Rng = np.random.Generator
Spoiler = Callable[[Photo, Rng], bytes]


def jpeg(image: np.ndarray, quality: int = 90) -> bytes:
    ok, code = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, quality])
    assert ok
    return code.tobytes()


def style_of(photo: Photo) -> Style:
    """The style that a photograph was drawn in: the lens of one is a barrel, that of the other a pincushion."""
    return FIGURES if photo.camera.barrel > 0 else TRAINING


def px(photo: Photo, mm: np.ndarray) -> np.ndarray:
    return photo.camera.project(np.c_[np.atleast_2d(mm), np.zeros(len(np.atleast_2d(mm)))])


def _per_mm(photo: Photo) -> float:
    a, b = px(photo, np.array([[100.0, 74.0], [110.0, 74.0]]))
    return float(np.hypot(*(b - a)) / 10)


def hidden_marks(photo: Photo, rng: Rng) -> bytes:
    image = photo.image
    middles = [(11, 11), (199, 11), (199, 137), (11, 137), (105, 11), (199, 74), (105, 137), (11, 74)]
    for k in rng.permutation(8)[: rng.integers(6, 9)]:
        at = px(photo, np.array([middles[k]], float))[0]
        cv2.circle(image, tuple(int(v) for v in at), int(9 * _per_mm(photo)), (90, 110, 140), -1)
    return jpeg(image)


def far_off(photo: Photo, rng: Rng) -> bytes:
    f = rng.uniform(0.3, 0.52)
    return jpeg(cv2.resize(photo.image, None, fx=f, fy=f, interpolation=cv2.INTER_AREA))


def tilted(photo: Photo, rng: Rng) -> bytes:
    h, w = photo.image.shape[:2]
    t, way = np.radians(rng.uniform(34, 45)), rng.uniform(0, 2 * np.pi)
    axis = np.array([np.cos(way), np.sin(way), 0.0]) * t
    turn, _ = cv2.Rodrigues(axis)
    far = 1.2 * w
    lens = np.array([[1.1 * w, 0, w / 2], [0, 1.1 * w, h / 2], [0, 0, 1.0]])
    plane = np.column_stack([turn[:, 0], turn[:, 1], [0, 0, far]])
    warp = lens @ plane @ np.array([[1.0, 0, -w / 2], [0, 1.0, -h / 2], [0, 0, 1.0]])
    return jpeg(cv2.warpPerspective(photo.image, warp, (w, h), borderValue=(120, 120, 120)))


def blurred(photo: Photo, rng: Rng) -> bytes:
    return jpeg(cv2.GaussianBlur(photo.image, (0, 0), rng.uniform(4.0, 8.0)))


def shaken_camera(photo: Photo, rng: Rng) -> bytes:
    size = int(rng.integers(31, 61)) | 1
    line = np.zeros((size, size), np.float32)
    t = rng.uniform(0, np.pi)
    reach = np.array([np.cos(t), np.sin(t)]) * (size // 2)
    middle = np.full(2, size // 2)
    ends = [tuple(round(float(v)) for v in middle + s * reach) for s in (-1, 1)]
    cv2.line(line, ends[0], ends[1], 1.0)
    return jpeg(cv2.filter2D(photo.image, -1, line / line.sum()))


def curled(photo: Photo, rng: Rng) -> bytes:
    image = photo.image
    h, w = image.shape[:2]
    corner = px(photo, np.array([[11.0, 11.0], [199.0, 11.0], [199.0, 137.0], [11.0, 137.0]]))[
        rng.integers(4)
    ]
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32)
    scale = _per_mm(photo)
    near = np.exp(-(((xs - corner[0]) ** 2 + (ys - corner[1]) ** 2) / (2 * (28 * scale) ** 2))).astype(
        np.float32
    )
    lift = np.float32(rng.uniform(4.0, 7.0) * scale)
    inward = np.array([w / 2, h / 2]) - corner
    inward /= np.hypot(*inward)
    moved = cv2.remap(
        image,
        xs - lift * near * np.float32(inward[0]),
        ys - lift * near * np.float32(inward[1]),
        cv2.INTER_LINEAR,
    )
    return jpeg(moved)


def shadowed(photo: Photo, rng: Rng) -> bytes:
    h, w = photo.image.shape[:2]
    t, at = rng.uniform(0, np.pi), rng.uniform(-0.15, 0.15)
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32)
    side = ((xs - w / 2) * np.cos(t) + (ys - h / 2) * np.sin(t)) / w - at
    shade = 1 - (1 - rng.uniform(0.3, 0.55)) / (1 + np.exp(-side * 60))
    return jpeg((photo.image * shade[:, :, None]).astype(np.uint8))


def glaring(photo: Photo, rng: Rng) -> bytes:
    image = photo.image.astype(np.float32)
    at = px(photo, np.array([[rng.uniform(60, 150), rng.uniform(50, 100)]]))[0]
    h, w = image.shape[:2]
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32)
    spot = np.exp(
        -(((xs - at[0]) ** 2 + (ys - at[1]) ** 2) / (2 * (rng.uniform(15, 30) * _per_mm(photo)) ** 2))
    )
    return jpeg(np.clip(image + 900 * spot[:, :, None], 0, 255).astype(np.uint8))


def two_sheets(photo: Photo, rng: Rng) -> bytes:
    return jpeg(
        np.concatenate([photo.image, np.roll(photo.image, int(rng.integers(-40, 40)), axis=0)], axis=1)
    )


def tufted(photo: Photo, rng: Rng) -> bytes:
    image = photo.image
    scale = _per_mm(photo)
    for _ in range(int(rng.integers(4, 7))):
        middle = px(photo, np.array([[rng.uniform(45, 165), rng.uniform(45, 105)]]))[0]
        for _ in range(260):
            s = np.linspace(0, 1, 24)
            turn, bend = rng.uniform(0, 2 * np.pi), rng.normal(0, 3.0)
            steps = (
                np.column_stack([np.cos(turn + bend * s), np.sin(turn + bend * s)])
                * scale
                * rng.uniform(0.4, 1.0)
            )
            line = middle + rng.normal(0, 3.0 * scale, 2) + np.cumsum(steps, axis=0)
            colour = tuple(int(v) for v in ([215] * 3 if photo.dark else [40] * 3))
            cv2.polylines(image, [line.astype(np.int32)], False, colour, 2, cv2.LINE_AA)
    return jpeg(image)


def on_the_wrong_ground(coat: str, dark: bool) -> Spoiler:
    """Hair of a coat on the sheet that does not suit it."""

    def spoiled(photo: Photo, rng: Rng) -> bytes:
        style = style_of(photo)
        hairs = [draw_hair(style, coat, rng, 0.15) for _ in range(50)]
        return _photographed(style, QUALITIES["good"], dark, hairs, [], rng, (4000, 3000)).jpeg

    return spoiled


def crowded(photo: Photo, rng: Rng) -> bytes:
    coat = COATS[int(rng.integers(3))]
    return render(style_of(photo), int(rng.integers(1 << 30)), hairs=330, coat=coat).jpeg


def screenshot(photo: Photo, rng: Rng) -> bytes:
    """A file that calls itself one."""
    told = PngImagePlugin.PngInfo()
    told.add_text("Comment", "Screenshot")
    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(photo.image[::2, ::2, ::-1])).save(out, "PNG", pnginfo=told)
    return out.getvalue()


def on_a_phone_s_screen(photo: Photo, rng: Rng) -> bytes:
    """The photograph as a phone shows it, between bars."""
    wide = int(rng.integers(1080, 1441))
    small = cv2.resize(photo.image, (wide, wide * 3 // 4), interpolation=cv2.INTER_AREA)
    bar = np.full((int(0.6 * wide), wide, 3), 24, np.uint8)
    return jpeg(np.concatenate([bar, small, bar]))


def photo_of_a_screen(photo: Photo, rng: Rng) -> bytes:
    """A monitor of 1920 dots a line, each of red, green and blue stripes, photographed from near."""
    dots = cv2.resize(photo.image, (1920, 1440), interpolation=cv2.INTER_AREA)
    fine = np.zeros((1440 * 3, 1920 * 3, 3), np.uint8)
    for stripe, channel in enumerate((2, 1, 0)):
        for row in range(3):
            fine[row::3, stripe::3, channel] = dots[:, :, channel] if row < 2 else dots[:, :, channel] // 3
    t = np.radians(rng.uniform(-2, 2))
    f = rng.uniform(0.66, 0.69)
    h, w = fine.shape[:2]
    c, s = f * np.cos(t), f * np.sin(t)
    warp = np.array([[c, -s, 2000 - c * w / 2 + s * h / 2], [s, c, 1500 - s * w / 2 - c * h / 2]])
    soft = cv2.GaussianBlur(fine, (0, 0), rng.uniform(0.7, 1.0))
    shown = cv2.warpAffine(soft, warp, (4000, 3000), flags=cv2.INTER_LINEAR).astype(np.float32)
    return jpeg(np.clip(shown * 2.2, 0, 255).astype(np.uint8))


def printed_and_photographed(photo: Photo, rng: Rng, wide_mm: float) -> bytes:
    """The photograph printed ``wide_mm`` wide at 300 dots to the inch, and the print photographed aslant.

    Ink runs by half a dot, toner is grainy, paper is not white; the second camera has 4000 x 3000 pixels, its picture
    filled by the print.
    """
    dots = round(wide_mm / 25.4 * 300)
    small = cv2.resize(photo.image, (dots, dots * 3 // 4), interpolation=cv2.INTER_AREA).astype(np.float32)
    ink = cv2.GaussianBlur(small, (0, 0), 0.5) + rng.normal(0, 5.0, small.shape).astype(np.float32)
    paper = np.clip(12 + 0.91 * ink, 0, 255)
    w, h = 4000, 3000
    corners = np.array([[0, 0], [dots, 0], [dots, dots * 3 // 4], [0, dots * 3 // 4]], np.float32)
    seen = np.array([[60, 50], [w - 60, 50], [w - 60, h - 50], [60, h - 50]]) + rng.uniform(-45, 45, (4, 2))
    warp = cv2.getPerspectiveTransform(corners, seen.astype(np.float32))
    again = cv2.warpPerspective(paper, warp, (w, h), flags=cv2.INTER_LINEAR, borderValue=(90, 110, 130))
    light = np.linspace(1.0, rng.uniform(0.8, 0.95), w, dtype=np.float32)[None, :, None]
    soft = cv2.GaussianBlur(again * light, (0, 0), 0.8) + rng.normal(0, 2.0, again.shape).astype(np.float32)
    return jpeg(np.clip(soft, 0, 255).astype(np.uint8), 92)


SPOILED: dict[str, tuple[Spoiler, frozenset[str]]] = {
    "fewer than three marks": (hidden_marks, frozenset({"markers"})),
    "too far off": (far_off, frozenset({"far", "markers"})),
    "too steep": (tilted, frozenset({"tilt", "far", "markers"})),
    "out of focus": (blurred, frozenset({"blur", "markers"})),
    "shaken camera": (shaken_camera, frozenset({"blur", "markers", "curved"})),
    "curled sheet": (curled, frozenset({"curved", "markers"})),
    "shadow": (shadowed, frozenset({"shadow"})),
    "glare": (glaring, frozenset({"glare", "markers"})),
    "two sheets": (two_sheets, frozenset({"two-sheets"})),
    "felted tufts": (tufted, frozenset({"felted"})),
    "pale hair on white": (on_the_wrong_ground("white", False), frozenset({"pale"})),
    "banded hair on dark": (on_the_wrong_ground("banded", True), frozenset({"banded"})),
    "crowded": (crowded, frozenset({"crowded"})),
    "screenshot": (screenshot, frozenset({"screenshot"})),
    "on a phone's screen": (on_a_phone_s_screen, frozenset({"far", "markers"})),
    "photo of a screen": (photo_of_a_screen, frozenset({"screenshot", "blur", "far", "markers"})),
}
"""Each kind with the codes by which it may be refused."""


def _brighter(photo: Photo, rng: Rng) -> np.ndarray:
    return np.clip(photo.image * rng.uniform(0.75, 1.08), 0, 255).astype(np.uint8)


def _warmer(photo: Photo, rng: Rng) -> np.ndarray:
    return np.clip(photo.image * np.array([rng.uniform(0.75, 1), 1, rng.uniform(0.9, 1)]), 0, 255).astype(
        np.uint8
    )


UNSPOILED: dict[str, Callable[[Photo, Rng], bytes]] = {
    "as taken": lambda photo, rng: photo.jpeg,
    "upside down": lambda photo, rng: jpeg(np.ascontiguousarray(photo.image[::-1, ::-1]), 93),
    "darker or lighter": lambda photo, rng: jpeg(_brighter(photo, rng), 93),
    "warmer light": lambda photo, rng: jpeg(_warmer(photo, rng), 93),
    "smaller": lambda photo, rng: jpeg(
        cv2.resize(photo.image, None, fx=0.85, fy=0.85, interpolation=cv2.INTER_AREA), 93
    ),
    "squeezed harder": lambda photo, rng: jpeg(photo.image, 78),
    "on its side": lambda photo, rng: jpeg(np.ascontiguousarray(np.rot90(photo.image)), 93),
}
