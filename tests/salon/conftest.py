"""A store in a folder of its own, with a clock that stands still."""

from __future__ import annotations

from datetime import datetime

import pytest

from coatwright.salon.store import Store
from tests.salon.making import NOON


class Clock:
    """A clock that a test can move."""

    def __init__(self) -> None:
        self.now = NOON

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def store(tmp_path, clock):
    with Store.open(tmp_path / "salon.db", clock=clock) as opened:
        yield opened
