"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""

from properties.land.settings import register_group
from properties.wind.surroundings import register_point_sources
from scrapes.cameras import jobs as camera_jobs
from scrapes.cameras.placements import IntakeSettings
from scrapes.cameras.settings import CameraHealthSettings, ImportSettings
from scrapes.sites.queries import point_sources


def register() -> None:
    """Called once, when Django has loaded every model."""
    register_group("camera_health", CameraHealthSettings)
    register_group("camera_import", ImportSettings)
    register_group("camera_intake", IntakeSettings)
    register_point_sources(point_sources)
    camera_jobs.register()
