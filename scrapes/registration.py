"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""

from properties.wind.surroundings import register_point_sources
from scrapes.sites.queries import point_sources


def register() -> None:
    """Called once, when Django has loaded every model."""
    register_point_sources(point_sources)
