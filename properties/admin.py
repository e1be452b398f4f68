"""Gathers the admin of this floor's rooms for Django."""

from properties.conditions import admin as conditions
from properties.land import admin as land
from properties.people import admin as people
from properties.sessions import admin as sessions
from properties.stands import admin as stands
from properties.wind import admin as wind

__all__ = ["conditions", "land", "people", "sessions", "stands", "wind"]
