"""A network that loses: it stands between the tablet and the desk, drops, repeats and reorders what is sent."""

from __future__ import annotations

import http.client
import random
import threading
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType
from typing import Any

HOP = {"connection", "keep-alive", "transfer-encoding", "content-length", "accept-encoding"}

MARKS = {"if-none-match", "if-modified-since", "accept-encoding"}


@dataclass
class Faults:
    """Shares of requests with taps that are lost on the way there or back, sent twice, sent late again."""

    dropped: float = 0.3
    unanswered: float = 0.3
    doubled: float = 0.2
    late: float = 0.2


@dataclass
class Lossy:
    """The address of a desk with faults on the way to it; ``told`` counts what happened.

    ``host`` is what the desk is told it was called by, ``rewrite`` changes what comes back from a path.
    """

    port: int
    faults: Faults = field(default_factory=Faults)
    seed: int = 0
    host: str = ""
    rewrite: dict[str, Callable[[bytes], bytes]] = field(default_factory=dict)
    told: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self.random = random.Random(self.seed)
        self.lock = threading.Lock()
        self.late: list[tuple[str, bytes, dict[str, str]]] = []
        self.healed = False
        outer = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def log_message(self, *_: Any) -> None:
                pass

            def handle_one_request(self) -> None:
                try:
                    super().handle_one_request()
                except OSError:
                    self.close_connection = True

            def do_GET(self) -> None:
                outer.pass_on(self)

            do_POST = do_PUT = do_GET  # noqa: N815

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.thread = threading.Thread(target=self.server.serve_forever, daemon=True)

    @property
    def url(self) -> str:
        """The address that the tablet has."""
        return f"http://127.0.0.1:{self.server.server_address[1]}"

    def __enter__(self) -> Lossy:
        self.thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.server.shutdown()
        self.server.server_close()

    def heal(self) -> None:
        """From now on everything arrives; what was held back arrives at last, newest first."""
        self.healed = True
        with self.lock:
            held, self.late = self.late[::-1], []
        for path, body, headers in held:
            self._send("POST", path, body, headers)
            self.told["late"] += 1

    def chance(self, share: float) -> bool:
        """Whether it happens this time."""
        with self.lock:
            return not self.healed and self.random.random() < share

    def pass_on(self, handler: BaseHTTPRequestHandler) -> None:
        """One request, with the faults of the way where it carries taps."""
        body = handler.rfile.read(int(handler.headers.get("content-length", 0)))
        headers = {name: value for name, value in handler.headers.items() if name.lower() not in HOP}
        taps = handler.path == "/api/events" and handler.command == "POST"
        if taps and self.chance(self.faults.dropped):
            self.told["dropped"] += 1
            handler.close_connection = True
            return
        if taps and self.chance(self.faults.late):
            with self.lock:
                self.late.append((handler.path, body, headers))
        if taps and self.chance(self.faults.doubled):
            self._send(handler.command, handler.path, body, headers)
            self.told["doubled"] += 1
        status, kept, answer = self._send(handler.command, handler.path, body, headers)
        if taps and self.chance(0.3):
            self._one_late()
        if taps and self.chance(self.faults.unanswered):
            self.told["unanswered"] += 1
            handler.close_connection = True
            return
        self.told["answered" if taps else "other"] += 1
        handler.send_response(status)
        for name, value in kept:
            handler.send_header(name, value)
        handler.send_header("content-length", str(len(answer)))
        handler.end_headers()
        handler.wfile.write(answer)

    def _one_late(self) -> None:
        """One that was held back arrives now, after others that were sent later."""
        with self.lock:
            if not self.late:
                return
            path, body, headers = self.late.pop(self.random.randrange(len(self.late)))
        self._send("POST", path, body, headers)
        self.told["late"] += 1

    def _called(self, path: str, headers: dict[str, str]) -> dict[str, str]:
        """The headers as the desk gets them; what is rewritten is asked for whole, and uncompressed."""
        if path in self.rewrite:
            headers = {name: value for name, value in headers.items() if name.lower() not in MARKS}
        if not self.host:
            return headers
        named = {"host": self.host, "origin": f"http://{self.host}"}
        return {name: named.get(name.lower(), value) for name, value in headers.items()}

    def _send(
        self, method: str, path: str, body: bytes, headers: dict[str, str]
    ) -> tuple[int, list[tuple[str, str]], bytes]:
        time.sleep(0.002)
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            line.request(method, path, body or None, self._called(path, headers))
            answer = line.getresponse()
            kept = [(name, value) for name, value in answer.getheaders() if name.lower() not in HOP]
            return answer.status, kept, self.rewrite.get(path, bytes)(answer.read())
        finally:
            line.close()
