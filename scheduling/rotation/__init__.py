"""The planning problem, its solver, its audit and its publication."""
