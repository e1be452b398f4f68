"""Short secrets kept at rest: only sealed, and bound to the row they belong to."""
