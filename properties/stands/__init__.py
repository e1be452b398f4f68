"""Stands: places to hunt from, their arcs, inspections and exclusions."""
