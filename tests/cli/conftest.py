"""What the tests of the command line share: running it, and a dog that is quickly planned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from coatwright.cli.main import call

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"

QUICK = """\
today = 2027-03-06

[dog]
name = "Quill"
pattern = "lakeland"
weight_kg = 7.5

[limits]
cadences = [14]

[wish]
price_per_hour = 30

[[shows]]
name = "Ashdown Terrier Show"
day = 2027-06-12
closing = 2027-05-15

[coat]
day = 2027-03-06
undercoat = "packed"

[[coat.layers]]
zones = ["back", "forechest", "skull", "throat"]
share = 0.7
resting = true

[[coat.layers]]
zones = ["back", "forechest", "skull", "throat"]
share = 0.3
weeks = 10
"""
"""A dog of which only four zones were read."""

OVERDONE = (
    QUICK.replace("[[shows]]", '[[shows]]\naim = "rolling"')
    .replace("[wish]", "[wish]\nready_from = 2027-06-01")
    .replace("today = 2027-03-06", "today = 2027-03-20")
    + """
[[visits]]
day = 2027-03-06
carded = ["back"]

[visits.takes]
back = { share = 0.35, planned = 0.2 }
skull = 0.2
throat = { share = 0.2, planned = 0.2 }
"""
)
"""The same dog after a visit at which the back gave too much."""


@dataclass(frozen=True, slots=True)
class Ran:
    """How a command ended."""

    code: int
    out: str
    err: str


Coatwright = Callable[..., Ran]


@pytest.fixture(autouse=True)
def _plain_terminal(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """80 columns, no colour, and a salon of the test's own."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COATWRIGHT_DATA", str(tmp_path / "salon"))
    monkeypatch.delenv("COATWRIGHT_DATABASE", raising=False)
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def coatwright(capsys: pytest.CaptureFixture[str]) -> Coatwright:
    """Run ``coatwright`` with these arguments, in this process."""

    def run(*arguments: str | Path) -> Ran:
        capsys.readouterr()
        code = call([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return Ran(code, out, err)

    return run


@pytest.fixture
def quick(tmp_path: Path) -> Path:
    """The file of a dog that is planned in a moment."""
    file = tmp_path / "quill.toml"
    file.write_text(QUICK, encoding="utf-8")
    return file
