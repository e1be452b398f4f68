"""Many observations into the database in one statement, without an object for each row.

A model instance a row costs eight times what the rest of an import does. Whatever a column
holds is still prepared by its own model field, once for each different value.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import numpy as np
from django.db import connection
from django.db.models import Field
from numpy.typing import NDArray

from scrapes.cameras.models import Observation
from scrapes.cameras.observation_rows import NOT_STATED
from scrapes.cameras.placements import PlacedRows

COLUMNS = (
    "deployment",
    "batch",
    "source_key",
    "observed_at",
    "ended_at",
    "kind",
    "species",
    "count",
    "sex",
    "life_stage",
    "individual",
    "event_level",
)
"""Fields that are written: all but the row's number."""


_SQLITE_CACHE_KIB = 65_536


@contextmanager
def room_for_indexes() -> Iterator[None]:
    """Hold the pages of the indexes that grow in memory meanwhile, within bounds, on SQLite.

    Its own two megabytes are soon too few, and each page is then written and read again and again.
    """
    if connection.vendor != "sqlite":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA cache_size")
        before = int(cursor.fetchone()[0])
        cursor.execute(f"PRAGMA cache_size = -{_SQLITE_CACHE_KIB}")
        try:
            yield
        finally:
            cursor.execute(f"PRAGMA cache_size = {before}")


def insert_observations(placed: PlacedRows, *, batch_id: UUID) -> None:
    """Store rows in the caller's transaction; the database raises on a row stored before."""
    rows = placed.rows
    if not len(rows):
        return
    ended_at = _instants(rows.end_s)
    for row in np.flatnonzero(rows.end_s == rows.start_s).tolist():
        ended_at[row] = None
    values = (
        _prepared("deployment", placed.deployment_id.tolist()),
        _prepared("batch", [batch_id]) * len(rows),
        rows.observation_id.tolist(),
        _instants(rows.start_s),
        ended_at,
        _prepared("kind", rows.kind.tolist()),
        _prepared("species", rows.species.tolist()),
        [None if count == NOT_STATED else count for count in rows.count.tolist()],
        _prepared("sex", rows.sex.tolist()),
        _prepared("life_stage", rows.life_stage.tolist()),
        _prepared("individual", rows.individual.tolist()),
        _prepared("event_level", rows.event_level.tolist()),
    )
    with connection.cursor() as cursor:
        cursor.executemany(_statement(), list(zip(*values, strict=True)))


def _statement() -> str:
    quoted = connection.ops.quote_name
    columns = ", ".join(quoted(str(_field(name).column)) for name in COLUMNS)
    marks = ", ".join(["%s"] * len(COLUMNS))
    table = quoted(Observation._meta.db_table)
    return f"INSERT INTO {table} ({columns}) VALUES ({marks})"  # noqa: S608 - names of the model


def _prepared(name: str, values: Sequence[Any]) -> list[Any]:
    field = _field(name)
    known = {value: field.get_db_prep_save(value, connection) for value in set(values)}
    return [known[value] for value in values]


def _field(name: str) -> "Field[Any, Any]":
    field = Observation._meta.get_field(name)
    assert isinstance(field, Field)
    return field


def _instants(seconds: NDArray[np.int64]) -> list[Any]:
    """UTC seconds as the database stores them."""
    if connection.vendor == "sqlite":
        # Text in UTC, as the model field writes it; a test compares the two.
        written = np.datetime_as_string(seconds.astype("datetime64[s]"))
        return [text.replace("T", " ") for text in written.tolist()]
    return [datetime.fromtimestamp(second, UTC) for second in seconds.tolist()]
