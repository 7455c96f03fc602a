"""Hundreds of malformed image files: each is read or refused with a sentence, quickly, and leaves nothing behind."""

from __future__ import annotations

import io
import resource
import subprocess
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from coatwright.paper.photo import PhotoError, read_photo

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
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", UserWarning)
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


@pytest.mark.parametrize("turn", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_every_turn_of_exif_is_undone(kind: str, turn: int) -> None:
    """EXIF 2.32, Orientation: 1 to 8 say which side of the picture the first row and column are."""
    upright = np.zeros((480, 640), np.uint8)
    upright[:160, :200] = 200  # a light upper left corner
    upright[:, 600:] = 120
    undo = {  # what the camera stored, so that the turn brings the upright picture back
        1: lambda a: a, 2: lambda a: a[:, ::-1], 3: lambda a: a[::-1, ::-1], 4: lambda a: a[::-1],
        5: lambda a: a.T, 6: lambda a: np.rot90(a), 7: lambda a: a[::-1, ::-1].T, 8: lambda a: np.rot90(a, -1),
    }  # fmt: skip
    exif = Image.Exif()
    exif[0x0112] = turn
    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(undo[turn](upright))).save(out, kind, exif=exif, quality=95)
    seen = read_photo(out.getvalue()).pixels[:, :, 1]
    assert seen.shape == upright.shape
    assert np.abs(seen.astype(int) - upright).mean() < 4
