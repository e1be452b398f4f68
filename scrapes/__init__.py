"""Scrapes, the cameras that watch them, and what the pictures say."""
