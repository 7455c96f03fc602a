"""The tutorial's commands run as they stand, and do what it says."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest

from tests.cli.conftest import ROOT, Coatwright, Ran

PAGE = (ROOT / "docs" / "tutorial" / "first-dog.md").read_text(encoding="utf-8")
STEP = re.compile(r"^```(toml|text)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def follow(coatwright: Coatwright, folder: Path) -> list[tuple[str, Ran]]:
    """Do every step: TOML is added to ``fern.toml``, a command is run."""
    done = []
    for kind, text in STEP.findall(PAGE):
        if kind == "toml":
            with (folder / "fern.toml").open("a", encoding="utf-8") as file:
                file.write(text if file.tell() == 0 else f"\n{text}")
        else:
            program, *arguments = shlex.split(text)
            assert program == "coatwright"
            done.append((text.strip(), coatwright(*arguments)))
    return done


def test_a_reader_of_the_tutorial_gets_where_it_leads(
    coatwright: Coatwright, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = follow(coatwright, tmp_path)
    assert [(command, ran.err) for command, ran in done if ran.code != 0] == []
    told = dict(done)
    assert "Border Terrier" in told["coatwright pattern show border"].out
    first = told["coatwright plan fern.toml"].out
    assert "a visit every 14 days" in first
    assert "When ready" in first
    assert "Side by side" in told["coatwright plan fern.toml --compare"].out
    assert "of dogs like this one" in " ".join(
        told["coatwright forecast fern.toml --zone back --draws 200"].out.split()
    ) or "8 of 10" in told["coatwright forecast fern.toml --zone back --draws 200"].out.replace("\n  ", " ")
    assert (tmp_path / "fern.pdf").read_bytes().startswith(b"%PDF-")
    assert "Stop when" in told["coatwright sheet fern.toml --pdf fern.pdf"].out

    # "at the first visits about a fifth of every zone is pulled"
    before = json.loads(coatwright("plan", "fern.toml", "--today", "2027-03-20", "--json").out)
    back, ribs = (
        [visit["takes"].get(zone, 0.0) for visit in before["visits"][:3]] for zone in ("back", "ribs")
    )
    # "the plan spares it until it has caught up"
    assert sum(back) < sum(ribs)
    assert "where 20 % was planned" in " ".join(
        told["coatwright sheet fern.toml --today 2027-03-20"].out.split()
    )


def test_the_first_takes_are_about_a_fifth(
    coatwright: Coatwright, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    kind, text = STEP.findall(PAGE)[0]
    assert kind == "toml"
    (tmp_path / "fern.toml").write_text(text, encoding="utf-8")
    plan = json.loads(coatwright("plan", "fern.toml", "--json").out)
    takes = sorted(plan["visits"][0]["takes"].values())
    assert takes[len(takes) // 2] == pytest.approx(0.2, abs=0.051)
