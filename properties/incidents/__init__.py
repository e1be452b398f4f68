"""Trouble on the land: what happened, its evidence, what was done, and what went missing."""
