"""Scent applications, and the review that opens errands."""
