"""The planning problem as rows and columns, and how it is solved."""
