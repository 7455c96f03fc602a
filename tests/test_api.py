"""The Python interface: the whole job in five lines, typed, documented, loaded when used."""

from __future__ import annotations

import inspect
import json
import re
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

import coatwright

ROOT = Path(__file__).resolve().parent.parent
PAGE = (ROOT / "docs" / "reference" / "python.md").read_text(encoding="utf-8")

DOG = """\
today = 2027-03-06

[dog]
name = "Quill"
pattern = "lakeland"

[limits]
cadences = [14]

[wish]
ready_from = 2027-07-01

[coat]
day = 2027-03-06

[[coat.layers]]
zones = ["back", "skull"]
share = 1
resting = true
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "quill.toml"
    path.write_text(DOG, encoding="utf-8")
    return path


def test_five_lines_do_the_whole_job(file: Path) -> None:
    dog = coatwright.read(file)
    plan = coatwright.plan(dog)
    takes = plan.takes(plan.visits[0])
    ahead = coatwright.forecast(dog, plan)
    sheet = coatwright.sheet(plan)
    assert (dog.dog.name, dog.today) == ("Quill", date(2027, 3, 6))
    assert set(takes) <= {"back", "skull"}
    assert {zone.key: zone.share for zone in sheet.zones} == pytest.approx(takes)
    assert [zone.key for zone in ahead.zones] == ["back", "skull"]
    assert ahead.days[0] == dog.today
    assert ahead.expected.cover.shape == (1, 2, len(ahead.days))


def test_the_readme_of_the_interface_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    names: dict[str, Any] = {}
    blocks = re.findall(r"^```python\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    assert len(blocks) == 3
    for block in blocks:
        exec(compile(block, "python.md", "exec"), names)
    assert names["sheet"].dog == "Bracken"
    assert names["ahead"].chance().shape == (len(names["ahead"].days),)


def test_every_public_name_is_there_and_in_the_reference() -> None:
    assert sorted(coatwright.__all__) == sorted(set(coatwright.__all__))
    assert set(coatwright.__all__) <= set(dir(coatwright))
    for name in coatwright.__all__:
        value = getattr(coatwright, name)
        assert re.search(rf"`{name}[(`]", PAGE), name
        if name != "__version__":
            assert inspect.getdoc(value), name
    with pytest.raises(AttributeError, match="has no attribute 'shave'"):
        coatwright.shave  # noqa: B018


def test_the_reference_gives_every_functions_arguments() -> None:
    for name in ("read", "plan", "compare", "forecast", "sheet"):
        signature = inspect.signature(getattr(coatwright, name))
        bare = signature.replace(
            parameters=[
                each.replace(annotation=inspect.Parameter.empty) for each in signature.parameters.values()
            ],
            return_annotation=inspect.Signature.empty,
        )
        assert f"`{name}{bare}`" in PAGE
        assert all(each.annotation is not inspect.Parameter.empty for each in signature.parameters.values())
        assert signature.return_annotation is not inspect.Signature.empty


def test_importing_the_package_loads_none_of_its_rooms() -> None:
    code = "import sys, json, coatwright; print(json.dumps([m for m in sys.modules if m.startswith('coatwright')]))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert json.loads(ran.stdout) == ["coatwright"]


def test_type_checkers_see_the_names(tmp_path: Path) -> None:
    from mypy import api

    script = tmp_path / "use.py"
    script.write_text(
        "import coatwright\n"
        "file = coatwright.read('x.toml')\n"
        "plan = coatwright.plan(file)\n"
        "reveal_type(plan)\n"
        "reveal_type(coatwright.forecast(file.dog, plan, draws=2))\n"
        "reveal_type(coatwright.sheet(plan))\n",
        encoding="utf-8",
    )
    out, _, code = api.run(["--follow-imports=silent", f"--cache-dir={tmp_path / 'cache'}", str(script)])
    assert code == 0, out
    revealed = re.findall(r'Revealed type is "(.*?)"', out)
    assert [name.rpartition(".")[2] for name in revealed] == ["DogPlan", "DogForecast", "Sheet"]


def test_a_dog_can_be_changed_and_planned_without_a_file(file: Path) -> None:
    dog = coatwright.read(file).dog
    slow = replace(dog, growth={"rate": 0.3})
    plan = coatwright.plan(slow, date(2027, 3, 6))
    assert plan.today == date(2027, 3, 6)
    assert plan.option.plan.problem.zones[0].growth.rate == 0.3
    forced = coatwright.plan(dog, date(2027, 3, 6), approach="strip")
    assert forced.option.approach == "strip"


def test_today_goes_before_the_files_own(file: Path) -> None:
    assert coatwright.read(file, today=date(2027, 4, 1)).today == date(2027, 4, 1)
    assert coatwright.plan(coatwright.read(file), date(2027, 4, 1)).today == date(2027, 4, 1)
    ahead = coatwright.forecast(coatwright.read(file), today=date(2027, 4, 1), days=10)
    assert ahead.days == tuple(date(2027, 4, day) for day in range(1, 11))
    assert ahead.plan is None


def test_approaches_can_be_compared(file: Path) -> None:
    options = coatwright.compare(coatwright.read(file))
    assert [each.approach for each in options] == ["rolling"]


def test_a_forecast_agrees_with_the_plan_day_by_day(file: Path) -> None:
    from coatwright.units import day_of

    dog = coatwright.read(file)
    plan = coatwright.plan(dog)
    ahead = coatwright.forecast(dog, plan)
    for day in ahead.days[:: max(len(ahead.days) // 12, 1)]:
        at = ahead.days.index(day)
        for key, state in plan.option.plan.judged(day_of(day)).items():
            n = ahead.number(key)
            assert float(ahead.expected.cover[0, n, at]) == pytest.approx(state.cover, abs=1e-5)
            assert float(ahead.expected.outline[0, n, at]) == pytest.approx(state.outline, abs=0.03)
            assert bool(ahead.expected.ready[0, n, at]) == state.ready


def test_chances_are_the_share_of_ready_draws(file: Path) -> None:
    dog = coatwright.read(file)
    plan = coatwright.plan(dog)
    ahead = coatwright.forecast(dog, plan, draws=50, seed=3)
    chance = ahead.chance()
    assert chance is not None
    assert ahead.draws is not None
    judged = [n for n, zone in enumerate(ahead.zones) if zone.aim is not None]
    by_hand = ahead.draws.ready[:, judged].all(axis=1).mean(axis=0)
    assert chance == pytest.approx(by_hand)
    assert coatwright.forecast(dog, plan).chance() is None
    same = coatwright.forecast(dog, plan, draws=50, seed=3).chance()
    assert same == pytest.approx(chance)


def test_results_are_plain_values_that_json_can_carry(file: Path) -> None:
    dog = coatwright.read(file)
    plan = coatwright.plan(dog)
    for value in (
        coatwright.plan_result(plan),
        coatwright.forecast_result(coatwright.forecast(dog, plan, draws=5)),
        coatwright.sheet_result(coatwright.sheet(plan)),
    ):
        assert json.loads(json.dumps(value, allow_nan=False)) == value


def test_windows_of_a_forecast_are_those_of_the_plan_document(file: Path) -> None:
    from coatwright.salon.sheets import plan_document_of

    dog = coatwright.read(file)
    plan = coatwright.plan(dog)
    ahead, document = coatwright.forecast(dog, plan), plan_document_of(plan)
    assert ahead.dog_windows() == document.windows
    for zone in document.zones:
        assert ahead.windows(zone.key) == zone.windows


def test_what_cannot_be_is_told(file: Path) -> None:
    dog = coatwright.read(file)
    plan = coatwright.plan(dog)
    stranger = replace(dog.dog, id="other", name="Other")
    with pytest.raises(coatwright.CoatwrightError, match="The plan is for Quill, not for Other"):
        coatwright.forecast(stranger, plan)
    with pytest.raises(coatwright.CoatwrightError, match="no zone in this forecast called 'tail'"):
        coatwright.forecast(dog, plan).windows("tail")
    for wrong in ({"days": 0}, {"days": 731}, {"draws": 0}):
        with pytest.raises(coatwright.CoatwrightError, match="was asked for"):
            coatwright.forecast(dog, plan, **wrong)
    with pytest.raises(coatwright.CoatwrightError, match="No visit is planned"):
        coatwright.sheet(plan, date(2026, 1, 1))
    with pytest.raises(coatwright.CoatwrightError) as caught:
        coatwright.read("nowhere.toml")
    assert caught.value.what
    assert caught.value.where == "nowhere.toml"
    assert caught.value.remedy
