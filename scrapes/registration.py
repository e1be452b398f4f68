"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""

from properties.land.settings import register_group
from properties.wind.surroundings import register_point_sources
from scrapes.cameras import export_jobs
from scrapes.cameras import jobs as camera_jobs
from scrapes.cameras.placements import IntakeSettings
from scrapes.cameras.settings import CameraHealthSettings, ImportSettings
from scrapes.care import jobs as care_jobs
from scrapes.care.settings import CareSettings
from scrapes.sites.queries import point_sources
from scrapes.siting import jobs as siting_jobs
from scrapes.siting.settings import SitingSettings
from scrapes.visits import season_curve_jobs
from scrapes.visits.season_curve_settings import SeasonFitSettings
from scrapes.visits.settings import CusumSettings, DropSettings, SeasonSettings, VisitSettings


def register() -> None:
    """Called once, when Django has loaded every model."""
    register_group("camera_health", CameraHealthSettings)
    register_group("camera_import", ImportSettings)
    register_group("camera_intake", IntakeSettings)
    register_group("care", CareSettings)
    register_group("cusum", CusumSettings)
    register_group("drop", DropSettings)
    register_group("season_curve", SeasonSettings)
    register_group("season_fit", SeasonFitSettings)
    register_group("siting", SitingSettings)
    register_group("visits", VisitSettings)
    register_point_sources(point_sources)
    care_jobs.register()
    camera_jobs.register()
    siting_jobs.register()
    export_jobs.register()
    season_curve_jobs.register()
