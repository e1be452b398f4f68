"""Gathers the admin of this floor's rooms for Django."""

from scheduling.sits import admin as sits

__all__ = ["sits"]
