"""``coatwright paper``: sheets printed, photographs read one and many, refused ones, what is kept, thread checked.

Photographs are drawn by the renderer of the tests, with their truth.
"""

from __future__ import annotations

import io
import json
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from PIL import Image

from coatwright.salon.store import Store
from tests.cli.conftest import EXAMPLES, Coatwright
from tests.cli.test_json import errors
from tests.paper.rendering import FIGURES, render

SMALL = (2800, 2100)
CUTS = (10.0, 20.0, 40.0)


@pytest.fixture(scope="module")
def shots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with photographs: of a tool, of fingers, of thread, and one of nothing."""
    folder = tmp_path_factory.mktemp("shots")
    (folder / "tool.jpg").write_bytes(render(FIGURES, 71, hairs=48, broken=0.3, size=SMALL).jpeg)
    (folder / "fingers.jpg").write_bytes(render(FIGURES, 72, hairs=45, broken=0.0, size=SMALL).jpeg)
    straight = replace(
        FIGURES, pinches=0.0
    )  # beside each other, not one along the other; none of this seed is clipped
    threads = render(straight, 88, hairs=15, broken=0.0, fluff=0, dust=0, size=SMALL, lengths=CUTS * 5)
    (folder / "thread.jpg").write_bytes(threads.jpeg)
    plain = io.BytesIO()
    Image.new("RGB", (900, 700), (120, 130, 90)).save(plain, "JPEG")
    (folder / "nothing.jpg").write_bytes(plain.getvalue())
    return folder


@pytest.fixture
def salon(coatwright: Coatwright, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A salon with the example's dog, on the day of its file."""
    import coatwright.cli.source as source

    monkeypatch.setattr(source, "calendar_day", lambda: date(2027, 3, 6))
    folder = tmp_path / "own"
    added = coatwright("salon", "add", EXAMPLES / "bracken.toml", "--data", folder, "--today", "2027-03-06")
    assert added.code == 0, added.err
    return folder


def told(ran) -> str:
    return " ".join(ran.out.split())


# --- sheets -----------------------------------------------------------------------------------------------


def test_a_sheet_is_printed_and_says_how_to_print_it(coatwright: Coatwright, tmp_path: Path) -> None:
    ran = coatwright("paper", "sheet", "a5-dark", "--to", tmp_path / "sheet.pdf", "--dog", "Bracken")
    assert (ran.code, ran.err) == (0, "")
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    assert "100 %" in ran.out


def test_a_sheet_that_no_page_holds_is_refused_and_nothing_written(
    coatwright: Coatwright, tmp_path: Path
) -> None:
    ran = coatwright("paper", "sheet", "a4", "--page", "letter", "--to", tmp_path / "sheet.pdf")
    assert ran.code == 2
    assert "does not fit on letter" in ran.err
    assert not list(tmp_path.glob("*.pdf"))


# --- reading ----------------------------------------------------------------------------------------------


def test_many_photos_are_one_trial_and_a_refused_one_does_not_stop_the_others(
    coatwright: Coatwright, shots: Path
) -> None:
    photos = shots / "tool.jpg", shots / "nothing.jpg", shots / "fingers.jpg"
    ran = coatwright("paper", "read", *photos, "--tool", "coarse knife", "--json")
    assert ran.code == 2
    result = json.loads(ran.out)
    assert errors("paper", result) == []
    assert [one["error"] is None for one in result["photos"]] == [True, False, True]
    assert result["photos"][1]["error"]["code"] == "flat"
    assert result["photos"][1]["error"]["remedy"]
    assert errors("error", json.loads(ran.err)) == []
    read = [one for one in result["photos"] if one["error"] is None]
    trial = result["trial"]
    assert trial["whole"] == sum(one["whole"] for one in read)
    assert trial["broken"] == sum(one["broken"] for one in read)
    assert len(result["hairs"]) == sum(one["whole"] + one["broken"] + one["unjudged"] for one in read)
    assert {row["points_mm"] for row in result["hairs"]} == {None}


def test_a_photo_named_twice_is_read_once(coatwright: Coatwright, shots: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.jpg"
    copy.write_bytes((shots / "tool.jpg").read_bytes())
    ran = coatwright("paper", "read", shots / "tool.jpg", copy, shots / "tool.jpg", "--json")
    assert ran.code == 2
    result = json.loads(ran.out)
    assert errors("paper", result) == []
    first, *again = result["photos"]
    assert first["error"] is None
    assert [one["error"]["code"] for one in again] == ["twice", "twice"]
    assert str(shots / "tool.jpg") in again[0]["error"]["what"]
    assert (result["trial"]["whole"], result["trial"]["broken"]) == (first["whole"], first["broken"])


def test_a_photo_that_is_kept_already_is_not_kept_again(
    coatwright: Coatwright, salon: Path, shots: Path
) -> None:
    of = ("--dog", "bracken", "--zone", "back", "--data", salon)
    keep = ("paper", "read", shots / "tool.jpg", "--keep", *of)
    assert coatwright(*keep).code == 0
    ran = coatwright(*keep)
    assert ran.code == 2
    assert "This photo was sent before" in told(ran) + " ".join(ran.err.split())
    with Store.open(salon / "salon.db") as store:
        (dog,) = store.state().dogs.values()
        assert len(dog.papers) == 1


def test_a_finger_pulled_sheet_is_the_second_witness(coatwright: Coatwright, shots: Path) -> None:
    ran = coatwright(
        "paper", "read", shots / "tool.jpg", "--fingers", shots / "fingers.jpg", "--json", "--traces"
    )
    assert (ran.code, ran.err) == (0, "")
    result = json.loads(ran.out)
    assert errors("paper", result) == []
    trial = result["trial"]
    assert trial["control"] == "fingers"
    assert trial["control_hairs"] >= 40
    assert trial["ends"]["share"] > 0.1
    assert trial["lengths"]["high"] > 0.1
    assert trial["low"] < 0.3 < trial["high"]
    tool = [row for row in result["hairs"] if row["photo"] == 0]
    points = tool[0]["points_mm"]
    traced = sum(((a - c) ** 2 + (b - d) ** 2) ** 0.5 for (a, b), (c, d) in pairwise(points))
    assert traced == pytest.approx(tool[0]["length_mm"], abs=0.2)


def test_the_verdict_is_told_in_words_with_what_it_does_not_say(coatwright: Coatwright, shots: Path) -> None:
    ran = coatwright("paper", "read", shots / "tool.jpg", "--tool", "coarse knife")
    assert (ran.code, ran.err) == (0, "")
    text = told(ran)
    assert "Verdict" in text
    assert "not for a rolling coat, nor for a show dog" in text.lower()
    assert "says nothing of pain" in text
    assert "kinder than real ones" in text


def test_below_forty_hairs_there_is_no_verdict(coatwright: Coatwright, tmp_path: Path) -> None:
    (tmp_path / "few.jpg").write_bytes(render(FIGURES, 74, hairs=12, size=SMALL).jpeg)
    result = json.loads(coatwright("paper", "read", tmp_path / "few.jpg", "--json").out)
    assert result["trial"]["word"] == "too few hairs"
    assert (result["trial"]["share"], result["trial"]["low"]) == (None, None)


def test_every_length_follows_the_printers_bar(coatwright: Coatwright, shots: Path) -> None:
    plain, scaled = (
        json.loads(coatwright("paper", "read", shots / "fingers.jpg", "--json", *more).out)
        for more in ((), ("--bar", "96"))
    )
    one, two = (sum(row["length_mm"] for row in result["hairs"]) for result in (plain, scaled))
    assert two / one == pytest.approx(0.96, abs=0.005)
    ran = coatwright("paper", "read", shots / "fingers.jpg", "--bar", "80")
    assert ran.code == 2
    assert "bar" in ran.err


# --- keeping ----------------------------------------------------------------------------------------------


def test_nothing_is_kept_unless_asked_for(coatwright: Coatwright, shots: Path, salon: Path) -> None:
    before = sorted(salon.rglob("*"))
    ran = coatwright(
        "paper", "read", shots / "tool.jpg", "--dog", "Bracken", "--zone", "back", "--data", salon
    )
    assert (ran.code, ran.err) == (0, "")
    assert sorted(salon.rglob("*")) == before


def test_what_is_kept_can_be_told_again(coatwright: Coatwright, shots: Path, salon: Path) -> None:
    ran = coatwright(
        *("paper", "read", shots / "tool.jpg", shots / "nothing.jpg", "--dog", "Bracken", "--zone", "back"),
        *("--tool", "coarse knife", "--day", "2027-03-05", "--keep", "--json", "--data", salon),
    )
    assert ran.code == 2  # one photo was refused
    result = json.loads(ran.out)
    assert errors("paper", result) == []
    from coatwright.salon.papers import drafts, recounted

    with Store.open(salon / "salon.db") as store:
        (kept,) = store.state().dogs["bracken"].papers
        assert kept.id == result["photos"][0]["kept"]
        assert (len(kept.whole_mm), len(kept.broken_mm)) == (
            result["trial"]["whole"],
            result["trial"]["broken"],
        )
        assert recounted(store, "bracken", kept) == kept
        assert drafts(store) == ()


def test_a_day_to_come_is_refused_before_anything_is_read(
    coatwright: Coatwright, shots: Path, salon: Path
) -> None:
    before = sorted(salon.rglob("*"))
    for more in (("--keep", "--dog", "Bracken", "--zone", "back"), ()):
        ran = coatwright(
            "paper", "read", shots / "tool.jpg", "--day", "2027-03-07", *more, "--data", salon, "--json"
        )
        assert (ran.code, ran.out) == (2, "")
        assert "after today" in json.loads(ran.err)["what"]
    assert sorted(salon.rglob("*")) == before


def test_a_sheet_that_cannot_be_kept_leaves_no_draft_and_the_next_one_is_read(
    coatwright: Coatwright, shots: Path, salon: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from coatwright.errors import OutOfOrder
    from coatwright.salon import papers
    from coatwright.salon.attachments import Attachments

    accept, calls = papers.accept, []

    def first_fails(store: Store, id: str, **more: object) -> object:
        calls.append(id)
        if len(calls) == 1:
            raise OutOfOrder("Not today.", remedy="Another day.")
        return accept(store, id, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(papers, "accept", first_fails)
    ran = coatwright(
        *("paper", "read", shots / "tool.jpg", shots / "fingers.jpg", "--dog", "Bracken", "--zone", "back"),
        *("--keep", "--json", "--data", salon),
    )
    assert ran.code == 2
    result = json.loads(ran.out)
    assert errors("paper", result) == []
    assert [one["error"] and one["error"]["code"] for one in result["photos"]] == ["not kept", None]
    with Store.open(salon / "salon.db") as store:
        (kept,) = store.state().dogs["bracken"].papers
        assert kept.id == result["photos"][1]["kept"]
        assert papers.drafts(store) == ()
        assert set(Attachments.of(store).names()) == {kept.photo, kept.traces}


def test_keeping_needs_a_dog_of_the_salon(coatwright: Coatwright, shots: Path) -> None:
    photo = shots / "tool.jpg"
    assert coatwright("paper", "read", photo, "--keep").code == 2
    assert coatwright("paper", "read", photo, "--dog", "Bracken").code == 2
    ran = coatwright("paper", "read", photo, "--dog", EXAMPLES / "bracken.toml", "--zone", "back", "--keep")
    assert ran.code == 2
    assert "salon add" in ran.err


# --- thread -----------------------------------------------------------------------------------------------


def test_thread_proves_a_phone_and_a_printer_and_is_told_beside_the_next_verdict(
    coatwright: Coatwright, shots: Path, salon: Path
) -> None:
    gear = "--printer", "hall printer", "--phone", "own phone", "--data", salon
    ran = coatwright("paper", "check", shots / "thread.jpg", *gear, "--json")
    assert (ran.code, ran.err) == (0, "")
    result = json.loads(ran.out)
    assert errors("thread", result) == []
    assert result["verdict"] == "good"
    assert result["scale"] == pytest.approx(1.0, abs=0.01)
    assert [row["cut_mm"] for row in result["cuts"]] == [10.0, 20.0, 40.0]
    read = coatwright("paper", "read", shots / "tool.jpg", *gear, "--json")
    assert result["words"] in json.loads(read.out)["proof"]
    other = coatwright("paper", "read", shots / "tool.jpg", "--printer", "another", "--data", salon, "--json")
    assert "not checked with thread" in json.loads(other.out)["proof"]


def test_the_printers_bar_is_kept_and_taken_into_account(
    coatwright: Coatwright, shots: Path, salon: Path
) -> None:
    ran = coatwright("paper", "check", "--printer", "Hall", "--bar", "97", "--data", salon)
    assert (ran.code, ran.err) == (0, "")
    read = coatwright("paper", "read", shots / "fingers.jpg", "--printer", "HALL", "--data", salon, "--json")
    assert json.loads(read.out)["bar_mm"] == 97.0


def test_the_only_printer_that_is_known_is_taken_and_said(
    coatwright: Coatwright, shots: Path, salon: Path
) -> None:
    read = "paper", "read", shots / "fingers.jpg", "--data", salon
    assert json.loads(coatwright(*read, "--json").out)["printer_note"] == ""
    assert coatwright("paper", "check", "--bar", "97", "--data", salon).code == 0
    found = json.loads(coatwright(*read, "--json").out)
    assert errors("paper", found) == []
    assert (found["printer"], found["bar_mm"]) == ("printer", 97.0)
    assert "printer is taken, the only one known, with its bar of 97 mm" in found["printer_note"]
    assert "printer is taken" in told(coatwright(*read))


def test_a_check_of_thread_without_a_name_counts_for_the_next_sheet_without_one(
    coatwright: Coatwright, shots: Path, salon: Path
) -> None:
    gear = "--phone", "own phone", "--data", salon
    checked = json.loads(coatwright("paper", "check", shots / "thread.jpg", *gear, "--json").out)
    assert (checked["printer"], checked["bar_mm"]) == ("printer", 100.0)
    read = coatwright("paper", "read", shots / "tool.jpg", *gear, "--json")
    assert checked["words"] in json.loads(read.out)["proof"]


def test_of_several_printers_none_is_assumed(coatwright: Coatwright, shots: Path, salon: Path) -> None:
    for name in ("Hall", "Attic"):
        assert coatwright("paper", "check", "--printer", name, "--bar", "97", "--data", salon).code == 0
    read = coatwright("paper", "read", shots / "fingers.jpg", "--data", salon, "--json")
    found = json.loads(read.out)
    assert (found["printer"], found["bar_mm"]) == ("", 100.0)
    assert "none was assumed of those known: Attic, Hall. Name it by --printer." in found["printer_note"]
    refused = coatwright("paper", "check", "--bar", "98", "--data", salon)
    assert refused.code == 2
    assert "Attic, Hall" in refused.err


def test_a_check_of_nothing_or_of_hair_is_refused(coatwright: Coatwright, shots: Path, salon: Path) -> None:
    assert coatwright("paper", "check", "--data", salon).code == 2
    refused = coatwright("paper", "check", shots / "nothing.jpg", "--phone", "p", "--data", salon, "--json")
    assert refused.code == 2
    assert errors("error", json.loads(refused.err)) == []
    with Store.open(salon / "salon.db") as store:
        assert store.state().threads == ()


# --- counts and tools -------------------------------------------------------------------------------------


def test_a_count_by_hand_is_kept_and_told(coatwright: Coatwright, salon: Path) -> None:
    hairs = "--whole", "70", "--broken", "30"
    ran = coatwright(
        "paper", "count", "Bracken", "--zone", "back", *hairs, "--tool", "blade", "--data", salon
    )
    assert (ran.code, ran.err) == (0, "")
    assert "Of 100 hairs about 30 break" in told(ran)
    assert "says nothing of pain" in told(ran)
    ran = coatwright("paper", "count", "Bracken", "--zone", "ribs", *hairs, "--json", "--data", salon)
    result = json.loads(ran.out)
    assert errors("paper", result) == []
    assert (result["trial"]["word"], result["trial"]["known"], result["photos"]) == ("breaks", "lens", [])
    refused = coatwright(
        "paper", "count", "Bracken", "--zone", "back", "--whole", "0", "--broken", "0", "--data", salon
    )
    assert refused.code == 2


def test_tools_are_listed_told_one_by_one_and_set_beside_each_other(
    coatwright: Coatwright, salon: Path
) -> None:
    for number, broken in enumerate((2, 10, 30)):
        for tool, count in (("Coarse blade", broken), ("stone", 1)):
            ran = coatwright(
                *("paper", "count", "Bracken", "--zone", "back", "--tool", tool, "--data", salon),
                *("--whole", str(100 - count), "--broken", str(count), "--day", f"2027-0{1 + number}-05"),
            )
            assert ran.code == 0, ran.err
    listed = told(coatwright("paper", "tools", "--data", salon))
    assert "2 tools" in listed
    assert "Coarse blade breaks" in listed
    one = coatwright("paper", "tools", "coarse  BLADE", "--beside", "stone", "--data", salon)
    assert "Going dull" in told(one)
    assert "Coarse blade breaks more than stone" in told(one)
    found = json.loads(coatwright("paper", "tools", "--json", "--data", salon).out)
    assert [(each["tool"], len(each["tests"])) for each in found] == [("Coarse blade", 3), ("stone", 3)]
    assert found[0]["trend"]["word"] == "going dull"
    unknown = coatwright("paper", "tools", "rake", "--data", salon)
    assert unknown.code == 2
    assert coatwright("paper", "tools", "--beside", "stone", "--data", salon).code == 2


def test_desk_and_command_line_compare_two_tools_by_the_same_tests(
    coatwright: Coatwright, salon: Path
) -> None:
    from coatwright.salon.tools import tool_history
    from coatwright.salon.verdicts import compared

    for tool, zone, broken, day in (
        ("blade", "back", "30", "2027-02-05"),
        ("stone", "back", "1", "2027-02-05"),
        ("blade", "ribs", "1", "2027-03-01"),
    ):
        ran = coatwright(
            *("paper", "count", "Bracken", "--zone", zone, "--tool", tool, "--data", salon),
            *("--whole", "150", "--broken", broken, "--day", day),
        )
        assert ran.code == 0, ran.err
    one = told(coatwright("paper", "tools", "blade", "--beside", "stone", "--data", salon))
    with Store.open(salon / "salon.db") as store:
        first, second = (tool_history(store.state(), name) for name in ("blade", "stone"))
    assert compared(first.trials, second.trials, "blade", "stone").words in one
    assert "blade breaks more than stone" in one
    assert "(Bracken, back)" in one
    assert "(Bracken, ribs)" not in one
