"""How fast observations become visits, against a bare sort and difference of the same columns.

``visits_ratio``: the whole of ``independent_visits`` (by scrape, kind and individual, with checks,
and unidentified deer joined to identified ones) over ``numpy.lexsort`` of the same columns and one
``numpy.diff``, in the same run. ``visits_packed_ratio``: over one ``numpy.sort`` of the columns
packed into a single number, the least by which order can be made; no goal, and much stricter.
``visits_bytes_per_row``: the peak of memory over the number of rows.
"""

import os
import time
import tracemalloc
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from scrapes.visits.events import UNIDENTIFIED, independent_visits
from scrapes.visits.settings import VisitSettings

ROWS = int(os.environ.get("BENCH_VISITS_ROWS", "1000000"))
SCRAPES, DEER = 40, 30
Row = tuple[str, float, str, str]


def rows(only: str = "") -> Iterator[Row]:
    """Name, value, unit and goal."""
    given = columns(ROWS)
    counted = _least(lambda: independent_visits(**given, settings=VisitSettings()))
    bare = _least(lambda: _sort_and_difference(given))
    yield "visits_ratio", counted / bare, f"visits over bare sort, {ROWS} rows", "at most 3"
    packed = _least(lambda: _packed_sort_and_difference(given))
    yield "visits_packed_ratio", counted / packed, "visits over bare sort of one number", ""
    tracemalloc.start()
    independent_visits(**given, settings=VisitSettings())
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    yield "visits_bytes_per_row", peak / ROWS, "bytes of memory a row", ""


def columns(count: int) -> dict[str, Any]:
    """Invented observations, seeded: one in five of a deer that somebody told apart."""
    random = np.random.default_rng(11)
    who = random.integers(0, DEER, count)
    return {
        "scrape": random.integers(0, SCRAPES, count),
        "start_s": random.integers(1_700_000_000, 1_700_000_000 + 365 * 86_400, count),
        "individual": np.where(random.random(count) < 0.2, who, UNIDENTIFIED),
    }


def _sort_and_difference(given: dict[str, Any]) -> Any:
    order = np.lexsort((given["start_s"], given["individual"], given["scrape"]))
    return np.diff(given["start_s"][order])


def _packed_sort_and_difference(given: dict[str, Any]) -> Any:
    start_s = given["start_s"]
    span = int(start_s.max()) - int(start_s.min()) + 1
    stream = given["scrape"] * (DEER + 1) + given["individual"] + 1
    return np.diff(np.sort(stream * span + start_s))


def _least(work: Callable[[], Any]) -> float:
    def seconds() -> float:
        start = time.process_time()
        work()
        return time.process_time() - start

    return min(seconds() for _ in range(5))
