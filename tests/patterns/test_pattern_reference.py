"""The reference page says what the data say."""

from pathlib import Path

from coatwright.patterns import patterns, zones
from coatwright.patterns.reference import page

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "patterns.md"


def test_the_page_is_the_one_that_the_data_write():
    assert PAGE.read_text(encoding="utf-8") == page(), "run python -m coatwright.patterns.reference"


def test_the_page_lists_every_pattern_and_zone():
    text = page()
    for key, row in patterns().items():
        back = row.aims["back"]
        start = f"| {row.name} | `{key}` | {back.lo:g}–{back.hi:g} | {back.mark} |"
        line = next(line for line in text.splitlines() if line.startswith(start))
        assert line.endswith(f"| {row.year_checked} |")
    for key, row in zones().items():
        assert f"| {row.name} | `{key}` |" in text


def test_the_page_carries_the_cautions():
    text = " ".join(page().split())
    for words in (
        "never go over a pad",
        "these belong to a vet",
        "three to four months",
        "animal-welfare law",
    ):
        assert words in text
