"""HTTP conventions: problem details, pages, idempotency, preconditions, schema."""
