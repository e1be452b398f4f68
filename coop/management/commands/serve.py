"""Serve the API with workers beside it, and stop all together."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser

from coop.jobs import bell, runner
from coop.jobs.lanes import urgent_queue

MEMORY = Path("/dev/shm")  # noqa: S108 - the folder made in it has a name of its own


class Command(BaseCommand):
    help = (
        "Serve the API over HTTP with a worker beside it. With COOP_REDIS_URL the worker is a "
        "Celery worker with its beat, which hears both queues, and a second one of one child for "
        "urgent work alone; else a local runner that drains the same rows. Ctrl-C stops all; "
        "whichever dies takes the others with it, so that nothing half-serves."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--bind", default="127.0.0.1:8000", help="address:port to listen on")
        parser.add_argument("--web-workers", type=int, default=2)

    def handle(self, *_args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        call_command("collectstatic", verbosity=0, interactive=False)
        commands = [self._web(options), *self._workers()]
        self.stdout.write(f"API: http://{options['bind']}/api/v1/ — pages: /docs/")
        if not bell.has_broker():
            self.stdout.write(runner.BANNER)
        self._run(commands, bind=options["bind"])

    def _web(self, options: dict[str, Any]) -> list[str]:
        return [
            *(sys.executable, "-m", "gunicorn", "coop.wsgi"),
            *("--bind", options["bind"], "--workers", str(options["web_workers"])),
            # Nobody steers it, and its socket would lie in the home of whoever serves.
            "--no-control-socket",
        ]

    def _workers(self) -> list[list[str]]:
        if not bell.has_broker():
            return [[sys.executable, "manage.py", "runjobs", "--forever"]]
        worker = [sys.executable, "-m", "celery", "-A", "coop.celery", "worker", "-l", "WARNING"]
        urgent = urgent_queue(settings.QUEUE)
        return [
            # One beat beside one worker; two beats would still leave one run a period.
            [*worker, "-B", "-s", str(settings.VAR_DIR / "beat-schedule")],
            [*worker, "-Q", urgent, "-c", "1", "-n", "urgent@%h"],
        ]

    def _run(self, commands: Sequence[list[str]], *, bind: str) -> None:
        with shared_counts() as folder:
            self._run_beside(commands, environment(os.environ, bind=bind, counts=folder))

    def _run_beside(self, commands: Sequence[list[str]], environment: dict[str, str]) -> None:
        processes = [
            subprocess.Popen(command, cwd=settings.BASE_DIR, env=environment)
            for command in commands
        ]

        def stop(_signal: int, _frame: FrameType | None) -> None:
            for process in processes:
                process.terminate()

        signal.signal(signal.SIGTERM, stop)
        signal.signal(signal.SIGINT, stop)
        while all(process.poll() is None for process in processes):
            _wait_for_any(processes)
        stop(signal.SIGTERM, None)
        for process in processes:
            process.wait()


def environment(given: Mapping[str, str], *, bind: str, counts: Path) -> dict[str, str]:
    """What the processes of this service are told, beside what it was told itself.

    Links in letters begin with the address that is listened on, unless ``COOP_BASE_URL`` says
    by which one readers come.
    """
    heard_at = bind.replace("0.0.0.0", "127.0.0.1")  # noqa: S104 - read here, not bound
    return {
        "COOP_BASE_URL": f"http://{heard_at}",
        **given,
        "PROMETHEUS_MULTIPROC_DIR": str(counts),
    }


@contextmanager
def shared_counts() -> Iterator[Path]:
    """An empty folder in which the processes of this service share their counters.

    It lies in memory where the system has a place for that: the files are mapped, and a process
    that counts while the disk beneath is full is ended by the system (SIGBUS).
    """
    in_memory = os.access(MEMORY, os.W_OK)
    folder = Path(tempfile.mkdtemp(prefix="coop-counts-", dir=MEMORY if in_memory else None))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _wait_for_any(processes: Sequence[subprocess.Popen[bytes]]) -> None:
    """Return once a child has ended, or after a second."""
    try:
        processes[0].wait(timeout=1)
    except subprocess.TimeoutExpired:
        return
