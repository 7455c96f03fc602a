"""Every page opens, says what it should, and works without script."""

from __future__ import annotations

import re
from datetime import timedelta
from html.parser import HTMLParser

import pytest

from tests.web.conftest import SHOW, TODAY

PAGES = (
    "/",
    "/dogs",
    "/dogs?q=bram",
    "/dogs/new",
    "/shows",
    "/shows?edit=fell",
    "/people",
    "/people?edit=marl",
    "/settings",
    "/keys",
    "/dogs/bramble",
    "/dogs/bramble?day=30",
    "/dogs/bramble?day=-10&by=cover",
    "/dogs/bramble?day=2026-12-20&zone=neck&by=age",
    "/dogs/bramble?by=take",
    "/dogs/bramble/plan",
    "/dogs/bramble/plan/compare",
    "/dogs/bramble/visit",
    "/dogs/bramble/visit?day=2026-11-20",
    "/dogs/bramble/assess",
    "/dogs/bramble/assess?start=rolling",
    "/dogs/bramble/edit",
    "/dogs/bramble/sheet",
    "/dogs/hob",
    "/dogs/hob/plan",
    "/dogs/hob/plan/compare",
    "/dogs/hob/visit",
    "/dogs/hob/sheet",
    "/dogs/wick",
    "/dogs/wick/plan",
    "/dogs/wick/visit",
    "/dogs/wick/sheet",
)
VOID = {"meta", "link", "input", "img", "source", "br", "hr", "path", "circle", "rect", "ellipse", "option"}


class Shape(HTMLParser):
    """Collects what a page's markup must hold together: open tags, ids, labels, links, forms."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.labels: list[str] = []
        self.fields: list[dict[str, str]] = []
        self.headings: list[int] = []
        self.forms: list[dict[str, str]] = []
        self.wrong: list[str] = []

    def handle_starttag(self, tag, attrs):
        given = {key: value or "" for key, value in attrs}
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "label" and "for" in given:
            self.labels.append(given["for"])
        if tag in ("input", "select", "textarea") and given.get("type") != "hidden":
            self.fields.append(given | {"inside": "label" if "label" in self.open else ""})
        if tag == "form":
            self.forms.append(given)
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


def shape(text: str) -> Shape:
    found = Shape()
    found.feed(text)
    return found


@pytest.mark.parametrize("address", PAGES)
def test_a_page_opens_and_holds_together(reader, address):
    answer = reader.get(address)
    assert answer.status_code == 200, answer.text
    found = shape(answer.text)
    assert not found.wrong
    assert not found.open
    assert len(found.ids) == len(set(found.ids)), "an id stands twice"
    assert found.headings.count(1) == 1
    assert answer.text.startswith("<!doctype html>")
    assert "None" not in re.sub(r"<[^>]*>", " ", answer.text)


@pytest.mark.parametrize("address", PAGES)
def test_every_field_has_a_name_and_a_label(reader, address):
    found = shape(reader.get(address).text)
    for field in found.fields:
        assert field.get("name"), field
        assert field.get("aria-label") or field.get("id") in found.labels or field["inside"], field
    for form in found.forms:
        if form.get("method") == "dialog":
            continue  # closes what it stands in, and can only be open by script
        assert form.get("method") in ("get", "post")
        assert form.get("action", "").startswith("/"), "a form must work without script"


def test_today_tells_who_is_due_and_what_is_special(reader):
    text = reader.get("/").text
    assert "25 November" in text
    assert "Bramble" in text
    assert re.search(r"throat", text), "a tender zone is told"
    assert "unfit: red, itching skin" in text
    assert "coat not read yet" in text
    assert "Fell Terrier Day" in text


def test_an_empty_desk_teaches_how_to_begin(empty):
    for address in ("/", "/dogs"):
        assert 'href="/dogs/new"' in empty.get(address).text
    assert "No show is written down" in empty.get("/shows").text
    assert "Nobody is written down" in empty.get("/people").text


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("bram", True),
        ("BRAM", True),
        ("lake", True),
        ("marl", True),
        ("fell", True),
        ("ramble", False),
        ("x y", False),
    ],
)
def test_a_search_finds_by_the_beginnings_of_words(reader, query, found):
    text = reader.get("/dogs", params={"q": query}).text
    assert ('<td data-label="Pattern">Lakeland Terrier' in text) is found
    if not found:
        assert "No dog answers to" in text


def test_a_slip_of_the_finger_is_answered_with_the_nearest_names(reader):
    text = reader.get("/dogs?q=brambel").text
    assert 'Nearest: <a class="name-link" href="/dogs/bramble">Bramble</a>.' in text
    assert "Nearest" not in reader.get("/dogs?q=zzz").text


@pytest.mark.parametrize("query", ["BRÄMBLE", "wíck", "lakeland bram"])
def test_a_search_takes_no_notice_of_accents_and_of_the_order_of_words(reader, query):
    text = reader.get("/dogs", params={"q": query}).text
    assert "1 dog for" in text


def test_the_index_of_the_search_is_sent_again_only_when_it_has_changed(client):
    first = client.get("/find.json")
    names = [row[1] for row in first.json()["dogs"]]
    assert names == ["Bramble", "Hob", "Wick"]
    assert first.json()["shows"][0][:2] == ["fell", "Fell Terrier Day"]
    again = client.get("/find.json", headers={"if-none-match": first.headers["etag"]})
    assert again.status_code == 304
    assert again.content == b""
    client.post("/people", data={"name": "Ödön Varga", "role": "owner"})
    later = client.get("/find.json", headers={"if-none-match": first.headers["etag"]})
    assert later.status_code == 200
    assert "Ödön Varga" in [row[1] for row in later.json()["people"]]


def test_a_search_while_typing_gets_the_list_alone(reader):
    part = reader.get("/dogs?q=bram", headers={"hx-request": "true", "hx-target": "found"}).text
    assert "Bramble" in part
    assert "<html" not in part


def test_the_dog_page_shows_picture_zones_chart_ribbons_and_cautions(reader):
    text = reader.get("/dogs/bramble?zone=neck&charts=1").text
    assert '<img src="/dogs/bramble/coat.svg' in text
    for part in (
        "Next visit",
        "Ready days",
        "What was done",
        "Before you pull",
        "A vet first",
        "cw-layers",
        "cw-ribbons",
    ):
        assert part in text
    rows = re.findall(r"<tr(?: class=\"chosen\")?>\s*<th scope=\"row\"><a href=\"\?zone=(\w+)", text)
    assert rows == ["back", "ribs", "croup", "neck", "skull", "throat"]
    assert 'aria-current="true">Neck' in text


def test_charts_are_fetched_once_the_page_is_seen(reader):
    text = reader.get("/dogs/bramble").text
    assert "cw-ribbons" not in text
    assert "cw-layers" not in text
    assert 'hx-get="/dogs/bramble/charts"' in text
    assert 'href="/dogs/bramble?charts=1#charts"' in text, "without script there is a way to them"
    part = reader.get("/dogs/bramble/charts").text
    assert "cw-ribbons" in part
    assert "cw-cover" in part
    assert "<html" not in part
    for path in ("/dogs/hob/charts", "/dogs/wick/charts"):
        assert "hx-get" not in reader.get(path).text, "nothing is asked for again and again"


def test_the_day_can_be_moved_forwards_and_back(reader):
    for day, told in (
        ("0", "25 November"),
        ("21", "16 December"),
        ("-7", "18 November"),
        ("2026-12-16", "16 December"),
    ):
        text = reader.get(f"/dogs/bramble?day={day}").text
        assert f"Zones on {told}" in re.sub(r"Zones on \w{3} ", "Zones on ", text)
    early = reader.get(f"/dogs/bramble?day={TODAY - timedelta(days=300)}")
    assert "Zones on Wed 11 November" in early.text, "never before the coat is known"


def test_the_picture_alone_asks_for_the_chosen_zone_and_the_zones_of_the_day(reader):
    asked = {"hx-request": "true", "hx-target": "zone-part"}
    part = reader.get("/dogs/bramble?day=21&zone=neck", headers=asked).text
    assert 'hx-swap-oob="true"' in part
    assert '<h2 id="zone-name">Neck</h2>' in part
    assert "cw-layers" in part
    assert "<html" not in part
    assert "cw-ribbons" not in part


def test_the_coat_of_every_day_is_kept_by_the_browser_under_an_address_that_changes_with_it(reader):
    text = reader.get("/dogs/bramble").text
    address = re.search(r'data-coat="([^"]+)"', text)[1]
    answer = reader.get(address)
    assert answer.headers["cache-control"] == "private, max-age=600"
    parcel = answer.json()
    assert parcel["form"] == 2
    assert parcel["today"] == TODAY.toordinal()
    planned = [take for zone in parcel["zones"] for take in zone["takes"] if take["planned"]]
    assert planned
    assert reader.get("/dogs/bramble/coat.json").headers["cache-control"] == "no-store"
    assert reader.get("/dogs/nobody/coat.json").status_code == 404


def test_cover_moves_with_the_day(reader):
    def cover(day: int) -> list[str]:
        return re.findall(
            r'<td class="number">(\d+)<span class="unit">&#8239;%',
            reader.get(f"/dogs/bramble?day={day}").text,
        )

    assert cover(0) != cover(30)


@pytest.mark.parametrize(
    "address", ["/dogs/bramble/coat.svg", "/dogs/bramble/coat.svg?by=cover&theme=dark&day=40"]
)
def test_the_picture_is_an_svg_without_style_or_script(reader, address):
    answer = reader.get(address)
    assert answer.headers["content-type"].startswith("image/svg+xml")
    assert answer.text.startswith("<svg color=")
    assert "<style" not in answer.text
    assert "style=" not in answer.text


def test_lengths_follow_the_unit_of_the_cookie(reader):
    reader.cookies.set("unit", "in")
    try:
        text = reader.get("/dogs/bramble?zone=back").text
        assert '<span class="unit">&#8239;in</span>' in text
        assert '<span class="unit">&#8239;mm</span>' not in text
        assert 'Longest hair <span class="unit">in</span>' in text
    finally:
        reader.cookies.clear()


def test_dates_follow_the_language_of_the_browser(reader):
    text = reader.get("/dogs/bramble/sheet", headers={"accept-language": "en-US"}).text
    assert re.search(r"<h1>\w{3}, \w+ \d+, 20\d\d</h1>", text)


def test_the_sheet_tells_takes_holds_cautions_and_when_to_stop(reader):
    text = reader.get("/dogs/bramble/sheet").text
    for words in (
        "Stop when",
        "How to hold the skin",
        "Which hair",
        "tender,",
        "sheet.svg",
        "sheet.pdf",
        "Hands",
    ):
        assert words in text
    assert reader.get("/dogs/bramble/sheet.svg").text.startswith("<svg")
    pdf = reader.get("/dogs/bramble/sheet.pdf")
    assert pdf.headers["content-type"] == "application/pdf"
    assert pdf.content.startswith(b"%PDF-")
    assert reader.get("/dogs/bramble/plan.pdf?paper=letter").content.startswith(b"%PDF-")


def test_the_calendar_holds_every_visit_and_the_show(reader):
    from icalendar import Calendar

    answer = reader.get("/dogs/bramble/plan.ics")
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    events = Calendar.from_ical(answer.content).walk("VEVENT")
    days = {event.decoded("dtstart") for event in events}
    visits = {visit["day"] for visit in reader.get("/api/dogs/bramble/plan").json()["visits"]}
    assert {*visits, SHOW.day.isoformat()} == {day.isoformat() for day in days}


def test_an_unfit_dog_has_a_caution_in_place_of_a_plan(reader):
    for address in ("/dogs/wick", "/dogs/wick/plan", "/dogs/wick/sheet", "/dogs/wick/visit"):
        text = reader.get(address).text
        assert "red, itching skin" in text
        assert "vet" in text
    assert "cw-ribbons" not in reader.get("/dogs/wick").text
    assert reader.get("/dogs/wick/sheet.pdf").status_code == 409


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/nowhere", 404),
        ("/dogs/nobody", 404),
        ("/dogs/nobody/plan", 404),
        ("/dogs/bramble/visits/none", 404),
        ("/dogs/bramble/plan/versions/none", 404),
        ("/dogs/bramble?day=tomorrow", 422),
        ("/dogs/bramble?day=2026-02-30", 422),
        ("/dogs/bramble?day=9999-12-31", 422),
        ("/dogs/bramble?zone=wing", 422),
        ("/dogs/bramble?by=magic", 422),
        ("/dogs/bramble/coat.svg?theme=pink", 422),
        ("/dogs/bramble/sheet?day=2026-11-26", 422),
        ("/dogs/bramble/sheet.pdf?paper=a0", 422),
        ("/dogs/bramble/plan?cell=wing.2026-12-03", 422),
        ("/dogs/bramble/plan?cell=back", 422),
        ("/dogs/bramble/assess?start=bald", 422),
    ],
)
def test_what_cannot_be_asked_is_told_with_a_remedy(reader, address, status):
    answer = reader.get(address)
    assert answer.status_code == status
    alert = re.search(r'<div class="stop" role="alert">(.*?)</div>', answer.text, re.DOTALL)
    assert alert
    assert len(re.findall(r"<p>", alert[1])) == 2, "what is wrong, and what to do"


def test_an_address_with_another_method_is_told(reader):
    assert reader.post("/dogs", data={"a": "b"}).status_code == 405
    assert reader.put("/dogs/bramble").status_code == 405
