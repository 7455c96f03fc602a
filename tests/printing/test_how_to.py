"""What docs/how-to/print.md shows works as it stands there."""

import re
import shutil
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "docs" / "how-to" / "print.md").read_text(encoding="utf-8")


def test_the_python_that_it_shows_makes_a_sheet(tmp_path, monkeypatch):
    (code,) = re.findall(r"```python\n(.*?)```", TEXT, re.DOTALL)
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    made: dict[str, object] = {}
    exec(compile(code, "print.md", "exec"), made)
    assert bytes(made["pdf"]).startswith(b"%PDF-")


def test_the_words_of_the_sheet_that_it_explains_are_those_of_the_sheet():
    templates = "".join(
        (ROOT / "src" / "coatwright" / "printing" / name).read_text(encoding="utf-8")
        for name in ("sheet.typ", "sheet_view.py", "words.py")
    )
    explained = [row.split("|")[1] for row in TEXT.splitlines() if row.startswith("| ")][1:]
    words = [word.strip() for cell in explained for word in cell.split(",") if word.strip(" -")]
    assert len(words) > 8
    assert [word for word in words if word != "picture" and word not in templates] == []
