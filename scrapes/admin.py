"""Gathers the admin of this floor's rooms for Django."""

from scrapes.cameras import admin as cameras
from scrapes.care import admin as care
from scrapes.sites import admin as sites
from scrapes.visits import admin as visits

__all__ = ["cameras", "care", "sites", "visits"]
