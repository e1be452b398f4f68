"""The lease of a property: its term, what it permits, its rent; what it forbids nobody does."""
