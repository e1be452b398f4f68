"""Leases of one property that stand never overlap: held by the database, for each vendor.

Both days of ``[first_on, last_on]`` are of the term. A later migration that remakes the table on
SQLite drops its triggers, and has to install them again.
"""

TABLE = "properties_lease"
MESSAGE = "leases of one property overlap"
CONSTRAINT = "lease_no_overlap"

_OVERLAP = f"""SELECT 1 FROM {TABLE} AS other
    WHERE other.property_id = NEW.property_id AND other.id <> NEW.id
    AND other.withdrawn_at IS NULL
    AND other.first_on <= NEW.last_on AND NEW.first_on <= other.last_on"""  # noqa: S608 - our own name

INSTALL: dict[str, tuple[str, ...]] = {
    "sqlite": tuple(
        f"""CREATE TRIGGER {CONSTRAINT}_{verb.lower()} BEFORE {verb} ON {TABLE}
        WHEN NEW.withdrawn_at IS NULL AND EXISTS ({_OVERLAP})
        BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"""
        for verb in ("INSERT", "UPDATE")
    ),
    "postgresql": (
        "CREATE EXTENSION IF NOT EXISTS btree_gist",
        f"""ALTER TABLE {TABLE} ADD CONSTRAINT {CONSTRAINT} EXCLUDE USING gist (
        property_id WITH =, daterange(first_on, last_on, '[]') WITH &&)
        WHERE (withdrawn_at IS NULL)""",
    ),
}

REMOVE: dict[str, tuple[str, ...]] = {
    "sqlite": tuple(f"DROP TRIGGER IF EXISTS {CONSTRAINT}_{verb}" for verb in ("insert", "update")),
    "postgresql": (f"ALTER TABLE {TABLE} DROP CONSTRAINT IF EXISTS {CONSTRAINT}",),
}
