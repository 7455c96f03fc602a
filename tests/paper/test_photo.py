"""Photographs of every kind are read upright or refused with a sentence."""

from __future__ import annotations

import io
import struct

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from coatwright.paper.photo import PhotoError, read_photo, without_place
from coatwright.paper.reduced import reduced


def picture(width: int = 640, height: int = 480) -> Image.Image:
    ramp = np.linspace(40, 220, width).astype(np.uint8)
    return Image.fromarray(np.dstack([np.tile(ramp, (height, 1))] * 3))


def saved(image: Image.Image, kind: str, **how: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_each_format_is_read(kind: str) -> None:
    pillow_heif.register_heif_opener()
    found = read_photo(saved(picture(), kind))
    assert found.format == kind
    assert found.pixels.shape == (480, 640, 3)


def test_the_turn_that_the_camera_noted_is_made() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.32: the first row is the right side, turn by 90 degrees clockwise
    found = read_photo(saved(picture(), "JPEG", exif=exif))
    assert found.pixels.shape == (640, 480, 3)
    assert found.pixels[0].mean() < found.pixels[-1].mean()


def test_the_place_is_not_kept() -> None:
    exif = Image.Exif()
    exif[0x010F] = "Invented"
    exif.get_ifd(0x8825)[1] = "N"
    data = saved(picture(), "JPEG", exif=exif)
    assert 0x8825 in Image.open(io.BytesIO(data)).getexif()
    assert not Image.open(io.BytesIO(without_place(data))).getexif()


def test_what_a_file_says_of_its_camera_is_cut_to_a_name() -> None:
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Invented", "Pocket\t 3\n" + "x" * 5000
    camera = read_photo(saved(picture(), "JPEG", exif=exif)).camera
    assert camera.startswith("Invented Pocket 3 xxx")
    assert len(camera) == 200


def tiff(*entries: tuple[int, int, int, bytes]) -> bytes:
    """EXIF as a directory of TIFF 6.0: tag, type, count and four bytes of each entry."""
    rows = b"".join(struct.pack("<HHI", *row[:3]) + row[3] for row in entries)
    return b"II*\0" + struct.pack("<IH", 8, len(entries)) + rows + struct.pack("<I", 0)


ON_ITS_SIDE = (0x0112, 3, 1, struct.pack("<HH", 6, 0))
ODD = {
    "an offset below nothing": (tiff(ON_ITS_SIDE, (0x0111, 9, 1, struct.pack("<i", -5))), True),
    "a width below nothing": (tiff((0x0100, 9, 1, struct.pack("<i", -5)), ON_ITS_SIDE), True),
    "a date that is a number": (tiff(ON_ITS_SIDE, (0x0132, 11, 1, struct.pack("<f", 1.5))), True),
    "two turns": (tiff((0x0112, 3, 2, struct.pack("<HH", 6, 6))), True),
    "a turn in letters": (tiff((0x0112, 2, 2, b"6\0\0\0")), False),
    "a turn that is none": (tiff((0x0112, 3, 1, struct.pack("<HH", 77, 0))), False),
    "a maker beyond the file": (tiff(ON_ITS_SIDE, (0x010F, 2, 4000, struct.pack("<I", 2**31))), True),
    "a directory that is itself": (tiff(ON_ITS_SIDE, (0x8769, 4, 1, struct.pack("<I", 8))), True),
    "a directory beyond the file": (tiff(ON_ITS_SIDE, (0x8769, 4, 1, struct.pack("<I", 2**31))), True),
    "a directory at a fraction": (tiff(ON_ITS_SIDE, (0x8769, 11, 1, struct.pack("<f", 8.5))), True),
    "thousands of entries": (tiff()[:8] + struct.pack("<H", 65_000) + b"\x12\x01" * 30, False),
    "nonsense": (b"II*\0" + b"\xff" * 40, False),
    "another mark": (b"XX*\0" + b"\0" * 40, False),
    "nothing": (b"", False),
}


@pytest.mark.parametrize("what", ODD)
def test_a_photo_with_odd_exif_is_read_and_turned_where_it_tells_how(what: str) -> None:
    """EXIF 2.32 within a JPEG: a segment APP1 that begins with the word and two noughts."""
    exif, on_its_side = ODD[what]
    plain, body = saved(picture(), "JPEG"), b"Exif\0\0" + exif
    data = plain[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + plain[2:]
    size = (640, 480) if on_its_side else (480, 640)
    assert read_photo(data).pixels.shape == (*size, 3)
    assert Image.open(io.BytesIO(without_place(data))).size == size[::-1]
    assert reduced(data)[1:] == size[::-1]


def test_a_photo_of_a_dog_keeps_nothing_that_its_file_tells() -> None:
    exif = Image.Exif()
    exif[0x010F] = "Invented"
    kept, *_ = reduced(saved(picture(), "JPEG", exif=exif, comment=b"taken at home"))
    assert b"Invented" not in kept
    assert b"at home" not in kept


def moving(kind: str) -> bytes:
    return saved(picture(), kind, save_all=True, append_images=[picture().rotate(180)])


BAD = {
    "empty": lambda: b"",
    "unreadable": lambda: b"hairs" * 300,
    "damaged": lambda: saved(picture(), "JPEG")[:3000],
    "black": lambda: saved(Image.new("RGB", (640, 480)), "PNG"),
    "white": lambda: saved(Image.new("RGB", (640, 480), "white"), "PNG"),
    "flat": lambda: saved(Image.new("RGB", (640, 480), (120, 120, 120)), "PNG"),
    "tiny": lambda: saved(picture(300, 200), "PNG"),
    "huge": lambda: saved(Image.new("1", (9000, 9000)), "PNG"),
    "animated": lambda: moving("WEBP"),
}


@pytest.mark.parametrize("code", BAD)
def test_what_is_no_photo_is_refused_with_a_remedy(code: str) -> None:
    with pytest.raises(PhotoError) as caught:
        read_photo(BAD[code](), name="sheet.jpg")
    assert caught.value.code == code
    assert caught.value.where == "sheet.jpg"
    assert caught.value.remedy


def test_a_moving_png_and_a_gif_are_refused() -> None:
    for kind in ("PNG", "GIF"):
        with pytest.raises(PhotoError):
            read_photo(moving(kind))


def test_every_cut_of_a_file_is_refused_or_read() -> None:
    for kind in ("JPEG", "PNG", "WEBP", "HEIF"):
        data = saved(picture(), kind)
        for share in (0.02, 0.2, 0.5, 0.9):
            with pytest.raises(PhotoError):
                read_photo(data[: int(share * len(data))])
