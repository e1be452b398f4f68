"""Scrapes and cameras for tests, on the cast's northern property."""

from datetime import timedelta

from scrapes.cameras.models import CameraUnit, Deployment
from scrapes.sites.models import Scrape
from tests.cast import NOW

HUNG_AT = NOW - timedelta(days=30)


def make_scrape(land, name="Bench oak", *, east=0.0, north=0.0, **fields):
    """A scrape at the property's centre, or some degrees off it."""
    return Scrape.objects.create(
        property=land,
        name=name,
        kind="mock",
        longitude=land.longitude + east,
        latitude=land.latitude + north,
        **fields,
    )


def make_camera(land, name="Camera 1", **fields):
    return CameraUnit.objects.create(property=land, name=name, **fields)


def make_deployment(camera, scrape, *, starts_at=HUNG_AT, **fields):
    return Deployment.objects.create(
        camera=camera,
        scrape=scrape,
        starts_at=starts_at,
        longitude=scrape.longitude,
        latitude=scrape.latitude,
        **fields,
    )
