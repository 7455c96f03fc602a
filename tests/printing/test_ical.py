"""Calendars: what RFC 5545 asks of every line and event, and identifiers that stay."""

import re
import uuid
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from icalendar import Calendar

from coatwright.errors import OutOfRange
from coatwright.printing import calendar_ics
from coatwright.printing.ical import event_uid, sequence_of
from coatwright.printing.sheet import ShowOutlook
from tests.printing.making import DAY, SHOW, document

STAMP = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)


def ics(plan=None, **changes):
    return calendar_ics(plan or document(), **{"stamp": STAMP, **changes})


def events(text):
    return Calendar.from_ical(text).walk("VEVENT")


def test_every_visit_and_show_is_an_event_of_a_whole_day():
    # RFC 5545, 3.6.1: an event whose DTSTART is a DATE lasts whole days, and DTEND is the day after the last.
    found = events(ics())
    assert [event.decoded("dtstart") for event in found] == [
        *(DAY + timedelta(days=14 * number) for number in range(5)), SHOW.day
    ]  # fmt: skip
    for event in found:
        assert event["dtstart"].params["VALUE"] == "DATE"
        assert type(event.decoded("dtstart")) is date
        assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(days=1)


def test_the_file_is_what_rfc_5545_asks_for():
    text = ics(document(dog="Bramble " * 25))
    lines = text.split("\r\n")
    assert lines[-1] == ""
    assert "\n" not in text.replace("\r\n", "")
    assert max(len(line.encode()) for line in lines) <= 75  # 3.1: lines of at most 75 octets
    assert lines[0] == "BEGIN:VCALENDAR"
    assert {"VERSION:2.0", "CALSCALE:GREGORIAN"} <= set(lines)  # 3.6: VERSION and PRODID must be there
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    unfolded = text.replace("\r\n ", "")
    for event in re.findall(r"BEGIN:VEVENT\r\n(.*?)END:VEVENT", unfolded, re.DOTALL):
        for name in ("UID", "DTSTAMP", "DTSTART"):  # 3.6.1: once each
            assert len(re.findall(rf"^{name}[;:]", event, re.MULTILINE)) == 1
        assert "DTSTAMP:20261125T083000Z" in event  # 3.8.7.2: in UTC


def test_text_comes_back_as_it_was_written():
    # RFC 5545, 3.3.11: backslash, semicolon, comma and line break are escaped.
    name = 'Bram;ble, "the\\n" Żółć'
    show = replace(SHOW, name="Harrow; Vale, North", place="Great\nAshby\x07")
    plan = document(dog=name, shows=(ShowOutlook(show, ()),))
    text = ics(plan)
    assert r"Bram\;ble\, " in text
    *_, last = events(text)
    assert str(last["summary"]) == f"{name}: Harrow; Vale, North"
    assert str(last["location"]) == "Great Ashby"
    assert "not ready: ribs" in str(last["description"])
    assert "Entries close Mon 1 Feb 2027." in str(last["description"])


def test_a_visit_tells_its_takes_and_what_to_card():
    first = events(ics())[0]
    said = str(first["description"])
    assert "Ribs 20 %" in said
    assert "Back" not in said.split("Card:")[0]
    assert "Card: back, ribs" in said
    assert str(first["summary"]) == "Bramble: visit, 112 min"
    assert str(first["transp"]) == "TRANSPARENT"


def test_identifiers_stay_through_every_change_but_that_of_the_day():
    before = {event.decoded("dtstart"): str(event["uid"]) for event in events(ics())}
    later = document(7, dog="Another name", minutes=1.0)
    after = {event.decoded("dtstart"): str(event["uid"]) for event in events(ics(later, sequence=3))}
    assert before.items() <= after.items()
    assert len(set(after.values())) == len(after) == 8
    moved = document(shows=(ShowOutlook(replace(SHOW, day=date(2027, 3, 21)), ()),))
    assert [str(e["uid"]) for e in events(ics(moved))][-1] == before[SHOW.day]


def test_identifiers_differ_between_dogs_and_tell_nothing_about_them():
    # RFC 7986, 5.3: a UID should be a UUID and hold nothing that could name anybody.
    one, other = event_uid("bramble", "visit", "2026-12-02"), event_uid("fennel", "visit", "2026-12-02")
    assert one != other
    assert uuid.UUID(one).version == 5
    assert "bramble" not in ics().split("UID:")[1].split("\r\n")[0]


def test_a_visit_moved_by_hand_stays_the_same_event_and_a_later_file_outranks_it():
    """RFC 5545, 3.8.7.4: of two events with one UID, the one with the larger SEQUENCE holds."""
    before = document(2)
    moved = replace(before.visits[1], day=before.visits[1].day + timedelta(days=3), slot=before.visits[1].day)
    after = replace(before, visits=(before.visits[0], moved))
    old = events(ics(before))
    new = events(ics(after, stamp=STAMP + timedelta(minutes=1), dropped=[before.visits[1].day]))
    assert [str(event["uid"]) for event in old] == [str(event["uid"]) for event in new]
    assert new[1].decoded("dtstart") == old[1].decoded("dtstart") + timedelta(days=3)
    assert all(int(b["sequence"]) > int(a["sequence"]) for a, b in zip(old, new, strict=True))
    assert not [event for event in new if str(event["status"]) == "CANCELLED"]


def test_files_are_numbered_by_the_minute_and_never_below_nothing():
    assert sequence_of(datetime(2026, 1, 1, 0, 1, tzinfo=UTC)) == 1
    assert sequence_of(datetime(2025, 6, 1, tzinfo=UTC)) == 0
    assert sequence_of(STAMP + timedelta(seconds=60)) == sequence_of(STAMP) + 1
    # RFC 5545, 3.3.8: an INTEGER ends at 2147483647.
    assert sequence_of(datetime(9999, 1, 1, tzinfo=UTC)) == 2147483647


@pytest.mark.parametrize("dog", ["Bramble", "Żółć; of, Harrow \\ Vale", "W" * 200, "Ελλάδα سلمى"])
def test_the_file_read_and_written_again_by_another_library_is_the_same_file(dog):
    """icalendar (a library of its own) reads the file and writes it back octet for octet."""
    text = ics(document(dog=dog), dropped=[date(2026, 12, 9)])
    calendar = Calendar.from_ical(text)
    assert calendar.to_ical().decode() == text
    assert not calendar.errors
    assert not [error for event in calendar.walk("VEVENT") for error in event.errors]


def test_the_sequence_and_what_is_dropped_go_out_as_given():
    gone = date(2026, 12, 9)
    found = events(ics(sequence=2, dropped=[gone, DAY]))
    assert {int(event["sequence"]) for event in found} == {2}
    cancelled = [event for event in found if str(event["status"]) == "CANCELLED"]
    assert [event.decoded("dtstart") for event in cancelled] == [gone]
    assert str(cancelled[0]["uid"]) == event_uid("bramble", "visit", "2026-12-09")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"stamp": datetime(2026, 11, 25, 8)}, "no time zone"),  # noqa: DTZ001
        ({"sequence": -1}, "sequence is -1"),
        ({"sequence": 2**31}, "0 to 2147483647"),
    ],
)
def test_a_stamp_without_zone_and_a_negative_sequence_are_refused(wrong, says):
    with pytest.raises(OutOfRange, match=says):
        ics(**wrong)
