"""The ends of the ways out, which hold their first answers back until they are told otherwise."""

import asyncio
import threading
import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from aiosmtpd.controller import Controller


@dataclass
class Ends:
    """A mail server and a receiver of events.

    ``letters`` and ``events`` are the instants at which each was taken, by its id.
    """

    letters: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    letters_tried: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    events: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    takes_letters: bool = True
    over: threading.Event = field(default_factory=threading.Event)

    async def handle_DATA(  # noqa: N802 - the library's name
        self, _server: Any, _session: Any, envelope: Any
    ) -> str:
        """aiosmtpd's hook: the first try of a letter gets no answer."""
        name = str(message_from_bytes(envelope.content)["Message-ID"])
        is_first = name not in self.letters_tried
        self.letters_tried[name].append(time.time())
        if self.takes_letters or not is_first:
            self.letters[name].append(time.time())
        while is_first and not self.over.is_set():
            await asyncio.sleep(0.05)
        return "250 taken"

    def take_event(self, name: str) -> None:
        is_first = name not in self.events
        self.events[name].append(time.time())
        if is_first:
            self.over.wait()


@contextmanager
def listening(ends: Ends, *, smtp_port: int) -> Iterator[str]:
    """Both servers; gives the receiver's address."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.rfile.read(int(self.headers["Content-Length"]))
            ends.take_event(self.headers["webhook-id"])
            self.send_response(204)
            self.end_headers()

        def log_message(self, *_told: object) -> None:
            return

    class Quiet(ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, *_told: object) -> None:
            return

    letters = Controller(ends, hostname="127.0.0.1", port=smtp_port)
    letters.start()
    server = Quiet(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        ends.over.set()
        server.shutdown()
        server.server_close()
        thread.join()
        letters.stop()
