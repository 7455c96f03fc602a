"""The page at the table as the desk serves it: its files, its day's list, the order that it proposes."""

from __future__ import annotations

import itertools
import json

from coatwright.patterns.zones import zones
from coatwright.web.table import bundle as bundling
from coatwright.web.table.care import HEAD, care_items, working_order
from coatwright.web.workshop import WAITING
from tests.web.conftest import TODAY


def bundle(client):
    """The day's list once no plan is being made."""
    for _ in range(600):
        found = client.get("/table/today.json").json()
        if not found["waiting"]:
            return found
    raise AssertionError(found["waiting"])


def test_every_zone_comes_once_in_the_order_that_is_proposed():
    everything = [zone.key for zone in zones().values() if zone.work == "pull"]
    for wanted in (everything, everything[::2], everything[3:], ["ears", "throat"], ["skull"], []):
        assert sorted(working_order(wanted)) == sorted(wanted)


def test_the_order_begins_on_the_body_and_keeps_tender_zones_apart():
    order = working_order(zone.key for zone in zones().values() if zone.work == "pull")
    tender = [zones()[key].tender for key in order]
    assert not any(tender[:4])
    assert not any(first and second for first, second in itertools.pairwise(tender))
    heads = [place for place, key in enumerate(order) if key in HEAD]
    assert min(heads) >= 5


def test_few_zones_beside_many_tender_ones_are_kept_between_them():
    wanted = [
        "back",
        "ribs",
        "croup",
        "hocks",
        "belly",
        "forelegs",
        "inner_thighs",
        "under_tail",
        "underline",
    ]
    tender = [zones()[key].tender for key in working_order(wanted)]
    assert not tender[0]
    assert not any(first and second for first, second in itertools.pairwise(tender))


def test_feet_carry_the_scissors_rule():
    feet = [item for item in care_items() if item["key"].startswith("scissors_")]
    assert {item["key"] for item in feet} == {"scissors_feet", "scissors_hind_feet"}
    assert all("never over a pad" in item["rule"] for item in feet)


def test_the_days_list_names_the_dogs_of_today_with_their_takes_and_layers(client):
    found = bundle(client)
    assert found["day"] == TODAY.isoformat()
    assert found["ordinal"] == TODAY.toordinal()
    assert [dog["id"] for dog in found["dogs"]] == ["bramble"]
    assert {each["name"] for each in found["elsewhere"]} >= {"Hob", "Wick"}
    assert {each["id"] for each in found["elsewhere"]} >= {"hob", "wick"}
    for dog in found["dogs"]:
        assert dog["visit"] == f"table-{TODAY.isoformat()}"
        for zone in dog["zones"]:
            assert abs(sum(share for _, share, _ in zone["layers"]) - 1.0) < 1e-6
            assert len(zone["growth"]) == 7
        planned = {zone["key"] for zone in dog["zones"] if zone["planned"] > 0}
        assert set(dog["order"]) == planned


def test_a_dog_whose_plan_is_still_being_made_is_named_by_its_id_too(client, monkeypatch):
    """By the id the page carries over what it has of the dog."""
    monkeypatch.setattr(bundling, "_plan", lambda *_: WAITING)
    found = client.get("/table/today.json").json()
    assert (found["dogs"], found["waiting"], found["waiting_ids"]) == ([], ["Bramble"], ["bramble"])


def test_the_days_list_is_sent_once_while_nothing_changes(client):
    bundle(client)
    first = client.get("/table/today.json")
    again = client.get("/table/today.json", headers={"if-none-match": first.headers["etag"]})
    assert (first.status_code, again.status_code) == (200, 304)
    assert again.content == b""


def test_the_worker_may_answer_for_the_page_and_names_every_file(client):
    worker = client.get("/table/worker.js")
    assert worker.headers["service-worker-allowed"] == "/table"
    files = json.loads(worker.text.split("const FILES = ")[1].split(";\n")[0])
    version = json.loads(worker.text.split("const VERSION = ")[1].split(";\n")[0])
    assert f'data-version="{version}"' in client.get("/table").text
    for file in files:
        answer = client.get(file)
        assert answer.status_code == 200, file
        assert answer.headers["etag"]


def test_the_manifest_names_icons_that_are_there_at_their_sizes(client):
    manifest = client.get("/table/manifest.webmanifest").json()
    assert manifest["start_url"] == "/table"
    # within it lies the page on which an installed tablet, which has no address bar, is paired again
    assert manifest["scope"] == "/"
    assert any(icon.get("purpose") == "maskable" for icon in manifest["icons"])
    for icon in manifest["icons"]:
        picture = client.get(icon["src"])
        assert picture.headers["content-type"] == icon["type"]
        if icon["type"] == "image/png":  # width and height stand in the header chunk (PNG, 11.2.2)
            size = int.from_bytes(picture.content[16:20]), int.from_bytes(picture.content[20:24])
            assert "x".join(map(str, size)) == icon["sizes"]


def test_no_other_file_is_given_out(client):
    for name in ("table.html", "routes.py", "..%2froutes.py", "nothing"):
        assert client.get(f"/table/{name}").status_code == 404


def test_the_page_carries_no_script_and_no_style_of_its_own(client):
    page = client.get("/table").text
    assert "<style" not in page
    assert " style=" not in page
    assert page.count("<script") == 1
    policy = client.get("/table").headers["content-security-policy"]
    assert "worker-src 'self'" in policy
    assert "manifest-src 'self'" in policy
    assert "unsafe" not in policy
