"""Deployments of one camera never overlap: held by the database, for each vendor.

An open end counts as infinitely late; ``[starts_at, ends_at)`` is half open, so that a
camera may be hung again in the instant it was taken down.
"""

TABLE = "scrapes_deployment"

_OVERLAP = f"""SELECT 1 FROM {TABLE} AS other
    WHERE other.camera_id = NEW.camera_id AND other.id <> NEW.id
    AND (NEW.ends_at IS NULL OR other.starts_at < NEW.ends_at)
    AND (other.ends_at IS NULL OR NEW.starts_at < other.ends_at)"""  # noqa: S608 - our own name

MESSAGE = "deployments of one camera overlap"
CONSTRAINT = "deployment_no_overlap"

INSTALL: dict[str, tuple[str, ...]] = {
    "sqlite": tuple(
        f"""CREATE TRIGGER deployment_no_overlap_{verb.lower()} BEFORE {verb} ON {TABLE}
        WHEN EXISTS ({_OVERLAP})
        BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"""
        for verb in ("INSERT", "UPDATE")
    ),
    "postgresql": (
        "CREATE EXTENSION IF NOT EXISTS btree_gist",
        f"""ALTER TABLE {TABLE} ADD CONSTRAINT {CONSTRAINT} EXCLUDE USING gist (
        camera_id WITH =, tstzrange(starts_at, ends_at, '[)') WITH &&)""",
    ),
}

REMOVE: dict[str, tuple[str, ...]] = {
    "sqlite": (
        "DROP TRIGGER IF EXISTS deployment_no_overlap_insert",
        "DROP TRIGGER IF EXISTS deployment_no_overlap_update",
    ),
    "postgresql": (f"ALTER TABLE {TABLE} DROP CONSTRAINT IF EXISTS deployment_no_overlap",),
}


def is_overlap(error: Exception) -> bool:
    """Whether the database refused a write because of these guards."""
    return MESSAGE in str(error) or CONSTRAINT in str(error)
