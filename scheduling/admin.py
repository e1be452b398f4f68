"""Gathers the admin of this floor's rooms for Django."""

from scheduling.errands import admin as errands
from scheduling.rotation import admin as rotation
from scheduling.sits import admin as sits

__all__ = ["errands", "rotation", "sits"]
