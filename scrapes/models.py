"""Gathers the models of this floor's rooms for Django; no room imports this."""

from scrapes.cameras.models import (
    CameraStatus,
    CameraUnit,
    Deployment,
    Observation,
    ObservationImport,
    ObservationSource,
    Outage,
)
from scrapes.care.models import ScentApplication, ScrapeReview
from scrapes.sites.models import Scrape, ScrapeEvent
from scrapes.visits.models import SeasonFit

__all__ = [
    "CameraStatus",
    "CameraUnit",
    "Deployment",
    "Observation",
    "ObservationImport",
    "ObservationSource",
    "Outage",
    "ScentApplication",
    "Scrape",
    "ScrapeEvent",
    "ScrapeReview",
    "SeasonFit",
]
