"""Gathers the admin of this floor's rooms for Django."""

from properties.conditions import admin as conditions
from properties.emergency import admin as emergency
from properties.gates import admin as gates
from properties.incidents import admin as incidents
from properties.land import admin as land
from properties.leases import admin as leases
from properties.obligations import admin as obligations
from properties.people import admin as people
from properties.regulations import admin as regulations
from properties.sessions import admin as sessions
from properties.stands import admin as stands
from properties.wind import admin as wind

__all__ = [
    "conditions",
    "emergency",
    "gates",
    "incidents",
    "land",
    "leases",
    "obligations",
    "people",
    "regulations",
    "sessions",
    "stands",
    "wind",
]
