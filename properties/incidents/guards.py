"""Follow-up and evidence are added and never changed or removed: held by the database.

Used by the migration that installs the triggers, and by the test suite, whose flush between
transactional tests has to lift them for a moment. A later migration that remakes a table on
SQLite drops its triggers, and has to install them again.
"""

TABLES = ("properties_followup", "properties_evidencefile", "properties_evidencecontent")
MESSAGE = "follow-up and evidence are kept as they came"

INSTALL: dict[str, tuple[str, ...]] = {
    "sqlite": tuple(
        f"""CREATE TRIGGER {table}_refuses_{verb.lower()} BEFORE {verb} ON {table}
        BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"""
        for table in TABLES
        for verb in ("UPDATE", "DELETE")
    ),
    "postgresql": (
        f"""CREATE FUNCTION evidence_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN RAISE EXCEPTION '{MESSAGE}'; END $$""",
        *(
            f"""CREATE TRIGGER {table}_refuses_change BEFORE UPDATE OR DELETE ON {table}
            FOR EACH ROW EXECUTE FUNCTION evidence_is_kept()"""
            for table in TABLES
        ),
    ),
}

REMOVE: dict[str, tuple[str, ...]] = {
    "sqlite": tuple(
        f"DROP TRIGGER IF EXISTS {table}_refuses_{verb}"
        for table in TABLES
        for verb in ("update", "delete")
    ),
    "postgresql": (
        *(f"DROP TRIGGER IF EXISTS {table}_refuses_change ON {table}" for table in TABLES),
        "DROP FUNCTION IF EXISTS evidence_is_kept()",
    ),
}
