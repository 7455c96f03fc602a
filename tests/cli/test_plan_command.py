"""``coatwright plan``: the table tells what the plan holds."""

from __future__ import annotations

import csv
import json
import re
from datetime import date
from pathlib import Path

import pytest

from coatwright.units import day_of
from tests.cli.conftest import QUICK, Coatwright


def rows_of(text: str) -> dict[str, list[str]]:
    """The cells of the table of takes by the name of its row, blocks joined."""
    table = text.partition("What to pull")[2].partition("When ready")[0]
    rows: dict[str, list[str]] = {}
    for line in table.splitlines():
        found = re.match(r"  ([A-Z][a-z ]+?)\s{2,}(.*)$", line)
        if found:
            rows.setdefault(found[1].strip(), []).extend(found[2].split())
    return rows


def test_the_table_shows_every_take_of_the_plan(coatwright: Coatwright, quick: Path) -> None:
    shown = rows_of(coatwright("plan", quick).out)
    plan = json.loads(coatwright("plan", quick, "--json").out)
    for zone in plan["zones"]:
        takes = [visit["takes"].get(zone["key"], 0.0) for visit in plan["visits"]]
        assert shown[zone["name"]] == [f"{round(100 * take)}" if take else "·" for take in takes]
    assert shown["Minutes"] == [f"{visit['minutes']:.0f}" for visit in plan["visits"]]
    assert len(shown["Card"]) == len(plan["visits"])


def test_minutes_are_the_zones_minutes_by_their_shares(coatwright: Coatwright, quick: Path) -> None:
    from coatwright.patterns import zones

    plan = json.loads(coatwright("plan", quick, "--json").out)
    # Skin grows with weight to the power 2/3 (standard veterinary formula, from memory); zones are told for 10 kg.
    scale = (7.5 / 10.0) ** (2.0 / 3.0)
    for visit in plan["visits"]:
        pulling = sum(share * zones()[key].minutes * scale for key, share in visit["takes"].items())
        assert visit["minutes"] == pytest.approx(pulling + 20.0, abs=0.06)


def test_price_is_the_minutes_at_the_price_of_an_hour(coatwright: Coatwright, quick: Path) -> None:
    figures = json.loads(coatwright("plan", quick, "--json").out)["figures"]
    assert figures["price"] == pytest.approx(figures["minutes"] / 60.0 * 30.0, abs=0.03)


def test_shows_answers_and_cautions_are_told(coatwright: Coatwright, quick: Path) -> None:
    ran = coatwright("plan", quick)
    plan = json.loads(coatwright("plan", quick, "--json").out)
    assert ran.code == 0
    assert "Ashdown Terrier Show, Sat 12 Jun 2027" in ran.out
    assert ("What could not be had" in ran.out) == bool(plan["answers"])
    for caution in plan["cautions"]:
        assert f"{caution['level'].capitalize()}" in ran.out
        assert caution["title"] in ran.out
    assert "A vet first" in ran.out


def test_an_impossible_wish_is_an_answer_and_no_failure(coatwright: Coatwright, tmp_path: Path) -> None:
    file = tmp_path / "soon.toml"
    file.write_text(
        QUICK.replace("2027-06-12", "2027-03-27").replace("2027-05-15", "2027-03-20"), encoding="utf-8"
    )
    ran = coatwright("plan", file)
    assert ran.code == 0
    assert "What could not be had" in ran.out
    assert "Not met" in ran.out
    plan = json.loads(coatwright("plan", file, "--json").out)
    assert not plan["possible"]
    assert all(answer["sentence"] and answer["by"] > 0 for answer in plan["answers"])


def test_many_answers_are_told_in_a_table_without_days_beyond_the_plan(
    coatwright: Coatwright, tmp_path: Path
) -> None:
    text = QUICK.replace("cadences = [14]", "cadences = [28]").replace(
        "[wish]", "[wish]\nready_from = 2027-03-20"
    )
    file = tmp_path / "hurry.toml"
    file.write_text(text, encoding="utf-8")
    plan = json.loads(coatwright("plan", file, "--json").out)
    assert len({(a["limit"], a["first"], a["by"]) for a in plan["answers"]}) > 4
    table = coatwright("plan", file).out.partition("What could not be had")[2].partition("In figures")[0]
    for answer in plan["answers"]:
        names = [zone["name"] for zone in plan["zones"] if zone["key"] == answer["zone"]]
        assert (names[0] if names else "The visits") in table
    assert "What may help" in table
    assert "2028" not in table


def test_the_approach_can_be_fixed_and_compared(coatwright: Coatwright, quick: Path) -> None:
    strip = json.loads(coatwright("plan", quick, "--approach", "strip", "--json").out)
    assert strip["approach"] == "strip"
    assert strip["cadence_days"] is None
    both = json.loads(coatwright("plan", quick, "--compare", "--json").out)
    assert [each["approach"] for each in both["approaches"]] == ["rolling", "staged", "strip"]
    text = coatwright("plan", quick, "--compare").out
    for words in ("Side by side", "Rolling coat, every 14 days", "Staged coat, every 14 days", "Full strip"):
        assert words in text


def test_today_moves_the_whole_plan(coatwright: Coatwright, quick: Path) -> None:
    plan = json.loads(coatwright("plan", quick, "--today", "2027-03-20", "--json").out)
    assert plan["made"] == "2027-03-20"
    assert all(visit["day"] >= "2027-03-20" for visit in plan["visits"])


def test_takes_fixed_by_hand_are_marked(coatwright: Coatwright, tmp_path: Path) -> None:
    file = tmp_path / "fixed.toml"
    fixed = '\n[[fixed]]\nzone = "back"\nday = 2027-03-20\nshare = 0.15\n'
    file.write_text(QUICK + fixed, encoding="utf-8")
    text = coatwright("plan", file).out
    assert "15=" in rows_of(text)["Back"]
    assert "= fixed by hand" in text


def test_files_are_written_beside_the_table(coatwright: Coatwright, quick: Path, tmp_path: Path) -> None:
    from icalendar import Calendar
    from pypdf import PdfReader

    names = {kind: tmp_path / f"plan.{kind}" for kind in ("svg", "pdf", "ics", "csv")}
    options = [part for kind, file in names.items() for part in (f"--{kind}", file)]
    ran = coatwright("plan", quick, *options)
    assert ran.code == 0
    assert ran.out.rstrip().splitlines()[-1].startswith("  ") or "Written:" in ran.out
    assert names["svg"].read_text(encoding="utf-8").startswith("<svg ")
    page = PdfReader(names["pdf"]).pages[0].mediabox
    # ISO 216: A4 is 210 x 297 mm (from memory); a point is 1/72 in.
    assert (float(page.width), float(page.height)) == pytest.approx(
        (210 / 25.4 * 72, 297 / 25.4 * 72), abs=0.1
    )
    plan = json.loads(coatwright("plan", quick, "--json").out)
    calendar = Calendar.from_ical(names["ics"].read_text(encoding="utf-8"))
    days = sorted(event["DTSTART"].dt for event in calendar.walk("VEVENT"))
    wanted = [visit["day"] for visit in plan["visits"]] + [show["day"] for show in plan["shows"]]
    assert days == sorted(date.fromisoformat(day) for day in wanted)
    with names["csv"].open(encoding="utf-8", newline="") as stream:
        takes = {(row["zone"], row["date"]): float(row["take_percent"]) for row in csv.DictReader(stream)}
    told = {
        (key, visit["day"]): 100 * share for visit in plan["visits"] for key, share in visit["takes"].items()
    }
    assert {cell: share for cell, share in takes.items() if share} == pytest.approx(told)


def test_letter_paper_is_eleven_inches_high(coatwright: Coatwright, quick: Path, tmp_path: Path) -> None:
    from pypdf import PdfReader

    file = tmp_path / "plan.pdf"
    assert coatwright("plan", quick, "--pdf", file, "--paper", "letter").code == 0
    box = PdfReader(file).pages[0].mediabox
    # ANSI Letter, 8.5 x 11 in (from memory).
    assert (float(box.width), float(box.height)) == pytest.approx((612.0, 792.0), abs=0.1)


def test_lengths_can_be_told_in_inches(coatwright: Coatwright, quick: Path) -> None:
    told = coatwright("plan", quick, "--unit", "in").out
    assert re.search(r"an aim of ½–1 in", told)
    assert " mm" not in told.partition("When ready")[2].partition("In figures")[0]


def test_json_says_the_same_as_the_python_interface(coatwright: Coatwright, quick: Path) -> None:
    import coatwright as package

    plan = package.plan(package.read(quick))
    told = json.loads(coatwright("plan", quick, "--json").out)
    assert told == json.loads(json.dumps(package.plan_result(plan)))
    assert day_of(date.fromisoformat(told["until"])) == plan.option.shown_until
