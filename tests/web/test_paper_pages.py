"""Pages of the paper test: photos read and refused, hairs marked, joins put right, tests kept, taken back, made."""

from __future__ import annotations

import io
import re
import time
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from coatwright.salon import papers
from coatwright.salon.attachments import Attachments
from coatwright.salon.history import Take, Visit
from coatwright.salon.printers import bar_of
from coatwright.salon.salon import dog_of, log_visit
from coatwright.web.pages import paper
from coatwright.web.pages.paper.reader import MOST_PHOTOS
from coatwright.web.security import FORM_BYTES, PHOTO_BYTES
from tests.paper.rendering import FIGURES, Photo, render
from tests.web.conftest import TODAY

FORM = {
    "dog": "bramble",
    "zone": "back",
    "tool": "fine knife",
    "groomer": "Ivo Teaselby",
    "day": TODAY.isoformat(),
}
SMALL = (2800, 2100)
"""Pixels of a photo. It is read and handed on in half the time; tests/e2e/test_paper.py sends one of 4000 x 3000."""


@pytest.fixture(scope="session")
def photo() -> Photo:
    """A good photo of a sheet with eighty hairs, some broken, some crossing where it is not clear which is which."""
    return render(FIGURES, 51, hairs=80, coat="black", quality="good", broken=0.2, size=SMALL)


def sent(client, data: bytes, *, place: str = "/paper/new", **values: str) -> str:
    """Send a photo and wait until it is read; the address that its page leads to, or of the page itself."""
    answer = client.post(
        place, data=FORM | values, files={"photo": ("sheet.jpg", io.BytesIO(data), "image/jpeg")}
    )
    assert answer.status_code == 303, answer.text
    return waited(client, answer.headers["location"])


def retaken(data: bytes) -> bytes:
    """The same picture but for one corner."""
    picture, out = Image.open(io.BytesIO(data)), io.BytesIO()
    picture.paste((0, 0, 0), (0, 0, 8, 8))
    picture.save(out, "PNG", compress_level=1)
    return out.getvalue()


def waited(client, place: str) -> str:
    until = time.monotonic() + 120.0
    while time.monotonic() < until:
        answer = client.get(place)
        if answer.status_code == 303:
            return answer.headers["location"]
        assert answer.status_code == 200
        if "hx-get" not in answer.text:
            return place
        time.sleep(0.1)
    raise AssertionError("the photo is not read in time")


@pytest.fixture(scope="module")
def read_once(photo: Photo) -> tuple[bytes, object]:
    """What the reading of the photo gives, so that only one test waits for it."""
    from coatwright.paper.whole import read_sheet

    return photo.jpeg, read_sheet(photo.jpeg)


@pytest.fixture
def draft(client, store, read_once, monkeypatch) -> str:
    """A draft, and the address of its page."""
    data, read = read_once
    monkeypatch.setattr(papers, "read_sheet", lambda *_, **__: read)
    found = papers.read_photo(
        store, "bramble", "back", data, tool="fine knife", groomer="Ivo Teaselby", day=TODAY
    )
    return f"/paper/drafts/{found.id}"


def id_of(place: str) -> str:
    return place.rsplit("/", 1)[1]


def test_a_photo_is_read_and_shown_with_every_hair(client, store, photo) -> None:
    place = sent(client, photo.jpeg)
    assert place.startswith("/paper/drafts/")
    found = papers.draft(store, id_of(place))
    assert (found.head.dog, found.head.zone, found.head.tool) == ("bramble", "back", "fine knife")
    shown = client.get(place).text
    assert shown.count('data-hair="') == len(found.hairs)
    assert abs(len(found.hairs) - 80) <= 4
    for word in ("whole", "broken"):
        assert f" {word} {found.counted[word]}</span>" in shown
    assert "Of 100 hairs about" in shown
    picture = client.get(f"{place}/photo.jpg")
    assert picture.headers["content-type"] == "image/jpeg"
    assert "immutable" in picture.headers["cache-control"]
    assert cv2.imdecode(np.frombuffer(picture.content, np.uint8), 0).shape == SMALL[::-1]
    assert place in client.get("/paper").text


def test_the_coat_is_said_to_learn_only_once_the_visit_of_that_day_is_logged(client, store, draft) -> None:
    once = "once the visit of that day is logged"
    assert f"which layers came out, {once}." in client.get(draft).text
    location = client.post(f"{draft}/accept").headers["location"]
    assert f"{once} with a take of this zone" in client.get(location).text
    log_visit(store, "bramble", Visit("v", TODAY, {"back": Take(0.2)}), today=TODAY)
    shown = client.get(location).text
    assert once not in shown
    assert "what is known of Bramble" in shown


def test_a_photo_that_cannot_be_used_says_what_to_change_and_leaves_nothing(client, store, photo) -> None:
    small = cv2.resize(photo.image, None, fx=0.4, fy=0.4, interpolation=cv2.INTER_AREA)
    place = sent(client, cv2.imencode(".jpg", small)[1].tobytes(), tool="knife & <b>")
    shown = client.get(place).text
    assert "Go nearer, until the sheet fills the picture." in shown
    assert 'class="cw-change"' in shown
    assert "tool=knife+%26+%3Cb%3E" in shown
    assert "<b></p>" not in shown
    assert papers.drafts(store) == ()
    assert list(Attachments.of(store).names()) == []


@pytest.mark.parametrize("data", [b"", b"no photo at all", b"\xff\xd8\xff\xe0" + b"\0" * 200])
def test_what_is_no_photo_is_refused_in_words(client, store, data) -> None:
    place = sent(client, data)
    shown = client.get(place).text
    assert "Not read" in shown
    assert "Something broke" not in shown
    assert papers.drafts(store) == ()


def test_several_photos_are_read_as_one_batch(client, store, photo) -> None:
    files = [
        ("photo", ("one.jpg", photo.jpeg, "image/jpeg")),
        ("photo", ("two.jpg", b"no photo", "image/jpeg")),
    ]
    answer = client.post("/paper/new", data=FORM, files=files)
    place = waited(client, answer.headers["location"])
    shown = client.get(place).text
    assert "two.jpg" in shown
    assert re.search(r'href="/paper/drafts/[^"]+">one\.jpg', shown)
    # sent again under the same key, one after the other: still one batch
    first = client.post("/paper/new", data=FORM | {"batch": "batch-0001"}, files=files[1:])
    second = client.post("/paper/new", data=FORM | {"batch": "batch-0001"}, files=files[1:])
    assert first.headers["location"] == second.headers["location"] == "/paper/reading/batch-0001"
    assert client.get(waited(client, "/paper/reading/batch-0001")).text.count('class="refusal"') == 2


def test_as_many_photos_as_are_told_are_taken_at_once_and_more_are_refused_on_the_form(client) -> None:
    """Without script the form has a second field for a photo, which comes as an empty file."""

    def answer(count: int):
        files = [("photo", (f"{k}.jpg", b"no photo", "image/jpeg")) for k in range(count)]
        return client.post("/paper/new", data=FORM, files=[*files, ("photo", ("", b"", "image/jpeg"))])

    assert answer(MOST_PHOTOS).status_code == 303
    refused = answer(MOST_PHOTOS + 1)
    assert refused.status_code == 422
    assert f"{MOST_PHOTOS + 1} photos were sent at once" in refused.text
    assert 'value="fine knife"' in refused.text
    script = Path(paper.__file__).parents[2] / "static" / "paper.js"
    assert f"const MOST_AT_ONCE = {MOST_PHOTOS};" in script.read_text()


def test_more_photos_than_one_request_takes_are_still_one_batch(client) -> None:
    places = set()
    for k in range(MOST_PHOTOS + 2):
        files = {"photo": (f"{k}.jpg", b"no photo", "image/jpeg")}
        sent_to = client.post("/paper/new", data=FORM | {"batch": "batch-0002"}, files=files)
        places.add(sent_to.headers["location"])
    assert places == {"/paper/reading/batch-0002"}
    assert client.get(waited(client, places.pop())).text.count('class="refusal"') == MOST_PHOTOS + 2


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"dog": "nobody"}, "no choice called &#39;nobody&#39;"),
        ({"zone": "wing"}, "no choice called &#39;wing&#39;"),
        ({"day": "2026-11-26"}, "still to come"),
        ({"purpose": "sale"}, "no choice called &#39;sale&#39;"),
        ({"tool": "k" * 201}, "name is too long"),
    ],
)
def test_what_is_filled_in_beside_a_photo_is_checked_before_it_is_read(client, app, values, words) -> None:
    files = {"photo": ("a.jpg", b"x", "image/jpeg")}
    answer = client.post("/paper/new", data=FORM | values, files=files)
    assert answer.status_code == 422
    assert words in answer.text
    assert "No photo was sent" in client.post("/paper/new", data=FORM, files={"other": ("", b"")}).text


def test_photos_may_be_large_on_their_way_in_and_nowhere_else(client) -> None:
    big = b"\0" * (FORM_BYTES + 1000)
    answer = client.post("/paper/new", data=FORM, files={"photo": ("a.jpg", big, "image/jpeg")})
    assert answer.status_code == 303
    for place in ("/paper/count", "/paper/bar", "/dogs/new"):
        assert client.post(place, data=FORM, files={"photo": ("a.jpg", big, "image/jpeg")}).status_code == 413
    headers = {"content-length": str(PHOTO_BYTES + 1), "content-type": "multipart/form-data; boundary=x"}
    assert client.post("/paper/new", content=b"", headers=headers).status_code == 413


def test_only_a_page_of_this_desk_may_send_a_photo(client) -> None:
    files = {"photo": ("a.jpg", b"x", "image/jpeg")}
    answer = client.post(
        "/paper/new", data=FORM, files=files, headers={"origin": "https://elsewhere.example"}
    )
    assert answer.status_code == 403


def test_a_hair_is_marked_and_the_mark_taken_back(client, store, draft) -> None:
    found = papers.draft(store, id_of(draft))
    number = next(n for n in found.hairs if found.state(n) == "whole")
    shown = client.get(f"{draft}?hair={number}").text
    assert f"Hair {number + 1} " in shown
    assert shown.count('class="closeup"') >= 2
    answer = client.post(f"{draft}/mark", data={"hair": number, "word": "broken"})
    assert answer.headers["location"] == f"{draft}?hair={number}#picked"
    after = papers.draft(store, id_of(draft))
    assert after.state(number) == "broken"
    assert after.counted["broken"] == found.counted["broken"] + 1
    assert "(read as whole)" in client.get(draft).text
    client.post(f"{draft}/mark", data={"hair": number, "word": ""})
    assert papers.draft(store, id_of(draft)).counted == found.counted


def test_a_mark_that_cannot_be_is_refused_and_changes_nothing(client, store, draft) -> None:
    before = papers.draft(store, id_of(draft)).by_hand.as_json()
    for values in ({"hair": 0, "word": "lovely"}, {"hair": 9999, "word": "whole"}):
        answer = client.post(f"{draft}/mark", data=values)
        assert answer.status_code == 422
        assert "Not saved" in answer.text
    assert client.post(f"{draft}/mark", data={"hair": "x"}).status_code == 422
    assert papers.draft(store, id_of(draft)).by_hand.as_json() == before
    assert client.get(f"{draft}?hair=9999&doubt=-1").status_code == 200


def test_on_a_sheet_of_known_hairs_only_what_is_no_hair_can_be_marked(client, store, draft) -> None:
    found = papers.draft(store, id_of(draft))
    one, two = [n for n in found.hairs if found.state(n) == "whole"][:2]
    client.post(f"{draft}/mark", data={"hair": one, "word": "broken"})
    values = {"zone": "back", "day": "2026-11-24", "tool": "", "groomer": "", "purpose": "whole", "phone": ""}
    client.post(f"{draft}/head", data=values)
    shown = client.get(f"{draft}?hair={two}").text
    assert re.findall(r'name="word" value="([^"]+)"', shown) == ["not a hair"]
    assert "measures how the program judges" in shown
    assert "a mark that does not count" in shown
    assert f" whole {found.counted['whole']}</span>" in shown
    answer = client.post(f"{draft}/mark", data={"hair": two, "word": "broken"})
    assert answer.status_code == 422
    assert client.post(f"{draft}/mark", data={"hair": two, "word": "not a hair"}).status_code == 303
    client.post(f"{draft}/accept")
    (paper,) = dog_of(store.state(), "bramble").papers
    assert (paper.whole, paper.broken) == (found.counted["whole"] - 1, found.counted["broken"])


def test_a_doubtful_join_is_put_right_in_one_tap_and_taken_back(client, store, draft) -> None:
    keys = re.findall(r'name="repair" value="([^"]+)"', client.get(draft).text)
    found = papers.draft(store, id_of(draft))
    assert len(keys) == len(papers.doubts(found)) > 0
    assert client.post(f"{draft}/repair", data={"repair": keys[0]}).status_code == 303
    after = papers.draft(store, id_of(draft))
    assert len(after.by_hand.repairs) == 1
    assert after.read.as_json() == found.read.as_json()
    again = client.post(f"{draft}/repair", data={"repair": "join.1-2.0.00.0.00.0"})
    assert again.status_code == 422
    assert "put right already" in again.text
    client.post(f"{draft}/back", data={"which": 0})
    assert papers.draft(store, id_of(draft)).by_hand.repairs == ()


def test_an_accepted_test_stands_with_its_dog_and_can_be_taken_back(client, store, draft) -> None:
    found = papers.draft(store, id_of(draft))
    answer = client.post(f"{draft}/accept")
    place = answer.headers["location"].partition("?")[0]
    assert place == f"/paper/tests/bramble/{found.id}"
    (paper,) = dog_of(store.state(), "bramble").papers
    assert (paper.whole, paper.broken) == (found.counted["whole"], found.counted["broken"])
    shown = client.get(place).text
    assert "Where it went" in shown
    assert shown.count('data-hair="') == len(found.hairs)
    assert f"{place}/mark" not in shown
    assert client.get(f"{place}/photo.jpg").status_code == 200
    assert client.get(draft).status_code == 404
    home = client.get("/paper").text
    assert place in home
    assert "fine knife" in client.get("/paper/tool?name=Fine%20Knife").text
    client.post(f"{place}/back")
    assert dog_of(store.state(), "bramble").papers == ()
    assert client.get(place).status_code == 404


def test_a_sheet_thrown_away_leaves_no_file(client, store, draft) -> None:
    assert list(Attachments.of(store).names())
    assert client.post(f"{draft}/throw").headers["location"].startswith("/paper")
    assert papers.drafts(store) == ()
    assert list(Attachments.of(store).names()) == []
    assert client.get(draft).status_code == 404
    assert client.get("/paper/drafts/..%2F..%2Fsalon").status_code == 404


def test_what_a_sheet_is_of_can_be_put_right(client, store, draft) -> None:
    values = {
        "zone": "ribs",
        "day": "2026-11-24",
        "tool": "",
        "groomer": "",
        "purpose": "fingers",
        "phone": "P",
    }
    client.post(f"{draft}/head", data=values)
    head = papers.draft(store, id_of(draft)).head
    assert (head.zone, str(head.day), head.tool, head.purpose) == ("ribs", "2026-11-24", "", "fingers")
    shown = client.get(draft).text
    assert "Ribs, bare fingers" in shown
    assert client.post(f"{draft}/head", data=values | {"day": "2027-01-01"}).status_code == 422


def counted(
    client, whole: int, broken: int, tool: str = "coarse knife", day: str = "2026-11-20", **values: str
) -> str:
    answer = client.post(
        "/paper/count", data=FORM | {"whole": whole, "broken": broken, "tool": tool, "day": day} | values
    )
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"].partition("?")[0])


def test_a_count_by_hand_gets_the_same_words(client, store) -> None:
    assert "breaks" in client.get(counted(client, 80, 40)).text
    shown = client.get(counted(client, 300, 1, "soft stone")).text
    assert re.search(r'<strong class="caps">sound</strong>', shown)
    assert "under a lens" in shown
    few = client.get(counted(client, 20, 1, "new knife")).text
    assert re.search(r'<strong class="caps">too few hairs</strong>', few)
    assert "Not for a rolling coat" in client.get("/paper/tool?name=coarse+knife").text


@pytest.mark.parametrize(
    ("whole", "broken"), [("", "3"), ("4", ""), ("-1", "2"), ("2.5", "1"), ("0", "0"), ("x", "1")]
)
def test_a_count_that_cannot_be_is_refused(client, store, whole, broken) -> None:
    answer = client.post("/paper/count", data=FORM | {"whole": whole, "broken": broken})
    assert answer.status_code == 422
    assert "Not saved" in answer.text
    assert dog_of(store.state(), "bramble").papers == ()


def test_a_tool_over_time_its_sharpening_and_the_difference_of_two(client) -> None:
    for day, broken in (("2026-09-01", 1), ("2026-10-01", 6), ("2026-11-01", 18)):
        counted(client, 120 - broken, broken, day=day)
    counted(client, 150, 1, "soft stone", "2026-11-01")
    shown = client.get("/paper/tool?name=coarse+knife&beside=soft+stone").text
    assert "Going dull" in shown
    assert "coarse knife breaks more than soft stone" in shown
    assert 'class="cw-chart cw-tool"' in shown
    answer = client.post("/paper/tool/sharpened", data={"name": "coarse knife", "day": "2026-11-10"})
    assert answer.status_code == 303
    assert (
        "A trend takes tests of two different days since it was sharpened"
        in client.get("/paper/tool?name=coarse+knife").text
    )
    late = client.post("/paper/tool/sharpened", data={"name": "coarse knife", "day": "2027-11-10"})
    assert late.status_code == 422
    assert client.get("/paper/tool?name=nothing").status_code == 404


def test_opposite_tests_on_neighbouring_days_do_not_take_the_pages_down(client) -> None:
    counted(client, 300, 0, day="2026-11-02")
    counted(client, 0, 300, day="2026-11-03")
    assert "coarse knife" in client.get("/paper").text
    shown = client.get("/paper/tool?name=coarse+knife")
    assert shown.status_code == 200
    assert "Tests within 14 days do not tell how fast" in shown.text


def test_the_bar_of_a_printer_is_typed_once(client, store) -> None:
    assert client.post("/paper/bar", data={"printer": "Hall", "bar": "97,2"}).status_code == 303
    assert bar_of(store.state(), "hall") == 97.2
    assert "Hall" in client.get("/paper/new").text
    for bar in ("80", "long", ""):
        answer = client.post("/paper/bar", data={"printer": "Hall", "bar": bar})
        assert answer.status_code == 422
        assert "Not saved" in answer.text
    assert bar_of(store.state(), "hall") == 97.2


def test_sheets_are_printed(client) -> None:
    for kind in ("a5", "a4-dark", "half"):
        answer = client.get(f"/paper/sheet.pdf?kind={kind}&on=a4")
        assert answer.content.startswith(b"%PDF")
    assert client.get("/paper/sheet.pdf?kind=a0").status_code == 422


def test_threads_prove_a_phone_and_a_printer(client, store) -> None:
    cuts = (10.0,) * 5 + (20.0,) * 5 + (40.0,) * 5
    thread = render(FIGURES, 54, hairs=15, coat="black", broken=0.0, fluff=0.0, dust=0.0, lengths=cuts)
    place = sent(client, thread.jpeg, place="/paper/thread", printer="Hall", phone="Pocket 3")
    assert place.startswith("/paper/thread?check="), client.get(place).text
    (kept,) = store.state().threads
    shown = client.get(place).text
    assert "Pocket 3, Hall" in shown
    assert kept.check["scale"] == pytest.approx(1.0, abs=0.02)
    answer = client.post(
        "/paper/thread", data={"printer": ""}, files={"photo": ("a.jpg", b"x", "image/jpeg")}
    )
    assert answer.status_code == 422


def test_a_desk_without_dogs_leads_to_the_first_one(empty) -> None:
    assert "/dogs/new" in empty.get("/paper/new").text
    assert empty.get("/paper").status_code == 200


def test_the_records_of_photos_lie_beside_the_salon_alone(client, store, draft, tmp_path) -> None:
    kept = {each for each in tmp_path.rglob("*") if each.is_file() and "salon-files" in str(each)}
    assert kept
    assert all(Path(each).is_relative_to(Attachments.of(store).folder) for each in kept)


def test_a_second_photo_of_the_shaken_sheet_is_read_with_the_first(client, store, draft, read_once) -> None:
    """The photo but for a corner stands for one taken again: all hairs are found alike, nothing counts twice."""
    data, _ = read_once
    before = papers.draft(store, id_of(draft)).counted
    place = sent(client, retaken(data), place=f"{draft}/second", way="unmoved")
    assert place == draft
    shown = client.get(draft).text
    hairs = sum(before.values())
    told = re.search(r"(\d+) and (\d+) hairs, (\d+) seen alike in both, (\d+) counted", shown)
    assert told is not None
    assert [int(told[k]) for k in (1, 2, 4)] == [hairs, hairs, hairs]
    assert int(told[3]) >= 0.9 * hairs  # hairs that lie along each other are told together, not as alike
    found = papers.draft(store, id_of(draft))
    number = next(n for n in found.hairs if found.state(n) == "whole")
    client.post(f"{draft}/mark", data={"hair": number, "word": "broken"})
    location = client.post(f"{draft}/accept").headers["location"].partition("?")[0]
    (paper,) = dog_of(store.state(), "bramble").papers
    assert (paper.whole, paper.broken) == (before["whole"] - 1, before["broken"] + 1)
    assert papers.recounted(store, "bramble", paper) == paper
    assert "Both are read as one" in client.get(location).text
    assert not list(Attachments.of(store).folder.rglob("pairs/*"))


def test_a_second_photo_can_be_left_out_again_and_a_bad_one_changes_nothing(
    client, store, draft, read_once
) -> None:
    data, _ = read_once
    sent(client, retaken(data), place=f"{draft}/second", way="shaken")
    assert "the sheet shaken between" in client.get(draft).text
    assert client.post(f"{draft}/alone").headers["location"] == f"{draft}#second"
    assert "Both are read as one" not in client.get(draft).text
    told = client.get(sent(client, data, place=f"{draft}/second", way="shaken")).text
    assert "This is the first photo again" in told
    assert "Both are read as one" not in client.get(draft).text
    nothing = {"photo": ("a.jpg", b"", "image/jpeg")}
    assert client.post(f"{draft}/second", data={"way": "sideways"}, files=nothing).status_code == 422
    assert (
        client.post(f"{draft}/second", data={"way": "shaken"}, files={"other": ("", b"")}).status_code == 422
    )


def test_a_hair_is_cut_and_joined_by_hand_where_no_doubt_is_told_of(client, store, draft) -> None:
    found = papers.draft(store, id_of(draft))
    number = max(found.hairs, key=lambda n: found.hairs[n].length_mm)
    length = found.hairs[number].length_mm
    client.post(f"{draft}/mark", data={"hair": number, "word": "broken"})
    client.post(f"{draft}/mend", data={"hair": number, "kind": "split", "along": "10"})
    assert f"The mark of hair {number + 1} (broken) is laid aside" in client.get(draft).text
    cut = papers.draft(store, id_of(draft))
    (made,) = set(cut.hairs) - set(found.hairs)
    parts = sorted((cut.hairs[number].length_mm, cut.hairs[made].length_mm))
    assert parts[0] == pytest.approx(10.0, abs=0.5)
    assert sum(parts) == pytest.approx(length, abs=0.6)
    client.post(f"{draft}/mend", data={"hair": number, "kind": "join", "other": made + 1})
    joined = papers.draft(store, id_of(draft))
    assert set(joined.hairs) == set(found.hairs)
    assert joined.hairs[number].length_mm == pytest.approx(length, abs=0.3)
    assert len(joined.by_hand.repairs) == 2
    client.post(f"{draft}/back", data={"which": 0})
    assert papers.draft(store, id_of(draft)).by_hand.marks == {number: "broken"}
    x, y = found.read.place.to_px(
        found.hairs[number].trace.points[len(found.hairs[number].trace.points) // 2]
    )[0]
    client.post(f"{draft}/mend", data={"hair": number, "kind": "split", "x": f"{x:.1f}", "y": f"{y:.1f}"})
    assert len(papers.draft(store, id_of(draft)).by_hand.repairs) == 1


@pytest.mark.parametrize(
    "values",
    [
        {"kind": "split", "along": "0"},
        {"kind": "split", "along": "long"},
        {"kind": "split", "x": "5", "y": "5"},
        {"kind": "split"},
        {"kind": "join", "other": "1"},
        {"kind": "join", "other": "9999"},
        {"kind": "dye"},
    ],
)
def test_a_mend_that_cannot_be_changes_nothing(client, store, draft, values) -> None:
    answer = client.post(f"{draft}/mend", data={"hair": "0"} | values)
    assert answer.status_code == 422
    assert papers.draft(store, id_of(draft)).by_hand.repairs == ()
