"""Compiled loops are compiled anew when anything that they are made of changes."""

from __future__ import annotations

from pathlib import Path

import numba

from coatwright import compiling


def package(folder: Path) -> Path:
    for room in compiling.ROOMS:
        (folder / room).mkdir()
        (folder / room / "loop.py").write_text(f"room = {room!r}\n")
    return folder


def test_any_source_of_the_compiled_rooms_changes_the_place(tmp_path: Path) -> None:
    whole = package(tmp_path)
    before = compiling.folder(whole)
    assert compiling.folder(whole) == before
    for room in compiling.ROOMS:
        source = whole / room / "loop.py"
        text = source.read_text()
        source.write_text(text + "ALL = 0.9\n")
        assert compiling.folder(whole) != before
        source.write_text(text)
    assert compiling.folder(whole) == before


def test_the_package_s_own_loops_are_kept_under_its_mark() -> None:
    mark = compiling.mark_of(Path(compiling.__file__).parent)
    assert numba.config.CACHE_DIR.endswith(f"compiled-{mark}")
