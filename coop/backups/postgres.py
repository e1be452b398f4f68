"""Copies of a PostgreSQL database by its own tools, and what one holds."""

import os
import subprocess
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
from psycopg import sql

from coop.backups.contents import Contents, TableContents


class ToolFailed(Exception):
    """``pg_dump`` or ``pg_restore`` is missing or failed; the text says why."""


def save(database: Mapping[str, Any], to: Path) -> Contents:
    """Dump a database in the custom format while others read and write.

    ``database`` is Django's settings of it. The dump and the returned contents see the same
    exported snapshot. Raises :class:`ToolFailed`.
    """
    with _connected(database) as connection:
        connection.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        row = connection.execute("SELECT pg_export_snapshot()").fetchone()
        assert row is not None
        found = _contents(connection)
        command = ["pg_dump", "--format=custom", "--no-owner", f"--snapshot={row[0]}"]
        _run([*command, f"--file={to}"], database)
        connection.execute("ROLLBACK")
    return found


def restore(backup: Path, database: Mapping[str, Any]) -> None:
    """Fill a database that holds nothing; all or nothing. Raises :class:`ToolFailed`."""
    command = ["pg_restore", "--no-owner", "--exit-on-error", "--single-transaction"]
    _run([*command, f"--dbname={database['NAME']}", str(backup)], database)


def contents(database: Mapping[str, Any]) -> Contents:
    with _connected(database) as connection:
        return _contents(connection)


@contextmanager
def scratch(database: Mapping[str, Any], name: str) -> Iterator[dict[str, Any]]:
    """An empty database beside another on the same server, dropped afterwards."""
    place = sql.Identifier(name)
    with _connected(database) as server:
        server.execute(sql.SQL("CREATE DATABASE {} TEMPLATE template0").format(place))
    try:
        yield {**database, "NAME": name}
    finally:
        with _connected(database) as server:
            server.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(place))


def _connected(database: Mapping[str, Any]) -> psycopg.Connection[Any]:
    return psycopg.connect(
        dbname=database["NAME"],
        user=database.get("USER") or None,
        password=database.get("PASSWORD") or None,
        host=database.get("HOST") or None,
        port=database.get("PORT") or None,
        autocommit=True,
    )


def _contents(connection: psycopg.Connection[Any]) -> Contents:
    names = connection.execute(
        "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY tablename"
    ).fetchall()
    guards = connection.execute(_GUARDS).fetchall()
    return Contents(
        tables={name: _table(connection, name) for (name,) in names},
        guards=frozenset(definition for (definition,) in guards),
    )


def _table(connection: psycopg.Connection[Any], name: str) -> TableContents:
    """Counted and added up by the server: 96 bits of each row's MD5, order aside."""
    row = connection.execute(_SUM.format(sql.Identifier(name))).fetchone()
    assert row is not None
    return TableContents(rows=row[0], checksum=int(row[1]))


_SUM = sql.SQL(
    """SELECT count(*),
    coalesce(sum(('x' || substr(digest, 1, 12))::bit(48)::bigint::numeric * 281474976710656
        + ('x' || substr(digest, 13, 12))::bit(48)::bigint::numeric), 0)
    FROM (SELECT md5(whole::text) AS digest FROM {} AS whole) AS digests"""
)
# A dump moves casts about within conditions: a check is told by its name, and of a partial
# index that it has a condition.
_GUARDS = """
    SELECT pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal
    UNION ALL
    SELECT 'constraint ' || contype::text || ' ' || conrelid::regclass || ' ' || conname
    FROM pg_constraint WHERE connamespace = 'public'::regnamespace
    UNION ALL
    SELECT split_part(indexdef, ' WHERE ', 1)
        || CASE WHEN strpos(indexdef, ' WHERE ') > 0 THEN ' where ...' ELSE '' END
    FROM pg_indexes WHERE schemaname = 'public'
"""


def _run(command: list[str], database: Mapping[str, Any]) -> None:
    named = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    given = {name: str(database[key]) for name, key in named.items() if database.get(key)}
    environment = {**os.environ, "PGDATABASE": str(database["NAME"]), **given}
    try:
        subprocess.run(command, env=environment, check=True, capture_output=True, text=True)
    except FileNotFoundError:
        raise ToolFailed(f"{command[0]} is not installed; it comes with PostgreSQL") from None
    except subprocess.CalledProcessError as failed:
        raise ToolFailed(f"{command[0]}: {failed.stderr.strip()}") from None
