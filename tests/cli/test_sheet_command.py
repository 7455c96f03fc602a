"""``coatwright sheet``: one visit, ready for the table."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from coatwright.patterns import zones
from tests.cli.conftest import OVERDONE, Coatwright


def test_every_zone_of_the_visit_is_told_in_working_order(coatwright: Coatwright, quick: Path) -> None:
    text = coatwright("sheet", quick).out
    told = json.loads(coatwright("sheet", quick, "--json").out)
    order = [zone["key"] for zone in told["zones"]]
    assert order == sorted(order, key=lambda key: zones()[key].order)
    heads = re.findall(r"^ +\d+  ([A-Z].*?)  +(\d+) %", text, re.MULTILINE)
    assert heads == [(zone["name"], f"{round(100 * zone['share'])}") for zone in told["zones"]]
    for zone in told["zones"]:
        assert zone["hold"].split()[0] in text


def test_a_sheet_is_the_plans_visit(coatwright: Coatwright, quick: Path) -> None:
    plan = json.loads(coatwright("plan", quick, "--json").out)
    for number, visit in enumerate(plan["visits"], start=1):
        told = json.loads(coatwright("sheet", quick, "--day", visit["day"], "--json").out)
        assert told["number"] == number
        assert told["count"] == len(plan["visits"])
        assert {zone["key"]: zone["share"] for zone in told["zones"]} == pytest.approx(visit["takes"])
        for zone in told["zones"]:
            pulled = sum(part["share"] for part in zone["hairs"])
            assert pulled == pytest.approx(zone["share"], abs=0.011)
            assert zone["cover_after"] == pytest.approx(zone["cover_before"] - zone["share"], abs=0.002)


def test_stop_signs_come_before_the_work_and_cautions_after(coatwright: Coatwright, quick: Path) -> None:
    text = coatwright("sheet", quick).out
    places = [text.index(words) for words in ("Stop when", "In working order", "What comes", "Mind")]
    assert places == sorted(places)
    for sign in ("red", "blood", "flinches", "white root"):
        assert sign in text[places[0] : places[1]]


@pytest.fixture
def overdone(tmp_path: Path) -> Path:
    """The file of the dog of which too much was taken."""
    file = tmp_path / "overdone.toml"
    file.write_text(OVERDONE, encoding="utf-8")
    return file


def test_tender_zones_and_their_cap_are_marked(coatwright: Coatwright, overdone: Path) -> None:
    text = coatwright("sheet", overdone).out
    told = json.loads(coatwright("sheet", overdone, "--json").out)
    tender = [zone for zone in told["zones"] if zone["tender"]]
    assert tender
    assert text.count("Tender: never above") == len(tender)
    assert all(zone["share"] <= zone["cap"] + 1e-9 for zone in told["zones"])


def test_a_zone_that_gave_too_much_is_spared_and_says_why(coatwright: Coatwright, overdone: Path) -> None:
    told = json.loads(coatwright("sheet", overdone, "--json").out)
    rows = {zone["key"]: zone for zone in [*told["zones"], *told["spared"]]}
    assert rows["back"]["over"] == {"day": "2027-03-06", "planned": 0.2, "taken": 0.35}
    assert rows["back"].get("share", 0.0) < 0.2
    assert rows["throat"]["over"] is None
    text = " ".join(coatwright("sheet", overdone).out.split())
    assert "35 % were taken on 6 Mar where 20 % was planned" in text


def test_the_pdf_is_one_tagged_page_with_the_dogs_name(
    coatwright: Coatwright, quick: Path, tmp_path: Path
) -> None:
    from pypdf import PdfReader

    file = tmp_path / "sheet.pdf"
    ran = coatwright("sheet", quick, "--pdf", file)
    assert ran.code == 0
    assert "sheet.pdf" in ran.out.replace("\n", "")
    reader = PdfReader(file)
    assert len(reader.pages) == 1
    assert "Quill" in reader.pages[0].extract_text()
    # ISO 14289-1 (PDF/UA-1), from memory: a tagged file says so in its catalogue.
    assert (
        reader.trailer["/Root"]["/MarkInfo"]["/Marked"] is True
        or reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    )


def test_a_day_without_a_visit_names_those_near_it(coatwright: Coatwright, quick: Path) -> None:
    plan = json.loads(coatwright("plan", quick, "--json").out)
    ran = coatwright("sheet", quick, "--day", "2027-04-04")
    assert "2027-04-04" not in [visit["day"] for visit in plan["visits"]]
    assert ran.code == 2
    assert "No visit is planned on 2027-04-04." in ran.err
    assert plan["visits"][0]["day"] in ran.err
