"""The land between two reports: who is on it today, and its calendar."""
