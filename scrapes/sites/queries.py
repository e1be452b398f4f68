"""Scrapes that an actor may see, and scrapes as the wind model meets them."""

from collections.abc import Iterator

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land.models import Property
from properties.wind.surroundings import PointSource
from scrapes.sites.models import Scrape

WIND_KIND = "scrape"
"""What the settings of the wind model call a scrape."""


def scrapes_visible_to(*, actor: Actor, action: Action = Action.SCRAPE_READ) -> QuerySet[Scrape]:
    return scoped(Scrape.objects.all(), actor=actor, action=action)


def scrapes_of(land: Property) -> QuerySet[Scrape]:
    """Scrapes of a property that are not retired, in a stable order."""
    return Scrape.objects.filter(property=land, retired_at=None).order_by("id")


def point_sources(land: Property) -> Iterator[PointSource]:
    """What the wind model is told of a property's scrapes: deer pass and check them downwind."""
    for scrape in scrapes_of(land):
        yield PointSource(
            id=str(scrape.id),
            name=scrape.name,
            kind=WIND_KIND,
            longitude=scrape.longitude,
            latitude=scrape.latitude,
        )
