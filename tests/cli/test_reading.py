"""``coatwright reading``: kept, added to, told, and refused where it cannot be."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coatwright.salon.store import Store
from tests.cli.conftest import EXAMPLES, Coatwright

DAY = "2027-03-06"


@pytest.fixture
def salon(coatwright: Coatwright, quick: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A salon with Quill in it, on the day of the file."""
    import coatwright.cli.source as source
    from coatwright.cli.options import a_date

    monkeypatch.setattr(source, "calendar_day", lambda: a_date(DAY))
    folder = tmp_path / "own"
    assert coatwright("salon", "add", quick, "--data", folder).code == 0
    return folder


def readings(salon: Path) -> tuple:
    with Store.open(salon / "salon.db") as store:
        return store.state().dogs["quill"].readings


def test_a_reading_is_kept_added_to_and_told(coatwright: Coatwright, salon: Path) -> None:
    first = coatwright(
        "reading", "Quill", "--zone", "back", "--longest", "40", "--look", "open", "--data", salon
    )
    assert (first.code, first.err) == (0, "")
    assert "Back, Sat 6 Mar 2027, before the pulling: longest 40 mm, cover open." in " ".join(
        first.out.split()
    )
    more = coatwright("reading", "quill", "--zone", "Back", "--step", "22", "--step", "8", "--data", salon)
    assert "longest 40 mm, layers of 8 mm and 22 mm, cover open" in " ".join(more.out.split())
    (kept,) = readings(salon)
    assert (kept.longest_mm, kept.steps_mm, kept.look, kept.at_visit) == (40.0, (8.0, 22.0), "open", "before")


def test_json_has_every_field_and_inches_are_kept_in_millimetres(coatwright: Coatwright, salon: Path) -> None:
    ran = coatwright(
        *(
            "reading",
            "quill",
            "--zone",
            "skull",
            "--longest",
            "0.5",
            "--cover",
            "65",
            "--after",
            "--unit",
            "in",
        ),
        *("--groomer", "Maren", "--day", DAY, "--json", "--data", salon),
    )
    table = json.loads(ran.out)
    assert table.pop("id") == readings(salon)[0].id
    assert table == {
        "dog": "quill",
        "day": DAY,
        "zone": "skull",
        "longest_mm": pytest.approx(12.7),
        "shortest_mm": None,
        "cover": 0.65,
        "steps_mm": [],
        "look": "",
        "groomer": "Maren",
        "at_visit": "after",
    }


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--zone", "back"), "says nothing"),
        (("--zone", "bakc", "--longest", "20"), "Did you mean: back"),
        (("--zone", "back", "--longest", "-2"), "-2 mm"),
        (("--zone", "back", "--longest", "20", "--shortest", "30"), "Exchange the two lengths"),
        (("--zone", "back", "--cover", "130"), "130 %"),
        (("--zone", "back", "--look", "bushy"), "bushy"),
        (("--zone", "back", "--longest", "20", "--day", "2027-03-07"), "after today"),
        (("--longest", "20"), "--zone"),
    ],
)
def test_what_cannot_be_is_told(coatwright: Coatwright, salon: Path, options: tuple, words: str) -> None:
    ran = coatwright("reading", "quill", *options, "--data", salon)
    assert (ran.code, ran.out) == (2, "")
    assert words in " ".join(ran.err.split())
    assert readings(salon) == ()


def test_the_readings_of_a_file_are_kept_in_the_file(coatwright: Coatwright) -> None:
    ran = coatwright("reading", EXAMPLES / "bracken.toml", "--zone", "back", "--longest", "20", "--day", DAY)
    assert ran.code == 2
    assert f'[[readings]]\nday = {DAY}\nzone = "back"' in ran.err.replace("        ", "")
