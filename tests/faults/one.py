"""One fault, in a process of its own whose environment names its servers; prints its rows."""

import importlib
import os
import signal
import sys
from collections.abc import Iterable
from pathlib import Path
from types import FrameType

import django

from tests.faults.machine import Postgres
from tests.faults.rows import Row


def main(name: str) -> int:
    # Ends by an exception, so that the processes it started are ended too.
    signal.signal(signal.SIGTERM, _interrupted)
    django.setup()
    rows: Iterable[Row] = importlib.import_module(f"tests.faults.{name}").rows()
    missed = 0
    for row in rows:
        print(row.line, flush=True)
        missed += not row.holds
    return 1 if missed else 0


def folder() -> Path:
    """Where this fault may write."""
    return Path(os.environ["COOP_VAR_DIR"])


def postgres() -> Postgres:
    """The run's own cluster."""
    place, port, user = os.environ["FAULTS_POSTGRES"].split(":")
    return Postgres(folder=Path(place), port=int(port), user=user or None)


def _interrupted(_signal: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
