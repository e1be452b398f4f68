"""The product's own server, as a process of its own on a loopback socket."""

import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
WORKERS, THREADS = 4, 8
BACKLOG = 1024
STOPS_WITHIN_S = 30


@contextmanager
def serving(wsgi: str, log_to: Path) -> Iterator[str]:
    """Serve a WSGI module on the database of this process's environment; gives its address.

    What the server complains of goes to the file ``log_to``.

    The socket listens before the server starts, so requests wait for it in the queue.
    """
    with socket.socket() as listening, log_to.open("w") as log:
        listening.bind(("127.0.0.1", 0))
        listening.listen(BACKLOG)
        listening.set_inheritable(True)
        process = subprocess.Popen(
            [
                *(sys.executable, "-m", "gunicorn", wsgi, "--log-level", "warning"),
                *("--bind", f"fd://{listening.fileno()}", "--backlog", str(BACKLOG)),
                *("--workers", str(WORKERS), "--threads", str(THREADS), "--timeout", "120"),
            ],
            cwd=ROOT,
            pass_fds=[listening.fileno()],
            stderr=log,
        )
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            process.terminate()
            try:
                process.wait(timeout=STOPS_WITHIN_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
