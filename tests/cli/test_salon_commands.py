"""The salon's records from the command line: fill, list, log, undo, back up, restore."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from tests.cli.conftest import EXAMPLES, QUICK, ROOT, Coatwright

TODAY = date(2027, 3, 20)


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    """The calendar says 20 March 2027."""
    monkeypatch.setattr("coatwright.cli.source.calendar_day", lambda: TODAY)


@pytest.fixture
def salon(coatwright: Coatwright, quick: Path, tmp_path: Path) -> Path:
    """A salon with one dog."""
    folder = tmp_path / "here"
    ran = coatwright("salon", "add", quick, "--data", folder)
    assert (ran.code, ran.err) == (0, "")
    return folder


def dogs(coatwright: Coatwright, salon: Path) -> list[dict]:
    return json.loads(coatwright("salon", "dogs", "--json", "--data", salon).out)


def test_a_demo_salon_can_be_filled_once(coatwright: Coatwright, tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    ran = coatwright("salon", "fill", "--data", folder)
    assert ran.code == 0
    found = dogs(coatwright, folder)
    assert len(found) >= 6
    assert f"{len(found)} dogs" in ran.out
    text = coatwright("salon", "dogs", "--data", folder).out
    assert all(dog["name"] in text and dog["id"] in text for dog in found)
    again = coatwright("salon", "fill", "--data", folder)
    assert (again.code, again.out) == (2, "")
    assert "has dogs already" in again.err
    assert dogs(coatwright, folder) == found


def test_the_salons_folder_comes_from_the_variable_too(
    coatwright: Coatwright, quick: Path, tmp_path: Path
) -> None:
    assert coatwright("salon", "add", quick).code == 0
    assert (tmp_path / "salon" / "salon.db").is_file()
    assert coatwright("plan", "Quill", "--json").code == 0


def test_a_dog_of_the_salon_is_planned_like_its_file(
    coatwright: Coatwright, quick: Path, salon: Path
) -> None:
    for name in ("quill", "Quill"):
        told = coatwright("plan", name, "--today", "2027-03-06", "--json", "--data", salon)
        assert json.loads(told.out) == json.loads(coatwright("plan", quick, "--json").out)
    ran = coatwright("plan", "Quilt", "--data", salon)
    assert ran.code == 2
    assert "Did you mean: Quill" in ran.err


def test_two_dogs_of_one_name_are_told_apart_by_id(
    coatwright: Coatwright, salon: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.toml"
    other.write_text(QUICK.replace('name = "Quill"', 'name = "Quill"\nid = "quill-2"'), encoding="utf-8")
    assert coatwright("salon", "add", other, "--data", salon).code == 0
    assert coatwright("sheet", "quill-2", "--json", "--data", salon).code == 0
    assert coatwright("sheet", "quill", "--json", "--data", salon).code == 0
    ran = coatwright("sheet", "QUILL", "--data", salon)
    assert ran.code == 2
    assert "2 dogs are called QUILL." in ran.err
    assert "quill, quill-2" in ran.err


def test_a_visit_is_logged_with_what_was_planned(coatwright: Coatwright, salon: Path) -> None:
    plan = json.loads(coatwright("plan", "quill", "--data", salon, "--json", "--approach", "rolling").out)
    assert plan["visits"][0]["day"] == "2027-03-20"
    ran = coatwright(
        "log-visit", "quill", "--zone", "back=35", "--zone", "throat=10", "--carded", "all", "--minutes", "50",
        "--broken", "4", "--groomer", "Ivo", "--data", salon, "--json",
    )  # fmt: skip
    assert (ran.code, ran.err) == (0, "")
    data = json.loads(ran.out)["data"]
    assert data["day"] == "2027-03-20"
    assert data["takes"]["back"]["share"] == 0.35
    assert data["takes"]["back"]["broken"] == pytest.approx(0.04)
    assert data["minutes"] == 50.0
    assert data["carded"] == ["back", "forechest", "skull", "throat"]
    assert dogs(coatwright, salon)[0]["last_visit"] == "2027-03-20"


def test_more_than_planned_is_said_at_once_and_spared_by_the_next_plan(
    coatwright: Coatwright, salon: Path, tmp_path: Path
) -> None:
    wished = tmp_path / "rolling.toml"
    wished.write_text(
        QUICK.replace('name = "Quill"', 'name = "Rolf"').replace("[wish]", "[wish]\nready_from = 2027-07-01"),
        encoding="utf-8",
    )
    coatwright("salon", "add", wished, "--data", salon)
    before = json.loads(coatwright("plan", "rolf", "--data", salon, "--json").out)
    asked = before["visits"][0]["takes"]["back"]
    share = round(100 * asked) + 30
    ran = coatwright("log-visit", "rolf", "--zone", f"back={share}", "--data", salon)
    assert ran.code == 0
    line = next(line for line in ran.out.splitlines() if line.startswith("  Back"))
    assert f"{share} %" in line
    assert f"{round(100 * asked)} %" in line
    assert "more than planned" in line
    after = json.loads(coatwright("plan", "rolf", "--today", "2027-04-03", "--data", salon, "--json").out)
    assert after["visits"][0]["takes"].get("back", 0.0) < asked


def test_the_reference_names_the_keys_of_the_records(coatwright: Coatwright, salon: Path) -> None:
    page = (ROOT / "docs" / "reference" / "json.md").read_text(encoding="utf-8")
    logged = json.loads(coatwright("log-visit", "quill", "--zone", "back=5", "--json", "--data", salon).out)
    listed = json.loads(coatwright("salon", "events", "--json", "--data", salon).out)
    for key in {*logged, *(key for event in listed for key in event), *dogs(coatwright, salon)[0]}:
        assert f"`{key}`" in page


def test_all_stands_for_every_zone_not_named(coatwright: Coatwright, salon: Path) -> None:
    ran = coatwright(
        "log-visit", "quill", "--zone", "all=20", "--zone", "Skull=5%", "--json", "--data", salon
    )
    takes = json.loads(ran.out)["data"]["takes"]
    assert {zone: take["share"] for zone, take in takes.items()} == {
        "back": 0.2,
        "forechest": 0.2,
        "skull": 0.05,
        "throat": 0.2,
    }


@pytest.mark.parametrize(
    ("options", "what"),
    [
        (("--zone", "back=140"), "The take is 140 %, but must lie between 0 and 100 %."),
        (("--zone", "back=-5"), "The take is -5 %, but must lie between 0 and 100 %."),
        (("--zone", "bak=20"), "There is no zone called 'bak'."),
        (("--zone", "back"), "'back' is no zone with a share."),
        (("--zone", "back=some"), "'back=some' is no zone with a share."),
        (("--zone", "back=10", "--zone", "Back=20"), "The zone back is given twice."),
        (("--zone", "ribs=20"), "touches ribs, which no assessment before it reads"),
        (("--zone", "back=20", "--day", "2027-02-30"), "2027-02-30 is no day of the calendar."),
        (("--zone", "back=20", "--day", "2027-03-21"), "after today"),
        (("--zone", "back=20", "--day", "2027-01-01"), "The coat of Quill is not known on 2027-01-01."),
        (("--zone", "back=20", "--broken", "150"), "The share of broken hair is 150 %"),
        (("--zone", "back=20", "--minutes", "-4"), "minutes"),
    ],
)
def test_a_visit_that_cannot_be_is_refused_and_nothing_is_kept(
    coatwright: Coatwright, salon: Path, options: tuple[str, ...], what: str
) -> None:
    before = coatwright("salon", "events", "--json", "--data", salon).out
    ran = coatwright("log-visit", "quill", *options, "--data", salon)
    assert (ran.code, ran.out) == (2, "")
    assert what in ran.err
    assert "Remedy" in ran.err
    assert coatwright("salon", "events", "--json", "--data", salon).out == before


def test_visits_are_logged_in_the_order_of_their_days(coatwright: Coatwright, salon: Path) -> None:
    assert coatwright("log-visit", "quill", "--zone", "back=10", "--data", salon).code == 0
    ran = coatwright("log-visit", "quill", "--zone", "back=10", "--day", "2027-03-13", "--data", salon)
    assert (ran.code, ran.out) == (2, "")
    assert "one of 2027-03-20 is logged already" in ran.err


def test_the_visits_of_a_file_are_kept_in_the_file(coatwright: Coatwright) -> None:
    ran = coatwright("log-visit", EXAMPLES / "bracken.toml", "--zone", "back=20", "--day", "2027-03-06")
    assert (ran.code, ran.out) == (2, "")
    assert "[[visits]]\n        day = 2027-03-06\n        takes = { back = 0.2 }" in ran.err


def test_an_event_can_be_undone_and_that_too(coatwright: Coatwright, salon: Path) -> None:
    coatwright("log-visit", "quill", "--zone", "back=35", "--data", salon)
    events = json.loads(coatwright("salon", "events", "quill", "--json", "--data", salon).out)
    visit = next(event for event in events if event["kind"] == "visit.logged")
    undone = coatwright("salon", "undo", visit["id"][:8], "--data", salon)
    assert undone.code == 0
    assert dogs(coatwright, salon)[0]["last_visit"] is None
    assert "(undone)" in coatwright("salon", "events", "quill", "--data", salon).out
    back = undone.out.rpartition("undo ")[2].strip().rstrip(".")
    assert coatwright("salon", "undo", back, "--data", salon).code == 0
    assert dogs(coatwright, salon)[0]["last_visit"] == "2027-03-20"
    for wrong in ("zzzz", ""):
        ran = coatwright("salon", "undo", wrong, "--data", salon)
        assert (ran.code, ran.out) == (2, "")


def test_a_backup_brings_back_what_was(coatwright: Coatwright, salon: Path, tmp_path: Path) -> None:
    file, safety = tmp_path / "kept.backup", tmp_path / "before.backup"
    assert coatwright("salon", "backup", file, "--data", salon).code == 0
    coatwright("log-visit", "quill", "--zone", "back=35", "--data", salon)
    assert dogs(coatwright, salon)[0]["last_visit"] == "2027-03-20"
    refused = coatwright("salon", "restore", file, "--data", salon)
    assert (refused.code, refused.out) == (2, "")
    assert "would be lost" in refused.err
    assert dogs(coatwright, salon)[0]["last_visit"] == "2027-03-20"
    ran = coatwright("salon", "restore", file, "--safety", safety, "--data", salon)
    assert ran.code == 0
    assert dogs(coatwright, salon)[0]["last_visit"] is None
    elsewhere = tmp_path / "elsewhere"
    assert coatwright("salon", "restore", safety, "--data", elsewhere).code == 0
    assert dogs(coatwright, elsewhere)[0]["last_visit"] == "2027-03-20"
    (tmp_path / "no.backup").write_text("not a database", encoding="utf-8")
    wrong = coatwright("salon", "restore", tmp_path / "no.backup", "--data", tmp_path / "fresh")
    assert (wrong.code, wrong.out) == (2, "")
    assert not (tmp_path / "fresh").exists()


def test_a_dog_goes_out_as_a_file_and_comes_in_again(
    coatwright: Coatwright, quick: Path, salon: Path, tmp_path: Path
) -> None:
    file = tmp_path / "out.toml"
    assert coatwright("salon", "export", "quill", "--to", file, "--data", salon).code == 0
    assert coatwright("salon", "export", "quill", "--data", salon).out == file.read_text(encoding="utf-8")
    again = coatwright("plan", file, "--today", "2027-03-06", "--json")
    assert json.loads(again.out) == json.loads(coatwright("plan", quick, "--json").out)
    twice = coatwright("salon", "add", file, "--data", salon)
    assert (twice.code, twice.out) == (2, "")
    assert "There is a dog called 'quill' already." in twice.err


def test_patterns_are_listed_shown_copied_and_checked(
    coatwright: Coatwright, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from coatwright.patterns import pattern, patterns, read_pattern

    monkeypatch.chdir(tmp_path)
    listed = json.loads(coatwright("pattern", "list", "--json").out)
    assert [row["key"] for row in listed] == list(patterns())
    shown = json.loads(coatwright("pattern", "show", "lakeland", "--json").out)
    assert shown["aims"]["back"]["lo"] == pattern("lakeland").aims["back"].lo
    text = coatwright("pattern", "show", "lakeland").out
    assert all(source.text.split()[0] in text for source in pattern("lakeland").sources.values())
    made = coatwright("pattern", "copy", "lakeland", "--name", "Lakeland, ours")
    assert made.code == 0
    assert read_pattern("own_lakeland.toml").aims == pattern("lakeland").aims
    assert read_pattern("own_lakeland.toml").name == "Lakeland, ours"
    assert "all well" in coatwright("pattern", "check", "own_lakeland.toml").out
    assert coatwright("pattern", "copy", "lakeland").code == 2
    spoilt = (
        Path("own_lakeland.toml")
        .read_text(encoding="utf-8")
        .replace("lo = 13, hi = 25", "lo = 13, hi = 5", 1)
    )
    Path("own_lakeland.toml").write_text(spoilt, encoding="utf-8")
    ran = coatwright("pattern", "check", "own_lakeland.toml")
    assert (ran.code, ran.out) == (2, "")
    assert "line " in ran.err


def test_the_desk_is_started_as_it_was_asked_for(
    coatwright: Coatwright, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    import sys
    from types import ModuleType

    asked = []
    pages = ModuleType("coatwright.web.app")
    pages.serve = lambda **how: asked.append(how)  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "coatwright.web.app", pages)
    assert coatwright("desk", "--demo", "--port", "8123", "--no-browser", "--data", tmp_path).code == 0
    assert coatwright("desk").code == 0
    alone = {"tablets": False, "plain": False, "tablet_port": 8740}
    assert asked == [
        {"data": tmp_path / "salon.db", "demo": True, "port": 8123, "open_browser": False, **alone},
        {"data": None, "demo": False, "port": None, "open_browser": True, **alone},
    ]
    assert coatwright("desk", "--port", "99999").code == 2
