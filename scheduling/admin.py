"""Gathers the admin of this floor's rooms for Django."""

from scheduling.errands import admin as errands
from scheduling.herd import admin as herd
from scheduling.rotation import admin as rotation
from scheduling.sits import admin as sits
from scheduling.sync import admin as sync
from scheduling.tracking import admin as tracking
from scheduling.worklist import admin as worklist

__all__ = ["errands", "herd", "rotation", "sits", "sync", "tracking", "worklist"]
