"""Rows that must not stand on one day together: refused by the database, for each vendor.

For tables with ``first_on``, ``last_on`` and ``withdrawn_at``; both days count, and withdrawn rows
stand in nobody's way. A later migration that remakes such a table on SQLite drops its triggers,
and has to install them again.
"""


def overlap_guard(
    *, table: str, constraint: str, message: str, same: tuple[str, ...], may_be_open: bool
) -> tuple[dict[str, tuple[str, ...]], dict[str, tuple[str, ...]]]:
    """Statements by vendor that install the guard, and that remove it.

    Rows clash that agree in the columns ``same`` and share a day. ``may_be_open``: without
    ``last_on`` every later day counts too. All names are the project's own.
    """
    alike = " AND ".join(f"other.{column} = NEW.{column}" for column in same)
    shared_day = (
        "(NEW.last_on IS NULL OR other.first_on <= NEW.last_on)"
        " AND (other.last_on IS NULL OR NEW.first_on <= other.last_on)"
        if may_be_open
        else "other.first_on <= NEW.last_on AND NEW.first_on <= other.last_on"
    )
    clash = (
        f"SELECT 1 FROM {table} AS other WHERE {alike} AND other.id <> NEW.id"  # noqa: S608
        f" AND other.withdrawn_at IS NULL AND {shared_day}"
    )
    equal = ", ".join(f"{column} WITH =" for column in same)
    install = {
        "sqlite": tuple(
            f"CREATE TRIGGER {constraint}_{verb.lower()} BEFORE {verb} ON {table}"
            f" WHEN NEW.withdrawn_at IS NULL AND EXISTS ({clash})"
            f" BEGIN SELECT RAISE(ABORT, '{message}'); END"
            for verb in ("INSERT", "UPDATE")
        ),
        "postgresql": (
            "CREATE EXTENSION IF NOT EXISTS btree_gist",
            f"ALTER TABLE {table} ADD CONSTRAINT {constraint} EXCLUDE USING gist"
            f" ({equal}, daterange(first_on, last_on, '[]') WITH &&) WHERE (withdrawn_at IS NULL)",
        ),
    }
    remove = {
        "sqlite": tuple(
            f"DROP TRIGGER IF EXISTS {constraint}_{verb}" for verb in ("insert", "update")
        ),
        "postgresql": (f"ALTER TABLE {table} DROP CONSTRAINT IF EXISTS {constraint}",),
    }
    return install, remove
