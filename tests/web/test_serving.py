"""The server: on this machine alone, on a free port or the one that is asked for, with or without the demo."""

from __future__ import annotations

import socket
import subprocess
import sys
import threading
import time
import urllib.request

import pytest

from coatwright.errors import OutOfRange
from coatwright.web import app as serving
from coatwright.web.listening import ADDRESS, listen

SERVE = (
    "import sys; from coatwright.web.app import serve; serve(data=sys.argv[1], port=None, open_browser=False)"
)


def test_a_free_port_on_the_loopback_address_is_taken():
    listener = listen(ADDRESS, None)
    try:
        host, port = listener.getsockname()
        assert host == "127.0.0.1"
        assert port > 0
    finally:
        listener.close()


def test_a_port_that_is_taken_is_told():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(OutOfRange, match="cannot listen on port"):
            listen(ADDRESS, other.getsockname()[1])


def test_the_address_and_the_place_are_printed_and_the_desk_answers_at_once(tmp_path):
    started = time.monotonic()
    process = subprocess.Popen(
        [sys.executable, "-c", SERVE, str(tmp_path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        address = line.removeprefix("The desk is open at ").strip()
        assert address.startswith("http://127.0.0.1:")
        assert str(tmp_path) in process.stdout.readline()
        with urllib.request.urlopen(address, timeout=30) as answer:
            text = answer.read().decode()
            assert "server" not in {name.lower() for name in answer.headers}
        assert "Write down the first dog" in text
        assert time.monotonic() - started < 30
    finally:
        process.terminate()
        process.wait(timeout=20)
        if process.stdout is not None:
            process.stdout.close()


def test_the_demo_fills_an_empty_salon_and_a_browser_is_opened(tmp_path, monkeypatch):
    opened: list[str] = []
    asked = threading.Event()

    class Server:
        def __init__(self, config):
            self.app = config.app
            assert config.loaded is False
            assert config.access_log is False
            assert config.server_header is False

        def run(self, sockets):
            assert sockets[0].getsockname()[0] == "127.0.0.1"
            asked.wait(5)

    def browser(address):
        opened.append(address)
        asked.set()
        return True

    monkeypatch.setattr("uvicorn.Server", Server)
    monkeypatch.setattr(serving, "_can_open", lambda: True)
    monkeypatch.setattr("webbrowser.open", browser)
    monkeypatch.setattr("coatwright.demo.salon.fill", lambda store, today: opened.append("filled") or 1)
    serving.serve(data=tmp_path, demo=True)
    assert opened[0] == "filled"
    assert opened[1].startswith("http://127.0.0.1:")


def test_no_browser_is_opened_where_there_is_none_with_a_screen(monkeypatch):
    import webbrowser

    def none(*_):
        raise webbrowser.Error("none")

    monkeypatch.setattr(webbrowser, "get", none)
    assert serving._can_open() is False
    monkeypatch.setattr(webbrowser, "get", lambda *_: type("B", (), {"name": "w3m"})())
    assert serving._can_open() is False
    monkeypatch.setattr(webbrowser, "get", lambda *_: type("B", (), {"name": "firefox"})())
    assert serving._can_open() is True
