"""Other machines come in only when paired, and each only where it may; this machine is asked nothing."""

from __future__ import annotations

import base64
import hashlib
import io
import json

import pytest
from PIL import Image

from coatwright.salon.devices import Devices
from coatwright.salon.salon import history
from coatwright.web.app import create_app
from coatwright.web.reach import COOKIE, Reach
from tests.web.conftest import BASE, ORIGIN, TODAY, TestClient
from tests.web.test_intake import outcomes, post, tap

NEAR = ("192.168.7.30", 40000)


class Named:
    """An authority as far as pages ask for it."""

    name, host = "coatwright-t3st", "coatwright-t3st.local"
    fingerprint, der = "AB:CD", b"certificate"


@pytest.fixture
def reach(store):
    return Reach(store, Named(), 8740, 8741, False, ("192.168.7.20",))


@pytest.fixture
def app(store, planner, reach):
    return create_app(store, today=lambda: TODAY, planner=planner, plan_at_start=False, reach=reach)


def tablet(app, base="https://coatwright-t3st.local:8740", client=NEAR, **headers):
    return TestClient(
        app, base_url=base, client=client, follow_redirects=False, headers={"origin": base, **headers}
    )


@pytest.fixture
def paired(app, reach):
    made = tablet(app)
    answer = made.post("/pair", data={"code": reach.devices.new_code().shown, "name": "Arm by the window"})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/table"
    cookie = answer.headers["set-cookie"].lower()
    for words in ("httponly", "secure", "samesite=strict"):
        assert words in cookie
    return made


INSIDE = ("/", "/dogs", "/dogs/bramble", "/people", "/settings", "/api/dogs", "/api/events", "/tablets")
AT_TABLE = ("/table", "/table/today.json", "/table/who")


@pytest.mark.parametrize("path", [*INSIDE, *AT_TABLE, "/photos/" + "a" * 64, "/no/such/page"])
def test_an_unpaired_machine_sees_nothing(app, path):
    answer = tablet(app).get(path)
    assert answer.status_code == 401
    if path.startswith(("/api", "/table")):
        assert set(answer.json()) == {"error", "what", "where", "remedy"}
        assert "Pair it" in answer.json()["remedy"]
    read = tablet(app, accept="text/html").get(path)
    assert (read.status_code, read.headers["location"]) == (303, "/pair")


def test_an_unpaired_machine_changes_nothing(app, store):
    before = len(store.events())
    answer = tablet(app).post("/api/events", json={"events": [tap("a")]})
    assert answer.status_code == 401
    for path in ("/people", "/tablets/code", "/tablets/pin", "/dogs/bramble/visit"):
        assert tablet(app).post(path, data={"name": "X"}).status_code == 401
    assert len(store.events()) == before


def test_a_desk_that_listens_to_this_machine_only_knows_no_device(store, planner):
    alone = create_app(store, today=lambda: TODAY, planner=planner, plan_at_start=False)
    known = Devices.of(store)
    _, token = known.pair(known.new_code().text, "Of another day")
    near = TestClient(alone, base_url=BASE, client=NEAR, follow_redirects=False, headers=ORIGIN)
    near.cookies.set(COOKIE, token)
    assert near.get("/api/dogs").status_code == 403
    assert near.get("/pair/authority.crt").status_code == 404


def test_a_paired_tablet_reaches_the_table_and_not_the_desk(paired):
    for path in AT_TABLE:
        assert paired.get(path).status_code == 200, path
    for path in INSIDE:
        answer = paired.get(path)
        assert answer.status_code == 403, path
    read = paired.get("/dogs", headers={"accept": "text/html"})
    assert (read.status_code, read.headers["location"]) == (303, "/table")
    assert paired.get("/table/who").json()["tablet"] == "Arm by the window"


def test_a_paired_tablet_sends_what_is_tapped_and_nothing_else(paired, store):
    person = {**tap("p"), "stream": "person:x", "kind": "person.set", "data": {"id": "x", "name": "X"}}
    corrected = {**tap("v"), "kind": "visit.corrected", "data": {"id": "v", "day": TODAY.isoformat()}}
    answers = paired.post("/api/events", json={"events": [tap("a"), person, corrected, 7]}).json()["answers"]
    assert outcomes(answers) == ["kept", "refused", "refused", "refused"]
    assert "Do it at the desk" in answers[1]["why"]
    assert "x" not in store.state().people


def test_a_paired_tablet_takes_back_what_is_tapped_and_nothing_else(paired, client, store):
    unfit = {**tap("u"), "kind": "dog.unfit", "data": {"reason": "flinches"}}
    fit = {**tap("f"), "kind": "dog.fit", "data": {}}
    (facts,) = (event.id for event, _ in history(store, "dog:bramble") if event.kind == "dog.set")
    (person,) = (event.id for event, _ in history(store, "person:ivo"))

    def back(ident, aim, stream="dog:bramble"):
        return {**tap(ident, 9), "stream": stream, "kind": "undone", "data": {"event": aim}}

    sent = [unfit, tap("a"), fit, back("1", "a"), back("2", facts), back("3", person, "person:ivo")]
    sent += [back("4", "u"), back("5", "not come yet"), back("6", "\ud800")]
    answers = post(paired, *sent)
    expected = ["kept", "kept", "refused", "kept", "refused", "refused", "kept", "kept"]
    assert outcomes(answers[:8]) == expected
    assert answers[8]["outcome"] in ("kept", "refused")
    assert "cannot send 'dog.fit'" in answers[2]["why"]
    assert "cannot take back 'dog.set'" in answers[4]["why"]
    assert "of no dog" in answers[5]["why"]
    assert store.state().dogs["bramble"].name == "Bramble"
    assert "ivo" in store.state().people
    assert outcomes(client.post("/api/events", json={"events": [fit]}).json()["answers"]) == ["kept"]


def test_a_paired_tablet_is_remembered_anew_with_each_day_s_list(paired, app, client):
    """Browsers keep a cookie 400 days at most (RFC 6265bis): one that is set once would end in the middle of work."""
    for headers in ({}, {"if-none-match": paired.get("/table/today.json").headers["etag"]}):
        answer = paired.get("/table/today.json", headers=headers)
        cookie = answer.headers["set-cookie"].lower()
        assert f"{COOKIE}={paired.cookies[COOKIE]}".lower() in cookie
        for words in ("httponly", "secure", "samesite=strict", "max-age=34560000"):
            assert words in cookie
    assert "set-cookie" not in client.get("/table/today.json").headers
    assert "set-cookie" not in tablet(app).get("/table/today.json").headers


def test_a_tablet_paired_as_a_desk_reaches_every_page_but_the_tablets(app, reach):
    made = tablet(app)
    code = reach.devices.new_code("desk")
    answer = made.post("/pair", data={"code": code.text, "name": "Counter"})
    assert answer.headers["location"] == "/"
    assert made.get("/dogs").status_code == 200
    assert made.get("/tablets").status_code == 403
    assert made.post("/tablets/code", data={}).status_code == 403


def test_a_revoked_tablet_is_told_to_pair_again(paired, app, reach, client):
    (device,) = reach.devices.devices()
    assert client.post("/tablets/revoke", data={"device": device.id}).status_code == 303
    answer = paired.post("/api/events", json={"events": [tap("a")]})
    assert answer.status_code == 401
    assert "Pair this tablet again" in answer.json()["remedy"]
    assert "what waits" in answer.json()["remedy"]
    read = paired.get("/table", headers={"accept": "text/html"})
    assert read.headers["location"] == "/pair?gone"
    assert "taken off" in paired.get("/pair?gone").text.lower()


def test_a_wrong_code_pairs_nothing(app, reach):
    made = tablet(app)
    for code in ("", "WRONGONE", "\x00", "x" * 500):
        answer = made.post("/pair", data={"code": code, "name": "Arm"})
        assert answer.status_code == 422
        assert "set-cookie" not in answer.headers
    assert made.post("/pair", data={"code": reach.devices.new_code().text, "name": " "}).status_code == 422
    assert reach.devices.devices() == []


@pytest.mark.parametrize("token", ["x", "a" * 5000, "é"])
def test_a_made_up_token_opens_nothing(app, token):
    cookie = f"{COOKIE}={token}".encode()
    answer = tablet(app).get("/table/today.json", headers={b"cookie": cookie})
    assert answer.status_code == 401


def test_another_site_cannot_use_a_tablet(paired):
    answer = paired.post(
        "/api/events", json={"events": [tap("a")]}, headers={"origin": "https://evil.example"}
    )
    assert answer.status_code == 403


@pytest.mark.parametrize("host", ["evil.example", "coatwright-other.local", "192.168.7.99"])
def test_a_foreign_name_is_not_answered(app, host):
    assert tablet(app, base=f"https://{host}:8740").get("/pair").status_code == 403


@pytest.mark.parametrize("host", ["coatwright-t3st.local", "192.168.7.20"])
def test_the_salon_s_names_are_answered(app, host):
    assert tablet(app, base=f"https://{host}:8740").get("/pair").status_code == 200


# --- without TLS ------------------------------------------------------------------------------------------


def test_the_plain_door_tells_how_to_trust_and_nothing_else(app):
    plain = tablet(app, base="http://coatwright-t3st.local:8741")
    trust = plain.get("/pair/trust")
    assert trust.status_code == 200
    for words in (
        "AB:CD",
        "Certificate Trust Settings",
        "CA certificate",
        "https://coatwright-t3st.local:8740/pair",
    ):
        assert words in trust.text
    certificate = plain.get("/pair/authority.crt")
    assert certificate.headers["content-type"] == "application/x-x509-ca-cert"
    assert certificate.content == b"certificate"
    for path in ("/pair", "/table", "/api/dogs", "/"):
        assert plain.get(path).status_code == 403
    read = plain.get("/", headers={"accept": "text/html"})
    assert (read.status_code, read.headers["location"]) == (303, "/pair/trust")


def test_the_plain_door_serves_where_it_is_asked_to(app, reach):
    reach.plain = True
    plain = tablet(app, base="http://coatwright-t3st.local:8741")
    assert plain.get("/table/today.json").status_code == 401
    plain.post("/pair", data={"code": reach.devices.new_code().text, "name": "Old one"})
    assert plain.get("/table/today.json").status_code == 200
    assert plain.get("/table/who").json()["tablet"] == "Old one"


# --- this machine -----------------------------------------------------------------------------------------


def test_this_machine_is_asked_nothing(app):
    here = TestClient(app, base_url=BASE, client=("127.0.0.1", 5), headers=ORIGIN)
    assert here.get("/dogs").status_code == 200
    assert here.get("/table/who").json()["tablet"] == ""
    mapped = TestClient(app, base_url=BASE, client=("::ffff:127.0.0.1", 5), headers=ORIGIN)
    assert mapped.get("/dogs").status_code == 200
    spoofed = TestClient(app, base_url=BASE, client=NEAR, headers={**ORIGIN, "x-forwarded-for": "127.0.0.1"})
    assert spoofed.get("/api/dogs").status_code == 403


def test_the_page_makes_a_code_that_pairs(client, app, reach):
    text = client.get("/tablets").text
    assert "coatwright-t3st.local" in text
    assert "AB:CD" in text
    made = client.post("/tablets/code", data={"kind": "table"}).text
    assert "data:image/svg+xml" in made
    for near in ("https://192.168.7.20:8740/pair", "http://192.168.7.20:8741/pair/trust"):
        assert f'alt="Code with the address {near}"' in made
    code = made.split('class="code">')[1].split("<")[0]
    assert f"https://coatwright-t3st.local:8740/pair#{code.replace('-', '')}" in made
    assert tablet(app).post("/pair", data={"code": code, "name": "Arm"}).status_code == 303
    assert "Arm" in client.get("/tablets").text


def test_the_page_tells_a_desk_for_this_machine_alone_how_to_open(store, planner):
    alone = create_app(store, today=lambda: TODAY, planner=planner, plan_at_start=False)
    text = TestClient(alone, base_url=BASE, headers=ORIGIN).get("/tablets").text
    assert "coatwright desk --tablets" in text


# --- PINs -------------------------------------------------------------------------------------------------


def test_a_groomer_s_pin_is_asked_for_at_the_table(client, paired):
    assert client.post("/tablets/pin", data={"person": "ivo", "pin": "12"}).status_code == 422
    assert client.post("/tablets/pin", data={"person": "ivo", "pin": "4711"}).status_code == 303
    people = paired.get("/table/who").json()["people"]
    assert people == [{"id": "ivo", "name": "Ivo Teaselby", "pin": True}]
    assert paired.post("/table/who", json={"person": "ivo", "pin": "0815"}).status_code == 403
    assert paired.post("/table/who", json={"person": "nobody"}).status_code == 422
    assert paired.post("/table/who", json={"person": "ivo", "pin": "4711"}).json()["name"] == "Ivo Teaselby"
    assert paired.get("/table/who").json()["who"] == "ivo"
    statuses = [
        paired.post("/table/who", json={"person": "ivo", "pin": "0000"}).status_code for _ in range(6)
    ]
    assert statuses == [403] * 5 + [429]


# --- a waiting list as a file -----------------------------------------------------------------------------


def bring(client, table):
    raw = table if isinstance(table, bytes) else json.dumps(table).encode()
    return client.post(
        "/tablets/waiting", files={"list": ("coatwright-waiting.json", raw, "application/json")}
    )


def test_a_waiting_list_is_brought_in_once(client, store):
    table = {
        "coatwright": "waiting",
        "version": 1,
        "device": "tablet ab12",
        "events": [tap("a"), tap("b", 4, data={"zone": "ribs"}), tap("c", stream="dog:nobody"), {"id": "x"}],
    }
    text = bring(client, table).text
    assert "2 entries kept, 0 here already, 2 refused" in " ".join(text.split())
    assert "tablet ab12" in text
    assert "nobody" in text
    again = bring(client, table).text
    assert "0 entries kept, 2 here already, 2 refused" in " ".join(again.split())
    assert len(store.state().dogs["bramble"].visits) == 1


def test_a_waiting_list_holds_what_a_tablet_sends_and_nothing_else(client, store):
    stranger = {
        "id": "s",
        "stream": "person:x",
        "kind": "person.set",
        "at": tap("a")["at"],
        "data": {"name": "X"},
    }
    text = bring(client, {"coatwright": "waiting", "version": 1, "events": [stranger, tap("a")]}).text
    assert "1 entry kept, 0 here already, 1 refused" in " ".join(text.split())
    assert "cannot send &#39;person.set&#39;" in text
    assert "x" not in store.state().people


def test_a_waiting_list_brings_its_photos(client, store):
    data = picture(800, 600)
    sha = hashlib.sha256(data).hexdigest()
    letters = base64.b64encode(data).decode()
    photos = [{"photo": sha, "bytes": letters}]
    taken = {
        **tap("p"),
        "kind": "photo.taken",
        "data": {"visit": f"table-{TODAY}", "day": TODAY.isoformat(), "zone": "back", "photo": sha},
    }
    table = {"coatwright": "waiting", "version": 1, "events": [taken], "photos": photos}
    assert "2 entries kept, 0 here already, 0 refused" in " ".join(bring(client, table).text.split())
    assert Image.open(io.BytesIO(client.get(f"/photos/{sha}").content)).size == (600, 800)
    assert "0 entries kept, 2 here already, 0 refused" in " ".join(bring(client, table).text.split())
    spoiled = [
        {"photo": sha[::-1], "bytes": letters},
        {"photo": sha, "bytes": "no letters"},
        7,
        {"photo": "\ud800"},
    ]
    table |= {"events": [], "photos": spoiled}
    assert "0 entries kept, 0 here already, 4 refused" in " ".join(bring(client, table).text.split())
    assert client.get(f"/photos/{sha[::-1]}").status_code == 404


def test_a_long_waiting_list_goes_by_the_writer_in_parts(client, app, monkeypatch):
    parts = []
    intake = app.state.desk.intake
    submit = intake.submit
    monkeypatch.setattr(intake, "submit", lambda events: parts.append(len(events)) or submit(events))
    events = [tap(f"e{n}", n % 60, data={"take": {"share": 0.1}}) for n in range(1, 1201)]
    text = bring(client, {"coatwright": "waiting", "version": 1, "events": [*events, events[0]]}).text
    assert "1200 entries kept, 1 here already, 0 refused" in " ".join(text.split())
    assert parts == [500, 500, 201]


@pytest.mark.parametrize(
    "table",
    [
        *(b"", b"{", b"\xff", b"[" * 5000, [], {}, {"coatwright": "waiting"}),
        {"coatwright": "waiting", "version": 2, "events": []},
        {"coatwright": "waiting", "version": 1, "events": {}},
        {"coatwright": "waiting", "version": 1, "events": [], "photos": {}},
    ],
)
def test_a_file_that_is_no_waiting_list_is_refused_whole(client, store, table):
    before = len(store.events())
    answer = bring(client, table)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert len(store.events()) == before
    assert client.post("/tablets/waiting", data={"list": "x"}).status_code == 422


# --- photos -----------------------------------------------------------------------------------------------


def picture(width=3000, height=1500, turned=6):
    """A JPEG that lies on its side: orientation 6 of EXIF (CIPA DC-008), and a place where it was taken."""
    image = Image.new("RGB", (width, height), (120, 90, 60))
    for step in range(0, width, 10):
        image.paste((step % 255, 60, 20), (step, 0, step + 5, height))
    exif = Image.Exif()
    exif[0x0112] = turned
    exif.get_ifd(0x8825)[1] = "N"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif)
    return out.getvalue()


def put(client, data, sha=None):
    return client.put(f"/api/photos/{sha or hashlib.sha256(data).hexdigest()}", content=data)


def test_a_photo_is_kept_upright_small_and_without_its_place(client):
    data = picture()
    sha = hashlib.sha256(data).hexdigest()
    assert put(client, data).status_code == 201
    answer = put(client, data)
    assert (answer.status_code, answer.json()) == (200, {"photo": sha, "outcome": "already"})
    kept = Image.open(io.BytesIO(client.get(f"/photos/{sha}").content))
    assert kept.size == (1200, 2400)
    assert not kept.getexif()
    small = Image.open(io.BytesIO(client.get(f"/photos/{sha}?small").content))
    assert max(small.size) == 480


def test_a_backup_holds_what_the_events_name(client, store):
    from coatwright.salon.attachments import Attachments, named_by_events

    put(client, picture())
    (name,) = Attachments.of(store).names()
    assert name[:64] in {each[:64] for each in named_by_events(store)}


@pytest.mark.parametrize(
    ("data", "sha"),
    [
        *((b"", None), (b"no photo", None), (b"GIF89a" + b"x" * 99, None)),
        *((picture()[:2000], None), (picture(), "a" * 64), (picture(), "salon.db")),
    ],
)
def test_bytes_that_are_no_photo_of_that_name_are_refused(client, data, sha):
    answer = put(client, data, sha)
    assert answer.status_code == 422
    assert {"error", "what", "where", "remedy"} <= set(answer.json())
    assert client.get("/photos/" + (sha or "b" * 64)).status_code == 404


def test_a_paired_tablet_sends_photos(paired):
    data = picture(800, 600)
    assert put(paired, data).status_code == 201
    assert paired.get(f"/photos/{hashlib.sha256(data).hexdigest()}").status_code == 200
