"""Triggers that make the audit record append-only, for each database vendor.

Used by the migration that installs them, and by the test suite, whose flush between
transactional tests has to lift them for a moment.
"""

TABLE = "coop_auditevent"

INSTALL: dict[str, tuple[str, ...]] = {
    "sqlite": tuple(
        f"""CREATE TRIGGER audit_refuses_{verb.lower()} BEFORE {verb} ON {TABLE}
        BEGIN SELECT RAISE(ABORT, 'the audit record is append-only'); END"""
        for verb in ("UPDATE", "DELETE")
    ),
    "postgresql": (
        """CREATE FUNCTION audit_is_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN RAISE EXCEPTION 'the audit record is append-only'; END $$""",
        f"""CREATE TRIGGER audit_refuses_change BEFORE UPDATE OR DELETE ON {TABLE}
        FOR EACH ROW EXECUTE FUNCTION audit_is_append_only()""",
    ),
}

REMOVE: dict[str, tuple[str, ...]] = {
    "sqlite": (
        "DROP TRIGGER IF EXISTS audit_refuses_update",
        "DROP TRIGGER IF EXISTS audit_refuses_delete",
    ),
    "postgresql": (
        f"DROP TRIGGER IF EXISTS audit_refuses_change ON {TABLE}",
        "DROP FUNCTION IF EXISTS audit_is_append_only()",
    ),
}
