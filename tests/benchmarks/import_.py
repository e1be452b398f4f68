"""How fast observations are taken in, against the same rows by one bare executemany.

- ``import_ratio``: rows a second of a CSV's import (reading, checking, placing, storing, account)
  over rows a second of storing the same rows, ready in memory, by one executemany in one
  transaction on SQLite. ``import_package_ratio``: the same for a package, which is read twice.
- ``import_growth_mib``: how much higher the peak of memory is with three times the rows, from where
  the database's own cache of pages is full (twice the rows of the ratios).

Each figure comes from processes of their own, by their own time of the processor, so that what
else the machine does hardly matters; the better of two runs each.
"""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROWS = int(os.environ.get("BENCH_IMPORT_ROWS", "200000"))
Row = tuple[str, float, str, str]


def rows(only: str = "") -> Iterator[Row]:
    """Name, value, unit and goal."""
    bare = min(_done("bare", ROWS)["seconds"] for _ in range(2))
    table = min(_done("csv", ROWS)["seconds"] for _ in range(2))
    yield "import_ratio", bare / table, f"bare over import, {ROWS} rows", "at least 0.5"
    package = min(_done("package", ROWS)["seconds"] for _ in range(2))
    yield "import_package_ratio", bare / package, "bare over import of a package", ""
    grown = _done("csv", 6 * ROWS)["peak_mib"] - _done("csv", 2 * ROWS)["peak_mib"]
    yield "import_growth_mib", grown, "MiB more with three times the rows", "flat: at most 10"


def _done(form: str, count: int) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.import_work", form, str(count)],
            env={
                **os.environ,
                "COOP_DATABASE_URL": f"sqlite:///{Path(folder) / 'bench.sqlite3'}",
                "COOP_REDIS_URL": "",
            },
            stdout=subprocess.PIPE,
            check=True,
        )
    told: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return told
