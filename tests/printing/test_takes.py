"""Takes as comma-separated values: quoting by RFC 4180, and cells that a spreadsheet must not reckon with."""

import csv
from dataclasses import replace
from io import StringIO

import pytest

from coatwright.printing import takes_csv
from tests.printing.making import document


def rows(text):
    return list(csv.DictReader(StringIO(text, newline="")))


def test_there_is_a_line_for_every_take_and_every_carding():
    plan = document(2, 3)
    found = rows(takes_csv(plan))
    # First visit: back is carded only, ribs and croup are pulled and carded; second: back and ribs are pulled.
    said = [(row["date"], row["zone"], row["take_percent"], row["carded"], row["fixed"]) for row in found]
    assert said == [
        ("2026-12-02", "back", "0", "yes", "no"),
        ("2026-12-02", "ribs", "20", "yes", "no"),
        ("2026-12-02", "croup", "20", "yes", "no"),
        ("2026-12-16", "back", "20", "no", "yes"),
        ("2026-12-16", "ribs", "20", "no", "no"),
    ]


def test_lines_end_and_cells_are_quoted_as_rfc_4180_says():
    name = 'Bram, the "Bold"\r\nof Vale'
    text = takes_csv(document(1, 2, dog=name))
    # Rules 2 and 6 to 7: lines end in CRLF; cells with commas, quotes or breaks stand in quotes, quotes twice.
    assert text.endswith("\r\n")
    assert '"Bram, the ""Bold""\r\nof Vale",2026-12-02,' in text
    assert {row["dog"] for row in rows(text)} == {name}
    # Rule 4: every line has the same number of fields.
    assert {len(line) for line in csv.reader(StringIO(text, newline=""))} == {10}


@pytest.mark.parametrize("name", ['=HYPERLINK("x")', "+1", "-1", "@SUM(A1)", "\t=1"])
def test_a_name_that_a_spreadsheet_would_reckon_with_is_made_a_word(name):
    assert rows(takes_csv(document(1, 2, dog=name)))[0]["dog"] == "'" + name


def test_shares_are_whole_numbers_of_per_cent():
    plan = document(3, 3)
    assert {row["take_percent"] for row in rows(takes_csv(plan))} == {"0", "20"}
    share = 0.05 * 3
    assert str(100 * share) != "15.0"
    odd = replace(plan.zones[0], takes=(share,) * 3)
    assert rows(takes_csv(replace(plan, zones=(odd,))))[0]["take_percent"] == "15"
