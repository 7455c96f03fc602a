"""Photographs of every kind are read upright or refused with a sentence."""

from __future__ import annotations

import io

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from coatwright.paper.photo import PhotoError, read_photo, without_place


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
