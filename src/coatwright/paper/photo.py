"""A photograph's bytes, taken in safely: what it is, how large, which way up, and without the place it was taken.

Nothing is written; a photograph that cannot be used is refused with :class:`PhotoError` before its pixels are
unpacked wherever its head tells enough.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coatwright.errors import FileFormatError

Pixels = NDArray[np.uint8]
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
"""Formats by the names that Pillow gives them. A JPEG with a second picture behind it (MPO) opens as JPEG."""
MOST_PIXELS = 50_000_000
MOST_BYTES = 80_000_000
LEAST_SIDE = 400
STRIP_PX = 512
LONGEST_CAMERA = 200
"""Characters kept of what a file says of its camera."""
FLAT = 4.0
"""Standard deviation of the lightness (0 to 255) under which a picture shows nothing."""
ORIENTATION = 0x0112
"""The EXIF tag (EXIF 2.32, Orientation) of the turn that brings a picture upright, 1 to 8."""
SPOILT = (
    OSError, ValueError, SyntaxError, RuntimeError, EOFError, MemoryError, TypeError, LookupError, AttributeError,
    ArithmeticError, struct.error, zlib.error,
)  # fmt: skip
"""What decoders raise over spoilt files and odd EXIF."""
SCREENSHOT_WORDS = ("screenshot", "screen shot", "screencapture", "screen capture")


class PhotoError(FileFormatError):
    """A photograph cannot be used. ``code`` names the reason."""

    def __init__(self, what: str, *, where: str = "", remedy: str = "", code: str = "unreadable") -> None:
        self.code = code
        super().__init__(what, where=where, remedy=remedy)

    def as_json(self) -> dict[str, str]:
        """The shape of every error, and the code."""
        return super().as_json() | {"code": self.code}

    def at(self, place: str) -> PhotoError:
        """The same error, with ``place`` put in front of where it happened."""
        where = f"{place}, {self.where}" if self.where else place
        return type(self)(self.what, where=where, remedy=self.remedy, code=self.code)


@dataclass(frozen=True, eq=False)
class PhotoFile:
    """A photograph, upright."""

    pixels: Pixels
    """(h, w, 3) uint8: blue, green, red, as OpenCV has them."""
    format: str
    camera: str
    """Maker and model as the file tells them, at most 200 characters; empty where it tells nothing."""
    has_camera_data: bool
    """Whether the file tells of an exposure, a lens or a camera."""
    says_screenshot: bool
    """Whether the file calls itself a screenshot."""


def read_photo(data: bytes, *, name: str = "") -> PhotoFile:
    """The photograph in ``data``; ``name`` is only for the message. Raises :class:`PhotoError`."""
    with opened(data, name) as image:
        _check_head(image, name)
        turn, facts = turn_of(image, data), _facts(image)
        format_name = image.format or ""
        image.load()
        pixels = _pixels(turned(image, turn))
    _check_content(pixels, name)
    return PhotoFile(pixels, "JPEG" if format_name == "MPO" else format_name, *facts)


@contextmanager
def opened(data: bytes, name: str = "") -> Iterator[Any]:
    """A picture of one of :data:`FORMATS` as Pillow has it, of which only the head is read.

    What a decoder raises within comes out as :class:`PhotoError`; ``name`` is where.
    """
    import pillow_heif
    from PIL import Image, UnidentifiedImageError

    if not data:
        raise _refused("The file is empty.", name, "Choose the photo again.", "empty")
    if len(data) > MOST_BYTES:
        raise _refused(
            f"The file has {len(data) / 1e6:.0f} MB; {MOST_BYTES / 1e6:.0f} are the most.", name,
            "Send the photo as JPEG or HEIC.", "huge",
        )  # fmt: skip
    Image.init()  # every plug-in, so that each format is known by its name
    pillow_heif.register_heif_opener(thumbnails=False)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of large pictures and of EXIF that is not as it should be
            with Image.open(io.BytesIO(data), formats=FORMATS) as image:
                yield image
    except PhotoError:
        raise
    except Image.DecompressionBombError as error:
        raise too_many(name) from error
    except UnidentifiedImageError as error:
        raise _refused(
            "This is no photo that can be read.", name, "Use JPEG, HEIC, PNG or WebP.", "unreadable"
        ) from error
    except SPOILT as error:
        raise _refused(
            "The photo is damaged or cut off.", name, "Send the file again, whole.", "damaged"
        ) from error


def turn_of(image: Any, data: bytes) -> int:
    """The turn that is still to be made, 1 to 8 (EXIF 2.32, Orientation); 1 where the file tells none."""
    told = _turn_left_to_exif(image, data) or _exif(image).get(ORIENTATION, 1)
    return told if isinstance(told, int) and 1 <= told <= 8 else 1


def turned(image: Any, turn: int) -> Any:
    """A picture with a turn made. Its EXIF, which may be odd, is neither read nor written."""
    from PIL.Image import Transpose

    made = {
        2: Transpose.FLIP_LEFT_RIGHT, 3: Transpose.ROTATE_180, 4: Transpose.FLIP_TOP_BOTTOM,
        5: Transpose.TRANSPOSE, 6: Transpose.ROTATE_270, 7: Transpose.TRANSVERSE, 8: Transpose.ROTATE_90,
    }  # fmt: skip
    return image.transpose(made[turn]) if turn in made else image


def _exif(image: Any) -> Any:
    """What the file tells of itself by numbers of tags; nothing where that cannot be read."""
    from PIL import Image

    try:
        return image.getexif()
    except SPOILT:
        return Image.Exif()


def without_place(data: bytes, *, name: str = "", quality: int = 92) -> bytes:
    """The photograph as it is kept: upright JPEG with its colours, and nothing told of place, person or camera."""
    from PIL import Image

    photo = read_photo(data, name=name)
    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(photo.pixels[:, :, ::-1])).save(
        out, "JPEG", quality=quality, subsampling=0
    )
    return out.getvalue()


def _check_head(image: Any, name: str) -> None:
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise too_many(name)
    if min(width, height) < LEAST_SIDE:
        raise _refused(
            f"The picture has {width} x {height} pixels, too few to see hairs.", name,
            "Send the photo itself, not a preview of it.", "tiny",
        )  # fmt: skip
    moving = image.format in {"PNG", "WEBP"} and getattr(image, "is_animated", False)
    if moving or (image.format == "HEIF" and getattr(image, "n_frames", 1) > 1):
        raise _refused("The file holds several pictures.", name, "Send one still photo.", "animated")


def _turn_left_to_exif(image: Any, data: bytes) -> int:
    """The turn (EXIF 2.32, 2 to 8) of a HEIC whose writer made none in the file itself; 0 for all others.

    Phones write the turn twice, as a property of the picture (ISO/IEC 23008-12, ``irot`` and ``imir``), which is
    made when it is unpacked, and in EXIF; it must not be made twice.
    """
    told = image.info.get("original_orientation") if image.format == "HEIF" else None
    return int(told) if told and not (b"irot" in data or b"imir" in data) else 0


def _check_content(pixels: Pixels, name: str) -> None:
    small = pixels[::8, ::8].mean(axis=2)
    low, high = np.percentile(small, (0.5, 99.5))
    if high < 25:
        raise _refused("The photo is black.", name, "Take it again in daylight.", "black")
    if low > 250:
        raise _refused("The photo is white.", name, "Take it again without flash.", "white")
    if small.std() < FLAT:
        raise _refused("The photo shows nothing but one shade.", name, "Photograph the whole sheet.", "flat")


def _pixels(image: Any) -> Pixels:
    """Blue, green, red of an image of any mode; what is see-through lies on white."""
    from PIL import Image

    if image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info:
        ground = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(ground, image.convert("RGBA"))
    elif image.mode.startswith("I;16") or image.mode == "I":
        deep = np.asarray(image, dtype=np.float64) / 257.0
        image = Image.fromarray(np.clip(deep, 0, 255).astype(np.uint8))
    width, height = image.size
    out = np.empty((height, width, 3), np.uint8)
    for top in range(0, height, STRIP_PX):  # strip by strip, so that the whole is never held a third time
        strip = image.crop((0, top, width, min(height, top + STRIP_PX))).convert("RGB")
        out[top : top + STRIP_PX] = np.asarray(strip)[:, :, ::-1]
    return out


def _facts(image: Any) -> tuple[str, bool, bool]:
    """Camera, whether there is camera data, whether it calls itself a screenshot (EXIF 2.32: tags by number)."""
    exif = _exif(image)
    maker, model = (str(exif.get(tag, "")).strip("\0 ") for tag in (0x010F, 0x0110))
    try:
        inner = dict(exif.get_ifd(0x8769))
    except SPOILT:
        inner = {}
    named = model if model.startswith(maker) else f"{maker} {model}"
    camera = " ".join(named.split())[:LONGEST_CAMERA]
    told = bool(camera) or any(tag in inner for tag in (0x829A, 0x829D, 0x8827, 0x920A))
    comments = [exif.get(0x010E, ""), exif.get(0x0131, ""), inner.get(0x9286, b"")]
    comments += [v for v in image.info.values() if isinstance(v, str | bytes) and len(v) < 20_000]
    text = " ".join(v.decode("latin-1") if isinstance(v, bytes) else str(v) for v in comments)
    text = text.replace("\0", "").lower()
    return camera, told, any(word in text for word in SCREENSHOT_WORDS)


def too_many(name: str) -> PhotoError:
    """The refusal of a picture with more pixels than :data:`MOST_PIXELS`."""
    return _refused(
        f"The picture has more than {MOST_PIXELS // 1_000_000} megapixels.", name,
        "Set the camera to 12 megapixels: that is enough.", "huge",
    )  # fmt: skip


def _refused(what: str, name: str, remedy: str, code: str) -> PhotoError:
    return PhotoError(what, where=name, remedy=remedy, code=code)
