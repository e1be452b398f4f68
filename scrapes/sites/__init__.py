"""Scrapes and their history."""
