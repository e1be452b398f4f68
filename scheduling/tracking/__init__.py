"""A deer hit and not found: who looks for it where, and what came of it."""
