"""A member's own season, for that member alone."""
