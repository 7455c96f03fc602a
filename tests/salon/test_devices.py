"""Who may speak to the desk: paired once with a code, revoked at will, PINs that shut the door after some tries."""

import contextlib
import json
import os
import stat
import threading
from datetime import timedelta

import pytest

from coatwright.errors import NotKept, OutOfRange, StoreError, UnknownName
from coatwright.salon.devices import CODE_TRIES, PIN_TRIES, Devices, NotPaired, ShutOut
from tests.salon.making import NOON


@pytest.fixture
def devices(tmp_path, clock):
    return Devices(tmp_path / "tablets", clock)


def test_a_code_pairs_one_tablet_once(devices):
    code = devices.new_code()
    device, token = devices.pair(code.shown.lower(), "Arm by the window")
    assert devices.known(token).id == device.id
    assert (device.name, device.kind, device.good) == ("Arm by the window", "table", True)
    with pytest.raises(NotPaired) as caught:
        devices.pair(code.text, "Another")
    assert "page Tablets" in caught.value.remedy
    assert devices.known(token + "x") is None
    assert devices.known("") is None


def test_a_code_expires(devices, clock):
    code = devices.new_code()
    clock.now = NOON + timedelta(minutes=10)
    with pytest.raises(NotPaired):
        devices.pair(code.text, "Late")


def test_guessing_makes_every_open_code_void(devices):
    code = devices.new_code()
    for guess in range(CODE_TRIES):
        with pytest.raises(NotPaired):
            devices.pair(f"GUESS{guess:03d}", "Guesser")
    with pytest.raises(NotPaired):
        devices.pair(code.text, "Honest")
    assert devices.pair(devices.new_code().text, "Honest")[0].good


def test_of_many_who_use_a_code_at_once_one_is_paired(devices):
    code = devices.new_code()
    paired = []

    def try_it():
        with contextlib.suppress(NotPaired):
            paired.append(devices.pair(code.text, "One of many"))

    threads = [threading.Thread(target=try_it) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(paired) == 1


def test_a_revoked_tablet_is_known_and_not_good(devices, tmp_path, clock):
    device, token = devices.pair(devices.new_code().text, "Lost one")
    devices.revoke(device.id)
    assert not devices.known(token).good
    again = Devices(tmp_path / "tablets", clock)
    assert not again.known(token).good
    with pytest.raises(UnknownName):
        devices.revoke("nobody")


def test_tokens_codes_and_pins_are_not_in_the_file(devices, tmp_path):
    code = devices.new_code()
    _, token = devices.pair(code.text, "Arm")
    devices.set_pin("ivo", "4711")
    text = (tmp_path / "tablets" / "devices.json").read_text()
    for secret in (token, code.text, "4711"):
        assert secret not in text
    assert "$argon2id$" in text


@pytest.mark.skipif(os.name == "nt", reason="rights of another kind there")
def test_only_the_owner_can_read_the_files(devices, tmp_path):
    devices.set_pin("ivo", "4711")
    folder = tmp_path / "tablets"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {stat.S_IMODE(file.stat().st_mode) for file in folder.iterdir()} == {0o600}


def test_a_tablet_s_last_visit_is_written_down_hourly(devices, tmp_path, clock):
    _, token = devices.pair(devices.new_code().text, "Arm")
    devices.known(token)
    file = tmp_path / "tablets" / "devices.json"
    before = file.stat().st_mtime_ns
    clock.now = NOON + timedelta(minutes=30)
    devices.known(token)
    assert file.stat().st_mtime_ns == before
    clock.now = NOON + timedelta(minutes=61)
    assert devices.known(token).seen == clock.now.isoformat()
    assert json.loads(file.read_text())["devices"][0]["seen"] == clock.now.isoformat()


def test_a_right_pin_lets_in_and_a_wrong_one_does_not(devices):
    devices.set_pin("ivo", "4711")
    devices.check_pin("ivo", "4711")
    devices.check_pin("mira", "")
    for wrong in ("4712", "", "47110", "\ud800"):
        with pytest.raises(OutOfRange):
            devices.check_pin("ivo", wrong)
    devices.set_pin("ivo", "")
    devices.check_pin("ivo", "anything")


def test_after_some_wrong_pins_the_door_stays_shut_longer_each_time(devices, tmp_path, clock):
    devices.set_pin("ivo", "4711")
    for _ in range(PIN_TRIES):
        with pytest.raises(OutOfRange):
            devices.check_pin("ivo", "0815")
    with pytest.raises(ShutOut, match="too many"):
        devices.check_pin("ivo", "4711")
    again = Devices(tmp_path / "tablets", clock)
    with pytest.raises(ShutOut):
        again.check_pin("ivo", "4711")
    clock.now = NOON + timedelta(minutes=1)
    with pytest.raises(OutOfRange):
        devices.check_pin("ivo", "0815")
    clock.now = NOON + timedelta(minutes=2, seconds=30)
    with pytest.raises(ShutOut, match=r"Try again in 1 min"):
        devices.check_pin("ivo", "4711")
    clock.now = NOON + timedelta(minutes=3)
    devices.check_pin("ivo", "4711")
    with pytest.raises(OutOfRange):
        devices.check_pin("ivo", "0815")
    devices.check_pin("ivo", "4711")


@pytest.mark.parametrize("pin", ["123", "123456789", "12a4", "١٢٣٤", "1111", "1234", "4321"])
def test_a_poor_pin_is_refused(devices, pin):
    with pytest.raises(OutOfRange) as caught:
        devices.set_pin("ivo", pin)
    assert caught.value.remedy


def test_a_damaged_list_is_told_and_left_alone(tmp_path, clock):
    folder = tmp_path / "tablets"
    folder.mkdir()
    (folder / "devices.json").write_text('{"devices": [7]}')
    with pytest.raises(StoreError) as caught:
        Devices(folder, clock)
    assert "Move the file away" in caught.value.remedy
    assert (folder / "devices.json").read_text() == '{"devices": [7]}'


def test_a_full_disk_keeps_no_paired_tablet_out_and_pairs_no_new_one(devices, monkeypatch):
    _, token = devices.pair(devices.new_code().text, "Arm")

    def full(*_):
        raise NotKept("It cannot be kept: no space left on device.", remedy="Make room on the disk.")

    monkeypatch.setattr("coatwright.salon.devices.write_private", full)
    assert devices.known(token).good
    with pytest.raises(NotKept):
        devices.pair(devices.new_code().text, "Another")
    assert [each.name for each in devices.devices()] == ["Arm"]


def test_of_many_wrong_pins_at_once_each_counts(devices):
    devices.set_pin("ivo", "4711")

    def guess():
        with contextlib.suppress(OutOfRange, ShutOut):
            devices.check_pin("ivo", "0815")

    threads = [threading.Thread(target=guess) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with pytest.raises(ShutOut):
        devices.check_pin("ivo", "4711")
