"""Copies of an SQLite database by its online backup, and what one holds."""

import sqlite3
from contextlib import closing
from pathlib import Path

from coop.backups.contents import Contents, summed

QUIETLY_PAGES = 1000


def save(database: Path, to: Path) -> Contents:
    """Copy a database while others read and write; returns what the copy was taken of.

    Contents and copy come from one read transaction, so that they belong together.
    """
    with closing(_opened(database)) as source, closing(_opened(to)) as target:
        source.execute("BEGIN")
        found = _contents(source)
        source.backup(target, pages=QUIETLY_PAGES)
        source.rollback()
    return found


def restore(backup: Path, database: Path) -> None:
    """Fill a database that holds nothing from a backup."""
    with closing(_opened(backup)) as source, closing(_opened(database)) as target:
        source.backup(target)


def contents(database: Path) -> Contents:
    with closing(_opened(database)) as connection:
        return _contents(connection)


def _opened(database: Path) -> sqlite3.Connection:
    return sqlite3.connect(database, isolation_level=None, timeout=20)


def _contents(connection: sqlite3.Connection) -> Contents:
    objects = connection.execute(
        "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"
    ).fetchall()
    tables = sorted(name for kind, name, _sql in objects if kind == "table")
    return Contents(
        # Names come from the schema itself; a placeholder cannot stand for one.
        tables={
            name: summed(connection.execute(f'SELECT * FROM "{name}"'))  # noqa: S608
            for name in tables
        },
        guards=frozenset(f"{kind} {name}: {sql}" for kind, name, sql in objects if sql),
    )
