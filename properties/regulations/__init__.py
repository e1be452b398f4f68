"""Regulations as a property's settings, by date: what its manager read on the state's page."""
