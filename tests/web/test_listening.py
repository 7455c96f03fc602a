"""The three doors, really opened: loopback, TLS in the private network, and the plain one beside it."""

from __future__ import annotations

import asyncio
import http.client
import json
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from types import SimpleNamespace

import pytest

from coatwright.errors import NotKept
from coatwright.salon.authority import Authority, Served
from coatwright.salon.devices import folder_of
from coatwright.salon.store import Store
from coatwright.web import listening
from coatwright.web.reach import Reach
from tests.conftest import free_port

SERVE = (
    "import sys; from coatwright.web.app import serve; place, port, plain = sys.argv[1:]; "
    "serve(place, open_browser=False, tablets=True, plain=plain == 'plain', tablet_port=int(port))"
)
needs_signals = pytest.mark.skipif(
    sys.platform == "win32", reason="processes are stopped in another way there"
)


def two_ports() -> int:
    """A port that is free together with the next one."""
    while True:
        port = free_port()
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port + 1))
                return port
            except OSError:
                continue


@dataclass
class Open:
    local: str
    port: int
    authority: Authority
    process: subprocess.Popen[str]
    said: list[str]
    lines: list[http.client.HTTPConnection] = field(default_factory=list)

    def secure(self) -> http.client.HTTPSConnection:
        """A connection under the salon's name that trusts its authority and nobody else."""
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        context.load_verify_locations(cadata=self.authority.pem.decode())
        made = http.client.HTTPSConnection(self.authority.host, self.port, timeout=20, context=context)
        made._create_connection = to_this_machine
        self.lines.append(made)
        return made

    def plain(self) -> http.client.HTTPConnection:
        made = http.client.HTTPConnection(self.authority.host, self.port + 1, timeout=20)
        made._create_connection = to_this_machine
        self.lines.append(made)
        return made

    def desk(self) -> http.client.HTTPConnection:
        made = http.client.HTTPConnection(self.local, timeout=30)
        self.lines.append(made)
        return made


def to_this_machine(address, *rest):
    """What asking the network for the name would give."""
    return socket.create_connection(("127.0.0.1", address[1]), *rest)


@pytest.fixture
def opened(tmp_path, request):
    port = two_ports()
    process = subprocess.Popen(
        [sys.executable, "-c", SERVE, str(tmp_path), str(port), getattr(request, "param", "")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    said = []
    assert process.stdout is not None
    while not said or "Ctrl+C" not in said[-1]:
        line = process.stdout.readline()
        assert line, process.stderr.read()
        said.append(line)
    with Store.open(tmp_path) as store:
        authority = Authority(folder_of(store))
    local = re.search(r"http://127\.0\.0\.1:(\d+)/", said[0])
    made = Open(f"127.0.0.1:{local[1]}", port, authority, process, said)
    until = time.monotonic() + 30
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            break
        except OSError:
            time.sleep(0.1)
    yield made
    for line in made.lines:
        line.close()
    process.terminate()
    process.wait(timeout=20)
    process.stdout.close()
    process.stderr.close()


def ask(connection, method, path, body=None, **headers):
    connection.request(method, path, body, headers)
    answer = connection.getresponse()
    return answer, answer.read()


def test_a_tablet_in_the_network_trusts_pairs_and_sends(opened):
    plain = opened.plain()
    answer, text = ask(plain, "GET", "/pair/trust")
    assert answer.status == 200
    assert opened.authority.fingerprint.encode() in text
    answer, certificate = ask(plain, "GET", "/pair/authority.crt")
    assert certificate == opened.authority.der
    assert ask(plain, "GET", "/table")[0].status == 403

    tablet = opened.secure()
    assert ask(tablet, "GET", "/table/today.json")[0].status == 401
    desk = opened.desk()
    form = {"content-type": "application/x-www-form-urlencoded", "origin": f"http://{opened.local}"}
    answer, page = ask(desk, "POST", "/tablets/code", "kind=table", **form)
    assert answer.status == 200, page
    code = re.search(rb'class="code">([^<]+)<', page)[1].decode()
    origin = f"https://{opened.authority.host}:{opened.port}"
    answer, _ = ask(tablet, "POST", "/pair", f"code={code}&name=Arm", **form | {"origin": origin})
    assert answer.status == 303
    cookie = answer.getheader("set-cookie").partition(";")[0]
    answer, raw = ask(tablet, "GET", "/table/who", cookie=cookie)
    assert json.loads(raw)["tablet"] == "Arm"
    assert ask(tablet, "GET", "/dogs", cookie=cookie)[0].status == 403
    assert ask(tablet, "GET", "/tablets", cookie=cookie)[0].status == 403


@pytest.mark.parametrize("opened", ["plain"], indirect=True)
def test_without_tls_it_is_served_only_where_that_was_asked_for_and_said(opened):
    assert any("Caution" in line for line in opened.said)
    answer, raw = ask(opened.plain(), "GET", "/table/today.json")
    assert answer.status == 401
    assert json.loads(raw)["error"] == "NotPaired"


def test_the_loopback_address_serves_the_desk_as_ever(opened):
    assert ask(opened.desk(), "GET", "/")[0].status == 200
    assert "Tablets reach it at https://coatwright-" in opened.said[2]


@needs_signals
def test_it_stops_in_order_when_it_is_told_to(opened):
    assert ask(opened.plain(), "GET", "/pair/trust")[0].status == 200  # the connection stays open
    opened.process.send_signal(signal.SIGINT)
    began = time.monotonic()
    opened.process.wait(timeout=20)
    errors = opened.process.stderr.read()
    assert time.monotonic() - began < 10
    assert "Traceback" not in errors
    for port in (opened.port, opened.port + 1):
        with pytest.raises(OSError, match="refused"):
            socket.create_connection(("127.0.0.1", port), timeout=2)


class Full:
    """An authority whose disk is full while ``broken``."""

    name, host, broken = "coatwright-t3st", "coatwright-t3st.local", True

    def __init__(self, folder):
        self.folder = folder
        self.looks = 0
        folder.joinpath("server.pem").write_text("first")

    def served(self, addresses):
        self.looks += 1
        if self.broken:
            raise NotKept("No room.", where="server.pem", remedy="Make room.")
        self.folder.joinpath("server.pem").write_text("second, which is longer")
        return Served(self.folder / "server.pem", self.folder / "server.key", (self.host, *addresses))


def test_what_fails_once_is_looked_after_again_and_the_name_stays(tmp_path, monkeypatch, caplog):
    """A disk that is full when the certificate is due must not end the looking after for good."""
    taken_back, loaded = [], []

    class Announced:
        async def anew(self, reach):
            pass

        async def close(self):
            taken_back.append(True)

    monkeypatch.setattr(listening, "LOOKED_AFTER", 0.001)
    monkeypatch.setattr(listening, "_Announced", Announced)
    monkeypatch.setattr(listening, "private_addresses", lambda: ("192.168.7.20",))
    authority = Full(tmp_path)
    reach = Reach(None, authority, 8740, 8741, False, ("192.168.7.20",))
    tls = SimpleNamespace(load_cert_chain=lambda *files: loaded.append(files))
    server = SimpleNamespace(config=SimpleNamespace(ssl=tls))

    async def some_time():
        task = asyncio.create_task(listening._look_after(server, reach))
        while authority.looks < 3:
            await asyncio.sleep(0.002)
        assert not task.done()
        assert not taken_back
        assert not loaded
        authority.broken = False
        while not loaded:
            await asyncio.sleep(0.002)
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)

    with ThreadPoolExecutor(1) as another:  # a browser of other tests may have a loop running in this one
        another.submit(lambda: asyncio.run(asyncio.wait_for(some_time(), 20))).result()
    assert taken_back == [True]
    assert [record.message for record in caplog.records].count(
        "Tablets cannot be looked after now: server.pem: No room. Make room."
    ) == 1
