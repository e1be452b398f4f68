"""Save a backup, restore one, and drill both: a backup nobody has restored is a hope."""

import sqlite3
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg

from coop.backups import postgres, sqlite
from coop.backups.contents import Contents, differences

FAILURES = (postgres.ToolFailed, OSError, sqlite3.Error, psycopg.Error)
"""What saving and restoring raise where tool, disk or database fails them."""


class NotEmpty(Exception):
    """A backup is restored into a database that holds nothing yet, and nowhere else."""


@dataclass(frozen=True, kw_only=True)
class Drill:
    """What was saved, what came back, and every difference between the two."""

    saved: Contents
    restored: Contents
    differences: tuple[str, ...]
    backup_bytes: int


def save_backup(*, database: Mapping[str, Any], to: Path) -> Contents:
    """Write a backup of ``database`` (Django's settings of it); a failed one leaves no file."""
    part = to.with_name(f"{to.name}.{uuid4().hex[:8]}.part")
    try:
        saved = (
            sqlite.save(Path(database["NAME"]), part)
            if _is_sqlite(database)
            else postgres.save(database, part)
        )
        part.replace(to)
    finally:
        part.unlink(missing_ok=True)
    return saved


def restore_backup(*, backup: Path, database: Mapping[str, Any]) -> Contents:
    """Fill an empty ``database`` from a backup; returns what it holds then.

    Raises :class:`NotEmpty` where it holds tables already, :class:`FileNotFoundError`.
    """
    if not backup.is_file():
        raise FileNotFoundError(f"there is no file {backup}")
    if _contents(database).tables:
        raise NotEmpty("this database holds tables; restore into an empty one")
    if _is_sqlite(database):
        sqlite.restore(backup, Path(database["NAME"]))
    else:
        postgres.restore(backup, database)
    return _contents(database)


def drill_backup(*, database: Mapping[str, Any]) -> Drill:
    """Save a backup, restore it into a scratch database, compare, and remove both."""
    with tempfile.TemporaryDirectory(prefix="backup-drill-") as folder:
        backup = Path(folder) / "backup"
        saved = save_backup(database=database, to=backup)
        if _is_sqlite(database):
            copy = {**database, "NAME": str(Path(folder) / "restored.sqlite3")}
            restored = restore_backup(backup=backup, database=copy)
        else:
            with postgres.scratch(database, f"backup_drill_{uuid4().hex[:12]}") as copy:
                restored = restore_backup(backup=backup, database=copy)
        return Drill(
            saved=saved,
            restored=restored,
            differences=tuple(differences(saved, restored)),
            backup_bytes=backup.stat().st_size,
        )


def _contents(database: Mapping[str, Any]) -> Contents:
    if _is_sqlite(database):
        return sqlite.contents(Path(database["NAME"]))
    return postgres.contents(database)


def _is_sqlite(database: Mapping[str, Any]) -> bool:
    return str(database["ENGINE"]).endswith("sqlite3")
