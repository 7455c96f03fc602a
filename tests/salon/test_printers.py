"""Printers that are known, which is meant, and a thread check whose bar was measured anew."""

from datetime import timedelta

import pytest

from coatwright.paper.thread import CUTS, check_threads
from coatwright.salon import printers
from coatwright.salon.events import stream_of
from coatwright.salon.gear import ThreadKept
from coatwright.salon.plain import from_plain, to_plain
from coatwright.salon.salon import keep
from tests.salon.making import TODAY

DAY = TODAY - timedelta(days=3)


def checked(store, printer="Hall", bar_mm=100.0, scale=1.03):
    """A thread check as :func:`coatwright.salon.printers.thread_check` keeps it, of a page that was fitted."""
    found = check_threads(
        [scale * cut for cut in CUTS for _ in range(5)], phone="p", printer=printer, cuts=CUTS
    )
    kept = ThreadKept("check", DAY, "p", printer, found.as_json(), "a5", bar_mm=bar_mm)
    keep(store, "thread.checked", stream_of("printer", printer), "", lambda _: kept)
    return found


def test_a_bar_measured_after_the_check_makes_the_check_stale(store):
    found = checked(store)
    assert printers.proof_words(store.state(), "p", "hall", TODAY).endswith(f"Checked with thread on {DAY}.")
    printers.set_bar(store, "Hall", 97.0)
    said = printers.proof_words(store.state(), "p", "hall", TODAY)
    assert said.startswith(found.words)
    assert "with a bar of 100 mm; it was measured anew as 97 mm: check again with thread." in said
    old = printers.proof_words(store.state(), "p", "hall", TODAY, bar_mm=100.0)
    assert old.endswith(
        f"Checked with thread on {DAY}."
    )  # of a sheet that was read with the bar of the check


def test_a_check_that_was_kept_without_its_bar_is_read_as_of_a_true_one():
    plain = to_plain(ThreadKept("check", DAY, "p", "q"))
    plain.pop("bar_mm", None)
    assert from_plain(ThreadKept, plain).bar_mm == 100.0


def test_printers_are_known_by_their_bar_or_by_a_thread_check(store):
    checked(store, "Hall")
    assert printers.printers_known(store.state()) == (printers.KnownPrinter("Hall", None),)
    printers.set_bar(store, "attic", 98.0)
    printers.set_bar(store, "HALL", 97.0)
    assert [(each.name, each.bar_mm) for each in printers.printers_known(store.state())] == [
        ("attic", 98.0),
        ("HALL", 97.0),
    ]


@pytest.mark.parametrize(
    ("bars", "named", "meant", "said"),
    [
        ((), "", "", ""),
        (("hall",), "", "hall", "the only one known"),
        (("hall",), " Attic ", "Attic", ""),
        (("hall", "attic"), "", "", "none was assumed"),
        (("hall", "attic"), "hall", "hall", ""),
    ],
)
def test_the_only_printer_is_meant_where_none_is_named(store, bars, named, meant, said):
    for name in bars:
        printers.set_bar(store, name, 97.0)
    found, words = printers.printer_meant(store.state(), named)
    assert found == meant
    assert bool(words) == bool(said)
    assert said in words
