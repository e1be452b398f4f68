"""How fast a landowner's month is written, and that it stays so.

The work is done by ``report_work`` in processes of its own, on a database of its own that is
thrown away: memory is measured without what other rows leave behind.

- ``report_html_ms``, ``report_pdf_ms``: middle of ten, of a rich month (30 sits, four scrapes,
  a month of observed wind). HTML is the page, the page for paper and the managers' appendix.
- ``report_queries``: queries that reading that month takes; ``report_queries_more`` is how
  many more with ten times the sits and observations.
- ``report_rss_growth_pct``: resident memory after 200 reports against after the first 20.
- ``report_100_by_2_workers_s``: 100 properties, 34 of them rich, by two processes of the local
  runner; ``report_2_workers_ratio``: how many times as fast a property is then written as by
  one process (20 properties).
"""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

Row = tuple[str, float, str, str]

PARTS = {
    "pages": ("report_html_ms", "report_pdf_ms", "report_queries", "report_queries_more"),
    "memory": ("report_rss_growth_pct",),
    "workers": ("report_100_by_2_workers_s", "report_2_workers_ratio"),
}
UNITS_AND_GOALS = {
    "report_html_ms": ("ms", ""),
    "report_pdf_ms": ("ms", "at most 3000"),
    "report_queries": ("queries", ""),
    "report_queries_more": ("queries", "0"),
    "report_rss_growth_pct": ("%", "at most 10"),
    "report_100_by_2_workers_s": ("s", ""),
    "report_2_workers_ratio": ("ratio", ""),
}


def rows(only: str = "") -> Iterator[Row]:
    """(name, value, unit, goal) of every figure that ``only`` leaves."""
    for part, names in PARTS.items():
        if not any(name.startswith(only) or only.startswith(name) for name in names):
            continue
        for name, value in _measured(part).items():
            unit, goal = UNITS_AND_GOALS[name]
            yield name, value, unit, goal


def _measured(part: str) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "bench.sqlite3"
        done = subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.report_work", part],
            env={
                **os.environ,
                "COOP_DATABASE_URL": f"sqlite:///{database}",
                "COOP_REDIS_URL": "",
            },
            stdout=subprocess.PIPE,
            check=True,
        )
    told: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return told
