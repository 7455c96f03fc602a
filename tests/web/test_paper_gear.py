"""Printers and thread checks on the pages of the paper test, and what a count by hand is asked."""

from __future__ import annotations

from coatwright.paper.thread import CUTS, check_threads
from coatwright.salon.events import stream_of
from coatwright.salon.gear import ThreadKept
from coatwright.salon.printers import set_bar
from coatwright.salon.salon import dog_of, keep
from tests.web.conftest import TODAY


def checked(store, printer: str = "Hall") -> None:
    """A thread check of a page that was fitted, kept."""
    found = check_threads(
        [1.03 * cut for cut in CUTS for _ in range(5)], phone="p", printer=printer, cuts=CUTS
    )
    kept = ThreadKept("check", TODAY, "p", printer, found.as_json(), "a5")
    keep(store, "thread.checked", stream_of("printer", printer), "", lambda _: kept)


def test_a_printer_that_was_only_checked_with_thread_can_be_chosen(client, store) -> None:
    checked(store)
    shown = client.get("/paper/new").text
    assert '<option value="Hall" selected>Hall, bar not measured</option>' in shown
    assert "is not measured yet" in shown
    assert 'list="printers"' in client.get("/paper/thread").text
    set_bar(store, "hall", 97.0, day=TODAY)
    shown = client.get("/paper/new").text
    assert "hall, bar 97 mm</option>" in shown
    assert "is not measured yet" not in shown


def test_a_check_before_the_bar_was_measured_says_so_on_both_pages(client, store) -> None:
    checked(store)
    for place in ("/paper", "/paper/thread"):
        assert "it was measured anew" not in client.get(place).text
    set_bar(store, "hall", 97.0, day=TODAY)
    for place in ("/paper", "/paper/thread"):
        assert "it was measured anew as 97 mm: check again with thread." in client.get(place).text


def test_a_count_by_hand_asks_for_no_purpose_and_is_of_a_tool(client, store) -> None:
    assert 'name="purpose"' not in client.get("/paper/count").text
    assert 'name="purpose"' in client.get("/paper/new").text
    form = {"dog": "bramble", "zone": "back", "tool": "rake", "day": TODAY.isoformat()}
    answer = client.post("/paper/count", data=form | {"whole": "60", "broken": "2", "purpose": "fingers"})
    assert answer.status_code == 303
    (kept,) = dog_of(store.state(), "bramble").papers
    assert (kept.purpose, kept.tool) == ("tool", "rake")
