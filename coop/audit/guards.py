"""Triggers that make the audit record append-only, for each database vendor.

Since ``emptied_at`` an event may be emptied of what it says of people, and says so then; it can
never be made to say anything else. Used by the migrations that install them, and by the test
suite, whose flush between transactional tests has to lift them for a moment.
"""

TABLE = "coop_auditevent"

FIRST_INSTALL: dict[str, tuple[str, ...]] = {
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

_KEPT = (
    "id",
    "recorded_at",
    "actor_kind",
    "actor_id",
    "action",
    "object_kind",
    "object_id",
    "property_id",
    "request_id",
)
_EMPTIED = {"actor_name": "''", "reason": "''", "before": "'{}'", "after": "'{}'"}


def _is_emptying(same: str, json: str) -> str:
    """The condition under which a row is only emptied; ``same`` compares NULL too."""
    kept = [f"NEW.{name} {same} OLD.{name}" for name in _KEPT]
    emptied = [
        f"(NEW.{name} = OLD.{name} OR NEW.{name} = {nothing}{json if '{' in nothing else ''})"
        for name, nothing in _EMPTIED.items()
    ]
    return " AND ".join(["NEW.emptied_at IS NOT NULL", *kept, *emptied])


INSTALL: dict[str, tuple[str, ...]] = {
    "sqlite": (
        f"""CREATE TRIGGER audit_refuses_update BEFORE UPDATE ON {TABLE}
        WHEN NOT ({_is_emptying("IS", "")})
        BEGIN SELECT RAISE(ABORT, 'the audit record is append-only'); END""",
        FIRST_INSTALL["sqlite"][1],
    ),
    "postgresql": (
        f"""CREATE FUNCTION audit_is_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN
            IF TG_OP = 'UPDATE' THEN
                IF {_is_emptying("IS NOT DISTINCT FROM", "::jsonb")} THEN
                    RETURN NEW;
                END IF;
            END IF;
            RAISE EXCEPTION 'the audit record is append-only';
        END $$""",
        FIRST_INSTALL["postgresql"][1],
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
