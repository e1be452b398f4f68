"""What lists cost, against the driver's rows and fast JSON of the same rows in the same run.

The work is done by ``list_work`` in a process of its own, on a database of its own that is
thrown away. A list is asked over the whole stack (middleware, token, quota, filter, page), and
its CPU is that of the process. The raw side is the database's driver, the same rows by the same
filter and order, a dictionary a row, and the same members as JSON by the same encoder; it knows
no caller, no rights and no page. Ratios are of the middle of several runs, taken in turns.

- ``list_NAME_cpu_ratio``: a page of 1,000 rows of stands and of sits, a feed of 1,000 events,
  offers of 40 stands over 14 days. Offers are asked again here, with nothing written since, as
  a program that polls meets them: the answer is a kept one.
- ``list_offers_cold_cpu_ratio``: the same offers asked where nothing is kept, so each is judged.
- ``list_NAME_100_cpu_ratio``: of 100 rows (offers: of one day), where what a request costs before
  its first row weighs most.
- ``list_request_cpu_ms``: that fixed cost: a list of no row, credential and all.
"""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

Row = tuple[str, float, str, str]

GOAL = "at most 6"


def rows(only: str = "") -> Iterator[Row]:
    """(name, value, unit, goal) of every figure."""
    for name, value in measured().items():
        is_ratio = name.endswith("ratio")
        yield (
            name,
            value,
            "ratio" if is_ratio else "ms",
            GOAL if is_ratio and "_100_" not in name else "",
        )


def measured() -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.list_work"],
            env={
                **os.environ,
                "COOP_DATABASE_URL": f"sqlite:///{Path(folder) / 'bench.sqlite3'}",
                "COOP_REDIS_URL": "",
                "COOP_RATE_LIMITS": "person=1000000000",
            },
            stdout=subprocess.PIPE,
            check=True,
        )
    told: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return told
