"""Persons, members, papers, and roles on a property."""
