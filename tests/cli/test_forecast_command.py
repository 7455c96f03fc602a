"""``coatwright forecast``: what grows, with the plan or without."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import QUICK, Coatwright

# One zone, all hairs pulled on one day: the closed form of the coat model, section 2, tells every length.
ALL_AT_ONCE = """\
today = 2027-03-06

[dog]
name = "Quill"
pattern = "lakeland"

[growth]
lag = 28
rate = 0.4
spread = 0.001

[wish]
ready_from = 2027-06-01

[coat]
day = 2027-03-06

[[coat.layers]]
zones = "back"
share = 1
pulled = 2027-03-06
"""


def forecast(coatwright: Coatwright, *arguments: str | Path) -> dict:
    ran = coatwright("forecast", *arguments, "--json")
    assert ran.code == 0, ran.err
    return json.loads(ran.out)


def test_a_pulled_out_zone_is_ready_in_the_window_of_the_closed_form(
    coatwright: Coatwright, tmp_path: Path
) -> None:
    file = tmp_path / "bare.toml"
    file.write_text(ALL_AT_ONCE, encoding="utf-8")
    told = forecast(coatwright, file, "--unpulled", "--days", "120")
    (zone,) = told["zones"]
    # Ready from L + lo/r until L + hi/r days after the pull (coat model, section 2): aim 13 to 25 mm, so day
    # 28 + 32.5 to 28 + 62.5.
    assert zone["aim_mm"] == [13.0, 25.0]
    assert [(window["first"], window["last"]) for window in zone["ready"]] == [("2027-05-06", "2027-06-04")]
    for day, length in enumerate(zone["outline_mm"]):
        # The length that 5 % exceed of hairs spread normally by 0.1 %: the mean and 1.645 standard deviations
        # (standard normal table).
        assert length == pytest.approx(max(0.4 * (day - 28), 0.0) * (1 + 1.645 * 0.001), abs=0.03)
    assert zone["cover"] == [0.0] * 28 + [1.0] * 92


def test_arrays_hold_one_value_a_day(coatwright: Coatwright, quick: Path) -> None:
    told = forecast(coatwright, quick, "--until", "2027-04-30")
    assert (told["first"], told["last"]) == ("2027-03-06", "2027-04-30")
    for zone in told["zones"]:
        assert len(zone["cover"]) == len(zone["outline_mm"]) == 56
        assert zone["cover_low"] is None
    assert told["chance"] is None


def test_draws_give_bands_that_are_the_same_for_the_same_seed(coatwright: Coatwright, quick: Path) -> None:
    first = forecast(coatwright, quick, "--draws", "60", "--seed", "4")
    assert first == forecast(coatwright, quick, "--draws", "60", "--seed", "4")
    other = forecast(coatwright, quick, "--draws", "60", "--seed", "5")
    assert other["zones"] != first["zones"]
    for zone in first["zones"]:
        low, middle, high = zone["outline_mm_low"], zone["outline_mm"], zone["outline_mm_high"]
        assert all(a <= c for a, c in zip(low, high, strict=True))
        assert sum(a <= b <= c for a, b, c in zip(low, middle, high, strict=True)) > 0.9 * len(middle)
        assert all(0.0 <= chance <= 1.0 for chance in zone["chance"])


def test_the_plan_is_carried_out_unless_the_coat_is_left_alone(coatwright: Coatwright, quick: Path) -> None:
    pulled, left = forecast(coatwright, quick), forecast(coatwright, quick, "--unpulled")
    assert left["plan"] is None
    assert pulled["plan"]["approach"] == "staged"
    back = {key: told["zones"][0] for key, told in (("pulled", pulled), ("left", left))}
    assert min(back["left"]["cover"]) == 1.0
    assert min(back["pulled"]["cover"]) < 0.9
    first = (pulled["plan"]["visits"])[0]
    assert first > "2027-03-06" or pulled["zones"][0]["cover"][0] < 1.0


def test_zones_can_be_named_by_key_or_by_name(coatwright: Coatwright, quick: Path) -> None:
    for name in ("back", "Back"):
        told = forecast(coatwright, quick, "--zone", name)
        assert [zone["key"] for zone in told["zones"]] == ["back"]
    two = forecast(coatwright, quick, "--zone", "skull", "--zone", "back")
    assert [zone["key"] for zone in two["zones"]] == ["skull", "back"]


def test_one_zone_is_told_week_by_week_with_its_pulls(coatwright: Coatwright, quick: Path) -> None:
    text = coatwright("forecast", quick, "--zone", "back", "--draws", "40").out
    told = forecast(coatwright, quick, "--zone", "back", "--draws", "40")
    plan = json.loads(coatwright("plan", quick, "--json").out)
    for visit in plan["visits"]:
        if "back" in visit["takes"]:
            assert f"{round(100 * visit['takes']['back'])} %" in text
    first, last = told["zones"][0]["cover_low"][0], told["zones"][0]["cover_high"][0]
    assert f"{100 * first:.0f} to {100 * last:.0f} %" in text
    assert "Sat 6 Mar 2027" in text
    assert "of dogs like this one" in text.replace("\n    ", " ")


def test_all_zones_are_told_with_their_ready_days_by_week(coatwright: Coatwright, quick: Path) -> None:
    text = coatwright("forecast", quick).out
    for words in ("Cover, %", "Outline, mm", "Ready days of each week", "All at once", "A vet first"):
        assert words in text
    weeks = text.partition("Ready days of each week")[2].partition("When ready")[0]
    told = forecast(coatwright, quick)
    ready = sum(len(zone["ready"] or []) > 0 for zone in told["zones"])
    assert sum(any(mark in line for mark in "▁▂▃▄▅▆█") for line in weeks.splitlines()) >= ready


@pytest.mark.parametrize(("zones", "kind"), [((), "cw-cover"), (("back",), "cw-layers")])
def test_the_picture_is_of_all_covers_or_of_one_zones_layers(
    coatwright: Coatwright, quick: Path, tmp_path: Path, zones: tuple[str, ...], kind: str
) -> None:
    from xml.etree import ElementTree

    file = tmp_path / "ahead.svg"
    options = [part for zone in zones for part in ("--zone", zone)]
    assert coatwright("forecast", quick, "--draws", "20", "--svg", file, *options).code == 0
    root = ElementTree.fromstring(file.read_text(encoding="utf-8"))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert kind in root.attrib["class"]


def test_a_plan_is_not_promised_beyond_its_end(coatwright: Coatwright, tmp_path: Path) -> None:
    file = tmp_path / "rolling.toml"
    shows = QUICK.partition("[[shows]]")[2].partition("[coat]")[0]
    text = QUICK.replace("[[shows]]" + shows, "").replace(
        "[wish]", "[wish]\nready_from = 2027-05-01\nhorizon_weeks = 12"
    )
    file.write_text(text, encoding="utf-8")
    assert "no promise" in " ".join(coatwright("forecast", file, "--days", "120").out.split())
    assert "no promise" not in " ".join(coatwright("forecast", file).out.split())
