"""Seasons of pictures for tests: invented, seeded, on the cast's northern property."""

from datetime import timedelta
from itertools import count

import numpy as np

from scrapes.cameras.models import CameraStatus, Observation, ObservationImport
from tests.cast import NOW
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

NIGHTS = 90
FLAT = {"season_curve": {"off_season_level": 1.0}}
"""Settings of a year without a season, so that the tests' figures can be reckoned by hand."""

_keys = count()


def batch_of(land):
    return ObservationImport.objects.create(
        property=land,
        source="test",
        file_name="test.csv",
        digest=f"test-{next(_keys)}",
        imported_at=NOW,
        rows_read=0,
        rows_taken=0,
    )


def observe(deployment, instants, *, kind="animal", batch=None, **fields):
    """One observation at each instant; deer unless said otherwise."""
    batch = batch or batch_of(deployment.scrape.property)
    if kind == "animal":
        fields = {"species": "white-tailed deer", **fields}
    Observation.objects.bulk_create(
        Observation(
            deployment=deployment,
            batch=batch,
            source_key=f"row-{next(_keys)}",
            observed_at=at,
            kind=kind,
            **fields,
        )
        for at in instants
    )


def pull_card(camera, at=NOW):
    return CameraStatus.objects.create(camera=camera, reported_at=at, card_pulled=True)


def evenly(per_night, *, first=NIGHTS, last=0):
    """Instants ``per_night`` a night, from ``first`` to ``last`` nights ago, at all hours.

    The golden ratio spreads them over the day without chance and without a pattern.
    """
    nights = first - last
    every = timedelta(days=1) / per_night
    begin = NOW - timedelta(days=first)
    return [
        begin + every * (number + number * 0.618034 % 1)
        for number in range(round(nights * per_night))
    ]


def scattered(per_night, *, seed, first=NIGHTS, last=0):
    """Poisson instants with that mean, seeded."""
    rng = np.random.default_rng(seed)
    number = rng.poisson(per_night * (first - last))
    return [
        NOW - timedelta(days=float(ago)) for ago in np.sort(rng.uniform(last, first, size=number))
    ]


def watched_scrape(land, name, *, east=0.0, north=0.0, transmits=False, heading_deg=None):
    """A scrape with a camera that has hung there for the season; its card was pulled now."""
    scrape = make_scrape(land, name, east=east, north=north)
    camera = make_camera(land, f"Camera {name}", transmits=transmits)
    deployment = make_deployment(
        camera, scrape, starts_at=NOW - timedelta(days=NIGHTS), heading_deg=heading_deg
    )
    pull_card(camera)
    return deployment


def other_animals(deployment, *, last=0):
    """Squirrels and the like, six a night: the camera triggers, deer or not."""
    observe(deployment, evenly(6, last=last), species="squirrel")


def steady(land, name, *, per_night=2.0, **place):
    """A scrape visited evenly all season."""
    deployment = watched_scrape(land, name, **place)
    observe(deployment, evenly(per_night))
    other_animals(deployment)
    return deployment


def declining(land, name, *, per_night=2.0, fallen_to=0.3, nights=21, **place):
    """A scrape whose visits fell ``nights`` ago while its camera went on working."""
    deployment = watched_scrape(land, name, **place)
    observe(deployment, evenly(per_night, last=nights))
    observe(deployment, evenly(fallen_to, first=nights))
    other_animals(deployment)
    return deployment


def dying(land, name, *, per_night=2.0, nights=15, **place):
    """A scrape whose camera went silent ``nights`` ago; its card was pulled now."""
    deployment = watched_scrape(land, name, **place)
    observe(deployment, evenly(per_night, last=nights))
    other_animals(deployment, last=nights)
    return deployment


def without_a_season(land):
    land.settings = FLAT
    land.save()
    return land
