"""Hundreds of malformed image files: each is read or refused with a sentence, quickly, and leaves nothing behind."""

from __future__ import annotations

import io
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from coatwright.paper.photo import PhotoError, read_photo
from coatwright.paper.reduced import reduced

KINDS = ("JPEG", "PNG", "WEBP", "HEIF")
MUTANTS = 100
"""Of each kind: four hundred files."""
SECONDS = 2.0
MEGABYTES = 300.0


@pytest.fixture(scope="module")
def whole() -> dict[str, bytes]:
    pillow_heif.register_heif_opener()
    ramp = np.linspace(30, 220, 640)[None, :] * np.linspace(0.6, 1.0, 480)[:, None]
    image = Image.fromarray(np.dstack([ramp, ramp[::-1], ramp]).astype(np.uint8))
    exif = Image.Exif()
    exif[0x0112] = 8
    exif[0x010F] = "Invented"
    found = {}
    for kind in KINDS:
        out = io.BytesIO()
        image.save(out, kind, exif=exif)
        found[kind] = out.getvalue()
    return found


def mutant(data: bytes, rng: np.random.Generator) -> bytes:
    """Bytes changed in the head or anywhere, cut, doubled, left out, or put in."""
    out = bytearray(data)
    how = int(rng.integers(6))
    reach = min(len(out), 200) if rng.uniform() < 0.6 else len(out)
    at = int(rng.integers(reach))
    if how == 0:
        for k in rng.integers(reach, size=int(rng.integers(1, 12))):
            out[int(k)] = int(rng.integers(256))
    elif how == 1:
        out[at : at + 4] = bytes([255, 255, 255, 255])
    elif how == 2:
        del out[at:]
    elif how == 3:
        del out[at : at + int(rng.integers(1, 400))]
    elif how == 4:
        out[at:at] = out[: int(rng.integers(1, 400))]
    else:
        out[at:at] = rng.bytes(int(rng.integers(1, 400)))
    return bytes(out)


@pytest.mark.parametrize("kind", KINDS)
def test_malformed_files_are_read_or_refused_with_a_sentence(
    kind: str, whole: dict[str, bytes], monkeypatch, tmp_path
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    rng = np.random.default_rng([7, KINDS.index(kind)])
    refused: list[PhotoError] = []
    for _ in range(MUTANTS):
        data = mutant(whole[kind], rng)
        begun = time.process_time()
        try:
            found = read_photo(data, name="sheet")
        except PhotoError as error:
            refused.append(error)
        else:
            assert found.pixels.ndim == 3
        assert time.process_time() - begun < SECONDS
    assert len(refused) > MUTANTS // 5
    assert all(one.what.endswith(".") and one.remedy.endswith(".") and one.code for one in refused)
    assert list(tmp_path.iterdir()) == []


def huge_heads() -> dict[str, bytes]:
    """Files whose heads promise far more pixels than are there."""
    import struct
    import zlib

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    png = (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 99))
        + chunk(b"IEND", b"")
    )
    out = io.BytesIO()
    Image.new("L", (64, 64), 90).save(out, "JPEG")
    jpeg = bytearray(out.getvalue())
    frame = jpeg.index(b"\xff\xc0")
    jpeg[frame + 5 : frame + 9] = struct.pack(">HH", 65_000, 65_000)
    bomb = io.BytesIO()
    Image.new("1", (12_000, 12_000)).save(bomb, "PNG")
    return {"png": png, "jpeg": bytes(jpeg), "bomb": bomb.getvalue()}


@pytest.mark.parametrize("kind", ["png", "jpeg", "bomb"])
def test_a_head_that_promises_too_much_is_refused_before_it_is_unpacked(kind: str) -> None:
    data = huge_heads()[kind]
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(PhotoError) as caught:
        read_photo(data)
    assert caught.value.code == "huge"
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024 < MEGABYTES / 2


@pytest.mark.slow
def test_malformed_files_stay_below_the_memory_of_a_small_server(
    whole: dict[str, bytes], tmp_path: Path
) -> None:
    """In a process of its own, what a malformed file takes beyond the program itself."""
    rng = np.random.default_rng(11)
    for k in range(12):
        (tmp_path / f"{k}.bin").write_bytes(mutant(whole[KINDS[k % 4]], rng))
    code = (
        "import sys, resource, warnings, pathlib\n"
        "warnings.simplefilter('ignore')\n"
        "import PIL.Image, pillow_heif, numpy\n"
        "from coatwright.paper.photo import read_photo, PhotoError\n"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "for path in sorted(pathlib.Path(sys.argv[1]).glob('*.bin')):\n"
        "    try: read_photo(path.read_bytes())\n"
        "    except PhotoError: pass\n"
        "print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=True
    )
    assert float(done.stdout) < MEGABYTES


def as_the_camera_stored_it(turn: int) -> tuple[np.ndarray, np.ndarray, Image.Exif]:
    """An upright picture, what a camera stores of it under a turn (EXIF 2.32, Orientation, 1 to 8), and the EXIF."""
    upright = np.zeros((480, 640), np.uint8)
    upright[:160, :200] = 200  # a light upper left corner
    upright[:, 600:] = 120
    undo = {  # what the camera stored, so that the turn brings the upright picture back
        1: lambda a: a, 2: lambda a: a[:, ::-1], 3: lambda a: a[::-1, ::-1], 4: lambda a: a[::-1],
        5: lambda a: a.T, 6: lambda a: np.rot90(a), 7: lambda a: a[::-1, ::-1].T, 8: lambda a: np.rot90(a, -1),
    }  # fmt: skip
    exif = Image.Exif()
    exif[0x0112] = turn
    return upright, np.ascontiguousarray(undo[turn](upright)), exif


def assert_upright(data: bytes, upright: np.ndarray) -> None:
    seen = read_photo(data).pixels[:, :, 1]
    assert seen.shape == upright.shape
    assert np.abs(seen.astype(int) - upright).mean() < 4
    small, width, height = reduced(data, longest=320)  # photos of dogs are turned alike
    assert (height, width) == tuple(side // 2 for side in upright.shape)
    with Image.open(io.BytesIO(small)) as kept:
        assert np.abs(np.asarray(kept.convert("L")).astype(int) - upright[::2, ::2]).mean() < 6
        assert not kept.getexif()


@pytest.mark.parametrize("turn", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_every_turn_of_exif_is_undone(kind: str, turn: int) -> None:
    """EXIF 2.32, Orientation: 1 to 8 say which side of the picture the first row and column are."""
    upright, stored, exif = as_the_camera_stored_it(turn)
    out = io.BytesIO()
    Image.fromarray(stored).save(out, kind, exif=exif, quality=95)
    assert_upright(out.getvalue(), upright)


def saved_as_heic(stored: np.ndarray, exif: Image.Exif) -> bytes:
    pillow_heif.register_heif_opener()
    out = io.BytesIO()
    Image.fromarray(stored).save(out, "HEIF", exif=exif, quality=95, tile_size=0)
    return out.getvalue()


def with_turn(heic: bytes, quarters: int) -> bytes:
    """The HEIC with a property that turns its picture, as phones write it beside what EXIF says.

    ISO/IEC 23008-12, 6.5.10: ``irot``, quarters of a turn against the clock. Boxes by ISO/IEC 14496-12: the property
    goes to the end of ``ipco``, ``ipma`` says that it is the picture's, and ``iloc`` lets the data lie further on.
    """
    out = bytearray(heic)

    def lengthen(name: bytes, by: int) -> int:
        at = out.index(name) - 4
        size = int.from_bytes(out[at : at + 4], "big")
        out[at : at + 4] = (size + by).to_bytes(4, "big")
        return at + size

    told = out.index(b"ipma") + 4 + 4 + 4 + 2  # version and flags, how many items, the first item's number
    known, of_picture = (
        out[told],
        out.count(b"ispe") + out.count(b"hvcC") + out.count(b"colr") + out.count(b"pixi"),
    )
    out[told] = known + 1
    out[told + 1 + known : told + 1 + known] = bytes([0x80 | of_picture + 1])
    lengthen(b"ipma", 1)
    end = lengthen(b"ipco", 9)
    out[end:end] = (9).to_bytes(4, "big") + b"irot" + bytes([quarters])
    lengthen(b"iprp", 10)
    lengthen(b"meta", 10)
    where = out.index(b"iloc") + 4 + 4 + 2
    assert out[where - 2 : where] == b"\x44\x40"  # bytes of an offset, a length and a base
    count, where = int.from_bytes(out[where : where + 2], "big"), where + 2
    for _ in range(count):
        base = int.from_bytes(out[where + 4 : where + 8], "big")
        out[where + 4 : where + 8] = (base + 10).to_bytes(4, "big")
        where += 10 + 8 * int.from_bytes(out[where + 8 : where + 10], "big")
    return bytes(out)


@pytest.mark.parametrize(("turn", "quarters"), [(3, 2), (6, 3), (8, 1)])
def test_the_turn_of_a_heic_is_made_once(turn: int, quarters: int) -> None:
    """ISO/IEC 23008-12: the property turns the picture; what EXIF says beside it is not made again."""
    upright, stored, exif = as_the_camera_stored_it(turn)
    assert_upright(with_turn(saved_as_heic(stored, exif), quarters), upright)
    assert_upright(with_turn(saved_as_heic(stored, Image.Exif()), quarters), upright)


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_heic_whose_turn_stands_in_exif_alone_is_turned(turn: int) -> None:
    upright, stored, exif = as_the_camera_stored_it(turn)
    data = saved_as_heic(stored, exif)
    assert b"irot" not in data
    assert_upright(data, upright)
