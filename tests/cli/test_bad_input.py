"""Bad input through the command line: what, where, remedy, exit code 2, and nothing written."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from coatwright.patterns import pattern, write_pattern
from tests.cli.conftest import QUICK, Coatwright

VISITS = """
[[visits]]
day = 2027-03-06
takes = { back = 0.2 }
"""
LATER = "\n[[visits]]\nday = 2027-03-05\ntakes = { back = 0.2 }\n"


def without_an_aim() -> str:
    """The dog with a pattern of its own from which the aim of the tail was lost."""
    own = write_pattern(pattern("lakeland"))
    own = re.sub(r"^tail = \{.*\n", "", own, flags=re.MULTILINE)
    own = re.sub(r"^\[(.*)\]$", r"[pattern.\1]", own, flags=re.MULTILINE)
    return QUICK.replace('pattern = "lakeland"\n', "") + "\n[pattern]\n" + own


CASES = {
    "a take of 140 %": (
        QUICK + VISITS.replace("0.2", "1.4"),
        "The take is 140 %, but must lie between 0 and 100 %.",
        "takes.back",
    ),
    "a visit in the past of another": (QUICK + VISITS + LATER, "2027-03-05", "visits"),
    "an unknown zone": (QUICK.replace('"throat"]', '"troat"]'), "There is no zone called 'troat'.", "layers[1]"),
    "a show before today": (
        QUICK.replace("2027-06-12", "2027-02-12").replace("2027-05-15", "2027-01-15"),
        "before today",
        "shows[1]",
    ),
    "a zone with no aim": (without_an_aim(), "The zone tail has no aim.", "pattern.aims"),
    "a shape note on a zone with no aim": (
        QUICK + "\n[zones.feet]\nshape_mm = 3\n",
        "has no aim for feet",
        "zones.feet.shape_mm",
    ),
    "not TOML": (QUICK.replace("weight_kg = 7.5", "weight_kg is 7.5"), "This is not TOML", "line 6"),
    "a negative length": (
        QUICK.replace("resting = true", "length_mm = -4"),
        "length_mm",
        "layers[1].length_mm",
    ),
    "30 February": (QUICK.replace("\nday = 2027-03-06", "\nday = 2027-02-30"), "2027-02-30 is no day", "line 20"),
    "no hair left": (
        QUICK.replace("share = 0.7", "share = 0").replace("share = 0.3", "share = 0"),
        "no hair left",
        "layers",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("command", ["plan", "forecast", "sheet"])
def test_bad_input_is_told_with_its_place_and_remedy(
    coatwright: Coatwright, tmp_path: Path, case: str, command: str
) -> None:
    text, what, where = CASES[case]
    file = tmp_path / "bad.toml"
    file.write_text(text, encoding="utf-8")
    other = tmp_path / "made"
    ran = coatwright(command, file, *(("--pdf", other) if command != "forecast" else ("--svg", other)))
    assert ran.code == 2
    assert ran.out == ""
    told = dict(re.findall(r"^(Error|Where|Remedy) +(.*)$", ran.err, re.MULTILINE))
    assert set(told) == {"Error", "Where", "Remedy"}
    assert what in told["Error"]
    assert str(file) in told["Where"]
    assert where in told["Where"]
    assert re.search(r"line \d+", told["Where"])
    assert told["Remedy"].endswith((".", "?", '"', "}"))
    assert not other.exists()


@pytest.mark.parametrize("case", CASES)
def test_the_same_goes_as_one_json_object(coatwright: Coatwright, tmp_path: Path, case: str) -> None:
    text, what, where = CASES[case]
    file = tmp_path / "bad.toml"
    file.write_text(text, encoding="utf-8")
    ran = coatwright("plan", file, "--json")
    assert (ran.code, ran.out) == (2, "")
    told = json.loads(ran.err)
    assert set(told) == {"error", "what", "where", "remedy"}
    assert what in told["what"]
    assert where in told["where"]
    assert told["remedy"]


@pytest.mark.parametrize(
    ("arguments", "what", "remedy"),
    [
        (("plan",), "Missing argument 'DOG'.", "coatwright plan --help"),
        (("plan", "x.toml", "--fast"), "No such option: --fast", "coatwright plan --help"),
        (("plam",), "No such command 'plam'.", "coatwright --help"),
        (("plan", "x.toml", "--approach", "shaved"), "'shaved' is not one of", "coatwright plan --help"),
        (("plan", "x.toml", "--today", "2027-02-30"), "2027-02-30 is no day of the calendar.", "2027-03-01"),
        (("plan", "nowhere.toml"), "The file cannot be read", "Check its name and place"),
        (("plan", "Quill"), "There is no dog called 'Quill'", "coatwright salon fill"),
        (("salon", "dogs"), "There is no salon here.", "--data"),
        (("pattern", "show", "lakelend"), "There is no pattern called 'lakelend'.", "lakeland"),
        (("pattern", "check", "nowhere.toml"), "The file cannot be read", "Check its name"),
    ],
)
def test_a_slip_in_the_command_itself_is_told_alike(
    coatwright: Coatwright, arguments: tuple[str, ...], what: str, remedy: str
) -> None:
    for as_json in (False, True):
        if as_json and arguments[0] not in ("plan",):
            continue
        ran = coatwright(*arguments, *(["--json"] if as_json else []))
        assert (ran.code, ran.out) == (2, "")
        if as_json:
            told = json.loads(ran.err)
            assert what in told["what"]
            assert remedy in told["remedy"]
        else:
            assert ran.err.startswith("Error   ")
            assert what in ran.err
            assert remedy in ran.err


def test_a_forecast_checks_its_zone_days_and_draws(coatwright: Coatwright, quick: Path) -> None:
    wrong = {
        ("--zone", "bak"): "There is no zone called 'bak'.",
        ("--zone", "ribs"): "There is no zone in this forecast called 'ribs'.",
        ("--days", "0"): "A forecast of 0 days was asked for.",
        ("--days", "5000"): "A forecast of 5000 days was asked for.",
        ("--draws", "0"): "A forecast of 0 draws was asked for.",
        ("--until", "2027-03-01"): "lies before the first",
        ("--until", "2027-03-31", "--days", "3"): "Both --days and --until are given.",
    }
    for options, what in wrong.items():
        ran = coatwright("forecast", quick, "--unpulled", *options)
        assert (ran.code, ran.out) == (2, "")
        assert what in ran.err
        assert "Remedy" in ran.err


def test_an_unfit_dog_gets_no_plan_and_its_name_is_told(coatwright: Coatwright, tmp_path: Path) -> None:
    file = tmp_path / "unfit.toml"
    file.write_text(QUICK.replace("[dog]", '[dog]\nunfit = "itching, red skin"'), encoding="utf-8")
    for command in ("plan", "forecast", "sheet"):
        ran = coatwright(command, file)
        assert (ran.code, ran.out) == (2, "")
        assert "itching, red skin" in ran.err
        assert "vet first" in ran.err
        assert str(file) in ran.err
    assert coatwright("forecast", file, "--unpulled").code == 0


def test_a_file_that_cannot_be_written_is_told_and_leaves_nothing(
    coatwright: Coatwright, quick: Path, tmp_path: Path
) -> None:
    ran = coatwright("plan", quick, "--svg", tmp_path / "no" / "folder.svg")
    assert (ran.code, ran.out) == (2, "")
    assert "The file cannot be written" in ran.err
    folder = tmp_path / "is-a-folder"
    folder.mkdir()
    assert coatwright("plan", quick, "--csv", folder).code == 2
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_what_nobody_expected_is_not_swallowed(
    coatwright: Coatwright, quick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import coatwright.salon.plans as plans

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a fault of the program")

    monkeypatch.setattr(plans, "plan_dog", broken)
    with pytest.raises(ZeroDivisionError, match="a fault of the program"):
        coatwright("plan", quick)


def test_ctrl_c_ends_with_the_code_that_shells_expect(
    coatwright: Coatwright, quick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import coatwright.salon.plans as plans

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(plans, "plan_dog", stopped)
    ran = coatwright("plan", quick)
    # 128 + the number of SIGINT (2): the exit status that POSIX shells report for an interrupted command.
    assert (ran.code, ran.out) == (130, "")
