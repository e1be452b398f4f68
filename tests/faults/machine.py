"""Servers and processes of a run of faults: its own PostgreSQL, its own Redis, nobody else's."""

import os
import pwd
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import psycopg
import redis

from tests.faults.waiting import until

ROOT = Path(__file__).resolve().parent.parent.parent
STARTS_WITHIN_S = 90
STOPS_WITHIN_S = 30


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass(frozen=True, kw_only=True)
class Postgres:
    """A cluster in a folder of its own, run by somebody who is not root."""

    folder: Path
    port: int
    user: str | None

    def url(self, database: str) -> str:
        return f"postgres://faults@127.0.0.1:{self.port}/{database}"

    def control(self, *command: str) -> None:
        """Run ``pg_ctl``; raises ``CalledProcessError`` with what it said."""
        told = ["-D", str(self.folder / "data"), "-l", str(self.folder / "log"), "-w"]
        options = ["-o", f"-p {self.port} -k {self.folder} -c listen_addresses=127.0.0.1"]
        starts = options if command[0] in ("start", "restart") else []
        self._run("pg_ctl", *told, *starts, "-t", str(STARTS_WITHIN_S), *command)

    def answers(self) -> bool:
        with suppress(psycopg.OperationalError):
            psycopg.connect(self.url("postgres"), connect_timeout=2).close()
            return True
        return False

    def statement(self, text: str) -> None:
        with psycopg.connect(self.url("postgres"), autocommit=True) as server:
            server.execute(text)

    def _run(self, program: str, *options: str) -> None:
        done = subprocess.run(
            [str(_binaries() / program), *options],
            user=self.user,
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )
        if done.returncode:
            raise RuntimeError(f"{program} {options}: {done.stderr}")


@contextmanager
def own_postgres(*, inside: Path | None = None, initdb: Sequence[str] = ()) -> Iterator[Postgres]:
    """A fresh cluster, in a folder within ``inside``; stopped and deleted afterwards."""
    user = _unprivileged()
    folder = Path(tempfile.mkdtemp(prefix="faults-postgres-", dir=inside))
    if user is not None:
        shutil.chown(folder, user)
    server = Postgres(folder=folder, port=free_port(), user=user)
    try:
        server._run(
            "initdb",
            *("-D", str(folder / "data"), "-U", "faults", "--auth=trust", "--encoding=UTF8"),
            "--no-locale",
            *initdb,
        )
        server.control("start")
        yield server
    finally:
        with suppress(RuntimeError):
            server.control("stop", "-m", "immediate")
        shutil.rmtree(folder, ignore_errors=True)


class Redis:
    """A server that keeps nothing on disk, so that each restart loses all it held."""

    def __init__(self, *, port: int | None = None) -> None:
        self.port = port or free_port()
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        return f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> None:
        self._process = subprocess.Popen(
            [
                *("redis-server", "--port", str(self.port), "--bind", "127.0.0.1"),
                *("--save", "", "--appendonly", "no"),
            ],
            stdout=subprocess.DEVNULL,
        )
        until(self._answers, within_s=STARTS_WITHIN_S, what="Redis answers")

    def end(self) -> None:
        """End whoever listens on the port: a fault may have started it anew."""
        with suppress(redis.ConnectionError), redis.Redis(port=self.port) as client:
            client.shutdown(nosave=True)
        if self._process is not None:
            self._process.kill()
            self._process.wait()

    def restart(self, *, meanwhile: Callable[[], None]) -> None:
        """Signal 9 to whoever listens on the port, and start anew; ``meanwhile`` it is away."""
        with redis.Redis(port=self.port) as client:
            found = int(client.info("server")["process_id"])  # type: ignore[index]
        os.kill(found, signal.SIGKILL)
        until(lambda: not self._answers(), within_s=STOPS_WITHIN_S, what="Redis is gone")
        meanwhile()
        self.start()

    def empty(self) -> None:
        with redis.Redis(port=self.port) as client:
            client.flushall()

    def _answers(self) -> bool:
        with suppress(redis.ConnectionError), redis.Redis(port=self.port) as client:
            return bool(client.ping())
        return False


@contextmanager
def own_redis() -> Iterator[Redis]:
    server = Redis()
    server.start()
    try:
        yield server
    finally:
        server.end()


class Process:
    """A process in a group of its own, so that it can be killed with all its children."""

    def __init__(
        self,
        command: Sequence[str],
        log: Path,
        environment: Mapping[str, str] | None = None,
        inherited: Sequence[int] = (),
    ) -> None:
        self.log = log
        self._written: IO[bytes] = log.open("ab")
        self._process = subprocess.Popen(
            [sys.executable, "-m", *command],
            cwd=ROOT,
            env={**os.environ, **(environment or {})},
            stdin=subprocess.DEVNULL,
            stdout=self._written,
            stderr=subprocess.STDOUT,
            start_new_session=True,
            pass_fds=inherited,
        )

    @property
    def is_running(self) -> bool:
        return self._process.poll() is None

    def kill(self) -> None:
        """Signal 9 to it and its children."""
        with suppress(ProcessLookupError):
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        self._written.close()

    def kill_children(self) -> int:
        """Signal 9 to each child and not to itself; returns how many there were."""
        children = children_of(self._process.pid)
        for child in children:
            with suppress(ProcessLookupError):
                os.kill(child, signal.SIGKILL)
        return len(children)

    def stop(self) -> None:
        self._process.terminate()
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(timeout=STOPS_WITHIN_S)
        self.kill()


def children_of(parent: int) -> list[int]:
    told = subprocess.run(
        ["ps", "-A", "-o", "pid=,ppid="], stdout=subprocess.PIPE, text=True, check=True
    )
    pairs = (line.split() for line in told.stdout.splitlines())
    return [int(child) for child, of in pairs if int(of) == parent]


class Kept:
    """A process that is started anew whenever it ends by itself, as a process manager does."""

    def __init__(self, start: Callable[[], Process]) -> None:
        self._start = start
        self.process = start()
        self.ended = 0
        self._over = threading.Event()
        self._watching = threading.Thread(target=self._watch)
        self._watching.start()

    def kill(self) -> None:
        self._over.set()
        self._watching.join()
        self.process.kill()

    def _watch(self) -> None:
        while not self._over.wait(0.2):
            if not self.process.is_running:
                self.ended += 1
                self.process.kill()
                self.process = self._start()


def worker(log: Path, *, at_once: int, application: str = "coop.celery") -> Process:
    """A Celery worker of so many children, which tells of what it does in ``log``."""
    return Process(
        [
            *("celery", "-A", application, "worker", "-l", "INFO", "-c", str(at_once)),
            *("--without-mingle", "--without-gossip", "-n", f"faults-{time.monotonic_ns()}@%h"),
        ],
        log,
    )


def beat(folder: Path, *, number: int = 1) -> Process:
    schedule = str(folder / f"beat-{number}")
    options = ["-s", schedule, "--pidfile=", "-l", "INFO"]
    return Process(["celery", "-A", "coop.celery", "beat", *options], folder / f"beat-{number}.log")


@contextmanager
def stopping(*processes: Process) -> Iterator[None]:
    """Kill them at the end, whatever happens."""
    try:
        yield
    finally:
        for process in processes:
            process.kill()


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """The product's web server on a port of its own; gives its address."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(256)
        listening.set_inheritable(True)
        server = Process(
            [
                *("gunicorn", "coop.wsgi", "--log-level", "warning"),
                *("--bind", f"fd://{listening.fileno()}"),
                *("--workers", "2", "--threads", "8", "--timeout", "120"),
            ],
            folder / "web.log",
            inherited=[listening.fileno()],
        )
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            server.stop()


def _binaries() -> Path:
    told = subprocess.run(["pg_config", "--bindir"], stdout=subprocess.PIPE, text=True, check=True)
    return Path(told.stdout.strip())


def _unprivileged() -> str | None:
    """PostgreSQL does not run as root: its own account, else nobody's; None: who we are."""
    if os.geteuid() != 0:
        return None
    known = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in known else "nobody"
