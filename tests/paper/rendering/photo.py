"""From hairs and a camera to a photograph with its truth."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from tests.paper.rendering.camera import Camera, place_camera
from tests.paper.rendering.hairs import TrueHair, draw_dust, draw_fluff, draw_hair, laid_anew
from tests.paper.rendering.page import PAGE_MM, page_picture
from tests.paper.rendering.raster import stroke
from tests.paper.rendering.styles import COATS, ON_DARK, Style

SIZE = (4000, 3000)


@dataclass(frozen=True)
class Quality:
    """How well a photograph was taken."""

    tilt: tuple[float, float]
    blur: tuple[float, float]
    """Standard deviation of the lens blur, px."""
    noise: float
    jpeg: int
    slope: float
    """Light at the dark side over light at the bright side, less one."""


QUALITIES = {
    "good": Quality((0.0, 5.0), (0.6, 0.9), 0.006, 93, 0.10),
    "medium": Quality((5.0, 15.0), (1.0, 1.5), 0.010, 87, 0.20),
    "poor": Quality((13.0, 22.0), (1.6, 2.3), 0.018, 75, 0.35),
}


@dataclass(frozen=True)
class Photo:
    """A photograph as JPEG bytes and what is truly on it."""

    jpeg: bytes
    hairs: list[TrueHair]
    others: list[TrueHair]
    """Fluff and dust."""
    camera: Camera
    dark: bool
    blur: float

    @property
    def image(self) -> np.ndarray:
        """(h, w, 3) uint8, blue green red."""
        return cv2.imdecode(np.frombuffer(self.jpeg, np.uint8), cv2.IMREAD_COLOR)

    def seen(self, hair: TrueHair) -> np.ndarray:
        """Where the hair appears on the page, (n, 2) mm: its shadow from the eye."""
        return self.camera.to_page(self.camera.project(hair.space))


def _background(camera: Camera, dark: bool) -> np.ndarray:
    picture, scale = page_picture(dark)
    w, h = camera.size
    step = 8
    gx, gy = np.meshgrid(np.arange(0, w + step, step), np.arange(0, h + step, step))
    page = camera.to_page(np.stack([gx.ravel(), gy.ravel()], axis=1).astype(float))
    small = (page * scale - 0.5).reshape(*gx.shape, 2).astype(np.float32)
    # the map at full size: bilinear between every eighth pixel, its error below a hundredth of a pixel
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32) / step
    maps = [cv2.remap(small[:, :, k], xs, ys, cv2.INTER_LINEAR) for k in range(2)]
    return cv2.remap(
        picture, maps[0], maps[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0.22
    )


def _light(style: Style, quality: Quality, size: tuple[int, int], rng: np.random.Generator) -> np.ndarray:
    w, h = size
    y, x = np.mgrid[0:24, 0:32]
    x, y = x / 31 - 0.5, y / 23 - 0.5
    angle = rng.uniform(0, 2 * np.pi)
    if style.falloff:
        cx, cy = 0.7 * np.cos(angle), 0.7 * np.sin(angle)
        light = 1.0 / (1.0 + quality.slope * ((x - cx) ** 2 + (y - cy) ** 2))
    else:
        light = 1.0 + quality.slope * (x * np.cos(angle) + y * np.sin(angle))
    light = (light / light.max()).astype(np.float32)
    return cv2.resize(light, (w, h), interpolation=cv2.INTER_CUBIC)


def _shine(hair: TrueHair, sun: float, style: Style) -> np.ndarray:
    """Hair lying across the light shines a little."""
    if not style.fades:
        return hair.colour
    steps = np.gradient(hair.space[:, :2], axis=0)
    across = np.abs(np.sin(np.arctan2(steps[:, 1], steps[:, 0]) - sun))
    return np.clip(hair.colour + (0.06 * across**12)[:, None], 0, 0.95)


def _srgb(linear: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1."""
    return np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )


def _sensor(style: Style, quality: Quality, image: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Linear light (h, w, 3) blue green red to uint8."""
    fast = np.random.Generator(np.random.SFC64(rng.integers(2**63)))
    if style.mosaic:
        raw = np.empty(image.shape[:2], np.float32)
        for (dy, dx), k in {(0, 0): 2, (0, 1): 1, (1, 0): 1, (1, 1): 0}.items():
            raw[dy::2, dx::2] = image[dy::2, dx::2, k]
        noise = fast.standard_normal(raw.shape, np.float32)
        raw += noise * quality.noise * np.sqrt(0.15 + np.maximum(raw, 0))
        raw16 = np.clip(raw * 60000, 0, 65535).astype(np.uint16)
        linear = cv2.cvtColor(raw16, cv2.COLOR_BayerRG2BGR).astype(np.float32) / 60000
        soft = cv2.GaussianBlur(linear, (0, 0), 1.2)
        linear = linear + 0.35 * (linear - soft)
        code = _table(linear)
        return np.clip(code * 255 + 0.5, 0, 255).astype(np.uint8)
    noise = fast.standard_normal(image.shape, np.float32)
    image = image + noise * np.float32(quality.noise)
    return np.clip(_table(image) * 255 + 0.5, 0, 255).astype(np.uint8)


_CODES = _srgb(np.arange(4097) / 4096).astype(np.float32)


def _table(linear: np.ndarray) -> np.ndarray:
    return _CODES[np.clip(linear * 4096, 0, 4096).astype(np.int32)]


def render(
    style: Style,
    seed: int,
    *,
    hairs: int,
    coat: str = "black",
    quality: str = "good",
    broken: float = 0.15,
    fluff: float = 0.2,
    dust: float = 0.5,
    size: tuple[int, int] = SIZE,
    lengths: tuple[float, ...] = (),
) -> Photo:
    """A photograph. ``fluff`` and ``dust`` count per hair; coats white and cream lie on the dark frame."""
    rng = np.random.default_rng([seed, len(style.name), COATS.index(coat)])
    how = QUALITIES[quality]
    dark = coat in ON_DARK
    wanted = lengths or (0.0,) * hairs
    drawn: list[TrueHair] = []
    for length in wanted:
        beside = drawn[-1] if drawn and rng.uniform() < style.pinches else None
        drawn.append(draw_hair(style, coat, rng, broken, length, beside))
    others = [draw_fluff(style, coat, rng) for _ in range(rng.poisson(fluff * len(drawn)))]
    others += [draw_dust(style, coat, rng) for _ in range(rng.poisson(dust * len(drawn)))]
    return _photographed(style, how, dark, drawn, others, rng, size)


def again(
    style: Style,
    photo: Photo,
    seed: int,
    *,
    quality: str = "good",
    shaken: bool = True,
    size: tuple[int, int] = SIZE,
) -> Photo:
    """The same hairs once more: ``shaken``, they lie elsewhere, turned, some over; else they lie as before."""
    rng = np.random.default_rng([seed, len(style.name), 77])
    drawn, others = photo.hairs, photo.others
    if shaken:
        drawn, before = [], None
        for k in rng.permutation(len(photo.hairs)):
            before = laid_anew(style, photo.hairs[k], rng, before if rng.uniform() < style.pinches else None)
            drawn.append(before)
        others = [laid_anew(style, one, rng) for one in photo.others]
    return _photographed(style, QUALITIES[quality], photo.dark, drawn, others, rng, size)


def _photographed(
    style: Style,
    how: Quality,
    dark: bool,
    drawn: list[TrueHair],
    others: list[TrueHair],
    rng: np.random.Generator,
    size: tuple[int, int],
) -> Photo:
    """What lies on the page, from a camera somewhere over it."""
    camera = place_camera(style, PAGE_MM, rng.uniform(*how.tilt), rng, size)
    image = cv2.cvtColor(_background(camera, dark), cv2.COLOR_GRAY2BGR)
    if style.grain:
        grain = rng.normal(0, style.grain, (size[1] // 3 + 1, size[0] // 3 + 1)).astype(np.float32)
        image *= 1 + cv2.resize(grain, size, interpolation=cv2.INTER_CUBIC)[:, :, None]
    sun = rng.uniform(0, np.pi)
    pile = [(hair, _shine(hair, sun, style)) for hair in drawn + others]
    _shadows(image, pile, camera, sun)
    for k in rng.permutation(len(pile)):
        hair, colour = pile[k]
        _lay(image, hair, colour, camera)
    image *= _light(style, how, size, rng)[:, :, None]
    image *= np.array([rng.uniform(0.92, 1.0), 1.0, rng.uniform(0.94, 1.02)], np.float32) * np.float32(0.88)
    blur = rng.uniform(*how.blur)
    image = cv2.GaussianBlur(image, (0, 0), blur)
    ok, code = cv2.imencode(".jpg", _sensor(style, how, image, rng), [cv2.IMWRITE_JPEG_QUALITY, how.jpeg])
    assert ok
    return Photo(code.tobytes(), drawn, others, camera, dark, float(blur))


def _scale(camera: Camera, hair: TrueHair) -> float:
    at = hair.space[len(hair.space) // 2]
    pair = camera.project(np.stack([at, at + np.array([0.1, 0.0, 0.0]), at + np.array([0.0, 0.1, 0.0])]))
    return float(np.hypot(*(pair[1:] - pair[0]).T).mean() * 10)


def _lay(image: np.ndarray, hair: TrueHair, colour: np.ndarray, camera: Camera) -> None:
    xy = camera.project(hair.space)
    half = hair.width / 2 * _scale(camera, hair)
    stroke(image, xy, half, np.ascontiguousarray(colour[:, ::-1]))


def _shadows(image: np.ndarray, pile: list, camera: Camera, sun: float) -> None:
    """Soft shadows beside hairs that stand off the paper, drawn at half size."""
    shade = np.ones((image.shape[0] // 2, image.shape[1] // 2, 3), np.float32)
    for hair, _ in pile:
        if hair.kind == "dust":
            continue
        shifted = hair.space.copy()
        shifted[:, :2] += 0.6 * hair.space[:, 2:] * np.array([np.cos(sun), np.sin(sun)])
        shifted[:, 2] = 0
        xy = camera.project(shifted[::4]) / 2
        stroke(shade, xy, hair.width[::4] * _scale(camera, hair) / 4, np.zeros((len(xy), 3)))
    soft = cv2.GaussianBlur(shade[:, :, 0], (0, 0), 3.0)
    full = cv2.resize(soft, (image.shape[1], image.shape[0]), interpolation=cv2.INTER_LINEAR)
    image *= (1 - 0.5 * (1 - full))[:, :, None]
