"""The land and its air: properties, people, sessions, stands, wind."""
