"""A real receiver on this machine: keeps what was posted, and answers as it is told."""

import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from standardwebhooks.webhooks import Webhook


@dataclass(frozen=True, kw_only=True)
class Posted:
    path: str
    headers: dict[str, str]
    body: bytes

    def verified_by(self, secret: str) -> dict:
        """The body, once the specification's own library has verified it."""
        return Webhook(secret).verify(self.body, self.headers)


@dataclass(kw_only=True)
class Receiver:
    """``answers`` are (status, headers), used in turn, the last one from then on."""

    answers: list[tuple[int, dict[str, str]]] = field(default_factory=lambda: [(204, {})])
    posted: list[Posted] = field(default_factory=list)
    hangs: threading.Event | None = None
    drips: bytes = b""
    large: int = 0
    port: int = 0
    server_names: list[str | None] = field(default_factory=list)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/hook"

    def next_answer(self) -> tuple[int, dict[str, str]]:
        return self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]


@contextmanager
def receiving(tls: ssl.SSLContext | None = None, **told) -> Iterator[Receiver]:
    receiver = Receiver(**told)

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            length = int(self.headers["Content-Length"])
            receiver.posted.append(
                Posted(
                    path=self.path,
                    headers={name.lower(): value for name, value in self.headers.items()},
                    body=self.rfile.read(length),
                )
            )
            if receiver.hangs is not None:
                receiver.hangs.wait()
                return
            if receiver.drips:
                self.wfile.write(receiver.drips)
                return
            status, headers = receiver.next_answer()
            self.send_response(status)
            for name, value in headers.items():
                self.send_header(name, value)
            self.send_header("Content-Length", str(receiver.large))
            self.end_headers()
            self.wfile.write(b"x" * receiver.large)

        def do_GET(self) -> None:
            raise AssertionError("a redirect was followed")

        def log_message(self, *_args: object) -> None:
            return

    class Quiet(ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, *_args: object) -> None:
            return

    server = Quiet(("127.0.0.1", 0), Handler)
    if tls is not None:
        tls.sni_callback = lambda _socket, name, _context: receiver.server_names.append(name)
        server.socket = tls.wrap_socket(server.socket, server_side=True)
    receiver.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield receiver
    finally:
        if receiver.hangs is not None:
            receiver.hangs.set()
        server.shutdown()
        server.server_close()
        thread.join()
